"""What a proof shows: the pieces of an order with their words, and what the shop says of itself."""

from __future__ import annotations

from dataclasses import dataclass

from render.geometry.solids import Profile
from render.model import Artwork, Blank, Material


@dataclass(frozen=True, slots=True)
class ShownText:
    """One text on a piece.

    Attributes:
        field: the field of the table that it repeats, such as ``name``; empty where it is made of several.
        label: what it is called.
        text: exactly as it is spelled on the piece.
        typed: as it stands in the table, where capitals or apostrophes were changed; else the same.
        lines: how it is broken; one line where it is not.
        language: BCP 47 tag, or empty where unknown.
        font: the font's name as a person says it.
        size: em size in mm; capitals: their height in mm.
    """

    field: str
    label: str
    text: str
    typed: str
    lines: tuple[str, ...]
    language: str
    font: str
    size: float
    capitals: float


@dataclass(frozen=True, slots=True)
class ShownPiece:
    """One piece as a customer is shown it.

    Attributes:
        id: the piece's id.
        title: what it is called.
        artwork: the geometry that will be made, as it looks to whoever gets it; None where it cannot be shown
            yet.
        digest: of the artwork that will be made; empty without one.
        surface: the artwork as it lies on a round thing: radians round it + i mm along it.
        texts: what is written on it.
        notes: what the customer should know about it, one sentence each.
    """

    id: str
    title: str
    artwork: Artwork | None
    digest: str
    texts: tuple[ShownText, ...] = ()
    notes: tuple[str, ...] = ()
    surface: Artwork | None = None


@dataclass(frozen=True, slots=True)
class ShopWords:
    """What the shop says of itself on a proof; everything may be empty.

    Attributes:
        contact: where answers go; an e-mail address is used for the answer's mail.
        watermark: lies across the pictures.
        until: until when the customer may answer, in words.
    """

    name: str = ""
    contact: str = ""
    watermark: str = ""
    until: str = ""


@dataclass(frozen=True, slots=True)
class Shown:
    """A proof: an order's pieces on the thing that they are made on.

    Attributes:
        profile: of a round thing that turns; None for anything else, and where no machine can turn it.
    """

    order: str
    title: str
    pieces: tuple[ShownPiece, ...]
    blank: Blank
    material: Material
    shop: ShopWords = ShopWords()
    profile: Profile | None = None

    @property
    def drawn(self) -> tuple[ShownPiece, ...]:
        """The pieces that can be shown."""
        return tuple(piece for piece in self.pieces if piece.artwork is not None)

    @property
    def missing(self) -> tuple[ShownPiece, ...]:
        """The pieces that cannot be shown yet."""
        return tuple(piece for piece in self.pieces if piece.artwork is None)
