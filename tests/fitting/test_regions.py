"""What fits into a region, against closed forms and against shapely."""

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from shapely import Polygon, box

from render.fitting.edges import chords
from render.fitting.regions import Edged, Ellipse, Rectangle, region_of
from render.geometry import Affine, Path
from render.geometry.pathtext import parse_path
from render.geometry.shapes import circle, ellipse, rectangle

TAG = Path.joined((rectangle(0, 0, 60, 30, 4), circle(8 + 15j, 3).transformed(Affine(a=-1, e=16))))
"""A rounded tag with a hole near its left end."""

heights = st.tuples(st.floats(-1, 31), st.floats(0.1, 20))
centres = st.builds(complex, st.floats(-5, 65), st.floats(-5, 35))


def shape(path: Path, step: int = 400) -> Polygon:
    """The same region for shapely, from the first contour and holes, cut much finer."""
    rings = []
    for contour in path.contours():
        begins, _ = chords(contour)
        rings.append([(p.real, p.imag) for p in begins])
    return Polygon(rings[0], rings[1:])


def test_what_is_recognised():
    assert isinstance(region_of(rectangle(1, 2, 3, 4)), Rectangle)
    assert isinstance(region_of(parse_path("M1 2 V6 H4 V2 Z")), Rectangle)
    assert isinstance(region_of(ellipse(10 + 5j, 10, 5)), Ellipse)
    assert isinstance(region_of(parse_path("M0 10 A20 10 0 0 1 40 10 A20 10 0 0 1 0 10 Z")), Ellipse)
    for other in (TAG, rectangle(0, 0, 60, 30, 4), rectangle(0, 0, 9, 9).transformed(Affine.rotation(10))):
        assert isinstance(region_of(other), Edged)
    bowtie = Path.polygon((0, 4 + 4j, 4, 4j))  # the corners of its box, but crossed over
    assert isinstance(region_of(bowtie), Edged)


@pytest.mark.parametrize("path", [Path.empty(), Path.polyline((0, 1, 1 + 1j)), rectangle(0, 0, 5, 0)])
def test_what_is_no_area(path):
    with pytest.raises(ValueError, match="area"):
        region_of(path)


def test_rectangle_is_exact():
    region = region_of(rectangle(1, 2, 30, 10))
    assert region.span(2, 12) == (1, 31)
    assert region.span(1.999, 12) is None
    assert region.span(2, 12.001) is None


def test_ellipse_is_exact():
    left, right = region_of(ellipse(0, 5, 5)).span(-3, 1)  # 3, 4, 5
    assert (left, right) == pytest.approx((-4, 4), abs=1e-6)
    assert region_of(ellipse(0, 5, 5)).span(-5.1, 1) is None


@given(heights)
def test_chords_agree_with_the_closed_form(height):
    top, bottom = height[0], sum(height)
    path = ellipse(30 + 15j, 30, 15)
    exact, cut = region_of(path).span(top, bottom), Edged(path).span(top, bottom)
    if exact is None or cut is None:
        far = max(15 - top, bottom - 15)
        assert far > 14.99  # only at the very pole may they disagree
        return
    steep = abs(exact[0] - 30) / 30  # near the poles a micrometre of height is more of width
    assert cut == pytest.approx(exact, abs=0.005 / max(steep, 0.02))


@given(heights)
def test_spans_lie_inside_and_are_as_wide_as_can_be(height):
    top, bottom = height[0], sum(height)
    span, polygon = region_of(TAG).span(top, bottom), shape(TAG)
    band = box(-1, top, 61, bottom)
    if span is None:
        assert not polygon.buffer(-1e-6).contains(box(29, top, 31, bottom))
        return
    left, right = span
    assert polygon.buffer(1e-6).contains(box(left, top, right, bottom))
    assert left >= -1e-9
    wider = box(left - 0.01, top, right + 0.01, bottom)
    assert wider.difference(polygon).area > 0
    assert band.intersects(polygon)


def test_a_hole_pushes_lettering_aside():
    region = region_of(TAG)
    assert region.span(13, 17) == pytest.approx((11, 60), abs=1e-6)
    assert region.span(19, 25) == pytest.approx((0, 60), abs=0.01)


@given(
    centres,
    st.floats(0.2, 12),
    st.floats(0.2, 12),
    st.floats(0, 360),
    st.sampled_from(["rect", "oval", "tag"]),
)
def test_turned_boxes_against_shapely(centre, width, height, degrees, kind):
    path = {"rect": rectangle(0, 0, 60, 30), "oval": ellipse(30 + 15j, 30, 15), "tag": TAG}[kind]
    turn = Affine.rotation(degrees).then(Affine.translation(centre.real, centre.imag))
    flat = rectangle(-width / 2, -height / 2, width, height)
    corners = list(turn.apply(flat.points))
    polygon, cell = shape(path), Polygon([(c.real, c.imag) for c in corners])
    assume(abs(polygon.exterior.distance(cell.exterior)) > 0.01 or polygon.exterior.crosses(cell.exterior))
    out = cell.difference(polygon).area
    assume(out == 0 or out > 1e-3)
    assert region_of(path).holds(corners) is (out == 0)


def test_chords_keep_to_the_curve():
    begins, _ = chords(circle(0, 40))
    middles = (begins + np.roll(begins, -1)) / 2
    assert np.abs(begins).max() < 40.0003  # eight cubics bulge by 5e-6 of the radius
    assert np.abs(middles).min() > 40 - 0.0011
    assert math.isclose(abs(begins[0]), 40)


def test_what_lies_in_a_hole_is_outside():
    hole = rectangle(10, 5, 40, 20)
    frame = region_of(Path.joined((rectangle(0, 0, 60, 30), Path(hole.commands, hole.points[::-1]))))
    assert not frame.holds((20 + 10j, 30 + 10j, 30 + 15j, 20 + 15j))
    assert frame.holds((1 + 1j, 5 + 1j, 5 + 4j, 1 + 4j))
    assert frame.span(10, 12) == (0, 10)  # the hole is wider, but it is a hole
