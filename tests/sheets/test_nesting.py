"""Nesting: nothing overlaps, nothing is lost, it is never worse than the grid, and always the same."""

from __future__ import annotations

import json
import os
import random
import re
import subprocess
import sys
from pathlib import Path as FilePath

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from render.geometry import Path
from render.geometry.shapes import circle
from render.model import Artwork, Mark, Operation, Severity, Stock
from render.sheets import strips
from render.sheets.burn import finished
from render.sheets.footprints import footprint
from render.sheets.layout import AS_SUITS, Arrange, LayoutOptions, Turn, layout
from render.sheets.nesting import Laid, Nest, Room, Shape, lying, nest, reach, too_close
from render.sheets.plans import SEARCHED, STEPS
from render.sheets.search import denser
from render.sheets.taken import used_up
from render.sheets.verify import inspect_sheet

SMALL = 40_000


def wedge(size: float = 30.0) -> Path:
    return Path.polygon((0, complex(size, 0), complex(0, size)))


def wedges(count: int, blank) -> list[Artwork]:
    return [Artwork(f"p{n + 2}", "Wedge", (Mark(Operation.CUT, wedge()),)) for n in range(count)]


@given(
    st.lists(st.tuples(st.floats(4, 30), st.floats(4, 30), st.integers(3, 7)), min_size=1, max_size=8),
    st.floats(0, 4),
)
@settings(max_examples=15, deadline=None)
def test_no_two_come_too_near_by_shapely(sizes: list[tuple[float, float, int]], gap: float) -> None:
    shapes = []
    for number, (width, height, corners) in enumerate(sizes):
        turn = np.exp(2j * np.pi * (np.arange(corners) + 0.2) / corners)
        ring = np.stack((turn.real * width / 2 + 50, turn.imag * height / 2), 1)
        shapes.append(Shape(str(number), shapely.Polygon(ring), (0.0, 45.0, 90.0)))
    hole = shapely.Point(40, 30).buffer(12)
    rooms = [Room(80, 70, 3, (hole,)), Room(120, 60, 2)]
    found = nest(shapes, rooms, gap, squares=SMALL)
    assert not found.left
    assert sorted(p.id for p in found.laid) == sorted(s.id for s in shapes)
    assert too_close(found, shapes, rooms, gap) == []


def test_the_judge_sees_what_is_wrong() -> None:
    square = Shape("a", shapely.box(0, 0, 10, 10))
    other = Shape("b", shapely.box(0, 0, 10, 10))
    rooms = [Room(50, 50, 5, (shapely.box(30, 0, 31, 50),))]
    near = Nest((Laid("a", 0, 0, 5000, 5000), Laid("b", 0, 0, 16000, 5000)))
    assert too_close(near, [square, other], rooms, 1.0) == []
    assert "too near" in too_close(near, [square, other], rooms, 1.1)[0]
    assert "leaves" in too_close(Nest((Laid("a", 0, 0, 4000, 5000),)), [square], rooms, 1)[0]
    assert "used-up" in too_close(Nest((Laid("a", 0, 0, 19500, 5000),)), [square], rooms, 1)[0]


def test_wedges_lie_in_pairs_where_a_grid_wastes_half(make) -> None:
    blank = make.tag(30, 30, outline=wedge(), holes=(), folds=(), stock=Stock(200, 74, 2, 1))
    art = wedges(16, blank)
    plain = layout(art, blank, make.machine())
    close = layout(art, blank, make.machine(), options=LayoutOptions(arrange=Arrange.NESTED))
    assert (len(plain.sheets), len(close.sheets)) == (2, 1)
    of_itself = layout(art, blank, make.machine(), options=AS_SUITS)
    assert of_itself.sheets == plain.sheets
    assert [p.code for p in of_itself.problems] == ["nest-may-help"]
    assert sum(len(s.placements) for s in close.sheets) == 16
    (taken,) = close.taken
    assert taken.pieces == pytest.approx(16 * 450, rel=0.01)
    assert taken.area == 200 * 74
    assert taken.waste == pytest.approx(1 - 7200 / 14800, rel=0.01)
    again = layout(art, blank, make.machine(), options=LayoutOptions(arrange=Arrange.NESTED))
    assert again == close


