"""The kerf: offsets are where they should be, and smooth."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from render.geometry import CUBIC, LINE, Path
from render.geometry.shapes import circle, ellipse, rectangle
from render.sheets.inside import flattened
from render.sheets.kerf import grow, steiner_area
from render.sheets.offset import TOLERANCE_MM, Join, offset, region


def shape(*contours: Path) -> shapely.Geometry:
    return region(contours, [flattened(c, 2e-6) for c in contours])


def test_a_sharp_rectangle_grows_as_steiner_says_and_stays_sharp_if_asked() -> None:
    plate = Path.polygon((0, 10, 10 + 5j, 5j))
    ((round_, _),) = offset([plate], 0.1)
    ((sharp, _),) = offset([plate], 0.1, Join.MITRE)
    assert shape(round_).area == pytest.approx(steiner_area(50, 30, 0.1), abs=2e-4)
    assert shape(sharp).area == pytest.approx(53.04, abs=1e-9)  # 10.2 × 5.2
    assert sharp.commands.tolist().count(CUBIC) == 0


@given(
    st.lists(st.floats(0.05, 1.0), min_size=3, max_size=9),
    st.floats(0.02, 0.4),
)
@settings(max_examples=40, deadline=None)
def test_convex_polygons_follow_steiner(steps: list[float], by: float) -> None:
    """Area A + P r + π r² (J. Steiner, 1840; the value of the formula recalled from memory)."""
    angles = np.cumsum(steps) / sum(steps) * 2 * math.pi
    plate = Path.polygon(7 * np.exp(1j * angles))
    flat = shape(plate)
    if flat.area < 1 or shapely.minimum_clearance(flat) < 0.05:
        return
    ((grown, _),) = offset([plate], by)
    wanted = steiner_area(flat.area, flat.length, by)
    assert abs(shape(grown).area - wanted) < TOLERANCE_MM * flat.length / 2


@pytest.mark.parametrize("by", [0.1, -0.1, 0.4])
@pytest.mark.parametrize(
    "contour", [circle(3 + 4j, 5), ellipse(0, 8, 2), rectangle(0, 0, 85.6, 53.98, 3.18)], ids=str
)
def test_curves_stay_within_the_tolerance_with_few_cubics(contour: Path, by: float) -> None:
    ((moved, origin),) = offset([contour], by)
    true = shape(contour).buffer(by, quad_segs=512)
    assert shape(moved).hausdorff_distance(true) < TOLERANCE_MM
    assert origin == 0
    assert moved.commands.size < 24


def test_true_arcs_stay_arcs_and_lines_stay_lines() -> None:
    ((moved, _),) = offset([rectangle(0, 0, 40, 20, 3)], 0.1)
    radii = [abs(p - (37 + 17j)) for p in flattened(moved) if p.real > 37 + 1e-9 and p.imag > 17 + 1e-9]
    assert radii
    assert max(abs(r - 3.1) for r in radii) < TOLERANCE_MM
    codes = moved.commands.tolist()
    assert codes.count(LINE) == 4
    assert codes.count(CUBIC) <= 8


def test_cubics_of_one_curve_meet_without_a_corner() -> None:
    ((moved, _),) = offset([ellipse(0, 8, 2)], 0.2)
    p = moved.points
    arrive, leave = p[3::3] - p[2::3], np.roll(p, -1)[3::3] - p[3::3]
    leave[-1] = p[1] - p[0]
    assert np.abs(np.angle(leave * arrive.conj())).max() < 0.01


def test_an_island_in_a_hole_is_kept_material() -> None:
    plate, hole, island = circle(0, 20), circle(0, 10), circle(0, 5)
    grown = grow(Path.joined((plate, hole, island)), 0.1)
    widths = [c.bounds().width / 2 for c in grown.path.contours()]
    assert widths == pytest.approx([20.1, 9.9, 5.1], abs=TOLERANCE_MM)
