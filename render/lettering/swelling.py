"""Moves along an outline: where they are asked for, how they fade, and what moves as a whole."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from render.lettering.across import Crossings, Outline
from render.lettering.contours import Floats
from render.lettering.rays import Ints

SLOPE: Final = 0.2
"""How fast the added width may change along an outline: 1 in 5, which the eye takes for a swelling stroke."""

_CALM: Final = 1.0
_CORNER: Final = 0.5
_FAR: Final = 1e7
_STEEP: Final = 0.7
_LONG: Final = 2.0
_LEVEL_EDGE: Final = 0.06
MOSTLY: Final = 0.9
"""An edge moves as a whole where so much of it is to be moved."""


def allowed(
    outline: Outline,
    need: Floats,
    room: Floats,
    stroke: float,
    *,
    mostly: float = MOSTLY,
    last: bool = False,
) -> Floats:
    """The moves that are needed, as far as there is room; straight edges are moved as a whole or not at all.

    So an edge that is also the edge of something stout, such as the foot of a serif or the top of a B, stays
    where it is: baseline and height of letters are kept, and the other side of the thin part is moved.

    Args:
        outline: as chords.
        need: how far each is to be moved.
        room: how far it may be moved.
        stroke: the least stroke; shorter edges may move in part.
        mostly: share of an edge that is to be moved for all of it to move.
        last: let moves of curves fade without kinks.
    """
    moved = np.minimum(spread(outline, need), room)
    most = np.full(moved.size, np.inf)
    length = np.abs(outline.end - outline.begin)
    for mine, straight in _edges(outline):
        whole = length[mine].sum()
        if whole < _LONG * stroke:
            continue
        if length[mine][need[mine] > 0].sum() < mostly * whole:
            moved[mine] = most[mine] = 0.0
        elif straight:
            moved[mine] = most[mine] = min(need[mine].max(), room[mine].min())
    moved = np.minimum(moved, least_along(outline, most, _STEEP))
    if not last or not moved.any():
        return moved
    calm = np.minimum(_mean(outline, moved, _CALM * stroke), np.minimum(room, most))
    return np.where(outline.edge < 0, np.maximum(calm, moved), moved)


def _mean(outline: Outline, values: Floats, about: float) -> Floats:
    """The mean of values about each chord, so far along the outline to both sides, but not round corners."""
    chord, first, middle = _copies(outline, 3)
    length = np.abs(outline.end - outline.begin)[chord]
    ends = np.cumsum(length)
    at = ends - length / 2
    walls = (np.abs(outline.turn) > _CORNER)[chord] | first
    since = np.maximum.accumulate(np.where(walls, ends - length, -np.inf))
    wall_after = np.append(walls[1:], True)
    until = np.minimum.accumulate(np.where(wall_after, ends, np.inf)[::-1])[::-1]
    reach = np.minimum(about, np.minimum(at - since, until - at))
    places, sums = np.append(0.0, ends), np.append(0.0, np.cumsum(values[chord] * length))
    mean = (np.interp(at + reach, places, sums) - np.interp(at - reach, places, sums)) / (2 * reach)
    calm = np.empty(values.size)
    calm[chord[middle]] = mean[middle]
    return calm


def _copies(outline: Outline, copies: int) -> tuple[Ints, NDArray[np.bool_], NDArray[np.bool_]]:
    """The chords with each ring several times over; which are the first of a ring; which its second copy."""
    first = np.flatnonzero(np.diff(outline.ring, prepend=-1))
    count = np.diff(first, append=outline.ring.size)
    start, size = np.repeat(first, copies * count), np.repeat(count, copies * count)
    nth = np.arange(start.size) - copies * start
    return start + nth % size, nth == 0, nth // size == 1


def _edges(outline: Outline) -> list[tuple[Ints, bool]]:
    """The chords of each straight edge, and of each that lies level but is a little hollow, as serifs are."""
    edges = np.unique(outline.edge[outline.edge >= 0])
    found = [(np.flatnonzero(outline.edge == edge), True) for edge in edges]
    level = np.abs(outline.way.imag) < _LEVEL_EDGE
    starts = np.flatnonzero(level & ~level[outline.before])
    for start in starts.tolist():
        run = [start]
        while level[outline.following[run[-1]]]:
            run.append(int(outline.following[run[-1]]))
        mine = np.array(run)
        if (np.unique(outline.edge[mine]).size > 1) or (outline.edge[mine] < 0).any():
            found.append((mine, False))
    return found


def sides(outline: Outline, found: Crossings, inward: complex) -> list[tuple[Ints, Floats]]:
    """The chords on both sides of crossings, and how squarely each is met; at a corner both its chords.

    Two lists of chords for where crossings start, then two for where they end.
    """
    way = found.stop - found.start
    way = way / np.maximum(np.abs(way), 1e-12)
    told = []
    for at, chord, to in ((found.start, found.chord, way), (found.stop, found.hit, -way)):
        at_corner = at == outline.begin[chord]
        before = np.where(at_corner, outline.before[chord], chord)
        for mine in (chord, before):
            square = np.maximum(0.0, (to * (inward * outline.way[mine]).conj()).real)
            told.append((mine, square if chord is found.chord else np.where(at_corner, square, 1.0)))
    return told


def spread(outline: Outline, need: Floats) -> Floats:
    """Moves that are nowhere less than needed and fade out along the outline, but not round corners."""
    return np.maximum(_along(outline, need, np.abs(outline.turn) > _CORNER), 0.0)


def least_along(outline: Outline, values: Floats, slope: float = SLOPE) -> Floats:
    """The greatest values not above the given that change by at most a slope along the outline."""
    return -_along(outline, -values, np.abs(outline.turn) > _CORNER, slope)


def _along(outline: Outline, values: Floats, blocked: NDArray[np.bool_], slope: float = SLOPE) -> Floats:
    """The least values not below the given that change by at most a slope along the outline.

    `blocked` chords take nothing over from the one before them, nor give it anything.
    """
    length = np.abs(outline.end - outline.begin) * slope
    chord, first, second = _copies(outline, 2)  # so that what is passed on comes all the way round
    apart = _FAR * np.cumsum(blocked[chord] | first)
    at = np.cumsum(length[chord]) - length[chord] / 2
    given = values[chord]
    ahead = np.maximum.accumulate(given + at + apart) - at - apart
    back = np.maximum.accumulate((given - at - apart)[::-1])[::-1] + at + apart
    spread = np.empty(values.size)
    spread[chord[second]] = ahead[second]
    spread[chord[~second]] = np.maximum(spread[chord[~second]], back[~second])
    return np.where(spread < -_FAR / 2, -np.inf, np.maximum(spread, values))
