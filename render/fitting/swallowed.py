"""Marks below letters that a design's own bar or foot swallows, so that nobody would see them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import shapely

from render.fitting.solids import Memory, parts_of, regions_of_paths, together
from render.geometry import Path

BELOW_EM: Final = 0.03
"""What begins no higher than this above the baseline lies below its letter, em."""

SEEN: Final = 0.25
"""Of a mark so much must show, at least, to be seen."""


def swallowed(letters: Sequence[Path], baseline: float, size: float, solids: Sequence[Path]) -> list[int]:
    """The numbers of the letters whose marks below (points, dots, commas) lie within shapes of a design.

    Args:
        letters: outlines in place, mm, as the font draws them.
        baseline: its y, mm.
        size: mm to the em.
        solids: shapes of the design that are one with the letters.
    """
    low = [
        (number, letter)
        for number, letter in enumerate(letters if solids else ())
        if letter and letter.bounds().y1 > baseline + 2 * BELOW_EM * size
    ]
    if not low:
        return []
    memory = Memory(remembers=False)
    marks = [
        (number, part)
        for number, letter in low
        for part in parts_of(together(regions_of_paths([letter], memory)))
        if part.bounds[1] > baseline - BELOW_EM * size
    ]
    if not marks:
        return []
    shapes = together(regions_of_paths(solids, memory))
    return sorted({n for n, mark in marks if shapely.difference(mark, shapes).area < SEEN * mark.area})
