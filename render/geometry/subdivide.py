"""Paths cut into short straight pieces, all curves of a path at once, for maps that bend straight lines."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import numpy as np
from numpy.typing import NDArray

from render.geometry.path import CLOSE, LINE, MOVE, Path

Floats = NDArray[np.float64]
Points = NDArray[np.complex128]
Ints = NDArray[np.int64]
Pieces = Callable[[Points, Floats], Floats]
"""Given the ends of some pieces and how long they are at most, into how many parts each must be cut."""

_DEGREE: Final = np.array([0, 1, 2, 3, 0])
_DRAWS: Final = _DEGREE > 0
_SAME_MM: Final = 1e-9


def subdivided(path: Path, tolerance: float, pieces: Pieces | None = None) -> Path:
    """The path as straight lines that leave its curves by at most `tolerance` mm.

    The number of chords of a curve is by Wang's bound (G. Wang, "The subdivision method for finding the
    intersection between two Bézier curves or surfaces", 1984); `pieces` may ask for more, also of lines. The
    straight line by which a contour closes becomes a line of its own if it has a length.
    """
    path = with_lines_home(path)
    commands, points = path.commands, path.points
    if not points.size:
        return path
    first = path.first_points()
    draws = np.flatnonzero(_DRAWS[commands])
    at, degree = first[draws], _DEGREE[commands[draws]]
    start, end = points[at - 1], points[at + degree - 1]
    steps, length = _wang(points, at, degree, tolerance), np.abs(end - start)
    steps_along = np.abs(points[1:] - points[:-1])
    for k in (2, 3):
        here = np.flatnonzero(degree == k)
        if here.size:
            a = at[here]
            legs = steps_along[a - 1] + steps_along[a]
            length[here] = legs if k == 2 else legs + steps_along[a + 1]
    if pieces is not None:
        steps = np.maximum(steps, pieces(end, length))
    counts = np.maximum(1, np.ceil(steps - 1e-9)).astype(np.int64)
    if not (degree > 1).any() and (counts == 1).all():
        return path
    return _cut(path, at, degree, counts)


def with_lines_home(path: Path) -> Path:
    """The path with a LINE before each CLOSE whose pen is not home already."""
    commands, points = path.commands, path.points
    closes = np.flatnonzero(commands == CLOSE)
    if not closes.size:
        return path
    first = path.first_points()
    moves = np.flatnonzero(commands == MOVE)
    begins = first[moves[np.searchsorted(moves, closes, side="right") - 1]]
    ends = first[closes] - 1
    away = np.abs(points[ends] - points[begins]) > _SAME_MM
    if not away.any():
        return path
    return Path(
        np.insert(commands, closes[away], LINE).astype(np.uint8),
        np.insert(points, ends[away] + 1, points[begins[away]]),
    )


def cut_at_levels(path: Path, levels: Floats) -> Path:
    """A path of straight lines with a corner wherever a line crosses one of the heights y, mm, ascending."""
    path = with_lines_home(path)
    commands, points = path.commands, path.points
    index = (commands <= LINE).nonzero()[0]
    ends = (commands[index] == LINE).nonzero()[0]
    begun, ended = points.imag[ends - 1], points.imag[ends]
    low = np.searchsorted(levels, np.minimum(begun, ended), side="right")
    high = np.searchsorted(levels, np.maximum(begun, ended), side="left")
    crossing = (high > low).nonzero()[0]
    if not crossing.size:
        return path
    low, high, ends = low[crossing], high[crossing], ends[crossing]
    count, down = high - low, ended[crossing] > begun[crossing]
    nth = np.arange(int(count.sum())) - (np.cumsum(count) - count).repeat(count)
    height = levels[np.where(down, low, high - 1).repeat(count) + np.where(down, 1, -1).repeat(count) * nth]
    at = ends.repeat(count)
    start = points[at - 1]
    step = points[at] - start
    new = start + (height - start.imag) / step.imag * step
    new.imag = height
    return Path(np.insert(commands, index[at], LINE), np.insert(points, at, new))


def _wang(points: Points, at: Ints, degree: Ints, tolerance: float) -> Floats:
    steps = np.ones(at.size)
    for k in (2, 3):
        here = np.flatnonzero(degree == k)
        if here.size:
            a = at[here]
            bend = np.abs(points[a - 1] - 2 * points[a] + points[a + 1])
            if k == 3:
                bend = np.maximum(bend, np.abs(points[a] - 2 * points[a + 1] + points[a + 2]))
            steps[here] = np.sqrt(k * (k - 1) * bend / (8 * tolerance))
    return steps


def _cut(path: Path, at: Ints, degree: Ints, counts: Ints) -> Path:
    """The path with each drawing command replaced by `counts` lines; its points are computed only inside.

    Args:
        path: with lines home.
        at: for each drawing command its first point.
        degree: of each.
        counts: into how many lines each is cut.
    """
    commands, points = path.commands, path.points
    draws = _DRAWS[commands]
    repeats = np.ones(commands.size, np.int64)
    repeats[draws] = counts
    codes = np.minimum(commands, LINE)
    codes[commands == CLOSE] = CLOSE
    codes = codes.repeat(repeats)
    taken = np.ones(commands.size, np.int64)
    taken[draws] = counts
    taken[commands == CLOSE] = 0
    last = np.cumsum(taken) - 1
    out = np.empty(int(last[-1]) + 1, np.complex128)
    held = np.ones(points.size, bool)
    held[at[degree > 1]] = False
    held[at[degree > 2] + 1] = False
    out[last[commands != CLOSE]] = points[held]
    ends = last[draws]
    for order in (1, 2, 3):
        these = ((degree == order) & (counts > 1)).nonzero()[0]
        if these.size:
            _fill(out, points, at[these], order, counts[these], ends[these])
    return Path(codes, out)


def _fill(out: Points, points: Points, at: Ints, order: int, counts: Ints, ends: Ints) -> None:
    """Write the inner points of pieces of one degree, cut into `counts` each, the last of each at `ends`."""
    inner = counts - 1
    nth = np.arange(int(inner.sum())) - (np.cumsum(inner) - inner).repeat(inner) + 1
    each = counts.repeat(inner)
    t, a = nth / each, at.repeat(inner)
    u = 1 - t
    drawn = points[a - 1]
    if order == 1:
        drawn += (points[a] - drawn) * t
    elif order == 2:
        drawn *= u * u
        drawn += points[a] * (2 * u * t)
        drawn += points[a + 1] * (t * t)
    else:
        mixed = 3 * u * t
        drawn *= u * u * u
        drawn += points[a] * (mixed * u)
        drawn += points[a + 1] * (mixed * t)
        drawn += points[a + 2] * (t * t * t)
    out[ends.repeat(inner) - each + nth] = drawn
