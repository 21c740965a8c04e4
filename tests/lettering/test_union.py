"""Unions by the non-zero rule: simple contours, once round everything, checked, with honest ways out."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from render.geometry import CUBIC, LINE, QUAD
from render.lettering import union
from render.lettering.contours import Contour, Segments, area, closed_contour, outline, scan, winding
from render.lettering.outlines import GlyphReader
from render.lettering.union import Way, agrees, oriented, unite
from render.resources import folder

FONTS = sorted(folder("fonts_open").glob("*/*.ttf"))


def polygon(*corners: complex) -> Contour:
    contour = closed_contour(np.full(len(corners) - 1, LINE, np.uint8), np.array(corners, np.complex128))
    assert contour is not None
    return contour


def square(x: float, y: float, side: float, *, backwards: bool = False) -> Contour:
    found = polygon(complex(x, y), complex(x + side, y), complex(x + side, y + side), complex(x, y + side))
    return found.reversed() if backwards else found


def ring(radius: float, centre: complex = 0) -> Contour:
    k = 0.5522847498  # handle of a quarter circle, recalled from memory; the exact value does not matter here
    quarters = [z * turn for turn in (1, 1j, -1, -1j) for z in (1 + k * 1j, k + 1j, 1j)]
    points = np.array([1, *quarters]) * radius + centre
    found = closed_contour(np.full(4, CUBIC, np.uint8), points)
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("contours", "expected", "count"),
    [
        ([square(0, 0, 10), square(5, 5, 10)], 175, 1),  # overlapping
        ([square(0, 0, 10), square(5, 5, 10, backwards=True)], 150, 2),  # windings 1, 0 and -1
        ([square(0, 0, 10, backwards=True), square(20, 0, 10)], 200, 2),  # one runs the other way
        ([square(0, 0, 30), square(10, 10, 10, backwards=True)], 800, 2),  # a hole
        ([square(0, 0, 30), square(10, 10, 10)], 900, 1),  # no hole: same direction
        ([square(0, 0, 30), square(5, 5, 20, backwards=True), square(10, 10, 10)], 600, 3),  # an island
        ([polygon(0, 10 + 10j, 10, 10j)], 50, 2),  # crosses itself: windings 1 and -1
        ([square(0, 0, 10), square(10, 10, 10)], 200, None),  # touch in a corner
        ([square(0, 0, 10), square(0, 0, 10)], 100, 1),  # twice the same
        ([], 0, 0),
    ],
)
def test_the_non_zero_rule(contours, expected, count, astray):
    outcome = unite(contours)
    assert outcome.way is Way.PLAIN
    assert area(outcome.contours) == pytest.approx(expected, rel=1e-9)
    assert count is None or len(outcome.contours) == count
    assert not contours or astray(contours, outcome.contours) < 1e-9


def test_curves_stay_curves():
    outcome = unite([ring(100), ring(100, 150)])
    assert set(np.concatenate([c.codes for c in outcome.contours]).tolist()) <= {CUBIC, LINE}
    lens = 2 * (100**2 * np.arccos(0.75) - 75 * np.sqrt(100**2 - 75**2))  # of two circles (circular segments)
    assert area(outcome.contours) == pytest.approx(2 * np.pi * 100**2 - lens, rel=1e-3)


corners = st.builds(complex, st.integers(-300, 300), st.integers(-300, 300))


@given(st.lists(st.lists(corners, min_size=3, max_size=7, unique=True), min_size=1, max_size=4))
@settings(max_examples=60)
def test_random_polygons_against_clipper(clipped, astray, loops):
    contours = [
        c for loop in loops if (c := closed_contour(np.full(len(loop) - 1, LINE, np.uint8), np.array(loop)))
    ]
    outcome = unite(contours)
    assert area(outcome.contours) == pytest.approx(clipped(contours), rel=1e-3, abs=20)
    assert outcome.way is Way.UNCHECKED or astray(contours, outcome.contours) < 0.005


@pytest.mark.parametrize("path", FONTS, ids=[path.stem for path in FONTS])
def test_glyphs_of_every_font_against_clipper(path, clipped, astray):
    reader = GlyphReader(path.read_bytes())
    for gid in range(1, 400, 13):
        drawn = reader.contours(gid)
        outcome = unite(drawn)
        assert outcome.way is Way.PLAIN
        assert area(outcome.contours) == pytest.approx(clipped(drawn), rel=1e-3, abs=1)
        assert astray(drawn, outcome.contours) < 1e-3


# ---------------------------------------------------------------- the check, and what follows from it

SHAPES = [square(0, 0, 100), square(50, 50, 100), square(300, 0, 100)]


@pytest.mark.parametrize(
    "spoil",
    [
        lambda found: found[1:],  # one is lost
        lambda found: [found[0].reversed(), *found[1:]],  # one runs the wrong way
        lambda found: [*found, square(310, 10, 20)],  # a region is covered twice
        lambda found: [*found, square(310, 10, 20, backwards=True)],  # a hole where there was none
        lambda found: [found[0].moved(2), *found[1:]],  # moved a little
    ],
)
def test_the_check_sees_wrong_unions(spoil):
    right = list(unite(SHAPES).contours)
    assert agrees(SHAPES, right)
    assert not agrees(SHAPES, spoil(right))


def wrong(_contours):
    return [square(0, 0, 100)]


def broken(_contours):
    raise ValueError("cannot")


@pytest.mark.parametrize("failing", [wrong, broken])
@pytest.mark.parametrize(("failures", "way"), [(1, Way.ROUNDED), (2, Way.FLATTENED), (3, Way.UNCHECKED)])
def test_each_way_out_is_told_and_right(monkeypatch, failing, failures, way, astray):
    engines = [
        (name, failing if number < failures else engine)
        for number, (name, engine) in enumerate(union._ENGINES)
    ]
    monkeypatch.setattr(union, "_ENGINES", engines)
    outcome = unite(SHAPES)
    assert outcome.way is way
    assert area(outcome.contours) == pytest.approx(27_500)
    assert astray(SHAPES, outcome.contours) == 0


def test_the_polygon_of_last_resort_is_close(clipped):
    shapes = [ring(100), ring(60, 90), ring(30).reversed()]
    flattened = oriented(union._flattened(shapes))
    assert area(flattened) == pytest.approx(clipped(shapes), rel=1e-3)


def test_orientation_is_by_depth_not_by_drawing():
    nested = [square(k, k, 100 - 2 * k, backwards=bool(k % 20)) for k in (0, 10, 20, 30)]
    assert [s > 0 for s in Segments.of(oriented(nested)).areas()] == [True, False, True, False]
    wrongly = [c.reversed() for c in nested]
    assert [s > 0 for s in Segments.of(oriented(wrongly)).areas()] == [True, False, True, False]


# ---------------------------------------------------------------- contours


def test_area_of_curves():
    assert area([ring(100)]) == pytest.approx(np.pi * 100**2, rel=4e-4)  # a cubic's quarter circle
    bow = closed_contour(np.array([QUAD, LINE], np.uint8), np.array([0, 50 + 100j, 100, 0]))
    assert area([bow]) == pytest.approx(-2 / 3 * 100 * 50)  # Archimedes: two thirds of the box


def test_area_is_that_of_svgpathtools():
    svgpathtools = pytest.importorskip("svgpathtools")
    bow = svgpathtools.Path(
        svgpathtools.CubicBezier(0, 30 + 80j, 90 + 10j, 100 + 60j), svgpathtools.Line(100 + 60j, 0)
    )
    ours = closed_contour(np.array([CUBIC, LINE], np.uint8), np.array([0, 30 + 80j, 90 + 10j, 100 + 60j, 0]))
    assert abs(area([ours])) == pytest.approx(abs(bow.area()), rel=1e-6)


def test_closing_drops_what_has_no_extent():
    assert closed_contour(np.array([LINE], np.uint8), np.array([5, 5 + 0j])) is None
    loop = closed_contour(np.array([CUBIC], np.uint8), np.array([0, 10, 10j, 0]))
    assert loop is not None  # comes back to its start
    assert loop.codes.tolist() == [CUBIC]
    doubled = closed_contour(np.full(4, LINE, np.uint8), np.array([0, 10, 10, 10j, 0]))
    assert doubled.points.tolist() == [10, 10j, 0]


def test_reversed_runs_through_the_same_points():
    contour = closed_contour(
        np.array([CUBIC, LINE, QUAD], np.uint8), np.array([0, 1j, 2, 3 + 3j, 5, 6 - 4j, 0])
    )
    back = contour.reversed()
    assert back.codes.tolist() == [QUAD, LINE, CUBIC]
    assert [s[::-1].tolist() for s in back.segments()[::-1]] == [s.tolist() for s in contour.segments()]


def test_windings():
    edges = Segments.of([square(0, 0, 10), square(2, 2, 4)]).edges()
    assert [winding(edges, at) for at in (1 + 1j, 3 + 3j, 20 + 1j)] == [1, 2, 0]
    heights, nothing = np.array([1.0, 3.0]), np.empty(0, np.complex128)
    assert scan(edges, (nothing, nothing), heights).tolist() == [10, 10]  # nothing covers it
    assert scan(edges, edges, heights).tolist() == [0, 4]  # covered twice
    assert scan((nothing, nothing), edges, heights).tolist() == [10, 10]
    assert outline([square(0, 0, 10)]).bounds().width == 10
