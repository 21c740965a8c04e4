"""What the ledger is told of a piece's lettering."""

from __future__ import annotations

from render.model import Order, Piece
from render.pipeline import Workshop
from render.pipeline.artworks import letter_order
from render.pipeline.orders import drawn_of


def test_all_fonts_of_the_largest_line_are_kept() -> None:
    workshop = Workshop.open()
    letterer = workshop.letterer()
    pieces = tuple(Piece(f"p{n}", n, {"name": name}) for n, name in ((2, "David & דוד"), (3, "Ida")))
    job = workshop.job("place-card")
    lettered = letter_order(Order("o", pieces, ()), job, letterer, workshop, 1, lambda *_: None)
    drawn, missing = drawn_of(lettered, letterer, ["p2", "p3"])
    one, two = sorted(drawn, key=lambda each: each.artwork.piece)
    assert one.font == f"{two.font}, frank-ruhl-libre"
    assert "," not in two.font
    assert not missing
