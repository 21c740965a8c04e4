"""Shapes and transforms against svgpathtools and shapely, readers that share no code with ours."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point, Polygon

from render.design.numbers import transform
from render.design.shapes import flattened, non_zero, outward, shape, signed_area, turned_round
from render.geometry import Affine, Path
from render.geometry.curves import evaluate
from render.geometry.pathtext import parse_path

SMALL = st.floats(-50, 50).map(lambda v: round(v, 3))
FACTOR = st.floats(0.2, 5).map(lambda v: round(v, 3))
STEPS = st.one_of(
    st.builds("translate({}, {})".format, SMALL, SMALL),
    st.builds("translate({})".format, SMALL),
    st.builds("scale({})".format, FACTOR),
    st.builds("scale({} -{})".format, FACTOR, FACTOR),
    st.builds("rotate({})".format, SMALL),
    st.builds("rotate({},{},{})".format, SMALL, SMALL, SMALL),
    st.builds("matrix(2 0.5 -0.25 1.5 {} {})".format, SMALL, SMALL),
    st.builds("skewX({})".format, SMALL),
    st.builds("skewY({})".format, SMALL),
)


@settings(max_examples=60)
@given(st.lists(STEPS, min_size=1, max_size=4))
def test_transforms_agree_with_svgpathtools(steps: list[str]) -> None:
    from svgpathtools.parser import parse_transform

    text = " ".join(steps)
    ours = transform(text)
    theirs = parse_transform(text)
    matrix = np.array([[ours.a, ours.c, ours.e], [ours.b, ours.d, ours.f], [0, 0, 1]])
    assert np.allclose(matrix, theirs, rtol=1e-9, atol=1e-9)


SHAPES = {
    "rect": {"x": "3", "y": "4", "width": "20", "height": "10"},
    "rect ": {"x": "3", "y": "4", "width": "20", "height": "10", "rx": "3"},
    "rect  ": {"x": "3", "y": "4", "width": "20", "height": "10", "rx": "6", "ry": "2"},
    "circle": {"cx": "9", "cy": "8", "r": "7"},
    "ellipse": {"cx": "9", "cy": "8", "rx": "7", "ry": "3"},
    "polygon": {"points": "1,1 9,2 5,8"},
}


@pytest.mark.parametrize("tag", SHAPES)
def test_shapes_agree_with_svgpathtools(tag: str) -> None:
    from svgpathtools import parse_path as read
    from svgpathtools.svg_to_paths import ellipse2pathd, polygon2pathd, rect2pathd

    attributes = SHAPES[tag]
    kind = tag.strip()
    readers = {
        "rect": rect2pathd,
        "circle": ellipse2pathd,
        "ellipse": ellipse2pathd,
        "polygon": polygon2pathd,
    }
    theirs = read(readers[kind](attributes))
    ours = shape(kind, attributes, Affine())
    x0, x1, y0, y1 = theirs.bbox()
    box = ours.bounds()
    assert (box.x0, box.y0, box.x1, box.y1) == pytest.approx((x0, y0, x1, y1), abs=2e-4)
    assert signed_area(ours) == pytest.approx(abs(theirs.area(chord_length=0.5)), rel=1e-2)
    assert ours.is_closed()


def covers(path: Path, at: complex) -> bool:
    """Whether the non-zero rule fills the point: winding summed over contours (shapely tells inside)."""
    winding = 0
    for contour in path.contours():
        ring = Polygon([(p.real, p.imag) for p in flattened(contour)])
        if ring.contains(Point(at.real, at.imag)):
            winding += 1 if signed_area(contour) > 0 else -1
    return winding != 0


def test_even_odd_becomes_non_zero() -> None:
    nested = parse_path("M0 0h30v30h-30z M5 5h20v20h-20z M10 10v10h10v-10z M12 12h2v2h-2z")
    path = non_zero(nested)
    filled = [covers(path, at) for at in (2 + 2j, 7 + 7j, 17 + 17j, 13 + 13j)]
    assert filled == [True, False, True, False]
    assert [covers(nested, at) for at in (2 + 2j, 7 + 7j)] == [True, True]


def test_overlapping_fills_never_cancel() -> None:
    back = parse_path("M0 0v10h10v-10z")
    ring = parse_path("M0 0v10h10v-10z M2 2h6v6h-6z")
    assert signed_area(back) == pytest.approx(-100)
    assert signed_area(outward(back)) == pytest.approx(100)
    assert [signed_area(c) for c in outward(ring).contours()] == pytest.approx([100, -36])
    assert outward(outward(ring)) == outward(ring)


@given(st.lists(st.tuples(SMALL, SMALL), min_size=9, max_size=9))
def test_turning_round_keeps_every_point(controls: list[tuple[float, float]]) -> None:
    z = [complex(x, y) for x, y in controls]
    path = Path.of([0, 3, 2, 1, 3, 4], [z[0], *z[1:4], *z[4:6], z[6], z[7], z[8], z[0]])
    back = turned_round(path)
    assert turned_round(back) == path
    assert signed_area(back) == pytest.approx(-signed_area(path), abs=1e-6)
    box, turned = path.bounds(), back.bounds()
    assert box.contains(turned, 1e-9)
    assert turned.contains(box, 1e-9)


@given(st.lists(st.tuples(SMALL, SMALL), min_size=10, max_size=10))
def test_areas_agree_with_those_of_chords(controls: list[tuple[float, float]]) -> None:
    """Against the shoelace formula on ten thousand chords."""
    z = [complex(x, y) for x, y in controls]
    path = Path.of([0, 3, 2, 1, 3, 4], z)
    chords = [z[0]]
    for curve in (z[0:4], z[3:6], z[5:7], z[6:10]):
        chords += evaluate(np.array(curve), np.linspace(0, 1, 2501)[1:]).tolist()
    corners = np.array(chords)
    shoelace = (corners.conj() * np.roll(corners, -1)).imag.sum() / 2
    assert signed_area(path) == pytest.approx(shoelace, abs=2e-3)
