"""Tabs hold, keep off corners and leave their width."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from render.geometry import Path
from render.geometry.shapes import circle, rectangle
from render.sheets.inside import flattened
from render.sheets.offset import region
from render.sheets.stretches import Measured
from render.sheets.tabs import with_tabs

HEART = Path.polygon((0, 12, 12 + 6j, 8 + 6j, 8 + 10j, 10j))


def shape(*contours: Path) -> shapely.Geometry:
    return region(contours, [flattened(c, 1e-5) for c in contours])


def length(path: Path) -> float:
    return sum(Measured.of(c).length for c in path.contours())


@given(st.floats(0, 0.9), st.floats(0.05, 1.9))
@settings(max_examples=40, deadline=None)
def test_a_stretch_has_its_length_and_lies_on_the_contour(begin: float, share: float) -> None:
    for contour in (circle(1 + 2j, 5), rectangle(0, 0, 20, 9, 2), HEART):
        m = Measured.of(contour)
        part = m.stretch(begin * m.length, min(begin + share, begin + 1) * m.length)
        wanted = min(share, 1) * m.length
        assert length(part) == pytest.approx(wanted, abs=1e-3 * m.length)
        ring = flattened(contour, 1e-4)
        line = shapely.LinearRing(np.stack((ring.real, ring.imag), 1))
        points = flattened(part, 1e-3)
        assert shapely.distance(line, shapely.points(points.real, points.imag)).max() < 1e-3


@pytest.mark.parametrize("contour", [rectangle(0, 0, 60, 30, 3), circle(0, 20), HEART], ids=["r", "c", "h"])
def test_tabs_leave_their_width_uncut(contour: Path) -> None:
    cut = with_tabs(contour, 3, 0.8, kerf=0.2)
    assert len(list(cut.contours())) == 3
    assert length(cut) == pytest.approx(length(contour) - 3 * 1.0, abs=0.01)
    parts = list(cut.contours())
    for a, b in zip(parts, parts[1:] + parts[:1], strict=True):
        assert abs(b.points[0] - a.points[-1]) == pytest.approx(1.0, abs=0.05)  # straight: chord is arc


def test_tabs_keep_off_corners() -> None:
    cut = with_tabs(rectangle(0, 0, 60, 30), 4, 1.0)
    for end in (p for c in cut.contours() for p in (c.points[0], c.points[-1])):
        assert min(abs(end - corner) for corner in (0, 60, 30j, 60 + 30j)) > 0.5


def test_tabs_keep_off_a_notch() -> None:
    """The middle of the second of three shares is the notch itself: its tab moves to a straight place."""
    cut = with_tabs(HEART, 3, 0.6)
    for part in cut.contours():
        for end in (part.points[0], part.points[-1]):
            assert min(abs(end - corner) for corner in HEART.points) > 0.25
