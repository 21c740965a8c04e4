"""Packing lists: the pieces of an order by department, table, sheet or any other column."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Final

from render.errors import MonikerfError
from render.model import Order, Piece
from render.pipeline.artworks import held_back, title_of
from render.pipeline.proofs import Captions
from render.proof.drawnpapers import draw_packing
from render.proof.papers import Head, PackingPaper, Parcel

if TYPE_CHECKING:
    from render.lettering import Letterer

USUAL: Final = ("department", "table", "sheet", "company")
"""What pieces are usually parcelled by, the first that the order has."""

NOWHERE: Final = "(not said)"
"""The parcel of pieces that do not say where they belong; it comes last."""


def parcels_of(order: Order, by: str = "") -> tuple[str, tuple[Parcel, ...]]:
    """The field that the pieces are parcelled by, and the parcels in order of their names.

    Spelling that differs only in case or outer space is one parcel, called as it came first. Within a parcel
    pieces go by surname, where the table has one, else by name.

    Raises:
        MonikerfError: no piece has the field, or the order has no pieces.
    """
    if not order.pieces:
        raise MonikerfError("there are no pieces to pack", hint="see what the table holds: monikerf check")
    fields = dict.fromkeys(field for piece in order.pieces for field in piece.fields)
    field = by or next((name for name in USUAL if name in fields), "")
    if field not in fields:
        hint = f"name one with --by: {', '.join(fields)}"
        raise MonikerfError(f"the table has no column for {field or 'departments'}", hint=hint)
    called: dict[str, str] = {}
    groups: dict[str, list[Piece]] = {}
    for piece in order.pieces:
        text = " ".join(piece.fields.get(field, "").split())
        key = text.casefold()
        called.setdefault(key, text or NOWHERE)
        groups.setdefault(key, []).append(piece)
    keys = sorted(groups, key=lambda key: (not key, key))
    return field, tuple(
        Parcel(called[key], tuple((p.id, title_of(p)) for p in sorted(groups[key], key=_by_surname)))
        for key in keys
    )


def _by_surname(piece: Piece) -> tuple[str, str]:
    return piece.fields.get("surname", "").casefold() or title_of(piece).casefold(), piece.id


def packing_pages(
    order: Order, parcels: tuple[Parcel, ...], letterer: Letterer, about: Mapping[str, str]
) -> tuple[bytes, ...]:
    """The packing list, one SVG a page; `about` has the words `shop`, `by` and `date`."""
    count = sum(len(parcel.pieces) for parcel in parcels)
    held = held_back(order.problems)
    facts = [("Date", about["date"]), ("Pieces", str(count)), ("Parcels", str(len(parcels)))]
    if held:
        facts.append(("Held back", str(len(held))))
    subtitle = f"By {about['by']}; tick each piece as it goes into its bag."
    head = Head(about["shop"], (), "Packing list", tuple(f for f in facts if f[1]), order.name, subtitle)
    foot = (
        f"{len(held)} rows were held back and are not on this list; monikerf check names them."
        if held
        else ""
    )
    return draw_packing(PackingPaper(head, parcels, foot), Captions(letterer))
