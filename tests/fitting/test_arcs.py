"""Arc length and tangents, against svgpathtools (PyPI) and the circle."""

import cmath
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.fitting.arcs import ArcPath
from render.geometry import CUBIC, LINE, MOVE, QUAD, Path
from render.geometry.pathtext import parse_path
from render.geometry.shapes import circle

spots = st.builds(complex, st.floats(-100, 100), st.floats(-100, 100))

SHAPES = (
    "M0 0 L30 40",
    "M0 0 C10 40 50 -40 60 0",
    "M5 5 Q40 60 80 5 T150 20",
    "M0 0 C0 0 30 60 60 60",  # a control point on the end: no derivative there
    "M0 30 C0 5 60 5 60 30 L60 60 H0 Z",
    "M10 50 A40 25 0 0 1 90 50",
)


@pytest.mark.parametrize("data", SHAPES)
def test_lengths_agree_with_svgpathtools(data):
    svgpathtools = pytest.importorskip("svgpathtools")
    other = svgpathtools.parse_path(data)
    arcs = "A" in data  # read as cubics here, as an exact arc there
    assert ArcPath(parse_path(data)).length == pytest.approx(
        other.length(error=1e-9), rel=3e-4 if arcs else 1e-7
    )


@pytest.mark.parametrize("data", SHAPES[:5])
def test_places_agree_with_svgpathtools(data):
    svgpathtools = pytest.importorskip("svgpathtools")
    other, arc = svgpathtools.parse_path(data), ArcPath(parse_path(data))
    for share in (0.05, 0.31, 0.5, 0.77, 0.96):
        place, tangent = arc.at(share * arc.length)
        t = other.ilength(share * other.length(error=1e-9), s_tol=1e-9)
        assert place == pytest.approx(other.point(t), abs=5e-5)  # a twentieth of a micrometre
        segment, local = other.T2t(t)
        assert tangent == pytest.approx(other[segment].unit_tangent(local), abs=1e-4)


@given(st.floats(-500, 500))
def test_a_circle_wraps_around(mm):
    arc = ArcPath(circle(10 + 20j, 40))
    place, tangent = arc.at(mm)
    ideal = cmath.rect(1, mm / arc.length * 2 * math.pi)
    assert arc.length == pytest.approx(2 * math.pi * 40, rel=5e-6)
    assert place == pytest.approx(10 + 20j + 40 * ideal, abs=1e-3)
    assert tangent == pytest.approx(1j * ideal, abs=1e-4)  # clockwise as seen, y down


@given(spots, spots, spots, spots, st.floats(0, 1))
def test_tangents_are_unit_and_places_go_on_steadily(a, b, c, d, share):
    path = Path.of((MOVE, CUBIC, LINE, QUAD), (a, b, c, d, d + 10, d + 20j, d - 5))
    arc = ArcPath(path)
    at, step = share * arc.length, 1e-4
    place, tangent = arc.at(at)
    after, _ = arc.at(at + step)
    assert abs(tangent) == pytest.approx(1)
    assert abs(after - place) <= step * 1.5


def test_beyond_the_ends_it_goes_on_straight():
    arc = ArcPath(Path.polyline((0, 10)))
    assert arc.at(-5) == (-5, 1)
    assert arc.at(12) == (12, 1)
    assert not arc.closed


def test_no_length_is_refused():
    with pytest.raises(ValueError, match="length"):
        ArcPath(Path.polyline((1, 1)))
