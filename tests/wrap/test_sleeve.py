"""Sleeves: the development that is cut, its holes and its lettering, rolled up again."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from render.errors import LibraryError
from render.geometry import Path
from render.geometry.shapes import line, rectangle
from render.model import Artwork, Blank, Hold, Mark, Operation, RoundBody, Sleeve, Stock, Surface
from render.wrap.still import SleeveWrapper
from tests.wrap import bodies as B  # noqa: N812


def blank(body: RoundBody) -> Blank:
    outline = rectangle(0, 0, *body.drawn)
    return Blank(
        "s", "Sleeve", outline, (), (), outline, "felt", 3, Hold.STOCK, stock=Stock(600, 300), body=body
    )


CONE = replace(B.CONE, surface=Surface.SLEEVE, sleeve=Sleeve(seam=10, holes=1.5, pitch=6, edge=4))


def area(path: Path) -> float:
    from render.geometry.subdivide import subdivided

    z = subdivided(path, 1e-4).points
    return abs(float((z.conjugate() * np.roll(z, -1)).imag.sum()) / 2)


def test_the_area_is_that_of_the_cone_and_its_flap() -> None:
    cut = SleeveWrapper.of(blank(CONE)).cut
    # side of a frustum: (C₁ + C₂) s / 2 (handbook, from memory); the flap is a strip 10 mm wide
    assert area(cut.outline) == pytest.approx((276 + 224) * 150 / 2 + 10 * 150, rel=1e-5)
    assert cut.outline.is_closed()
    box = cut.outline.bounds()
    assert (box.x0, box.y0) == pytest.approx((0, 0), abs=1e-9)


def test_holes_meet_when_it_is_closed() -> None:
    wrapper = SleeveWrapper.of(blank(CONE))
    holes = [h.bounds().centre for h in wrapper.cut.holes]
    assert len(holes) == 2 * (math.floor(142 / 6) + 1)
    assert wrapper.sector is not None
    at = wrapper.sector.surface(np.array([complex(h) for h in holes]) - wrapper.offset, math.pi)
    left, right = np.split(at, 2)
    assert np.abs(right - left - 2 * math.pi).max() < 1e-9
    radius = wrapper.profile.radius(left.imag)
    assert left.real * radius == pytest.approx(np.full(left.size, 5.0))  # half the flap in from the edge


def test_edges_that_meet_are_laced() -> None:
    laced = replace(CONE, sleeve=Sleeve(holes=2, pitch=150, edge=5))
    wrapper = SleeveWrapper.of(blank(laced))
    assert len(wrapper.cut.holes) == 2
    assert area(wrapper.cut.outline) == pytest.approx(250 * 150, rel=1e-5)


def test_level_lines_are_level_when_it_is_closed() -> None:
    wrapper = SleeveWrapper.of(blank(CONE))
    art = Artwork("p2", "", (Mark(Operation.SCORE, line(30 + 60j, 220 + 60j)),))
    wrapped = wrapper.wrap(art)
    flat = wrapped.artwork.marks[0].path.points
    assert wrapper.sector is not None
    rolled = wrapper.sector.surface(flat - wrapper.offset, math.pi)
    assert np.abs(rolled.imag - 60).max() < 1e-9
    assert np.abs(np.diff(flat)).sum() == pytest.approx(190, rel=1e-4)  # and as long as it was drawn
    middle = flat[flat.size // 2]
    assert abs(flat[0] - middle) > 0
    assert flat.imag.max() - flat.imag.min() > 3  # though it is an arc in the leather


def test_a_straight_sleeve_is_a_rectangle() -> None:
    body = RoundBody(200, 60, surface=Surface.SLEEVE, sleeve=Sleeve(seam=8))
    wrapper = SleeveWrapper.of(blank(body))
    box = wrapper.cut.outline.bounds()
    assert (box.width, box.height) == pytest.approx((208, 60))
    drawn = rectangle(20, 10, 30, 20)
    assert wrapper.wrap(Artwork("p2", "", (Mark(Operation.CUT, drawn),))).artwork.marks[0].path.points == (
        pytest.approx(drawn.points)
    )


def test_sleeves_that_cannot_be() -> None:
    with pytest.raises(LibraryError, match="holes of the sleeve"):
        SleeveWrapper.of(blank(replace(CONE, sleeve=Sleeve(holes=9, edge=4))))
    with pytest.raises(LibraryError, match="cylinder or a cone"):
        SleeveWrapper.of(blank(replace(B.BULB, surface=Surface.SLEEVE)))
    with pytest.raises(LibraryError, match="no sleeve"):
        SleeveWrapper.of(blank(RoundBody(200, 50)))
