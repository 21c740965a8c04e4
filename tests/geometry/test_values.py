"""Point, Vector, Box and Affine."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from render.geometry import Affine, Box, Point, Vector

real = st.floats(-1000, 1000)
small = st.floats(-10, 10)
points = st.builds(complex, real, real)
affines = st.builds(Affine, small, small, small, small, real, real)


def as_matrix(affine: Affine) -> np.ndarray:
    """The map as SVG writes it: x' = a x + c y + e, y' = b x + d y + f (SVG 1.1, 7.4)."""
    return np.array([[affine.a, affine.c, affine.e], [affine.b, affine.d, affine.f], [0, 0, 1]])


@given(affines, affines, points)
def test_then_is_the_product_of_matrices(first: Affine, second: Affine, z: complex) -> None:
    product = as_matrix(second) @ as_matrix(first)
    assert np.allclose(as_matrix(first.then(second)), product, rtol=1e-12, atol=1e-9)
    mapped = first.then(second).apply(np.array([z]))[0]
    x, y, _ = product @ [z.real, z.imag, 1]
    assert mapped == pytest.approx(complex(x, y), rel=1e-9, abs=1e-6)


@given(affines, points)
def test_the_inverse_leads_back(affine: Affine, z: complex) -> None:
    assume(abs(affine.determinant()) > 1e-2)
    there = affine.apply(np.array([z]))
    assert affine.inverse().apply(there)[0] == pytest.approx(z, rel=1e-6, abs=1e-5)
    assert affine.determinant() == pytest.approx(np.linalg.det(as_matrix(affine)), rel=1e-9, abs=1e-9)


def test_a_flat_map_has_no_inverse() -> None:
    with pytest.raises(ZeroDivisionError):
        Affine.scale(1, 0).inverse()


@given(st.floats(-720, 720), st.floats(0.1, 10))
def test_a_turn_keeps_lengths_and_goes_clockwise(degrees: float, length: float) -> None:
    turned = Affine.rotation(degrees).apply(np.array([length + 0j]))[0]
    assert abs(turned) == pytest.approx(length, rel=1e-12)
    # y is down, so a positive angle must lead from +x towards +y
    assert turned.imag == pytest.approx(length * math.sin(math.radians(degrees)), abs=1e-9)
    assert math.remainder(Affine.rotation(degrees).turn() - degrees, 360) == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize(("degrees", "z"), [(90, 1j), (180, -1), (270, -1j), (-90, -1j), (360, 1), (450, 1j)])
def test_quarter_turns_are_exact(degrees: float, z: complex) -> None:
    assert Affine.rotation(degrees).apply(np.array([1 + 0j]))[0] == z


@given(affines, points)
def test_one_point_is_mapped_like_many(affine: Affine, z: complex) -> None:
    one = affine.apply_point(Point.of(z))
    many = affine.apply(np.array([[z, 0], [0, z]]))
    assert many.shape == (2, 2)
    assert complex(one) == pytest.approx(many[1, 1], rel=1e-12, abs=1e-9)


def test_named_maps() -> None:
    z = np.array([3 + 4j])
    assert Affine.translation(1, 2).apply(z)[0] == 4 + 6j
    assert Affine.scale(2).apply(z)[0] == 6 + 8j
    assert Affine.scale(2, -1).apply(z)[0] == 6 - 4j
    assert Affine.flip_y().apply(z)[0] == 3 - 4j
    assert Affine.mirror_x().apply(z)[0] == -3 + 4j
    assert Affine.placing(10j, 1j).apply(z)[0] == complex(-4, 13)


boxes = st.builds(Box.of_size, st.floats(0, 100), st.floats(0, 100), real, real)


@given(boxes, boxes)
def test_a_union_holds_both_and_is_no_larger_than_it_must_be(one: Box, two: Box) -> None:
    union = Box.union([one, two])
    assert union.contains(one)
    assert union.contains(two)
    assert {union.x0, union.y0, union.x1, union.y1} <= {*(one.x0, one.y0, one.x1, one.y1)} | {
        *(two.x0, two.y0, two.x1, two.y1)
    }


@given(boxes, boxes, st.floats(0, 20))
def test_overlap_is_symmetric_and_is_that_of_grown_boxes(one: Box, two: Box, gap: float) -> None:
    assert one.overlaps(two, gap) == two.overlaps(one, gap)
    across = min(one.x1, two.x1) - max(one.x0, two.x0)
    down = min(one.y1, two.y1) - max(one.y0, two.y0)
    assume(abs(across + gap) > 1e-9)
    assume(abs(down + gap) > 1e-9)
    assert one.overlaps(two, gap) == (across > -gap and down > -gap)


def test_boxes_that_touch_do_not_overlap() -> None:
    assert not Box(0, 0, 1, 1).overlaps(Box(1, 0, 2, 1))
    assert not Box(0, 0, 1, 1).overlaps(Box(3, 0, 4, 1), gap=2)
    assert Box(0, 0, 1, 1).overlaps(Box(3, 0, 4, 1), gap=2.001)


def test_boxes_in_numbers() -> None:
    box = Box(1, 2, 4, 8)
    assert (box.width, box.height, box.centre) == (3, 6, Point(2.5, 5))
    assert box.moved(1, -1) == Box(2, 1, 5, 7)
    assert box.scaled(2) == Box(2, 4, 8, 16)
    assert box.inset(0.5) == Box(1.5, 2.5, 3.5, 7.5)
    assert not box.contains(Box(1, 2, 4, 8.1))
    assert box.contains(Box(1, 2, 4, 8.1), tolerance=0.1001)
    with pytest.raises(ValueError, match="no boxes"):
        Box.union([])


@given(real, real, real, real)
def test_points_and_vectors_are_different_things(x: float, y: float, dx: float, dy: float) -> None:
    point, vector = Point(x, y), Vector(dx, dy)
    assert isinstance(point + vector, Point)
    assert isinstance(point - vector, Point)
    assert isinstance(point - Point(0, 0), Vector)
    assert isinstance(vector + vector - -vector * 2, Vector)
    assert complex((point + vector) - vector) == pytest.approx(complex(point), abs=1e-9)


def test_a_vector_down_is_at_ninety_degrees() -> None:
    assert Vector(0, 2).angle() == 90
    assert Vector(3, 4).length() == 5
