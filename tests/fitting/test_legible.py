"""How much of the open space of letters is closed: on shapes whose whites are known."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.fitting.legible import closed_whites
from render.geometry import Path
from render.geometry.shapes import circle, rectangle
from render.geometry.turning import backward


def ring(radius: float, inner: float) -> Path:
    return Path.joined((circle(0j, radius), backward(circle(0j, inner))))


@given(st.floats(0.05, 0.95))
def test_the_closed_part_of_an_eye_is_told(share: float) -> None:
    """The area of a circle: pi r² (elementary geometry)."""
    left = 6 * math.sqrt(1 - share)
    (closed,) = closed_whites([ring(10, 6)], ring(10, left))
    assert closed == pytest.approx(share, abs=0.005)


def test_a_letter_as_it_was_is_open_and_a_disc_hides_it() -> None:
    letter = ring(10, 6)
    assert closed_whites([letter], letter) == pytest.approx([0.0], abs=1e-6)
    assert closed_whites([letter], circle(0j, 11)) == pytest.approx([1.0], abs=1e-6)


def test_what_hardly_has_whites_has_no_say() -> None:
    bar = rectangle(0, 0, 2, 20)
    (closed,) = closed_whites([bar], rectangle(-5, -5, 30, 30))
    assert math.isnan(closed)


def test_a_neighbour_that_lies_in_a_letters_mouth_counts() -> None:
    """A U of three bars: its mouth is 6 × 8, its hull 10 × 10."""
    u = Path.joined((rectangle(0, 0, 2, 10), rectangle(8, 0, 2, 10), rectangle(0, 8, 10, 2)))
    filled = Path.joined((u, rectangle(2, 0, 6, 4)))
    (closed,) = closed_whites([u], filled)
    assert closed == pytest.approx(0.5, abs=1e-6)
