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


def test_the_fonts_of_all_lines_are_kept_those_of_the_largest_first() -> None:
    workshop = Workshop.open()
    letterer = workshop.letterer()
    job = workshop.job("place-card", font="allura")
    pieces = (Piece("p2", 2, {"name": "Ida", "table": "דוד"}), Piece("p3", 3, {"name": "Ida"}))
    lettered = letter_order(Order("o", pieces, ()), job, letterer, workshop, 1, lambda *_: None)
    drawn, _ = drawn_of(lettered, letterer, ["p2", "p3"])
    one, two = sorted(drawn, key=lambda each: each.artwork.piece)
    sizes = [line.size for fitted in lettered.fitted for line in fitted.lines]
    assert (two.font, two.size) == ("allura", max(sizes))
    assert one.font.split(", ")[0] == "allura"
    assert "frank-ruhl-libre" in one.font
    assert one.size == two.size
