"""A hand-made font to fit with: simple enough that every expected figure can be worked out on paper."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

import pytest

from render.geometry import Box, Path
from render.geometry.shapes import rectangle
from render.model import FitRule, LetterRequest, Line, Operation, Setting

BEARING = 0.05
ADVANCES = {"i": 0.3, "l": 0.3, "m": 0.9, "w": 0.9, " ": 0.25, "-": 0.35}
OVERHANG = {"f": 0.3}  # reaches out to the left, as script capitals do


def _heights(letter: str) -> tuple[float, float]:
    if letter in "ÄÉÖÜŽ":
        return -0.95, 0.0
    if letter in "gpqy":
        return -0.5, 0.2
    return (-0.7, 0.0) if letter.isupper() or letter in "bdfhklt" else (-0.5, 0.0)


@cache
def hand(text: str, setting: Setting) -> Line:
    """Plain letters 0.6 em wide; the font ``narrow`` takes 0.7 of the room; a snowman is missing."""
    wide = 0.7 if setting.font == "narrow" else 1.0
    pen, box, clusters = 0.0, None, []
    for letter in text:
        advance = ADVANCES.get(letter, 0.6) * wide
        if not letter.isspace():
            top, bottom = _heights(letter)
            ink = Box(pen + BEARING - OVERHANG.get(letter, 0.0), top, pen + advance - BEARING, bottom)
            box = ink if box is None else Box.union((box, ink))
        clusters.append((pen, advance + setting.tracking))
        pen += advance + setting.tracking
    missing = ("☃",) if "☃" in text else ()
    return Line(text, setting, box, pen, 0.7, 0.5, 0.04, tuple(clusters), missing)


@pytest.fixture(scope="session")
def measure() -> Callable[[str, Setting], Line]:
    return hand


@pytest.fixture(scope="session")
def ask() -> Callable[..., list[LetterRequest]]:
    """Requests for texts in one slot; by default an area of 60 × 20 mm."""

    def make(
        texts, area: Path | None = None, along: Path | None = None, start: float = 0.5, slot="name", **rule
    ) -> list[LetterRequest]:
        fit = FitRule(**({"largest": 12.0, "smallest": 3.0} | rule))
        room = rectangle(0, 0, 60, 20) if area is None else area
        return [
            LetterRequest(f"p{n}", slot, text, Setting("hand"), Operation.ENGRAVE, fit, room, along, start)
            for n, text in enumerate(texts, 2)
        ]

    return make
