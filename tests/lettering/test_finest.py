"""Thinnest strokes and narrowest gaps: on shapes of known thickness, and on letters by another measure."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from render.geometry import Affine, Path
from render.geometry.shapes import circle, rectangle
from render.lettering.across import FACING_DEGREES
from render.lettering.contours import GRID, Contour, Segments
from render.lettering.finest import Finest, finest
from render.lettering.outlines import GlyphReader
from render.lettering.placed import contours_of
from render.lettering.shelf import Shelf
from render.lettering.union import unite
from render.resources import folder

SHELF = Shelf((folder("fonts_open"),))
WITHIN = 0.01
"""The figure to reach: 1 % of the thickness."""


def drawn(*paths: Path, turn: float = 0.0) -> list[Contour]:
    turned = Path.joined(paths).transformed(Affine.rotation(turn))
    return list(unite(contours_of(turned, 0j, 1.0)).contours)


def polygon(*corners: complex) -> Path:
    return Path.polygon(corners)


def measured(contours: list[Contour], short: float = 0.0, most: float = 2000.0) -> Finest:
    return finest(contours, short=short, most=most, tolerance=0.003)


@settings(max_examples=40)
@given(st.floats(2, 450), st.floats(0, 90))
def test_bars(thickness: float, turn: float) -> None:
    found = measured(drawn(rectangle(0, 0, 1000, thickness), turn=turn))
    assert found.stroke == pytest.approx(thickness, rel=WITHIN)
    assert found.gap == math.inf


@settings(max_examples=12)
@given(st.floats(200, 900), st.floats(0.004, 0.9))
def test_rings(radius: float, share: float) -> None:
    """The ring's width is its stroke, the disc it leaves free its gap; both lie on the grid of contours."""
    inner = radius * (1 - share)
    hole = Path(circle(0j, inner).commands, circle(0j, inner).points.conj())
    found = measured(drawn(circle(0j, radius), hole), most=1900)
    assert found.stroke == pytest.approx(radius - inner, rel=WITHIN, abs=1 / GRID)
    assert found.gap == pytest.approx(2 * inner, rel=WITHIN)


@settings(max_examples=40)
@given(st.floats(2, 28), st.floats(5, 60), st.floats(0, 90))
def test_wedges_cut_off(degrees: float, end: float, turn: float) -> None:
    """With all ends counted, a wedge is as thin as the disc that touches its sides at its cut end."""
    half = math.radians(degrees / 2)
    far = end / 2 + 800 * math.tan(half)
    found = measured(drawn(polygon(-0.5j * end, 800 - 1j * far, 800 + 1j * far, 0.5j * end), turn=turn))
    assert found.stroke == pytest.approx(end / math.cos(half), rel=WITHIN)


@settings(max_examples=40)
@given(st.floats(2, 28), st.floats(5, 60), st.floats(50, 300))
def test_wedges_with_short_ends_left_out(degrees: float, end: float, short: float) -> None:
    """The crossing that counts touches where the way round the end is 2 short longer than itself.

    At a distance s along a side from the cut: way 2 s + e, touching disc of 2 (s + e / (2 sin a/2)) tan a/2.
    The crossing runs straight across from there; its far end lies further along by the wedge's slope.
    """
    a = math.radians(degrees)
    apex = end / (2 * math.sin(a / 2))  # along a side from the apex to the cut
    far = end / 2 + 1500 * math.tan(a / 2)
    contours = drawn(polygon(-0.5j * end, 1500 - 1j * far, 1500 + 1j * far, 0.5j * end))
    # from a place r along one side straight across: it meets the other at r / cos a, and is r tan a long
    # (r - apex) + (r / cos a - apex) + end - r tan a = 2 short
    r = (2 * short + 2 * apex - end) / (1 + 1 / math.cos(a) - math.tan(a))
    assert measured(contours, short, most=300).stroke == pytest.approx(2 * r * math.tan(a / 2), rel=WITHIN)


@pytest.mark.parametrize("degrees", [FACING_DEGREES + 3, 60, 90])
def test_corners_blunter_than_the_limit_are_no_stroke(degrees: float) -> None:
    half = 1000 * math.tan(math.radians(degrees / 2))
    found = measured(drawn(polygon(0j, 1000 - 1j * half, 1000 + 1j * half)))
    inside = 1000 * half / (half + math.hypot(1000, half))  # the triangle's incircle: area / half its outline
    assert found.stroke == pytest.approx(2 * inside, rel=WITHIN)


