"""The kerf: offsets are where they should be, smooth, and what they swallow is told."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from render.geometry import CUBIC, LINE, Path
from render.geometry.shapes import circle, ellipse, rectangle
from render.model import Artwork, Mark, Operation
from render.sheets.burn import finished
from render.sheets.fits import room_with
from render.sheets.inside import flattened
from render.sheets.kerf import allow_kerf, grow, steiner_area
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


def test_holes_go_inward_outlines_outward_and_the_rest_stays(make) -> None:
    blank = make.tag()
    (plain,) = finished([make.lettered("p2", blank)], blank)
    (wide,), problems = allow_kerf([plain], 0.2)
    assert not problems
    assert wide.burned(Operation.ENGRAVE) == plain.burned(Operation.ENGRAVE)
    hole, rim = wide.burned(Operation.CUT).contours()
    assert hole.bounds().width == pytest.approx(3 - 0.2, abs=TOLERANCE_MM)
    assert rim.bounds().width == pytest.approx(40.2, abs=TOLERANCE_MM)
    assert room_with(blank, 0.2, 0).outline.bounds().contains(rim.bounds())
    assert allow_kerf([plain], 0) == ((plain,), ())


def test_an_island_in_a_hole_is_kept_material() -> None:
    plate, hole, island = circle(0, 20), circle(0, 10), circle(0, 5)
    grown = grow(Path.joined((plate, hole, island)), 0.1)
    widths = [c.bounds().width / 2 for c in grown.path.contours()]
    assert widths == pytest.approx([20.1, 9.9, 5.1], abs=TOLERANCE_MM)


def test_what_the_kerf_swallows_is_told() -> None:
    plate = rectangle(0, 0, 30, 20)
    slit = rectangle(10, 12, 6, 0.15)
    notch = Path.polygon((0, 30, 30 + 20j, 15.2 + 20j, 15.2 + 12j, 15 + 12j, 15 + 20j, 20j))
    art = Artwork("p2", "x", tuple(Mark(Operation.CUT, p) for p in (circle(5 + 5j, 0.08), slit, plate)))
    (wide,), problems = allow_kerf([art], 0.3)
    assert len(list(wide.burned(Operation.CUT).contours())) == 1
    assert ["2 holes" in p.message for p in problems] == [True]
    _, narrow = allow_kerf([replace(art, marks=(Mark(Operation.CUT, notch),))], 0.3)
    assert "a gap narrower than the kerf of 0.3 mm" in narrow[0].message
    assert not allow_kerf([replace(art, marks=(Mark(Operation.CUT, notch),))], 0.1)[1]


def test_crossing_lines_are_left_alone_with_a_problem() -> None:
    both = Path.joined((rectangle(0, 0, 10, 10), rectangle(5, 5, 10, 10)))
    art = Artwork("p2", "x", (Mark(Operation.CUT, both),))
    (same,), problems = allow_kerf([art], 0.2)
    assert same.burned(Operation.CUT) == both
    assert problems[0].code == "cut-lines-cross"


@pytest.mark.parametrize("kerf", [-0.1, math.nan, 6.0])
def test_impossible_kerfs_are_refused(kerf: float) -> None:
    with pytest.raises(ValueError, match="kerf"):
        allow_kerf([], kerf)
