"""Where pieces go: nothing overlaps, nothing leaves the stock, every piece is there exactly once."""

from __future__ import annotations

from dataclasses import replace

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from render.errors import MonikerfError
from render.geometry import Path
from render.geometry.shapes import circle, rectangle
from render.model import (
    Artwork,
    Blank,
    Hold,
    Jig,
    Machine,
    Mark,
    Operation,
    Placement,
    Rotary,
    RotaryKind,
    RoundBody,
    Severity,
    Sheet,
    Stock,
)
from render.sheets.burn import finished
from render.sheets.layout import Fill, LayoutOptions, Turn, layout, reach
from render.sheets.places import UmBox

BED = Machine("bench", "The bench laser", (600, 400), "CO2", 0.1, {})


def plate(width: float, height: float, hold: Hold = Hold.STOCK, at: complex = 0j) -> Blank:
    outline = rectangle(at.real, at.imag, width, height)
    return Blank("plate", "Plate", outline, (), (), outline, "card", 1, hold)


def pieces(count: int, blank: Blank) -> tuple[Artwork, ...]:
    inked = rectangle(1, 1, 2, 1)
    if blank.hold is Hold.STOCK:
        inked = blank.outline
    art = (Mark(Operation.ENGRAVE, inked),)
    return finished([Artwork(f"p{n + 2}", f"Name {n}", art) for n in range(count)], blank)


def boxes(sheet: Sheet) -> list[shapely.Polygon]:
    """Each piece's burned box on the sheet in µm, from its points there."""
    found = []
    for placement in sheet.placements:
        um = placement.path_um(placement.artwork.burned(Operation.CUT))
        found.append(shapely.box(*um.min(axis=0), *um.max(axis=0)))
    return found


def in_a_row(room: float, side: float, gap: float) -> int:
    """How many sides fit in a row, one after the other; whole µm."""
    at, count = 0, 0
    while at + round(side * 1000) <= round(room * 1000):
        count, at = count + 1, at + round(side * 1000) + round(gap * 1000)
    return count


tenths = st.integers(0, 80).map(lambda n: n / 10)
sides = st.integers(50, 1500).map(lambda n: n / 10)


