"""Round things seen from front and back: against the sine, and what is hidden."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import Polygon

from render.geometry import Path
from render.geometry.shapes import circle, line, rectangle
from render.model import Artwork, Blank, Mark, Material, Operation, RoundBody
from render.proof.canvas import Canvas
from render.proof.cups import Cup
from render.proof.views import views_of

TURN = 200.0
RADIUS = TURN / (2 * math.pi)
CUP = Cup.of(RoundBody(TURN, 80))


def area(path: Path) -> float:
    return sum(Polygon([(p.real, p.imag) for p in c.points]).area for c in path.contours())


@given(st.floats(0, TURN - 40), st.floats(1, 39))
def test_a_bar_is_as_wide_as_the_sine_says(x: float, width: float) -> None:
    """The front shows the part within a quarter turn of the middle; its width is r (sin b - sin a)."""
    for back in (False, True):
        seen = CUP.seen(rectangle(x, 10, width, 20), 0.01, back=back)
        parts = 0.0
        for turn in (-TURN / 2, TURN / 2) if back else (0.0,):
            angles = [(at - TURN / 2 + turn) / RADIUS for at in (x, x + width)]
            a, b = np.clip(angles, -math.pi / 2, math.pi / 2)
            parts += RADIUS * (math.sin(b) - math.sin(a))
        assert (area(seen) if seen else 0.0) == pytest.approx(20 * parts, abs=0.05)


def test_front_and_back_together_show_all_of_it_once() -> None:
    whole = rectangle(0, 0, TURN, 80)
    for back in (False, True):
        assert area(CUP.seen(whole, 0.01, back=back)) == pytest.approx(2 * RADIUS * 80, rel=1e-3)


def test_a_ring_keeps_its_hole() -> None:
    ring = Path.joined((circle(100 + 40j, 20), circle(100 + 40j, 10)))
    outer, inner = CUP.seen(ring, 0.005, back=False).contours()
    assert outer.bounds().width == pytest.approx(2 * RADIUS * math.sin(20 / RADIUS), abs=0.02)
    assert inner.bounds().width == pytest.approx(2 * RADIUS * math.sin(10 / RADIUS), abs=0.02)
    assert outer.bounds().height == pytest.approx(40, abs=0.02)


def test_lines_end_where_they_pass_out_of_sight() -> None:
    level = line(20 + 30j, 180 + 30j)
    front = CUP.seen_lines(level, 0.01, back=False)
    assert len(list(front.contours())) == 1
    assert front.bounds().width == pytest.approx(2 * RADIUS, abs=0.05)
    behind = CUP.seen_lines(level, 0.01, back=True)
    assert len(list(behind.contours())) == 2
    assert behind.bounds().x1 == pytest.approx(RADIUS, abs=0.05)


def test_nothing_of_the_front_is_seen_from_the_back() -> None:
    assert not CUP.seen(rectangle(60, 10, 80, 20), 0.01, back=True)
    assert not CUP.seen_lines(line(60 + 1j, 140 + 1j), 0.01, back=True)


def test_a_taper_narrows_what_is_seen() -> None:
    """At each height the surface seen is 2 r wide; r falls from 40 to 30 mm over 100 mm of axis."""
    body = RoundBody(70 * math.pi, math.hypot(100, 10), stations=((0, 80 * math.pi), (100, 60 * math.pi)))
    cup = Cup.of(body)
    assert cup.radii == pytest.approx((40, 30))
    assert cup.along[-1] == pytest.approx(math.hypot(100, 10))  # the slant of a frustum
    band = rectangle(-50, 0, 400, cup.along[-1])
    box = cup.seen(band, 0.01, back=False).bounds()
    assert (box.width, box.height) == pytest.approx((80, 100), abs=0.05)


def test_a_round_thing_has_two_sides_a_flat_one_one(tumbler: Blank, tag: Blank, wood: Material) -> None:
    assert [view.name for view in views_of(tumbler, wood, (60, 60))] == ["front", "back"]
    assert [view.name for view in views_of(tag, wood, (60, 60))] == [""]
    for view in (*views_of(tumbler, wood, (60, 60)), *views_of(tag, wood, (60, 60))):
        assert max(view.size) == pytest.approx(60)


def test_the_back_of_the_artwork_is_drawn_on_the_back(tumbler: Blank, wood: Material) -> None:
    artwork = Artwork("p2", "A", (Mark(Operation.ENGRAVE, rectangle(190, 30, 20, 10)),))
    drawn = []
    for view in views_of(tumbler, wood, (60, 60)):
        canvas = Canvas()
        view.layers[1](canvas, artwork)
        drawn.append(canvas.svg(*view.size, "#FFFFFF").count(b"<path"))
    assert drawn == [0, 1]
