"""From artworks to loads: what grain, stock and the bed ask for."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest

from render.errors import LibraryError, MonikerfError
from render.geometry import Path
from render.model import Artwork, Mark, Operation, Order, Piece, Severity, Stock
from render.pipeline.artworks import letter_order
from render.pipeline.cutting import CutOptions, cut_ready
from render.pipeline.laying import Wrapped, lay_out
from render.pipeline.leftovers import on_stock
from render.pipeline.workshop import Job, Workshop
from render.sheets.layout import AS_SUITS, Arrange, LayoutOptions, Turn
from render.sheets.taken import Taken, clear_rectangle, lies_turned, used_up, waste_of
from render.sheets.verify import inspect_sheet
from render.writers import sheet_svg

WORKSHOP = Workshop.open()
KEY_RING = WORKSHOP.job("name-key-ring")


def wedges(count: int) -> Wrapped:
    shape = Path.polygon((5 + 5j, 90 + 5j, 5 + 30j))
    art = (Artwork(f"p{n:03}", "Wedge", (Mark(Operation.CUT, shape),)) for n in range(count))
    return Wrapped(tuple(art), None, ())


def quarters(job: Job, options: LayoutOptions = AS_SUITS) -> set[int]:
    laid = lay_out(wedges(12), frozenset(), job, replace(options, steps=0))
    assert {p.artwork.piece for s in laid.sheets for p in s.placements} == {f"p{n:03}" for n in range(12)}
    return {p.quarters for s in laid.sheets for p in s.placements}


def test_pieces_of_their_own_shape_are_nested_of_themselves() -> None:
    laid = lay_out(wedges(12), frozenset(), KEY_RING)
    assert laid.way is Arrange.NESTED
    assert lay_out(wedges(12), frozenset(), KEY_RING, replace(AS_SUITS, first_place=2)).way is Arrange.GRID
    assert lay_out(wedges(1), frozenset(), KEY_RING).way is Arrange.GRID
    for sheet in laid.sheets:
        assert inspect_sheet(sheet_svg(sheet), sheet, KEY_RING.machine.bed).ok


def test_with_a_grain_nothing_is_turned_across_it() -> None:
    narrow = replace(KEY_RING, stock=Stock(130, 400, 5, 2))
    assert quarters(narrow) & {1, 3}
    material = replace(KEY_RING, material=replace(KEY_RING.material, grain=True), stock=narrow.stock)
    assert quarters(material) <= {0, 2}
    blank = replace(KEY_RING, blank=replace(KEY_RING.blank, grain=True), stock=narrow.stock)
    assert quarters(blank) <= {0, 2}
    assert quarters(blank, replace(AS_SUITS, turn=Turn.FREE)) & {1, 3}
    without = replace(material, blank=replace(KEY_RING.blank, grain=False))
    assert quarters(without) & {1, 3}


def test_on_stock_that_lies_turned_the_pieces_turn_along_with_their_grain() -> None:
    machine = replace(KEY_RING.machine, bed=(600, 200))
    stock = Stock(180, 500, 5, 2)
    assert lies_turned(stock, machine)
    job = replace(KEY_RING, machine=machine, stock=stock, blank=replace(KEY_RING.blank, grain=True))
    for way in (Arrange.GRID, Arrange.NESTED):
        assert quarters(job, replace(AS_SUITS, arrange=way)) <= {1, 3}
    with pytest.raises(MonikerfError, match="grain"):
        lay_out(wedges(2), frozenset(), replace(job, offcuts=(Stock(100, 50),)))


def test_what_is_used_up_is_told_as_the_stock_is_kept_though_it_lies_turned() -> None:
    machine = replace(KEY_RING.machine, bed=(600, 200))
    stock = Stock(180, 500, 5, 2)
    laid = lay_out(wedges(1), frozenset(), replace(KEY_RING, machine=machine, stock=stock))
    (sheet,), (taken,) = laid.sheets, laid.taken
    assert sheet.size == (500, 180)
    ((box,),) = [[path.bounds() for path in used_up(sheet, taken)]]
    on_bed = used_up(sheet)[0].bounds()
    assert (box.width, box.height) == pytest.approx((on_bed.height, on_bed.width), abs=0.2)
    assert (box.x0, stock.height - box.y1) == pytest.approx((on_bed.y0, on_bed.x0), abs=0.2)


def test_sheets_come_in_the_order_they_are_named_and_the_thing_s_own_last() -> None:
    small = Stock(110, 60, 5, 2, id="small")
    laid = lay_out(wedges(8), frozenset(), replace(KEY_RING, offcuts=(small, small)))
    assert [t.stock.id for t in laid.taken[:2]] == ["small", "small"]
    assert {t.stock.id for t in laid.taken[2:]} == {""}
    assert sum(len(s.placements) for s in laid.sheets) == 8
    with pytest.raises(LibraryError, match="made of acrylic"):
        on_stock(KEY_RING, ["plywood-3"], WORKSHOP)
    topper = WORKSHOP.job("cake-topper")
    with pytest.raises(LibraryError, match="idle"):
        on_stock(topper, ["plywood-3", "plywood-4-long"], WORKSHOP)
    assert on_stock(topper, ["plywood-3"], WORKSHOP).stock.id == "plywood-3"


def test_the_clear_rectangle_keeps_off_what_is_used() -> None:
    assert clear_rectangle(Stock(200, 100, 5, 2)) == (190, 90)
    corner = Path.polygon((0, 80, 80 + 60j, 60j))
    width, height = clear_rectangle(Stock(200, 100, 5, 2, (corner,)))
    assert width <= 200 - 5 - 82
    assert height == 90
    taken = [Taken(Stock(2, 2), False, 3, 4, 2, 2), Taken(Stock(2, 2), False, 1, 4, 2, 1)]
    assert waste_of(taken) == 0.5
    assert waste_of(taken, used=True) == pytest.approx(1 / 3)


def sign(*names: str) -> tuple[Wrapped, Job]:
    job = WORKSHOP.job("porch-sign")
    pieces = tuple(Piece(f"p{n:03}", n, {"name": name}) for n, name in enumerate(names, 2))
    lettered = letter_order(Order("test", pieces), job, WORKSHOP.letterer(), WORKSHOP, 1, lambda *_: None)
    assert not [p for p in lettered.problems if p.severity is not Severity.NOTE]
    return Wrapped(lettered.artworks, None, ()), job


def test_a_porch_sign_passes_through_in_sections() -> None:
    wrapped, job = sign("The Old Orchard")
    assert job.machine.passes_through == "y"  # of itself the first machine that lets it through
    laid = lay_out(wrapped, frozenset(), job)
    assert laid.sections
    assert len(laid.sheets) == 4
    assert not laid.taken
    found = [inspect_sheet(sheet_svg(s), s, job.machine.bed) for s in laid.sheets]
    assert all(each.ok for each in found), found
    assert [p.code for p in laid.problems] == ["in-sections"]  # no letter is cut
    crosses = []
    for sheet in laid.sheets:
        (placement,) = sheet.placements
        assert placement.quarters == 1
        crosses.append([placement.artwork.burned(o) for o in (Operation.SCORE, Operation.GUIDE)])
    for (scored, _), (_, guide) in pairwise(crosses):
        assert scored == guide
    wider = lay_out(wrapped, frozenset(), job, cutting=CutOptions(kerf=0.3)).sheets[1]
    (inner,) = (
        cut_ready(replace(laid, sheets=(wider,)), job, CutOptions(kerf=0.3)).layout.sheets[0].placements
    )
    assert inner.artwork.burned(Operation.CUT).bounds().height == pytest.approx(180.3, abs=0.01)
    sheet = laid.sheets[0]
    moved = replace(sheet.placements[0], x_um=sheet.placements[0].x_um + 3)
    assert not inspect_sheet(sheet_svg(replace(sheet, placements=(moved,))), sheet, job.machine.bed).ok


def test_without_a_way_through_it_is_told_what_would_help() -> None:
    _, job = sign()
    closed = replace(job, machine=WORKSHOP.library.machine("co2"))
    with pytest.raises(MonikerfError, match="1400 mm long") as refused:
        lay_out(Wrapped((), None, ()), frozenset(), closed)
    assert "passes_through" in refused.value.hint
    narrow = replace(job, machine=replace(job.machine, bed=(190.0, 400.0)))
    one = Artwork("p002", "x", (Mark(Operation.ENGRAVE, Path.polygon((50 + 50j, 60 + 50j, 60 + 60j))),))
    with pytest.raises(MonikerfError, match="registration marks"):
        lay_out(Wrapped((one,), None, ()), frozenset(), narrow)
