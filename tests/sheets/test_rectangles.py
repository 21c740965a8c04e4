"""Rectangles: packed as the optimum that is known because they were cut from one sheet."""

from __future__ import annotations

import random
from time import process_time

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from render.geometry.shapes import rectangle
from render.model import Artwork, Mark, Operation, Stock
from render.sheets.layout import Arrange, LayoutOptions, layout
from render.sheets.nesting import Room, Shape, lying, reach, too_close
from render.sheets.rectangles import Plate, pack
from render.sheets.strips import shorten_strip


def guillotined(count: int, seed: int, width: int = 200, height: int = 120) -> list[tuple[int, int]]:
    """A sheet cut into `count` rectangles from edge to edge, at whole mm: the optimum is the sheet itself."""
    rng = random.Random(seed)
    parts = [(width, height)]
    while len(parts) < count:
        parts.sort(key=lambda p: -p[0] * p[1])
        w, h = parts.pop(0)
        share = rng.randint(30, 70) / 100
        cut = round(share * max(w, h))
        parts += [(cut, h), (w - cut, h)] if w > h else [(w, cut), (w, h - cut)]
    rng.shuffle(parts)
    return parts


def as_shapes(plates: list[Plate]) -> list[Shape]:
    return [Shape(p.id, shapely.box(0, 0, p.width, p.height)) for p in plates]


@pytest.mark.parametrize(
    ("count", "most", "mean"), [(10, 1.0, 0.5), (20, 6.5, 2.0), (40, 7.0, 5.5), (120, 4.5, 4.0)]
)
def test_a_cut_up_sheet_is_put_together_again(count: int, most: float, mean: float) -> None:
    """How much longer, in per cent, a strip is needed than the sheet that the rectangles were cut from."""
    longer = []
    for seed in range(100, 104):
        plates = [Plate(str(n), w, h) for n, (w, h) in enumerate(guillotined(count, seed, 400, 240))]
        rooms = [Room(800, 240)]
        found = pack(plates, rooms, 0.0)
        assert not found.left
        assert too_close(found, as_shapes(plates), rooms, 0.0) == []
        sheets, right = reach(found, as_shapes(plates))
        assert sheets == 1
        longer.append(100 * (right / 400 - 1))
    assert min(longer) >= -1e-3
    assert max(longer) <= most
    assert sum(longer) / len(longer) <= mean


def test_rectangles_are_packed_the_same_each_time_and_quickly() -> None:
    plates = [Plate(str(n), w, h) for n, (w, h) in enumerate(guillotined(120, 7, 900, 500))]
    begin = process_time()
    first = pack(plates, [Room(600, 300, 5)], 2.0)
    took = process_time() - begin
    assert pack(plates, [Room(600, 300, 5)], 2.0) == first
    assert too_close(first, as_shapes(plates), [Room(600, 300, 5)], 2.0) == []
    assert took < 4  # about half a second; a busy machine counts for more


def test_a_plate_that_must_not_turn_keeps_its_way_among_those_that_may() -> None:
    plates = [Plate(str(n), 90, 20, n % 2 == 0) for n in range(8)]
    found = pack(plates, [Room(185, 92)], 1.0)
    assert {p.angle for p in found.laid if int(p.id) % 2} == {0.0}
    turning = [Plate(p.id, p.height, p.width, p.turns) for p in plates]
    found = pack(turning, [Room(95, 170)], 1.0)
    assert {p.angle for p in found.laid if int(p.id) % 2} == {0.0}
    assert 90.0 in {p.angle for p in found.laid}
    assert too_close(found, as_shapes(turning), [Room(95, 170)], 1.0) == []


@given(
    st.lists(st.tuples(st.floats(5, 60), st.floats(5, 60)), min_size=1, max_size=15),
    st.floats(0, 5),
    st.floats(0, 6),
    st.booleans(),
)
@settings(max_examples=12, deadline=None)
def test_plates_keep_their_distance_on_as_many_sheets_as_needed(
    sizes: list[tuple[float, float]], gap: float, margin: float, turns: bool
) -> None:
    plates = [Plate(str(n), w, h, turns) for n, (w, h) in enumerate(sizes)]
    rooms = [Room(80, 90, margin), Room(150, 75, margin)]
    found = pack(plates, rooms, gap)
    assert not found.left
    assert sorted(p.id for p in found.laid) == sorted(p.id for p in plates)
    assert too_close(found, as_shapes(plates), rooms, gap) == []
    assert turns or {p.angle for p in found.laid} <= {0.0}


def test_a_plate_too_large_is_left() -> None:
    found = pack([Plate("a", 90, 10), Plate("b", 20, 10)], [Room(80, 80)], 1.0)
    assert found.left == ("a",)
    with pytest.raises(ValueError, match="whole sheets"):
        pack([], [Room(80, 80, 0, (shapely.box(0, 0, 5, 5),))], 1.0)


def test_signs_of_different_sizes_are_packed_on_fewer_sheets(make) -> None:
    blank = make.tag(120, 90, holes=(), folds=(), outline_cut=False)
    rng = random.Random(3)
    art = [
        Artwork(
            f"p{n}",
            "Sign",
            (Mark(Operation.CUT, rectangle(3, 4, rng.choice((35, 50, 110)), rng.choice((20, 60)))),),
        )
        for n in range(2, 26)
    ]
    stock = Stock(300, 200, 4, 2)
    plain = layout(art, blank, make.machine(), stock=stock)
    close = layout(
        art, blank, make.machine(), stock=stock, options=LayoutOptions(arrange=Arrange.NESTED, steps=0)
    )
    assert len(close.sheets) < len(plain.sheets)
    assert {p.artwork.piece for s in close.sheets for p in s.placements} == {a.piece for a in art}


def test_a_search_gives_a_sound_strip_no_longer_than_the_greedy_one() -> None:
    wedge = shapely.Polygon([(0, 0), (30, 0), (0, 18)])
    shapes = [Shape(str(n), wedge) for n in range(8)]
    room = Room(400, 60, 3)
    found = shorten_strip(shapes, room, 1.0, 6.0)
    if found is None:
        pytest.skip("the search found nothing in its time: this machine is busy")
    assert too_close(found, shapes, [room], 1.0) == []
    assert sorted(p.id for p in found.laid) == sorted(s.id for s in shapes)
    area = sum(s.region.area for s in shapes)
    assert reach(found, shapes)[1] >= area / 54  # no strip is shorter than its shapes are large
    assert max(lying(p, wedge).bounds[2] for p in found.laid) < 200


class Shelf(dict):
    put = dict.__setitem__


def test_a_searched_nest_is_remembered(make) -> None:
    blank = make.tag(30, 30, holes=(), folds=(), outline_cut=False)
    from render.geometry import Path

    art = [Artwork(f"p{n}", "x", (Mark(Operation.CUT, Path.polygon((0, 30, 18j))),)) for n in range(2, 8)]
    shelf = Shelf()
    options = LayoutOptions(arrange=Arrange.NESTED, seconds=3.0)
    first, second = (
        layout(art, blank, make.machine(), stock=Stock(150, 70, 2, 1), options=options, kept=shelf)
        for _ in "ab"
    )
    assert len(shelf) == 1
    assert first == second
