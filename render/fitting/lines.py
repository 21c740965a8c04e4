"""Lines of lettering above each other, that should hold to each other in more than one place."""

from __future__ import annotations

from itertools import pairwise
from typing import Final

import shapely

from render.fitting.necks import cores, roughly
from render.fitting.solids import Region, only_areas, parts_of, united
from render.fitting.ties import Manner, Tie, best_tie

SPREAD: Final = 0.3
"""Two lines hold well if the places where they meet lie apart by this part of the shorter line's length."""

SIDE: Final = 0.4
"""Else a second place is looked for in this part of that length, at the farther end."""

LONGEST: Final = 8.0
"""A second tie that shows more than so many necks is left out: the cure would look worse than the ill."""


def second_holds(whole: Region, manner: Manner) -> list[Tie]:
    """For each two lines that meet at one end only (or at one point) a tie at the other.

    Args:
        whole: one piece.
        manner: the ties' width, and the baselines, which say where the lines are.
    """
    found = []
    for (upper, _), (lower, height) in pairwise(sorted(set(manner.baselines))):
        tie = _second(roughly(whole, manner.width), manner, (upper + lower - height) / 2)
        if tie is not None:
            found.append(tie)
    return found


def _second(whole: Region, manner: Manner, level: float) -> Tie | None:
    """A second tie across the gap between two lines, if one is needed and can be had."""
    x0, y0, x1, y1 = whole.bounds
    above = _largest(only_areas(shapely.intersection(whole, shapely.box(x0, y0, x1, level))))
    below = _largest(only_areas(shapely.intersection(whole, shapely.box(x0, level, x1, y1))))
    if above is None or below is None:
        return None
    left = max(above.bounds[0], below.bounds[0])
    right = min(above.bounds[2], below.bounds[2])
    meeting = shapely.intersection(above, below)
    if right - left < 6 * manner.width or meeting.is_empty:
        return None
    at = meeting.bounds
    if at[2] - at[0] > SPREAD * (right - left):
        return None
    near_left = at[0] + at[2] < left + right
    reach = SIDE * (right - left)
    start = right - reach if near_left else left
    side = shapely.box(start, y0, start + reach, y1)
    ends = [
        united(cores(only_areas(shapely.intersection(part, side)), manner.width)) for part in (above, below)
    ]
    if any(end.is_empty for end in ends):
        return None
    tie = best_tie(ends[0], ends[1], whole, Manner(manner.width, manner.slant))
    return tie if tie.shown <= LONGEST * manner.width else None


def _largest(region: Region) -> Region | None:
    return max(parts_of(region), key=lambda part: part.area, default=None)
