"""Papers of the shop, as values: a quote, a price list, a packing list. Drawn as pages, or written as HTML.

A paper holds finished words only: whoever makes one has done the sums and the wording.
"""

from __future__ import annotations

from dataclasses import dataclass

from render.model import Artwork, Blank, Material


@dataclass(frozen=True, slots=True)
class Head:
    """Whose paper it is, and what kind.

    Attributes:
        shop: the shop's name.
        lines: address and the like.
        kind: such as ``Quote``.
        facts: short pairs of label and text: number, date.
        title: what it is about.
        subtitle: a line under the title.
        language: BCP 47 tag of the words.
    """

    shop: str
    lines: tuple[str, ...]
    kind: str
    facts: tuple[tuple[str, str], ...]
    title: str
    subtitle: str = ""
    language: str = "en"


@dataclass(frozen=True, slots=True)
class Picture:
    """A piece on its blank, to be shown."""

    blank: Blank
    material: Material
    artwork: Artwork


@dataclass(frozen=True, slots=True)
class Row:
    """A line of money: what, how it comes about, the amount; `total` makes it the one that counts."""

    what: str
    how: str
    amount: str
    total: bool = False


@dataclass(frozen=True, slots=True)
class Grid:
    """A small table, words in the first column and figures in the others; `here` is the paper's own row."""

    title: str
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    here: int | None = None


@dataclass(frozen=True, slots=True)
class QuotePaper:
    """What a customer is offered."""

    head: Head
    pictures: tuple[Picture, ...]
    rows: tuple[Row, ...]
    grid: Grid | None = None
    notes: tuple[str, ...] = ()
    foot: str = ""


@dataclass(frozen=True, slots=True)
class Offer:
    """One thing on a price list, with a price for each of the list's quantities."""

    picture: Picture
    name: str
    note: str
    prices: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PriceListPaper:
    """What there is to buy."""

    head: Head
    quantities: tuple[str, ...]
    offers: tuple[Offer, ...]
    notes: tuple[str, ...] = ()
    foot: str = ""


@dataclass(frozen=True, slots=True)
class Parcel:
    """What goes into one bag or box: a name, and for each piece its id and what is on it."""

    name: str
    pieces: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class PackingPaper:
    """What goes where."""

    head: Head
    parcels: tuple[Parcel, ...]
    foot: str = ""
