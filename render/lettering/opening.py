"""Gaps that are too narrow, opened: outlines moved inward where the strokes beside them are stout enough.

The counterpart of thickening, with the same care. A small counter is widened all round, so that a round one
stays round. An opening, a notch or what lies between two parts is widened where it is too narrow, and its
deep end left as it is. A side that has nothing to give leaves it to the other. Baseline and height stay.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from render.lettering.across import Crossings, Outline
from render.lettering.contours import Floats, Points
from render.lettering.rays import Ints
from render.lettering.redrawn import slit_of
from render.lettering.swelling import allowed, least_along, sides

_OVER: Final = 1.004
"""Aimed a little above the least gap, for what chords and curves lose."""

_DEEP: Final = 1.5
"""The deepest part of a notch, in least gaps, may be narrower: nothing that fits the gap comes there."""

_MOSTLY: Final = 0.6
"""Straight edges move as a whole where so much of them is to be moved; the deep end of a slot need not be."""

_TALL: Final = 5.0
"""Parts taller than so many least gaps keep their baseline and height."""

_AT_EDGE: Final = 0.02
_LEVEL: Final = 0.35


@dataclass(frozen=True, slots=True)
class Narrow:
    """What an outline's gaps lack.

    Attributes:
        need: how far each chord is to be moved inward, if both sides give.
        near: crossings of all gaps that are too narrow.
    """

    need: Floats
    near: Crossings


def too_narrow(outline: Outline, gaps: Crossings, stroke: float, gap: float) -> Narrow | None:
    """What the gaps of an outline lack; None if nothing is to be opened.

    Args:
        outline: as chords.
        gaps: its crossings from outside at least up to the gap.
        stroke: what strokes keep, those that have it.
        gap: what gaps are to reach.
    """
    gap *= _OVER
    narrow = gaps[(gaps.width < gap) & (gaps.tip > _DEEP * gap)]
    cracks = narrow[narrow.width < slit_of(stroke, gap)]  # to be filled: the deep ends of notches
    narrow = narrow[_far_from(cracks, narrow, _DEEP * gap)]
    need = _all_round(outline, gaps, gap)
    for side, share in sides(outline, narrow, -1j):
        np.maximum.at(need, side, share * (gap - narrow.width) / 2)
    return Narrow(need, gaps[gaps.width < gap]) if (need > 0).any() else None


def opening(outline: Outline, narrow: Narrow, strokes: Crossings, stroke: float, gap: float) -> Floats:
    """How far each chord of an outline is to be moved inward, so that its gaps are as wide as wanted.

    Args:
        outline: as chords.
        narrow: what its gaps lack.
        strokes: its crossings at least up to the stroke and the gap together.
        stroke: what strokes keep, those that have it.
        gap: what gaps are to reach.
    """
    need, near = narrow.need, narrow.near
    keep = _kept(outline, gap)
    moved = allowed(outline, need, _room(outline, strokes, stroke, need, keep), stroke, mostly=_MOSTLY)
    left = np.zeros(need.size)  # what one side could not give is for the other
    np.maximum.at(left, near.hit, (need - moved)[near.chord])
    np.maximum.at(left, near.chord, (need - moved)[near.hit])
    need = np.where(need > 0, need + left, 0.0)
    room = _room(outline, strokes, stroke, need, keep)
    return allowed(outline, need, room, stroke, mostly=_MOSTLY, last=True)


def _far_from(cracks: Crossings, gaps: Crossings, far: float) -> NDArray[np.bool_]:
    """Which gaps lie further than `far` from all cracks."""
    away = np.abs((gaps.start + gaps.stop)[:, None] - (cracks.start + cracks.stop)) / 2
    return np.asarray(away.min(axis=1, initial=np.inf) > far)


def _all_round(outline: Outline, gaps: Crossings, gap: float) -> Floats:
    """What is missing all round counters whose largest disc is smaller than the gap."""
    need = np.zeros(outline.begin.size)
    narrow = np.unique(outline.ring[gaps.chord[gaps.width < gap]])
    for ring in narrow.tolist():
        mine = outline.ring == ring
        corners = outline.begin[mine]
        area = float((corners.conj() * outline.end[mine]).imag.sum()) / 2
        if area < 0 and -2 * area < gap * outline.around[mine][0]:  # a wider disc fits into what has more
            need[mine] = max(0.0, (gap - _disc(corners, gap)) / 2)
    return need


def _disc(corners: Points, gap: float) -> float:
    """Diameter of the largest disc in a ring."""
    import shapely

    ring = shapely.Polygon(np.ascontiguousarray(corners).view(np.float64).reshape(-1, 2))
    return 2 * float(shapely.maximum_inscribed_circle(ring, tolerance=0.0005 * gap).length)


def _kept(outline: Outline, gap: float) -> Floats:
    """How far chords may be moved for the sake of baseline and height: not at all there, else without end."""
    room = np.full(outline.begin.size, np.inf)
    y = (outline.begin.imag + outline.end.imag) / 2
    level = np.abs(outline.way.imag) < _LEVEL
    for ring in range(int(outline.ring.max()) + 1):
        mine = np.flatnonzero(outline.ring == ring)
        low, high = float(y[mine].min()), float(y[mine].max())
        outer = float((outline.begin[mine].conj() * outline.end[mine]).imag.sum()) > 0
        if outer and high - low > _TALL * gap:
            edge = _AT_EDGE * (high - low)
            room[mine[level[mine] & ((y[mine] < low + edge) | (y[mine] > high - edge))]] = 0.0
    return room


def _room(outline: Outline, strokes: Crossings, stroke: float, need: Floats, keep: Floats) -> Floats:
    """How far each chord may be moved inward, so that strokes stay stout.

    Half of what they have too much, or more where the other side needs less.
    """
    room = keep.copy()
    spare = np.maximum(0.0, strokes.width - stroke)
    asked = allowed(outline, need, np.full(need.size, np.inf), stroke, mostly=_MOSTLY)
    here, there = strokes.chord, strokes.hit
    for mine, other in ((here, there), (there, here)):
        part = np.maximum(spare / 2, spare - asked[other])
        pairs: list[tuple[Ints, Floats]] = sides(outline, strokes, 1j)
        for side, share in pairs[:2] if mine is here else pairs[2:]:
            np.minimum.at(room, side[share > 0.5], part[share > 0.5])
    return least_along(outline, room)