@settings(max_examples=30)
@given(st.floats(3, 150), st.floats(1, 300), st.floats(0, 90))
def test_joins_count_however_short_they_are(thickness: float, length: float, turn: float) -> None:
    neck = drawn(
        rectangle(-400, -200, 400, 400),
        rectangle(-5, -thickness / 2, length + 10, thickness),
        rectangle(length, -200, 400, 400),
        turn=turn,
    )
    found = measured(neck, short=120)
    assert found.stroke == pytest.approx(thickness, rel=WITHIN)
    if length > 2 * 120 - 0:  # a gap as deep as 200, twice
        assert found.gap >= length * (1 - WITHIN)
    elif length < 150:
        assert found.gap == pytest.approx(length, rel=WITHIN)


def test_short_ends_do_not_count() -> None:
    serif = drawn(rectangle(0, 0, 1000, 400), rectangle(990, 0, 210, 40))
    assert measured(serif).stroke == pytest.approx(40, rel=WITHIN)
    assert measured(serif, short=250).stroke == pytest.approx(400, rel=WITHIN)


@settings(max_examples=30)
@given(st.floats(3, 100), st.floats(0, 90))
def test_gaps_between_parts_and_in_combs(gap: float, turn: float) -> None:
    apart = drawn(circle(0j, 100), circle(complex(200 + gap), 100), turn=turn)
    assert measured(apart, short=50).gap == pytest.approx(gap, rel=WITHIN)
    comb = drawn(
        *(rectangle(k * (60 + gap), 0, 60, 500) for k in range(3)),
        rectangle(0, 490, 2 * (60 + gap) + 60, 60),
        turn=turn,
    )
    assert measured(comb, short=100).gap == pytest.approx(gap, rel=WITHIN)


def test_small_dots_and_counters_count_by_their_largest_disc() -> None:
    dot = measured(drawn(circle(0j, 20)), short=100)
    assert dot.stroke == pytest.approx(40, rel=WITHIN)
    eye = Path(circle(0j, 15).commands, circle(0j, 15).points.conj())
    assert measured(drawn(rectangle(-300, -300, 600, 600), eye), short=100).gap == pytest.approx(
        30, rel=WITHIN
    )


def test_corners_that_poke_at_each_other() -> None:
    """An hourglass: no two sides face each other, yet it is thin where its corners meet."""
    glass = polygon(-300 - 300j, 300 - 300j, 12 + 0j, 300 + 300j, -300 + 300j, -12 + 0j)
    assert measured(drawn(glass), short=100).stroke == pytest.approx(24, rel=WITHIN)


def test_nothing_is_not_thin() -> None:
    assert measured([]) == Finest()


# ---------------------------------------------------------------- letters

TUNED_ON = {"great-vibes", "pinyon-script", "cinzel", "playfair-display", "roboto-slab", "montserrat"}
"""Fonts that the definition was chosen on: the check takes others."""


@pytest.mark.parametrize(
    "name", ["allura", "dancing-script", "lobster", "eb-garamond", "source-sans-3", "cinzel-decorative"]
)
def test_letters_by_eroding_them(name: str) -> None:
    """Eroded by less than its thinnest stroke a letter stays whole; grown by less than its gap, open.

    By GEOS (shapely's buffer) on fine chords: another way to the same end.
    """
    assert name not in TUNED_ON
    font = SHELF.find(name)
    short, upem = 0.2 * font.cap_height * font.upem, font.upem
    reader = GlyphReader(font.data)
    for letter in "aegnARS&":
        gid = font.shaper.get_nominal_glyph(ord(letter))
        if not gid:
            continue
        contours = list(unite(reader.contours(gid)).contours)
        found = finest(contours, short=short, most=upem / 2, tolerance=upem / 2e4)
        region = region_of(contours)
        parts = len(getattr(region, "geoms", [region]))
        eroded = region.buffer(-0.97 * found.stroke / 2, quad_segs=16)
        stout = [p for p in getattr(eroded, "geoms", [eroded]) if p.area > (0.02 * upem) ** 2]
        assert len(stout) <= parts, (letter, found)
        dilated = region.buffer(0.97 * min(found.gap, 0.4 * upem) / 2, quad_segs=16)
        whole = getattr(dilated, "geoms", [dilated])
        assert len(whole) == parts, (letter, found)
        assert sum(len(p.interiors) for p in whole) >= holes(region), (letter, found)


def region_of(contours: list[Contour]) -> shapely.Geometry:
    whole = shapely.Polygon()
    for contour in contours:
        ring = Segments.of([contour]).edges(24)[0]
        whole = whole.symmetric_difference(shapely.Polygon(np.stack((ring.real, ring.imag), 1)))
    return whole


def holes(region: shapely.Geometry) -> int:
    return sum(len(p.interiors) for p in getattr(region, "geoms", [region]))
