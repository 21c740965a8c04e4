"""Polygons and back: what was a curve stays one, what is new is smooth and near."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from render.design.shapes import signed_area
from render.fitting.smooth import curved
from render.fitting.solids import Memory, region_of_path, thickened, together
from render.geometry import CUBIC, LINE, MOVE, Path
from render.geometry.shapes import circle, rectangle


def blob() -> Path:
    """A contour of lines, quadratics and cubics with a hole."""
    outer = Path.of(
        [0, 1, 2, 3, 1, 4],
        [0j, 20, 30 + 5j, 20 + 15j, 15 + 25j, 5 + 25j, 3 + 15j, -2 + 8j],
    )
    return Path.joined((outer, circle(11 + 9j, 3)))


def test_what_is_left_alone_is_the_same_to_the_last_digit() -> None:
    memory = Memory()
    back = curved(region_of_path(blob(), memory), memory)
    assert region_of_path(back).area == pytest.approx(region_of_path(blob()).area, abs=1e-9)
    kept = {complex(z) for z in blob().points}
    assert kept <= {complex(z) for z in back.points}
    assert set(back.commands.tolist()) == set(blob().commands.tolist())


def test_a_curve_that_is_cut_is_split_where_it_is_cut() -> None:
    memory = Memory()
    ring, bar = circle(0j, 10), rectangle(0, -1, 30, 2)
    union = together([region_of_path(ring, memory), region_of_path(bar, memory)])
    path = curved(union, memory)
    assert (path.commands == CUBIC).sum() >= 8
    assert (path.commands == LINE).sum() >= 3
    z = path.points
    assert np.hypot(z.real, z.imag).max() == pytest.approx(math.hypot(30, 1))
    # area: disc + what of the bar lies outside it; segment formula, elementary geometry
    beyond = 2 * 30 - (2 * (0.5 * math.sqrt(99) + 50 * math.asin(0.1)))
    assert abs(signed_area(path)) == pytest.approx(math.pi * 100 + beyond, abs=0.01)


@given(st.floats(0.2, 3))
def test_growing_follows_steiner(by: float) -> None:
    """Steiner's formula: A + P r + pi r² for a convex shape (J. Steiner, 1840; recalled from memory)."""
    memory = Memory()
    grown = thickened(region_of_path(rectangle(0, 0, 30, 12), memory), by)
    path = curved(grown, memory)
    expected = 360 + 84 * by + math.pi * by * by
    assert abs(signed_area(path)) == pytest.approx(expected, rel=2e-4)


def test_a_grown_disc_is_round() -> None:
    memory = Memory()
    path = curved(thickened(region_of_path(circle(0j, 5), memory), 1.0), memory)
    assert (path.commands == CUBIC).sum() + 2 == path.commands.size
    fine = Memory().rings(path.contours())[0]
    assert np.abs(np.abs(fine) - 6).max() < 0.02
    begins = path.points[0::3][:-1]
    arrive, leave = begins - np.roll(path.points[2::3], 1), path.points[1::3] - begins
    turn = np.angle(leave / arrive)
    assert np.abs(turn).max() < math.radians(1)  # no corner


def test_outer_contours_run_clockwise_as_seen_and_holes_back() -> None:
    memory = Memory()
    path = curved(region_of_path(blob(), memory), memory)
    areas = [shapely.LinearRing([(z.real, z.imag) for z in c.points]).is_ccw for c in path.contours()]
    assert areas == [True, False]  # y down: what shapely calls counter-clockwise is clockwise as seen


def test_nothing_is_nothing() -> None:
    assert not curved(shapely.Polygon(), Memory())
    assert region_of_path(Path.empty()).is_empty
    assert MOVE == 0
