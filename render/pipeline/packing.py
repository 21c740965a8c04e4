"""Packing papers: the pieces of an order by bag, and a label for each piece."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Final

from render.errors import MonikerfError
from render.model import Order, Piece
from render.pipeline.artworks import held_back, title_of
from render.pipeline.proofs import Captions
from render.proof.drawnpapers import draw_packing
from render.proof.labels import Label, draw_labels
from render.proof.papers import Head, PackingPaper, Parcel
from render.shop.ledger import State
from render.writers.files import ready_folder, safe_stem, write_atomically

if TYPE_CHECKING:
    from render.lettering import Letterer
    from render.shop.ledger import LedgerOrder, LedgerPiece

USUAL: Final = ("department", "table", "sheet", "company")
"""What pieces are usually parcelled by, the first that the order has."""

NOWHERE: Final = "(not said)"
"""The parcel of pieces that do not say where they belong; it comes last."""


@dataclass(frozen=True, slots=True)
class ToPack:
    """What is packed, and what its papers say of it.

    Attributes:
        order: its pieces, its problems, and a name that is the first half of each label's code.
        title: heads the list.
        due: when it must be ready, ISO 8601; empty: nobody said.
        lacking: pieces that are not made yet, and how far they are.
    """

    order: Order
    title: str
    due: str = ""
    lacking: Mapping[str, str] = field(default_factory=dict)

    @classmethod
    def of_ledger(cls, known: LedgerOrder, order: Order, rows: Sequence[LedgerPiece]) -> ToPack:
        """An order of the ledger, with what is not made yet. What its table held back is for `check`."""
        lacking = {r.id: str(r.state) for r in rows if r.state not in (State.MADE, State.PACKED)}
        return cls(replace(order, problems=()), known.customer or known.id, known.due, lacking)


def parcels_by(order: Order, by: str = "") -> tuple[str, tuple[Parcel, ...]]:
    """The field that the pieces are parcelled by, and the parcels in order of their names.

    Spelling that differs only in case or outer space is one parcel, called as it came first. Within a parcel
    pieces go by surname, where the table has one, else by name. By ``surname`` each initial is a parcel, and
    where the table has no surnames the last word of the name counts.

    Raises:
        MonikerfError: no piece has the field, or the order has no pieces.
    """
    if by != "surname":
        return _parcels(order, by)
    pieces = [replace(p, fields={**p.fields, "surname": surname_of(p)}) for p in order.pieces]
    initials = [replace(p, fields={**p.fields, "initial": p.fields["surname"][:1].upper()}) for p in pieces]
    return "surname", _parcels(replace(order, pieces=tuple(initials)), "initial")[1]


def _parcels(order: Order, by: str) -> tuple[str, tuple[Parcel, ...]]:
    if not order.pieces:
        raise MonikerfError("there are no pieces to pack", hint="see what the table holds: monikerf check")
    fields = dict.fromkeys(name for piece in order.pieces for name in piece.fields)
    chosen = by or next((name for name in USUAL if name in fields), "")
    if chosen not in fields:
        hint = f"name one with --by: {', '.join(fields)}"
        raise MonikerfError(f"the table has no column for {chosen or 'departments'}", hint=hint)
    called: dict[str, str] = {}
    groups: dict[str, list[Piece]] = {}
    for piece in order.pieces:
        text = " ".join(piece.fields.get(chosen, "").split())
        key = text.casefold()
        called.setdefault(key, text or NOWHERE)
        groups.setdefault(key, []).append(piece)
    keys = sorted(groups, key=lambda key: (not key, _counted(key)))
    return chosen, tuple(
        Parcel(
            _name(called[key], chosen),
            tuple((p.id, title_of(p)) for p in sorted(groups[key], key=_by_surname)),
        )
        for key in keys
    )


def _counted(key: str) -> list[tuple[int, str]]:
    """A sort key by which 2 comes before 10, wherever they stand in a text."""
    return [(int(part), "") if part.isdecimal() else (-1, part) for part in re.split(r"(\d+)", key)]


def _name(text: str, field: str) -> str:
    """What a parcel is called: a number alone says nothing, so its field stands before it."""
    return f"{field[:1].upper()}{field[1:]} {text}" if text.isdecimal() else text


def packing_order(pieces: Sequence[Piece], by: str) -> tuple[str, ...]:
    """The ids of pieces parcel by parcel, so that what goes into one bag is made together.

    Raises:
        MonikerfError: no piece has the field.
    """
    _, parcels = parcels_by(Order("", tuple(pieces)), by)
    return tuple(id_ for parcel in parcels for id_, _ in parcel.pieces)


def surname_of(piece: Piece) -> str:
    """The surname that the table gives, else the last word of the name (a guess, good for sorting only)."""
    return piece.fields.get("surname", "").strip() or (piece.fields.get("name", "").split() or [""])[-1]


def _by_surname(piece: Piece) -> tuple[str, str]:
    return piece.fields.get("surname", "").casefold() or title_of(piece).casefold(), piece.id


def write_papers(
    what: ToPack, letterer: Letterer, shop: str, by: str, date: str, folder: Path
) -> tuple[tuple[Parcel, ...], tuple[Path, ...]]:
    """Write the packing list and the labels of an order as PDFs; the same order gives the same bytes.

    All pieces are on the list, also those that are not made yet: they are marked.

    Args:
        what: the order.
        letterer: for the words.
        shop: its name.
        by: the field that the pieces are parcelled by; empty: the first usual one.
        date: of the papers, ISO 8601.
        folder: where they go.

    Returns:
        The parcels, and the files: the list, then the labels.

    Raises:
        MonikerfError: there is nothing to sort by, or a file cannot be written.
    """
    from render.writers.pages import pages_pdf

    chosen, parcels = parcels_by(what.order, by)
    letter, stem = Captions(letterer), safe_stem(what.order.name)
    ready_folder(folder)
    files = (folder / f"{stem}-packing.pdf", folder / f"{stem}-labels.pdf")
    paper = _list(what, parcels, Head(shop, (), "Packing list", (), what.title), chosen, date)
    for file, pages, kind in (
        (files[0], draw_packing(paper, letter), "Packing list"),
        (files[1], draw_labels(_labels(what.order.name, parcels), letter), "Labels"),
    ):
        write_atomically(file, pages_pdf(pages, title=f"{kind}, {what.title}", author=shop, date=date))
    return parcels, files


def _list(what: ToPack, parcels: tuple[Parcel, ...], head: Head, by: str, date: str) -> PackingPaper:
    held = len(held_back(what.order.problems))
    count = sum(len(parcel.pieces) for parcel in parcels)
    facts = [("Date", date), ("Due", what.due), ("Pieces", str(count)), ("Parcels", str(len(parcels)))]
    facts += [("Not made yet", str(len(what.lacking)))] if what.lacking else []
    facts += [("Held back", str(held))] if held else []
    subtitle = f"By {by}; tick each piece as it goes into its bag."
    head = replace(head, facts=tuple(f for f in facts if f[1]), subtitle=subtitle)
    notes = {id_: f" — {state}" for id_, state in what.lacking.items()}
    marked = tuple(
        replace(p, pieces=tuple((i, text + notes.get(i, "")) for i, text in p.pieces)) for p in parcels
    )
    foot = f"{held} rows were held back and are not on this list; monikerf check names them." if held else ""
    return PackingPaper(head, marked, foot)


def _labels(order: str, parcels: Sequence[Parcel]) -> list[Label]:
    return [
        Label(text, parcel.name, f"{order}/{id_}", qr_modules(f"{order}/{id_}"))
        for parcel in parcels
        for id_, text in parcel.pieces
    ]


def qr_modules(text: str) -> tuple[tuple[bool, ...], ...]:
    """A text as a QR code (ISO/IEC 18004, error correction M): rows of dark modules, without quiet zone."""
    import segno

    code = segno.make(text, error="m", micro=False, boost_error=False)
    return tuple(tuple(bool(cell) for cell in row) for row in code.matrix)
