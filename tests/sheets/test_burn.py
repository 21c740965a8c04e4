"""What a blank adds to its artwork, and the order of burning."""

from __future__ import annotations

import itertools
import random

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from render.geometry import Path
from render.geometry.shapes import circle, rectangle
from render.model import Artwork, Hold, Mark, Operation
from render.sheets.burn import burn_order, finished, with_blank
from render.sheets.inside import depths, flattened, winding


def cuts(*paths: Path) -> Artwork:
    return Artwork("p2", "Ada", tuple(Mark(Operation.CUT, p) for p in paths))


def test_stock_is_cut_out_and_folded(make):
    blank = make.tag()
    marks = with_blank(make.lettered("p2", blank), blank).marks[3:]
    operations = [m.operation for m in marks]
    assert operations == [Operation.SCORE, Operation.CUT, Operation.CUT]
    assert [m.path for m in marks] == [*blank.folds, *blank.holes, blank.outline]


def test_a_jig_shows_the_thing_as_a_guide_that_is_not_burned(make):
    blank = make.tag(hold=Hold.JIG)
    art = make.lettered("p2", blank)
    done = with_blank(art, blank)
    assert [m.operation for m in done.marks[3:]] == [Operation.GUIDE]
    assert done.marks[3].path == Path.joined((blank.outline, *blank.holes))
    assert done.digest() == art.digest()


def test_a_rotary_adds_nothing(make):
    art = make.lettered("p2", make.tag())
    assert with_blank(art, make.tag(hold=Hold.ROTARY)) == art


@pytest.mark.parametrize("order", list(itertools.permutations(range(4))))
def test_nested_contours_are_cut_from_within(order):
    rings = [circle(20 + 20j, r) for r in (3, 6, 9, 12)]
    done = burn_order(cuts(Path.joined(rings[i] for i in order)))
    assert [m.path for m in done.marks] == rings


def test_what_lies_in_the_mouth_of_a_c_is_not_inside_it():
    c = Path.polygon((0, 30, 30 + 10j, 10 + 10j, 10 + 20j, 30 + 20j, 30 + 30j, 30j))
    mouth, body = circle(22 + 15j, 2), circle(5 + 15j, 2)
    assert depths([c, mouth, body]).tolist() == [0, 0, 1]
    assert [m.path for m in burn_order(cuts(c, mouth, body)).marks] == [body, c, mouth]


def test_equal_depth_keeps_its_order_and_a_doubled_contour_is_no_riddle():
    a, b = circle(5 + 5j, 2), circle(15 + 5j, 2)
    assert [m.path for m in burn_order(cuts(b, a)).marks] == [b, a]
    assert len(burn_order(cuts(a, a)).marks) == 2


def test_an_open_cut_inside_a_closed_one_comes_first():
    slit, rim = Path.polyline((4 + 4j, 8 + 4j)), rectangle(0, 0, 12, 8)
    assert [m.path for m in burn_order(cuts(rim, slit)).marks] == [slit, rim]


def test_engrave_then_score_then_cut_and_guides_before_all(make):
    paths = [rectangle(0, 0, k, k) for k in (1, 2, 3, 4, 5)]
    given_order = (Operation.CUT, Operation.SCORE, Operation.GUIDE, Operation.ENGRAVE, Operation.ENGRAVE)
    art = Artwork("p2", "Ada", tuple(Mark(o, p) for o, p in zip(given_order, paths, strict=True)))
    done = burn_order(art)
    assert [m.path for m in done.marks] == [paths[i] for i in (2, 3, 4, 1, 0)]
    assert done.digest() == art.digest()


def test_every_contour_of_a_finished_piece_survives(make):
    blank = make.tag()
    art = make.lettered("p2", blank)
    (done,) = finished([art], blank)
    assert done.burned(Operation.ENGRAVE) == art.burned(Operation.ENGRAVE)
    assert [m.path for m in done.marks[-2:]] == [*blank.holes, blank.outline]


@given(st.integers(0, 10**6))
def test_containment_agrees_with_shapely(seed):
    rng = random.Random(seed)
    count = rng.randint(3, 12)
    corners = np.array([complex(rng.uniform(0, 10), rng.uniform(0, 10)) for _ in range(count)])
    around = np.exp(1j * np.sort(np.array([rng.uniform(0, 2 * np.pi) for _ in range(count)])))
    corners = 5 + 5j + around * np.abs(corners)  # a star about (5, 5): simple, seldom convex
    points = np.array([complex(rng.uniform(-5, 15), rng.uniform(-5, 15)) for _ in range(40)])
    polygon = shapely.Polygon(np.column_stack((corners.real, corners.imag)))
    clear = shapely.distance(polygon.exterior, shapely.points(points.real, points.imag)) > 1e-9
    own = winding(corners, points) != 0
    other = shapely.contains_xy(polygon, points.real, points.imag)
    if polygon.is_valid:
        assert (own == other)[clear].all()


def test_flattened_curves_stay_within_the_tolerance():
    corners = flattened(circle(0j, 10), 0.01)
    assert np.abs(np.abs(corners) - 10).max() < 1e-4
    middles = (corners[:-1] + corners[1:]) / 2
    assert 10 - np.abs(middles).min() <= 0.0101
