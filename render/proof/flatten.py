"""Curves as short straight lines: what a picture needs of them, and quicker to draw."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from render.geometry import CUBIC, LINE, MOVE, QUAD, Path

TOLERANCE_MM: Final = 0.02
"""How far a chord may lie from its curve on the page: a quarter of a pixel at 2,400 px across 210 mm."""

_DEGREE: Final = np.array([1, 1, 2, 3, 1])  # by command


def flattened(path: Path, tolerance: float = TOLERANCE_MM) -> Path:
    """The path with each curve replaced by equal steps in t, within `tolerance` mm of it.

    The number of steps is by Wang's bound, as in :func:`render.geometry.curves.chords_needed`; this does
    all curves of a path at once.
    """
    commands, points = path.commands, path.points
    first = path.first_points()
    quads, cubics = np.flatnonzero(commands == QUAD), np.flatnonzero(commands == CUBIC)
    if not quads.size and not cubics.size:
        return path
    steps = np.ones(commands.size, np.int64)
    q, c = first[quads], first[cubics]
    steps[quads] = _steps(np.abs(points[q - 1] - 2 * points[q] + points[q + 1]), 2, tolerance)
    bends = (points[c - 1] - 2 * points[c] + points[c + 1], points[c] - 2 * points[c + 1] + points[c + 2])
    steps[cubics] = _steps(np.maximum(np.abs(bends[0]), np.abs(bends[1])), 3, tolerance)
    codes = commands.copy()
    codes[quads] = codes[cubics] = LINE
    codes = np.repeat(codes, steps)
    draws = np.repeat(first, steps)
    nth = np.arange(codes.size) - np.repeat(np.cumsum(steps) - steps, steps) + 1
    degree = _DEGREE[np.repeat(commands, steps)]
    t = nth / np.repeat(steps, steps)
    return _thinned(codes, _evaluated(points, draws, degree, t)[codes <= LINE], tolerance)


def _thinned(commands: NDArray[np.uint8], points: NDArray[np.complex128], tolerance: float) -> Path:
    """Straight lines without the corners that stand out less than half the tolerance from their neighbours.

    Each round looks at every other corner, so that no two neighbours go at once.
    """
    for odd in (1, 0, 1):
        index = np.flatnonzero(commands <= LINE)  # of the command that each point belongs to
        following = np.append(commands[index[1:]], MOVE)
        inner = (commands[index] == LINE) & (following == LINE)
        inner[1 - odd :: 2] = False
        at = np.flatnonzero(inner)
        chord = points[at + 1] - points[at - 1]
        to_corner = points[at] - points[at - 1]
        along, height = (chord.conjugate() * to_corner).real, np.abs((chord.conjugate() * to_corner).imag)
        length = np.abs(chord)
        between = (along >= 0) & (along <= length * length)  # else the line turns back on itself there
        flat = at[between & (height < tolerance / 2 * length)]
        commands, points = np.delete(commands, index[flat]), np.delete(points, flat)
    return Path(commands, points)


def _steps(bend: NDArray[np.float64], degree: int, tolerance: float) -> NDArray[np.int64]:
    """Chords needed for curves whose control points have such second differences."""
    return np.maximum(1, np.ceil(np.sqrt(degree * (degree - 1) * bend / (8 * tolerance)))).astype(np.int64)


def _evaluated(
    points: NDArray[np.complex128],
    first: NDArray[np.int64],
    degree: NDArray[np.int64],
    t: NDArray[np.float64],
) -> NDArray[np.complex128]:
    """The point at t of each piece of a path; a straight piece has only its end, at t = 1."""
    last = points.size - 1
    at = [points[np.clip(first + k, 0, last)] for k in (-1, 0, 1, 2)]
    s = 1 - t
    quad = at[0] * s * s + 2 * at[1] * s * t + at[2] * t * t
    cubic = at[0] * s**3 + 3 * at[1] * s * s * t + 3 * at[2] * s * t * t + at[3] * t**3
    return np.where(degree == 1, at[1], np.where(degree == 2, quad, cubic))
