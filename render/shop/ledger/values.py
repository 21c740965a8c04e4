"""What the ledger is told and tells: plain immutable values."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, Protocol

from render.model import Artwork, Piece, Problem
from render.shop.ledger.states import State


@dataclass(frozen=True, slots=True)
class Terms:
    """What is made of an order's names: the ids of design, thing and machine; of the font, if not its own."""

    template: str
    blank: str
    machine: str
    font: str = ""


@dataclass(frozen=True, slots=True)
class About:
    """What else is known of an order; None: nothing new was said.

    Attributes:
        customer: whose it is.
        due: the day it must be ready, ISO 8601.
        price: in whole minor units of `currency` (ISO 4217).
    """

    customer: str | None = None
    due: str | None = None
    price: int | None = None
    currency: str = ""


@dataclass(frozen=True, slots=True)
class LedgerOrder:
    """An order as the ledger has it."""

    id: str
    terms: Terms
    customer: str
    due: str
    table: str
    price: int | None
    currency: str
    taken_at: str
    problems: tuple[Problem, ...] = ()


@dataclass(frozen=True, slots=True)
class LedgerPiece:
    """A piece as the ledger has it.

    Attributes:
        row: the line of the table it came from last.
        version: number of its newest artwork; 0 before there is one.
        digest: of that artwork; empty before there is one.
        approved: the digest that was approved; empty if none was.
        held: why it cannot be made as it is; empty if it can.
        wish: what the customer would like changed, while nobody has done it.
        load: the open load it lies on; 0 if none.
    """

    order: str
    id: str
    row: int
    fields: Mapping[str, str]
    state: State
    version: int
    digest: str
    approved: str
    held: str
    wish: str
    load: int

    @property
    def name(self) -> str:
        """How it is called over all orders: ``order/piece``."""
        return f"{self.order}/{self.id}"

    @property
    def title(self) -> str:
        """What a person calls it."""
        return self.fields.get("name") or next((v for v in self.fields.values() if v), self.id)

    def as_piece(self) -> Piece:
        """The same for the stages that make it."""
        return Piece(self.id, self.row, self.fields)


class Change(StrEnum):
    """How a row of a table differs from what the ledger has."""

    NEW = "new"
    CHANGED = "changed"
    GONE = "gone"


@dataclass(frozen=True, slots=True)
class RowChange:
    """One piece that a table would add, change or take away.

    Attributes:
        row: its line in the new table; in the old one where it is gone.
        before, after: its fields; empty where there are none.
        state: of the piece in the ledger; None where it is new.
        kept: why the ledger keeps it as it is all the same; empty if it would change.
        alike: whether it looks the same all the same, and what has been done with it stands.
    """

    kind: Change
    piece: str
    row: int
    before: Mapping[str, str]
    after: Mapping[str, str]
    state: State | None = None
    kept: str = ""
    alike: bool = False

    @property
    def fields(self) -> tuple[str, ...]:
        """The fields that differ."""
        names = dict.fromkeys((*self.before, *self.after))
        return tuple(n for n in names if self.before.get(n, "") != self.after.get(n, ""))


@dataclass(frozen=True, slots=True)
class Taken:
    """What taking a table in did, or would do.

    Attributes:
        new: whether the order was not there before.
        changes: what differs from the ledger, in the order of the table.
        terms: what differs in the terms: name, before, after.
        pieces: how many pieces the table has.
        applied: whether it was written down.
        ids: for each piece of the table, the ledger's id for it.
    """

    order: str
    new: bool
    changes: tuple[RowChange, ...]
    terms: tuple[tuple[str, str, str], ...]
    pieces: int
    applied: bool
    ids: Mapping[str, str]

    @property
    def differs(self) -> bool:
        """Whether the ledger would change."""
        return bool(self.terms) or any(not change.kept for change in self.changes)


@dataclass(frozen=True, slots=True)
class Making:
    """Everything that decided how pieces look: enough to make them again, if nothing else has changed.

    Attributes:
        id: in the ledger; 0 before it is written down.
        pins: sizes that were given beforehand, in mm, by slot: those of a set approved earlier.
        sizes: the sizes that came of it, by slot.
        pieces: all pieces of the set, since they are fitted together.
    """

    terms: Terms
    pins: Mapping[str, float]
    pieces: tuple[Piece, ...]
    sizes: Mapping[str, float]
    id: int = 0


@dataclass(frozen=True, slots=True)
class Drawn:
    """A new artwork of a piece: its fonts, those of its largest line first, and that line's size in mm."""

    artwork: Artwork
    font: str
    size: float


@dataclass(frozen=True, slots=True)
class Version:
    """An artwork as it was kept."""

    order: str
    piece: str
    number: int
    making: int
    digest: str
    template: str
    font: str
    size: float
    drawn_at: str
    artwork: Artwork


class PieceAnswer(Protocol):
    """What a customer says of one piece."""

    @property
    def piece(self) -> str:
        """Its id."""
        ...

    @property
    def digest_prefix(self) -> str:
        """The beginning of the digest that was answered to."""
        ...

    @property
    def right(self) -> bool:
        """Whether it is right as it is."""
        ...

    @property
    def wish(self) -> str:
        """What should be changed; a new text stands in quotation marks."""
        ...


class Answer(Protocol):
    """What a customer says of an order."""

    @property
    def order(self) -> str:
        """Its id."""
        ...

    @property
    def note(self) -> str:
        """What is said of the whole order."""
        ...

    @property
    def pieces(self) -> Sequence[PieceAnswer]:
        """What is said of each piece."""
        ...


@dataclass(frozen=True, slots=True)
class Reply:
    """What became of the answer for one piece: ``approved``, ``wish`` or ``refused``, and why."""

    piece: str
    outcome: str
    reason: str = ""
    wish: str = ""


@dataclass(frozen=True, slots=True)
class Recorded:
    """What became of an answer; `again`: it had been recorded before, and nothing changed."""

    order: str
    note: str
    replies: tuple[Reply, ...]
    again: bool = False


@dataclass(frozen=True, slots=True)
class Place:
    """A place on a load, and what lies there."""

    place: int
    order: str
    piece: str
    title: str
    result: str = ""


@dataclass(frozen=True, slots=True)
class Load:
    """A load of a machine: one sheet.

    Attributes:
        file: of its sheet, below the shop folder.
        sha256: of that file.
        aside: name of the folder it was written in before the ledger knew of it.
        state: ``open``, ``done`` or ``dropped``.
    """

    id: int
    machine: str
    blank: str
    material: str
    file: str
    sha256: str
    aside: str
    state: str
    made_at: str
    places: tuple[Place, ...] = ()


@dataclass(frozen=True, slots=True)
class Event:
    """Something that happened: when, to what, and the details."""

    id: int
    at: str
    order: str
    piece: str
    kind: str
    detail: Mapping[str, Any]
