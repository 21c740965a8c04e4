"""Crossings of curves and outlines traced from them, against shapely (GEOS) on fine polygons."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from render.geometry.bending import on_curves
from render.lettering.contours import Points
from render.lettering.crossings import (
    Crossings,
    Laid,
    boxes_of,
    boxes_over,
    find_crossings,
    near_pairs,
    place,
    speed,
)
from render.lettering.traced import Traced, trace

FINE = 60


def blob(middle: complex, radius: float, wobble: float, turn: float, clockwise: bool = False) -> Points:
    """A smooth closed contour of five cubics, counter-clockwise; shape (4, 5)."""
    angle = np.arange(5) * 2 * np.pi / 5 + turn
    at = (1 + wobble * np.cos(2 * angle + turn)) * np.exp(1j * angle)
    way = 1j * at * (2 * np.pi / 15)
    ends, ways = np.roll(at, -1), np.roll(way, -1)
    controls = middle + radius * np.stack((at, at + way, ends - ways, ends))
    return controls[::-1, ::-1].copy() if clockwise else controls


def laid(lines: list[list[list[Points]]]) -> Laid:
    """Lines of glyphs of contours."""
    glyphs = [glyph for line in lines for glyph in line]
    contours = [contour for glyph in glyphs for contour in glyph]
    sizes = [contour.shape[1] for contour in contours]
    return Laid(
        np.concatenate(contours, axis=1),
        np.cumsum([0] + [sum(c.shape[1] for c in glyph) for glyph in glyphs]),
        np.cumsum([0] + [len(line) for line in lines]).tolist(),
        np.cumsum([0, *sizes]),
        np.repeat(np.arange(len(sizes)), sizes),
    )


def polygon(glyph: list[Points], fine: int = FINE) -> shapely.Polygon:
    outer, *inner = (
        on_curves(c.T, np.broadcast_to(np.arange(fine) / fine, (c.shape[1], fine))) for c in glyph
    )
    rings = [np.stack((r.real, r.imag), axis=-1).reshape(-1, 2) for r in (outer, *inner)]
    return shapely.Polygon(rings[0], rings[1:])


def area(every: Laid, traced: Traced) -> float:
    """Area within the traced outlines, by their fine polygons."""
    total = 0.0
    for contour in traced.wholes.tolist():
        begin, end = every.contours[contour], every.contours[contour + 1]
        at = on_curves(
            every.controls[:, begin:end].T, np.broadcast_to(np.arange(FINE) / FINE, (end - begin, FINE))
        )
        total += float((at.reshape(-1).conj() * np.roll(at.reshape(-1), -1)).imag.sum() / 2)
    parts: list[list[complex]] = []
    for curve, low, goal, high, head in zip(
        traced.curve_out, traced.at_out, traced.curve_in, traced.at_in, traced.heads, strict=True
    ):
        if head:
            parts.append([])
        at, start = int(curve), float(low)
        while True:
            last = at == goal and high >= start
            t = np.linspace(start, high if last else 1.0, FINE, endpoint=False)
            parts[-1] += place(every.controls[:, [at]], t).tolist()
            if last:
                break
            at, start = int(every.beside(np.array([at]), np.array([1]))[0]), 0.0
    for part in parts:
        ring = np.array(part)
        total += float((ring.conj() * np.roll(ring, -1)).imag.sum() / 2)
    return total


spots = st.builds(complex, st.floats(-60, 60), st.floats(-60, 60))
blobs = st.builds(blob, spots, st.floats(10, 60), st.floats(-0.25, 0.25), st.floats(0, 6))
rings = st.builds(
    lambda middle, radius, wobble, turn: [
        blob(middle, radius, wobble, turn), blob(middle, radius * 0.5, wobble, turn, clockwise=True)
    ],
    spots, st.floats(20, 60), st.floats(-0.25, 0.25), st.floats(0, 6),
)  # fmt: skip
glyphs = st.one_of(blobs.map(lambda b: [b]), rings)


@settings(max_examples=60, deadline=None)
@given(blobs, blobs)
def test_crossings_lie_on_both_curves_and_none_is_missed(one: Points, two: Points) -> None:
    every = laid([[[one], [two]]])
    boxes = boxes_of(every.controls)
    whole = boxes_over(boxes, every.starts[:-1])
    found = find_crossings(every, boxes, near_pairs(every.lines, whole), whole)
    a, b = (place(every.of(found.curves[k]), found.at[k]) for k in (0, 1))
    assert np.abs(a - b) == pytest.approx(0, abs=1e-6)
    met = shapely.intersection(polygon([one], 400).exterior, polygon([two], 400).exterior)
    expected = shapely.get_parts(met)[~shapely.is_empty(shapely.get_parts(met))]
    near = shapely.distance(expected[:, None], expected[None, :]) + 9 * np.eye(expected.size)
    assume(expected.size % 2 == 0 and (near > 5.0).all())  # else they touch, or graze each other
    ways = [speed(every.of(found.curves[k]), found.at[k]) for k in (0, 1)]
    sines = (ways[0].conj() * ways[1]).imag / np.abs(ways[0] * ways[1])
    assume((np.abs(sines) > 0.02).all())
    assert a.size == expected.size
    assert found.enters.sum() * 2 == a.size
    for at in a:
        assert shapely.distance(met, shapely.Point(at.real, at.imag)) < 0.05


@settings(max_examples=120, deadline=None)
@given(st.lists(st.lists(glyphs, min_size=1, max_size=5), min_size=1, max_size=3))
def test_a_traced_outline_is_the_union(lines: list[list[list[Points]]]) -> None:
    """Of each line by itself, though all are traced at once; holes, and glyphs within glyphs, included."""
    every = laid(lines)
    traced = trace(every)
    if traced.failed.any():
        return
    expected = sum(shapely.union_all([polygon(glyph) for glyph in line]).area for line in lines)
    assert area(every, traced) == pytest.approx(expected, rel=1e-3)


def test_what_lies_within_another_is_left_out() -> None:
    every = laid([[[blob(0, 50, 0, 0)], [blob(5, 10, 0, 0)]], [[blob(0, 50, 0, 0)], [blob(200, 10, 0, 0)]]])
    assert trace(every).wholes.tolist() == [0, 2, 3]


def test_outlines_that_lie_on_each_other_are_given_up() -> None:
    same = blob(0, 50, 0.1, 0.3)
    lines = [[[same], [same.copy()]], [[same], [same + 30]], [[same], [same + 300]]]
    assert trace(laid(lines)).failed.tolist() == [True, False, False]


def test_sides_on_one_line_are_united_or_given_up() -> None:
    """Bars with a common base, as serifs have: no crossing tells where one side runs on into the other."""
    bar = np.array([0, 100, 100 + 20j, 20j])
    ends = np.roll(bar, -1)
    box = np.stack((bar, bar + (ends - bar) / 3, ends + (bar - ends) / 3, ends))
    every = laid([[[box], [box + by]] for by in (50, 50 + 7j)])
    traced = trace(every)
    assert not traced.failed[1]
    assert traced.failed[0] or area(every, traced) == pytest.approx(150 * 20 + 2 * 100 * 20 - 50 * 13)


def test_a_crossing_that_was_missed_is_noticed(monkeypatch: pytest.MonkeyPatch) -> None:
    every = laid([[[blob(0, 50, 0.25, 0)], [blob(0, 50, 0.25, 1.2)]]])

    def without(*args: object) -> Crossings:
        found = find_crossings(*args)  # type: ignore[arg-type]
        kept = slice(2, None)
        return replace(
            found,
            pair=found.pair[kept],
            curves=found.curves[:, kept],
            at=found.at[:, kept],
            enters=found.enters[kept],
        )

    assert not trace(every).failed.any()
    monkeypatch.setattr("render.lettering.traced.find_crossings", without)
    assert trace(every).failed.all()