def test_rectangles_that_fill_a_grid_stay_in_it(make) -> None:
    blank = make.tag(40, 20)
    art = finished([make.lettered(f"p{n}", blank) for n in range(2, 8)], blank)
    close = layout(
        art, blank, make.machine(), stock=Stock(134, 54, 5, 2), options=LayoutOptions(arrange=Arrange.NESTED)
    )
    assert "grid-kept" in {p.code for p in close.problems}
    assert close.columns == 3


@pytest.mark.parametrize("turn", [Turn.AUTO, Turn.FREE, Turn.NEVER])
def test_a_nested_sheet_is_read_back_as_meant(make, turn: Turn) -> None:
    blank = make.tag(30, 30, outline=wedge(), holes=(circle(6 + 6j, 2),), folds=())
    art = finished([make.lettered(f"p{n}", make.tag(24, 12)) for n in range(2, 8)], blank)
    laid = layout(
        art,
        blank,
        make.machine(),
        stock=Stock(110, 68, 2, 1),
        options=LayoutOptions(arrange=Arrange.NESTED, turn=turn, steps=40),
    )
    assert not [p for p in laid.problems if p.severity is Severity.STOP]
    for sheet in laid.sheets:
        found = inspect_sheet(make.tiny_svg(sheet).encode(), sheet, (600, 400))
        assert found.ok, found.findings
        text = make.tiny_svg(sheet)
        (first, *_) = re.findall(r'd="M(\d+(?:\.\d+)?) ', text)
        spoilt = text.replace(f'd="M{first} ', f'd="M{float(first) + 0.002:g} ', 1)  # two micrometres
        assert not inspect_sheet(spoilt.encode(), sheet, (600, 400)).ok
    if turn is Turn.NEVER:
        assert {p.quarters for s in laid.sheets for p in s.placements} <= {0, 2}


def test_an_offcut_is_used_first_and_its_used_up_regions_are_left_alone(make) -> None:
    blank = make.tag(30, 30, outline=wedge(), holes=(), folds=())
    first = layout(
        wedges(3, blank),
        blank,
        make.machine(),
        stock=Stock(100, 70, 2, 1),
        options=LayoutOptions(arrange=Arrange.NESTED),
    )
    gone = used_up(first.sheets[0])
    offcut = Stock(100, 70, 2, 1, gone, "half-a-sheet")
    more = [Artwork(f"q{n}", "More", (Mark(Operation.CUT, wedge()),)) for n in range(5)]
    second = layout(
        more,
        blank,
        make.machine(),
        stock=Stock(100, 70, 2, 1),
        offcuts=(offcut,),
        options=LayoutOptions(arrange=Arrange.NESTED),
    )
    taken = [footprint(p.artwork) for p in first.sheets[0].placements]
    assert second.sheets[0].placements
    old = [
        lying(Laid("", 0, 90.0 * p.quarters, p.x_um, p.y_um), r)
        for p, r in zip(first.sheets[0].placements, taken, strict=True)
    ]
    for p in second.sheets[0].placements:
        new = lying(Laid("", 0, 90.0 * p.quarters, p.x_um, p.y_um), footprint(p.artwork))
        assert min(new.distance(o) for o in old) > 1 - 0.06


def test_in_order_no_sheet_holds_one_that_comes_after_the_next(make) -> None:
    shapes = [Shape(str(n), shapely.box(0, 0, 10 + 5 * (n % 4), 12)) for n in range(30)]
    found = nest(shapes, [Room(70, 50, 1)], 1.0, in_order=True, squares=SMALL)
    sheets = [p.sheet for p in sorted(found.laid, key=lambda p: int(p.id))]
    assert sheets == sorted(sheets)
    assert max(sheets) > 0


def test_what_does_not_fit_is_held_back(make) -> None:
    blank = make.tag(30, 30, outline=wedge(), holes=(), folds=())
    laid = layout(
        wedges(1, blank),
        blank,
        make.machine(),
        stock=Stock(20, 20, 0, 0),
        options=LayoutOptions(arrange=Arrange.NESTED),
    )
    assert not laid.sheets
    assert [(p.code, p.severity) for p in laid.problems] == [("no-room-on-stock", Severity.STOP)]