@given(sides, sides, tenths, tenths, st.integers(1, 60), st.sampled_from(Turn), st.sampled_from(Fill))
def test_stock_is_filled_without_overlap(width, height, margin, gap, count, turn, fill):
    blank, stock = plate(width, height), Stock(300, 200, margin, gap)
    room = (300 - 2 * margin, 200 - 2 * margin)
    fits = in_a_row(room[0], width, gap) * in_a_row(room[1], height, gap)
    turned_fits = in_a_row(room[0], height, gap) * in_a_row(room[1], width, gap)
    options = LayoutOptions(fill, turn)
    allowed = {
        Turn.AUTO: max(fits, turned_fits),
        Turn.FREE: max(fits, turned_fits),
        Turn.NEVER: fits,
        Turn.ALWAYS: turned_fits,
    }[turn]
    if not allowed:
        with pytest.raises(MonikerfError, match="does not fit"):
            layout(pieces(count, blank), blank, BED, stock=stock, options=options)
        return
    found = layout(pieces(count, blank), blank, BED, stock=stock, options=options)
    per_sheet = fits if turn in (Turn.AUTO, Turn.FREE) and fits >= min(count, turned_fits) else allowed
    assert found.columns * found.rows == per_sheet
    assert len(found.sheets) == -(-count // per_sheet)
    assert [p.artwork.piece for s in found.sheets for p in s.placements] == [
        f"p{n + 2}" for n in range(count)
    ]
    assert [s.number for s in found.sheets] == list(range(1, len(found.sheets) + 1))
    inner = shapely.box(margin * 1000, margin * 1000, (300 - margin) * 1000, (200 - margin) * 1000)
    for sheet in found.sheets:
        assert [p.place for p in sheet.placements] == list(range(1, len(sheet.placements) + 1))
        every = boxes(sheet)
        tree = shapely.STRtree(every)
        assert all(inner.buffer(0.1).contains(box) for box in every)
        for box, near in zip(*tree.query(every, "dwithin", distance=gap * 1000 - 0.5), strict=True):
            assert box == near or not gap
        for box, near in zip(*tree.query(every, "intersects"), strict=True):
            assert box == near or every[box].intersection(every[near]).area == 0


@pytest.mark.parametrize(("count", "turned", "columns", "rows"), [(9, False, 3, 3), (10, True, 5, 2)])
def test_cards_on_a4(count, turned, columns, rows):
    """ISO/IEC 7810 ID-1 (85.60 × 53.98 mm) on ISO 216 A4 lying (297 × 210 mm), counted by hand.

    Inside 5 mm: 287 × 200 mm. With 2 mm between, 3 × 3 lie upright (260.8 × 165.94 mm), 5 × 2 turned
    (277.9 × 173.2 mm).
    """
    blank = plate(85.60, 53.98)
    found = layout(pieces(count, blank), blank, BED, stock=Stock(297, 210, 5, 2))
    assert (found.turned, found.columns, found.rows, len(found.sheets)) == (turned, columns, rows, 1)


def test_the_first_place_is_top_left_and_rows_run_to_the_right():
    blank = plate(50, 30)
    sheet = layout(pieces(5, blank), blank, BED, stock=Stock(170, 100, 5, 2)).sheets[0]
    assert [(p.x_um, p.y_um) for p in sheet.placements] == [
        (5000, 5000),
        (57000, 5000),
        (109000, 5000),
        (5000, 37000),
        (57000, 37000),
    ]
    assert sheet.size == (170, 100)
    assert sheet.gap == 2


def test_columns_run_down():
    blank = plate(50, 30)
    options = LayoutOptions(fill=Fill.COLUMNS)
    sheet = layout(pieces(3, blank), blank, BED, stock=Stock(170, 70, 4, 2), options=options).sheets[0]
    assert [(p.x_um, p.y_um) for p in sheet.placements] == [(4000, 4000), (4000, 36000), (56000, 4000)]


def test_a_turned_piece_lies_where_its_place_is():
    blank = plate(60, 20, at=3 + 4j)
    options = LayoutOptions(turn=Turn.ALWAYS)
    sheet = layout(pieces(2, blank), blank, BED, stock=Stock(100, 100, 5, 2), options=options).sheets[0]
    assert [box.bounds for box in boxes(sheet)] == [(5000, 5000, 25000, 65000), (27000, 5000, 47000, 65000)]


def test_used_up_places_are_left_out_on_the_first_sheet_only():
    blank = plate(50, 30)
    options = LayoutOptions(first_place=5)
    first, second = layout(pieces(4, blank), blank, BED, stock=Stock(170, 72, 5, 2), options=options).sheets
    assert [p.place for p in first.placements] == [5, 6]
    assert [p.place for p in second.placements] == [1, 2]
    with pytest.raises(MonikerfError, match="no place 7"):
        layout(pieces(1, blank), blank, BED, stock=Stock(170, 72, 5, 2), options=LayoutOptions(first_place=7))


def test_without_stock_the_bed_is_stock():
    blank = plate(50, 30)
    assert layout(pieces(1, blank), blank, BED).sheets[0].size == (600, 400)


def test_the_blanks_own_stock_is_used_unless_another_is_given():
    blank = replace(plate(50, 30), stock=Stock(100, 90))
    assert layout(pieces(1, blank), blank, BED).sheets[0].size == (100, 90)
    assert layout(pieces(1, blank), blank, BED, stock=Stock(80, 70)).sheets[0].size == (80, 70)


def test_stock_that_fits_the_bed_only_turned_is_turned():
    blank = plate(50, 30)
    found = layout(pieces(1, blank), blank, BED, stock=Stock(300, 600))
    assert found.sheets[0].size == (600, 300)
    assert [(p.severity, p.code) for p in found.problems] == [(Severity.NOTE, "stock-turned")]


def test_the_bed_limits_stock_that_is_larger():
    blank = plate(50, 30)
    found = layout(pieces(1, blank), blank, BED, stock=Stock(1200, 300))
    assert found.sheets[0].size == (600, 300)
    assert [(p.severity, p.code) for p in found.problems] == [(Severity.LOOK, "stock-larger-than-bed")]


@pytest.mark.parametrize(
    ("stock", "words"),
    [
        (Stock(55, 200, 5, 2), "50 × 30 mm, which does not fit the 45 × 190 mm"),
        (Stock(200, 200, -1, 2), "margin .* cannot be negative"),
        (Stock(200, 200, 1, -2), "gap .* cannot be negative"),
    ],
)
def test_stock_that_will_not_do_is_told(stock, words):
    blank = plate(50, 30)
    with pytest.raises(MonikerfError, match=words) as told:
        layout(pieces(1, blank), blank, BED, stock=stock, options=LayoutOptions(turn=Turn.NEVER))
    assert told.value.hint


JIG = Jig("nest", "Jig for six", 3, 2, (10, 15), (60, 40))


def test_a_jig_is_filled_place_by_place_in_several_loads():
    blank = plate(50, 30, Hold.JIG)
    found = layout(pieces(8, blank), blank, BED, jig=JIG)
    first, second = found.sheets
    assert [(p.x_um, p.y_um) for p in first.placements] == [
        (x, y) for y in (15000, 55000) for x in (10000, 70000, 130000)
    ]
    assert [(p.place, p.x_um) for p in second.placements] == [(1, 10000), (2, 70000)]
    assert (first.size, first.gap, found.columns, found.rows) == ((600, 400), 10, 3, 2)


@pytest.mark.parametrize(
    ("blank", "jig", "words"),
    [
        (plate(50, 30, Hold.JIG), None, "none was named"),
        (plate(61, 30, Hold.JIG), JIG, "which lie 60 × 40 mm apart"),
        (plate(50, 30, Hold.JIG), replace(JIG, columns=11), "beyond the bed"),
        (plate(50, 30, Hold.JIG), replace(JIG, origin=(-1, 0)), "beyond the bed"),
    ],
)
def test_a_jig_that_will_not_do_is_told(blank, jig, words):
    with pytest.raises(MonikerfError, match=words) as told:
        layout(pieces(1, blank), blank, BED, jig=jig)
    assert told.value.hint


def rotary(axis: str = "y", kind: RotaryKind = RotaryKind.CHUCK) -> Machine:
    return replace(BED, rotary=Rotary(kind, 360, axis))


TUMBLER = replace(plate(228.6, 100, Hold.ROTARY), body=RoundBody(228.6, 100, 5))


@pytest.mark.parametrize(
    ("machine", "size", "limit"),
    [
        (rotary(), (100, 360), (600, 360)),
        (rotary("x"), (360, 100), (360, 400)),
        (rotary(kind=RotaryKind.ROLLER), (100, 228.6), (600, 228.6)),
    ],
)
def test_each_round_piece_is_a_run_of_its_own_at_the_origin(machine, size, limit):
    found = layout(pieces(3, TUMBLER), TUMBLER, machine)
    assert [[p.artwork.piece for p in s.placements] for s in found.sheets] == [["p2"], ["p3"], ["p4"]]
    assert all(s.placements[0] == Placement(s.placements[0].artwork, 1, 0, 0) for s in found.sheets)
    assert {s.size for s in found.sheets} == {size}
    assert found.sheets[1].title == "Plate, run 2 of 3: p3 Name 1"
    assert reach(machine, TUMBLER) == limit


def test_a_round_thing_needs_a_rotary_a_body_and_room():
    with pytest.raises(MonikerfError, match="has no rotary"):
        layout(pieces(1, TUMBLER), TUMBLER, BED)
    with pytest.raises(MonikerfError, match="no round body"):
        layout(pieces(1, TUMBLER), replace(TUMBLER, body=None), rotary())
    long = replace(TUMBLER, body=RoundBody(228.6, 601))
    with pytest.raises(MonikerfError, match="along the axis"):
        layout(pieces(1, TUMBLER), long, rotary())


def test_a_piece_that_reaches_onto_its_neighbour_is_held_back_and_the_rest_goes_on():
    blank = plate(50, 30)
    good = pieces(2, blank)
    wide = Artwork("p9", "Wide", (*good[0].marks, Mark(Operation.ENGRAVE, circle(49 + 10j, 2))))
    bare = Artwork("p10", "Bare", (Mark(Operation.GUIDE, blank.outline),))
    found = layout([good[0], wide, bare, good[1]], blank, BED)
    assert [p.artwork.piece for p in found.sheets[0].placements] == ["p2", "p3"]
    assert [(p.piece, p.code, p.severity) for p in found.problems] == [
        ("p9", "off-the-blank", Severity.STOP),
        ("p10", "nothing-to-burn", Severity.STOP),
    ]


def test_a_curve_whose_handles_alone_leave_the_blank_is_no_problem():
    blank = plate(50, 30)
    bow = Path.of([0, 2, 4], [1 + 10j, 25 - 5j, 49 + 10j])  # its top is at y = 2.5
    art = Artwork("p2", "Bow", (Mark(Operation.ENGRAVE, bow),))
    assert not layout([art], blank, BED).problems


def test_no_pieces_no_sheets():
    assert layout([], plate(50, 30), BED).sheets == ()


def test_the_same_piece_twice_is_refused():
    blank = plate(50, 30)
    with pytest.raises(ValueError, match="same piece"):
        layout([*pieces(1, blank), *pieces(1, blank)], blank, BED)


@given(st.integers(-9, 9), st.integers(-9, 9), st.integers(0, 9), st.integers(0, 9), st.integers(0, 7))
def test_a_turned_box_is_the_box_of_the_turned_corners(x, y, width, height, quarters):
    art = Artwork("p2", "", ())
    corners = Path.polyline((complex(x, y), complex(x + width, y + height)))
    um = Placement(art, 1, 0, 0, quarters).path_um(corners)
    box = UmBox(*(1000 * v for v in (x, y, x + width, y + height))).turned(quarters)
    assert (box.x0, box.y0, box.x1, box.y1) == (*um.min(axis=0), *um.max(axis=0))
