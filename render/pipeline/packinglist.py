"""Papers for packing an order of the ledger: its list by bag, and a label for each piece."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from render.errors import MonikerfError
from render.model import Order, Piece
from render.pipeline.packing import parcels_of
from render.pipeline.proofs import Captions
from render.proof.drawnpapers import draw_packing
from render.proof.labels import Label, draw_labels
from render.proof.papers import Head, PackingPaper, Parcel
from render.shop.ledger import State
from render.shop.settings import Settings
from render.writers.files import ready_folder, safe_stem, write_atomically

if TYPE_CHECKING:
    from render.lettering import Letterer
    from render.shop.ledger import Ledger


@dataclass(frozen=True, slots=True)
class Papers:
    """What was written: sorted by which field, the parcels, the files."""

    by: str
    parcels: tuple[Parcel, ...]
    files: tuple[Path, ...]


def write_papers(
    ledger: Ledger, order: str, letterer: Letterer, settings: Settings, by: str, folder: Path
) -> Papers:
    """Write the packing list and the labels of an order as PDFs; the same ledger gives the same bytes.

    All pieces are on the list, also those that are not made yet: they are marked. Sorted by ``surname`` where
    the table has none, the last word of the name counts, and each initial is a parcel.

    Raises:
        MonikerfError: there is nothing to sort by, or a file cannot be written.
    """
    from render.writers.pages import pages_pdf

    known = ledger.order(order)
    rows = ledger.pieces(order)
    pieces = tuple(row.as_piece() for row in rows)
    field, parcels = parcels_by(Order(order, pieces), by or settings.work.pack_by)
    letter = Captions(letterer)
    date = ledger.now[:10]
    notes = {r.id: "" if r.state in (State.MADE, State.PACKED) else f" — {r.state}" for r in rows}
    marked = tuple(replace(p, pieces=tuple((i, t + notes[i]) for i, t in p.pieces)) for p in parcels)
    lacking = sum(1 for note in notes.values() if note)
    facts = [("Date", date), ("Due", known.due), ("Pieces", str(len(rows))), ("Parcels", str(len(parcels)))]
    facts += [("Not made yet", str(lacking))] if lacking else []
    subtitle = f"By {field}; tick each piece as it goes into its bag."
    title = known.customer or order
    head = Head(settings.name, (), "Packing list", tuple(f for f in facts if f[1]), title, subtitle)
    stem = safe_stem(order)
    ready_folder(folder)
    files = (folder / f"{stem}-packing.pdf", folder / f"{stem}-labels.pdf")
    pages = draw_packing(PackingPaper(head, marked, ""), letter)
    author = settings.name
    write_atomically(files[0], pages_pdf(pages, title=f"Packing list, {title}", author=author, date=date))
    pages = draw_labels(_labels(order, parcels), letter)
    write_atomically(files[1], pages_pdf(pages, title=f"Labels, {title}", author=author, date=date))
    return Papers(field, parcels, files)


def parcels_by(order: Order, by: str) -> tuple[str, tuple[Parcel, ...]]:
    """The parcels of an order by a field of its table; by ``surname`` also where the table has none.

    Raises:
        MonikerfError: no piece has the field.
    """
    if by != "surname":
        return parcels_of(order, by)
    if not order.pieces:
        raise MonikerfError("there are no pieces to pack")
    pieces = [replace(p, fields={**p.fields, "surname": surname_of(p)}) for p in order.pieces]
    initials = [replace(p, fields={**p.fields, "initial": p.fields["surname"][:1].upper()}) for p in pieces]
    return "surname", parcels_of(Order(order.name, tuple(initials)), "initial")[1]


def surname_of(piece: Piece) -> str:
    """The surname that the table gives, else the last word of the name (a guess, good for sorting only)."""
    return piece.fields.get("surname", "").strip() or (piece.fields.get("name", "").split() or [""])[-1]


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
