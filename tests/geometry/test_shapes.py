"""The plain shapes, against their formulas, shapely and svgpathtools."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.geometry import CUBIC, LINE, Path
from render.geometry.curves import evaluate
from render.geometry.path import POINTS_PER_COMMAND
from render.geometry.shapes import arc_points, circle, ellipse, line, rectangle

length = st.floats(0.5, 300)
place = st.floats(-300, 300)


def polygon(path: Path, steps: int = 64):
    """The one closed contour of `path` as shapely sees it, each curve as `steps` chords."""
    from shapely import Polygon

    corners = [path.points[:1]]
    for command, at in zip(path.commands, path.first_points(), strict=True):
        if command in (LINE, CUBIC):
            curve = path.points[at - 1 : at + POINTS_PER_COMMAND[command]]
            corners.append(evaluate(curve, np.arange(1, steps + 1) / steps))
    flat = np.concatenate(corners)
    return Polygon(np.stack((flat.real, flat.imag), 1))


@given(place, place, length)
def test_a_circle_is_round(x: float, y: float, radius: float) -> None:
    path = circle(complex(x, y), radius)
    ring = np.array(polygon(path).exterior.coords)
    distance = np.hypot(ring[:, 0] - x, ring[:, 1] - y)
    assert np.abs(distance / radius - 1).max() < 5e-6  # as its description promises
    assert path.is_closed()


@given(length, length)
def test_an_ellipse_has_the_area_of_an_ellipse(rx: float, ry: float) -> None:
    path = ellipse(1 + 2j, rx, ry)
    assert polygon(path).area == pytest.approx(math.pi * rx * ry, rel=5e-5)
    box = path.bounds()
    assert (box.width, box.height) == pytest.approx((2 * rx, 2 * ry), rel=5e-6)
    assert polygon(path).exterior.is_ccw  # in shapely's y-up world: clockwise as seen with y down


@given(place, place, length, length, st.floats(0, 100))
def test_a_rounded_rectangle_lacks_its_corners(x: float, y: float, w: float, h: float, radius: float) -> None:
    path = rectangle(x, y, w, h, radius)
    r = min(radius, w / 2, h / 2)
    assert path.is_closed()
    assert polygon(path).is_valid
    # four corners less a circle: Steiner's formula read backwards
    assert polygon(path).area == pytest.approx(w * h - (4 - math.pi) * r * r, rel=5e-5)
    box = path.bounds()
    assert (box.x0, box.y0, box.x1, box.y1) == pytest.approx((x, y, x + w, y + h), abs=1e-3)


def test_the_iso_card() -> None:
    # ISO/IEC 7810 ID-1: 85.60 x 53.98 mm, corner radius 2.88 to 3.48 mm (read in a secondary source)
    path = rectangle(0, 0, 85.6, 53.98, 3.18)
    assert polygon(path).area == pytest.approx(85.6 * 53.98 - (4 - math.pi) * 3.18**2, abs=1e-3)
    assert path.bounds().width == pytest.approx(85.6, abs=1e-9)


def test_a_rounded_rectangle_as_svgpathtools_measures_it() -> None:
    from svgpathtools import CubicBezier, Line
    from svgpathtools import Path as Outside

    path = rectangle(0, 0, 60, 24, 6)
    segments = []
    for command, at in zip(path.commands, path.first_points(), strict=True):
        if command in (LINE, CUBIC):
            kind = Line if command == LINE else CubicBezier
            segments.append(kind(*path.points[at - 1 : at + POINTS_PER_COMMAND[command]].tolist()))
    perimeter = 2 * (60 + 24) - 8 * 6 + 2 * math.pi * 6
    assert Outside(*segments).length() == pytest.approx(perimeter, rel=1e-6)
    assert path.points[-1] == path.points[0]


@given(st.floats(-360, 360), st.floats(-360, 360), length, length)
def test_an_arc_ends_where_it_should(start: float, sweep: float, rx: float, ry: float) -> None:
    end = arc_points(5 + 6j, rx, ry, start, sweep)[-1]
    angle = math.radians(start + sweep)
    assert end == pytest.approx(5 + 6j + complex(rx * math.cos(angle), ry * math.sin(angle)), abs=1e-9 * 300)


def test_plain_corners_and_lines() -> None:
    assert rectangle(1, 2, 3, 4).points.tolist() == [1 + 2j, 4 + 2j, 4 + 6j, 1 + 6j]
    assert not line(0, 5).is_closed()
    assert line(0, 5).bounds().width == 5
