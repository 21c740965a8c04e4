"""Tables, artworks and answers that need neither a file nor a font."""

from __future__ import annotations

from collections.abc import Sequence
from types import SimpleNamespace
from typing import Any

from render.geometry import shapes
from render.model import Artwork, Mark, Operation, Piece
from render.shop.ledger import Drawn, Ledger, Making, NewLoad, Terms

TERMS = Terms("pet-tag", "pet-tag", "co2")


def table(*names: str, first: int = 2) -> list[Piece]:
    """A table's pieces as intake gives them."""
    return [Piece(f"p{n:03d}", n, {"name": name, "table": "Oak"}) for n, name in enumerate(names, first)]


def artwork(piece: str, name: str) -> Artwork:
    """A geometry of its own for each name."""
    width = 1 + int.from_bytes(name.encode(), "big") % 99_991 / 1000
    return Artwork(piece, name, (Mark(Operation.ENGRAVE, shapes.rectangle(1, 1, width, 3)),))


def draw(ledger: Ledger, order: str, ids: Sequence[str] = ()) -> dict[str, str]:
    """Draw the pieces that are to be shown, or some; their digests."""
    rows = ledger.pieces(order)
    making = Making(ledger.order(order).terms, {}, tuple(row.as_piece() for row in rows), {"name": 8.0})
    wanted = [row for row in rows if row.id in ids or (not ids and row.state in ("drafted", "proofed"))]
    drawn = [Drawn(artwork(row.id, row.title), "pacifico", 8.0) for row in wanted]
    ledger.keep_artworks(order, making, drawn, {})
    return {d.artwork.piece: d.artwork.digest() for d in drawn}


def said(order: str, *pieces: tuple[str, str, str | None], note: str = "") -> Any:
    """An answer: for each piece its id, the digest answered to, and a wish (None: right)."""
    each = [
        SimpleNamespace(piece=p, digest_prefix=d[:8], right=w is None, wish=w or "") for p, d, w in pieces
    ]
    return SimpleNamespace(order=order, note=note, pieces=each)


def approve(ledger: Ledger, order: str) -> dict[str, str]:
    """Draw, show, and have everything approved."""
    digests = draw(ledger, order)
    ledger.record_proof(order, digests, ["proof.html"])
    ledger.record_answer(said(order, *((id_, digest, None) for id_, digest in digests.items())))
    return digests


def lay(ledger: Ledger, *names: str) -> int:
    """Lay pieces (``order/piece``) out on one load; its number."""
    places = []
    for place, name in enumerate(names, 1):
        order, _, id_ = name.partition("/")
        places.append((place, order, id_, ledger.piece(order, id_).approved))
    new = NewLoad("co2", "pet-tag", "steel", tuple(places), "0" * 64, "aside/1", "sheet.svg")
    return ledger.open_loads([new])[0].id
