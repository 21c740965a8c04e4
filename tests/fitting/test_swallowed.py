"""Marks below letters that a design's own bar would hide."""

from __future__ import annotations

import pytest

from render.fitting.swallowed import swallowed
from render.geometry import Path
from render.geometry.shapes import circle, rectangle
from render.geometry.turning import backward

PLAIN = rectangle(0, 0, 5, 20)
DOTTED = Path.joined((rectangle(8, 0, 5, 20), circle(10.5 + 23j, 1.5)))
LOOPED = Path.joined((rectangle(30, 0, 6, 28), backward(circle(33 + 24j, 1.5))))
FOOTED = Path.joined((rectangle(16, 0, 5, 24),))


@pytest.mark.parametrize(
    ("top", "height", "gone"),
    [
        (19, 10, [1]),  # the whole dot
        (19, 5, [1]),  # more than three quarters of it
        (19, 4, []),  # half of it: it is seen
        (19, 1, []),
    ],
)
def test_dots_within_a_bar_are_told(top: float, height: float, gone: list[int]) -> None:
    bar = rectangle(-5, top, 40, height)
    assert swallowed([PLAIN, Path.empty(), DOTTED, FOOTED], 20, 20, [bar]) == [n + 1 for n in gone]


def test_the_eye_of_a_loop_below_is_no_mark() -> None:
    assert swallowed([LOOPED], 20, 20, [rectangle(-5, 19, 60, 10)]) == []


def test_a_letter_that_only_hangs_into_a_bar_is_no_mark() -> None:
    assert swallowed([rectangle(40, 17, 4, 23)], 20, 20, [rectangle(-5, 19, 60, 26)]) == []


def test_nothing_is_told_without_a_bar_or_marks() -> None:
    assert swallowed([PLAIN, DOTTED], 20, 20, []) == []
    assert swallowed([PLAIN, FOOTED], 20, 20, [rectangle(-5, 19, 40, 10)]) == []
