"""Thin strokes made stouter: as wide as wanted, gaps kept open, nothing else moved."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from render.geometry import Affine, Path
from render.geometry.shapes import circle, rectangle
from render.lettering.contours import Contour, Segments
from render.lettering.finest import Finest, finest
from render.lettering.outlines import GlyphReader
from render.lettering.placed import contours_of
from render.lettering.shelf import Shelf
from render.lettering.thicken import Wanted, thickened
from render.lettering.union import unite
from render.resources import folder

SHELF = Shelf((folder("fonts_open"),))


def drawn(*paths: Path, turn: float = 0.0) -> list[Contour]:
    turned = Path.joined(paths).transformed(Affine.rotation(turn))
    return list(unite(contours_of(turned, 0j, 1.0)).contours)


def region(contours: list[Contour] | tuple[Contour, ...]) -> shapely.Geometry:
    whole = shapely.Polygon()
    for contour in contours:
        ring = Segments.of([contour]).edges(24)[0]
        whole = whole.symmetric_difference(shapely.Polygon(np.stack((ring.real, ring.imag), 1)).buffer(0))
    return whole


def hole(radius: float, at: complex = 0j) -> Path:
    ring = circle(0j, radius)
    return Path(ring.commands, ring.points.conj() + at)


def measured(contours: tuple[Contour, ...], short: float = 140) -> Finest:
    return finest(contours, short=short, most=500, tolerance=0.02)


def wanted(stroke: float, gap: float = 20) -> Wanted:
    return Wanted(stroke, gap, 0.02)


@settings(max_examples=15)
@given(st.floats(5, 38), st.floats(0, 90))
def test_bars_are_widened_evenly_and_stay_as_long(thickness: float, turn: float) -> None:
    found = region(
        thickened(drawn(rectangle(-400, -thickness / 2, 800, thickness), turn=turn), wanted(40)).contours
    )
    back = shapely.affinity.rotate(found, turn, origin=(0, 0))
    x0, y0, x1, y1 = back.bounds
    assert (x1 - x0, y1 - y0) == pytest.approx((800, 40), rel=0.01)
    assert (y0 + y1) / 2 == pytest.approx(0, abs=0.1)
    assert back.area == pytest.approx(800 * 40, rel=0.01)


@settings(max_examples=10)
@given(st.floats(100, 400), st.floats(4, 38))
def test_rings_grow_to_both_sides(radius: float, thickness: float) -> None:
    outer, inner = radius + thickness / 2, radius - thickness / 2
    found = thickened(drawn(circle(0j, outer), hole(inner)), wanted(40)).contours
    assert measured(found).stroke == pytest.approx(40, rel=0.01)
    assert region(found).area == pytest.approx(math.pi * ((radius + 20) ** 2 - (radius - 20) ** 2), rel=0.01)
    assert sum(c.codes.size for c in found) < 40


def test_what_is_stout_enough_stays_exactly_as_it_is() -> None:
    bold = drawn(rectangle(0, 0, 800, 41), circle(400 + 300j, 60))
    assert thickened(bold, wanted(40)).contours == tuple(bold)


def test_a_stout_part_stays_where_a_thin_one_leaves_it() -> None:
    """A T: the bar is thickened, the stem not."""
    letter = drawn(rectangle(-300, 0, 600, 20), rectangle(-50, 10, 100, 600))
    found = region(thickened(letter, wanted(40)).contours)
    stem = found.intersection(shapely.box(-300, -600, 300, -100))
    assert stem.bounds[::2] == pytest.approx((-50, 50), abs=0.2)
    bar = found.intersection(shapely.box(-290, -100, -200, 100)).bounds
    assert bar[3] - bar[1] == pytest.approx(40, rel=0.01)
    assert bar[3] == pytest.approx(0, abs=0.2), "its long straight top stays where it is"


@settings(max_examples=15)
@given(st.floats(22, 60))
def test_counters_stay_open_and_the_other_side_takes_what_they_cannot(counter: float) -> None:
    """A thin ring round a small counter grows outward alone where growing inward would close it."""
    radius = counter / 2
    found = thickened(drawn(circle(0j, radius + 10), hole(radius)), wanted(40, gap=20)).contours
    whole = measured(found)
    assert whole.gap >= 20 * 0.98
    assert whole.stroke == pytest.approx(40, rel=0.02)


def test_parts_that_were_apart_stay_apart() -> None:
    """Three thin bars, close together: the middle one has no room at all, the outer ones grow outward."""
    bars = drawn(*(rectangle(0, 31 * k, 800, 10) for k in range(3)))
    found = thickened(bars, wanted(40, gap=20)).contours
    parts = sorted(region(found).geoms, key=lambda part: part.bounds[1])
    assert len(parts) == 3
    assert parts[1].distance(parts[0]) >= 20 * 0.99
    assert parts[1].distance(parts[2]) >= 20 * 0.99
    heights = [part.bounds[3] - part.bounds[1] for part in parts]
    assert heights == pytest.approx((40, 11, 40), rel=0.05)


TOUCHING = {"dancing-script": "ao"}
"""Letters drawn with strokes that touch in one point: filling up the crack about it makes a thin join."""

TUNED_ON = {"great-vibes", "pinyon-script", "cinzel", "playfair-display"}


@pytest.mark.parametrize(
    "name", ["allura", "dancing-script", "eb-garamond", "cinzel-decorative", "sacramento"]
)
def test_letters_reach_the_stroke_or_keep_their_gap(name: str) -> None:
    """Fonts that nothing was chosen on, at 0.05 em and a gap of 0.025 em."""
    assert name not in TUNED_ON
    font = SHELF.find(name)
    upem, reader = font.upem, GlyphReader(font.data)
    stroke, gap = 0.05 * upem, 0.025 * upem
    reached = 0
    unsure = TOUCHING.get(name, "")
    for letter in "aegnosARSB":
        before = unite(reader.contours(font.shaper.get_nominal_glyph(ord(letter)))).contours
        after = thickened(before, Wanted(stroke, gap, 2e-5 * upem)).contours
        old, new = (measure(c, upem) for c in (before, after))
        assert new.stroke >= 0.9 * old.stroke or letter in unsure, letter
        assert new.gap >= (0.94 * gap if old.gap >= gap else 0.6 * old.gap), letter
        reached += new.stroke >= 0.97 * stroke
        grown = region(after).difference(region(before).buffer(stroke + 1))
        assert grown.area < 0.002 * region(before).area, letter
        taken = region(before).difference(region(after)).area / region(before).area
        assert taken < (0.003 if old.gap >= 1.5 * gap else 0.03), letter
    assert reached >= 4


def measure(contours: tuple[Contour, ...], upem: int) -> Finest:
    return finest(contours, short=0.14 * upem, most=0.3 * upem, tolerance=5e-5 * upem)
