"""Paths cut into short straight pieces, all curves of a path at once, for maps that bend straight lines."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import numpy as np
from numpy.typing import NDArray

from render.geometry.path import CLOSE, LINE, MOVE, Path

Floats = NDArray[np.float64]
Points = NDArray[np.complex128]
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
    return _cut(path, first, draws, at, degree, counts)


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
    """A path of straight lines with a corner wherever a line crosses one of the heights y, mm."""
    path = with_lines_home(path)
    commands, points = path.commands, path.points
    for level in levels:
        index = np.flatnonzero(commands <= LINE)
        ends = np.flatnonzero(commands[index] == LINE)
        above = points.imag - level
        crossed = ends[above[ends] * above[ends - 1] < 0]
        if not crossed.size:
            continue
        share = above[crossed - 1] / (above[crossed - 1] - above[crossed])
        at = points[crossed - 1] + share * (points[crossed] - points[crossed - 1])
        at.imag = level
        points = np.insert(points, crossed, at)
        commands = np.insert(commands, index[crossed], LINE)
    return path if points is path.points else Path(commands, points)


def _wang(points: Points, at: NDArray[np.int64], degree: NDArray[np.int64], tolerance: float) -> Floats:
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


def _cut(
    path: Path,
    first: NDArray[np.int64],
    draws: NDArray[np.int64],
    at: NDArray[np.int64],
    degree: NDArray[np.int64],
    counts: NDArray[np.int64],
) -> Path:
    """The path with each drawing command replaced by `counts` lines."""
    commands, points = path.commands, path.points
    repeats = np.ones(commands.size, np.int64)
    repeats[draws] = counts
    codes = commands.copy()
    codes[draws] = LINE
    codes = np.repeat(codes, repeats)
    total = int(counts.sum())
    nth = np.arange(total) - np.repeat(np.cumsum(counts) - counts, counts) + 1
    t = nth / np.repeat(counts, counts)
    a, k = np.repeat(at, counts), np.repeat(degree, counts)
    p0, p1 = points[a - 1], points[a]
    drawn = p0 + (p1 - p0) * t
    for order in (2, 3):
        here = np.flatnonzero(k == order)
        if here.size:
            u, v = t[here], 1 - t[here]
            q = [points[a[here] + j] for j in range(-1, order)]
            if order == 2:
                drawn[here] = q[0] * (v * v) + q[1] * (2 * u * v) + q[2] * (u * u)
            else:
                uv = 3 * u * v
                drawn[here] = q[0] * (v * v * v) + q[1] * (uv * v) + q[2] * (uv * u) + q[3] * (u * u * u)
    ends = t == 1.0
    drawn[ends] = points[a[ends] + k[ends] - 1]
    out = np.empty(int((codes != CLOSE).sum()), np.complex128)
    kinds = codes[codes != CLOSE]
    out[kinds == MOVE] = points[first[commands == MOVE]]
    out[kinds == LINE] = drawn
    return Path(codes, out)