def test_more_tries_are_never_worse() -> None:
    shapes = [Shape(str(n), shapely.box(0, 0, 7 + 3 * (n % 5), 5 + 4 * (n % 3))) for n in range(24)]
    once, often = (nest(shapes, [Room(60, 40, 1)], 0.5, tries=t, squares=SMALL) for t in (1, 4))
    assert reach(often, shapes) <= reach(once, shapes)


def test_very_many_are_nested_part_by_part(make, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("render.sheets.irregular._AT_ONCE", 8)
    blank = make.tag(30, 30, outline=wedge(), holes=(), folds=())
    options = LayoutOptions(arrange=Arrange.NESTED, steps=0)
    laid = layout(wedges(27, blank), blank, make.machine(), stock=Stock(110, 70, 2, 1), options=options)
    there = [p.artwork.piece for s in laid.sheets for p in s.placements]
    assert sorted(there) == sorted(f"p{n + 2}" for n in range(27))
    assert len(laid.sheets) == len(laid.taken) == 4
    for sheet in laid.sheets:
        assert inspect_sheet(make.tiny_svg(sheet).encode(), sheet, (600, 400)).ok


def test_order_is_kept_where_it_takes_no_more_sheets(make) -> None:
    blank = make.tag(30, 30, outline=wedge(), holes=(), folds=())
    sizes = [30 - 6 * (n % 3) for n in range(24)]
    art = [Artwork(f"p{n:02}", "x", (Mark(Operation.CUT, wedge(size)),)) for n, size in enumerate(sizes)]
    options = LayoutOptions(arrange=Arrange.NESTED)
    laid = layout(art, blank, make.machine(), stock=Stock(90, 60, 2, 1), options=options)
    there = [[p.artwork.piece for p in s.placements] for s in laid.sheets]
    assert len(there) > 1
    assert [piece for sheet in there for piece in sheet] == [a.piece for a in art]


def scraps(count: int) -> list[Shape]:
    """Crooked shapes of few corners, no two alike."""
    rng = random.Random(7)
    found = []
    for number in range(count):
        turn = np.exp(2j * np.pi * (np.arange(6) + 0.2) / 6) * [rng.uniform(6, 22) for _ in range(6)]
        found.append(
            Shape(str(number), shapely.Polygon(np.stack((turn.real, turn.imag), 1)), (0.0, 90.0, 180.0))
        )
    return found


def test_a_search_by_steps_is_the_same_beside_other_work_and_denser() -> None:
    shapes, rooms = scraps(24), [Room(400, 120, 2)]
    plain = nest(shapes, rooms, 1.0, squares=SMALL)
    alone = denser(plain, shapes, rooms, 1.0, steps=150)
    busy = subprocess.Popen([sys.executable, "-c", "while True: pass"])
    try:
        beside = denser(plain, shapes, rooms, 1.0, steps=150)
    finally:
        busy.kill()
        busy.wait()
    assert beside == alone
    assert alone.how == SEARCHED
    assert too_close(alone, shapes, rooms, 1.0) == []
    assert reach(alone, shapes)[1] < 0.97 * reach(plain, shapes)[1]
    assert denser(plain, shapes, rooms, 1.0, steps=300) != alone  # the count matters


def test_shapes_of_many_corners_are_laid_in_other_orders_the_same_each_time() -> None:
    spikes = np.exp(2j * np.pi * np.arange(64) / 64) * np.tile((1, 0.7), 32)
    shapes = []
    for number in range(10):
        star = spikes.real * (12 + number), spikes.imag * (24 - number)
        shapes.append(Shape(str(number), shapely.Polygon(np.stack(star, 1)), (0.0, 90.0)))
    assert strips.corners(shapes) > 40
    rooms = [Room(400, 90, 2)]
    plain = nest(shapes, rooms, 1.0, squares=SMALL)
    first, second = (denser(plain, shapes, rooms, 1.0, steps=100) for _ in "ab")
    assert first == second
    assert too_close(first, shapes, rooms, 1.0) == []
    assert reach(first, shapes) < reach(plain, shapes)


def test_by_steps_a_sheet_is_saved_where_that_can_be() -> None:
    shapes = [Shape(str(n), shapely.Polygon([(0, 0), (30, 0), (0, 30)])) for n in range(12)]
    room = Room(98, 66)
    spread = Nest(tuple(Laid(str(n), n // 4, 0.0, n % 4 % 3 * 32000, n % 4 // 3 * 32000) for n in range(12)))
    assert too_close(spread, shapes, [room], 1.0) == []
    found = denser(spread, shapes, [room], 1.0, steps=90)
    assert (
        reach(found, shapes)[0] == 3
    )  # none is given up where the others would have to get half as dense again
    few = Nest(tuple(p for p in spread.laid if int(p.id) < 9))
    found = denser(few, shapes, [room], 1.0, steps=90)
    assert reach(found, shapes)[0] == 2
    assert too_close(found, shapes, [room], 1.0) == []
    assert sorted(p.id for p in found.laid) == sorted(p.id for p in few.laid)


def test_where_a_clock_had_a_say_it_is_told_and_kept(make, monkeypatch: pytest.MonkeyPatch) -> None:
    blank = make.tag(30, 30, outline=wedge(), holes=(), folds=())

    def told(kept, **how: float) -> list[str]:
        options = LayoutOptions(arrange=Arrange.NESTED, **how)
        laid = layout(
            wedges(5, blank), blank, make.machine(), stock=Stock(140, 70, 2, 1), options=options, kept=kept
        )
        return [p.code for p in laid.problems if p.code.startswith("nest-")]

    shelf = Shelf()
    assert told(shelf, steps=40) == []
    assert shelf == {}
    assert told(shelf, seconds=2.0) == ["nest-by-the-clock"]
    monkeypatch.setattr("render.sheets.search.NET_S", 0.01)
    assert told(shelf, steps=50) == ["nest-cut-short"]
    assert len(shelf) == 2
    monkeypatch.undo()
    assert told(shelf, steps=50) == ["nest-cut-short"]  # as kept


class Shelf(dict):
    put = dict.__setitem__


OUTSIDE = os.environ.get("MONIKERF_OUTSIDE")


@pytest.mark.skipif(not OUTSIDE, reason="MONIKERF_OUTSIDE names no folder with nesting instances")
@pytest.mark.parametrize(
    ("name", "least", "searched"), [("shapes0", 0.52, 0.605), ("trousers", 0.74, 0.87), ("fu", 0.72, 0.85)]
)
def test_instances_of_the_literature(name: str, least: float, searched: float) -> None:
    """Instances of the ESICUP literature (github.com/JeroenGar/sparrow, data/input).

    Best known densities: shapes0 69.978 %, trousers 92.615 %, fu 92.396 %. Reached: in one quick try 52.3,
    76.4 and 75.5 %, with the search by steps 61.7, 88.5 and 86.3 %.
    """
    table = json.loads((FilePath(OUTSIDE or "") / "nesting" / f"{name}.json").read_text())
    scale = 300 / table["strip_height"]
    shapes = [
        Shape(
            f"{item['id']}-{copy}",
            shapely.affinity.scale(shapely.Polygon(item["shape"]["data"]), scale, scale, origin=(0, 0)),
            tuple(item["allowed_orientations"]),
        )
        for item in table["items"]
        for copy in range(item["demand"])
    ]
    area = sum(s.region.area for s in shapes)
    rooms = [Room(area / 300 / least, 300.0)]
    once = nest(shapes, rooms, 0.0, squares=700_000)
    for found, reached in ((once, least), (denser(once, shapes, rooms, 0.0, steps=STEPS), searched)):
        assert not found.left
        sheets, right = reach(found, shapes)
        assert sheets == 1
        assert too_close(found, shapes, rooms, 0.0) == []
        for a in found.laid:
            assert a.angle in next(s.angles for s in shapes if s.id == a.id)
        assert reached <= area / (300 * right) < 0.93
