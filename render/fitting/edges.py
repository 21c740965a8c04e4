"""The edges of a region: its curves cut into chords, and a grid to find the few that matter."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from render.geometry import CLOSE, CUBIC, LINE, QUAD, Path
from render.geometry.curves import chords_needed, evaluate

CHORD_TOLERANCE_MM: Final = 0.001
"""Greatest distance between a region's curve and its chords: the micrometre grid of all output."""

TOUCH_MM: Final = 1e-9
"""What touches the rim is inside: slack for the last digits of a float."""

_SQUARES: Final = 64
"""Squares of the grid along the longer side of the region."""

Points = NDArray[np.complex128]


def chords(path: Path) -> tuple[Points, Points]:
    """Starts and ends of the chords that stand for the closed contours of a path."""
    begins, ends = [], []
    for contour in path.contours():
        ring = np.concatenate([evaluate(c, np.linspace(0, 1, n + 1))[:-1] for c, n in _curves(contour)])
        begins.append(ring)
        ends.append(np.roll(ring, -1))
    return np.concatenate(begins), np.concatenate(ends)


def _curves(contour: Path) -> list[tuple[Points, int]]:
    """The Béziers of one contour, the closing line included, and how many chords each takes."""
    curves = [(c, chords_needed(c, CHORD_TOLERANCE_MM)) for c in segments(contour)]
    return curves or [(contour.points[[0, 0]], 1)]


def segments(contour: Path) -> list[Points]:
    """The control points of each line and curve of one contour that has a length; closed if it closes."""
    found: list[Points] = []
    points = contour.points
    for command, first in zip(contour.commands, contour.first_points(), strict=True):
        if command in (LINE, QUAD, CUBIC):
            found.append(points[first - 1 : first + command])
        elif command == CLOSE:
            found.append(np.array([points[-1], points[0]]))
    return [curve for curve in found if np.abs(curve - curve[0]).max() > TOUCH_MM]


class EdgeGrid:
    """Edges by the squares of a grid that they may touch, for questions about small things among many edges.

    Args:
        begins: starts of the edges of closed contours, x + iy in mm, shape (n,).
        ends: their ends.
    """

    def __init__(self, begins: Points, ends: Points) -> None:
        reach = begins - complex(begins.real.min(), begins.imag.min())
        self._step = max(float(reach.real.max()), float(reach.imag.max())) / _SQUARES or 1.0
        self._edges: list[tuple[complex, complex]] = list(zip(begins.tolist(), ends.tolist(), strict=True))
        squares: dict[tuple[int, int], list[int]] = defaultdict(list)
        rows: dict[int, list[int]] = defaultdict(list)
        for number, (begin, end) in enumerate(self._edges):
            for square in self._touched(begin, end):
                squares[square].append(number)
            low, high = sorted((begin.imag, end.imag))
            for row in range(self._cell(low), self._cell(high) + 1):
                rows[row].append(number)
        self._squares, self._rows = dict(squares), dict(rows)

    def _cell(self, mm: float) -> int:
        return math.floor(mm / self._step)

    def _touched(self, begin: complex, end: complex) -> set[tuple[int, int]]:
        """The squares that an edge may touch: those of the boxes of its short parts."""
        parts = max(1, math.ceil(abs(end - begin) / self._step))
        at = [begin + (end - begin) * part / parts for part in range(parts)] + [end]
        return {square for a, b in pairwise(at) for square in self._under((a, b))}

    def _under(self, points: Sequence[complex]) -> list[tuple[int, int]]:
        """The squares under the box of some points."""
        xs, ys = [p.real for p in points], [p.imag for p in points]
        columns = range(self._cell(min(xs)), self._cell(max(xs)) + 1)
        rows = range(self._cell(min(ys)), self._cell(max(ys)) + 1)
        return [(column, row) for column in columns for row in rows]

    def winding(self, point: complex) -> int:
        """How often the contours run round a point: crossings of the ray to its left, with their sense.

        (D. Sunday's winding number rule, "Inclusion of a point in a polygon", 2001 [memory].)
        """
        x, y = point.real, point.imag
        turns = 0
        for number in self._rows.get(self._cell(y), ()):
            begin, end = self._edges[number]
            if (begin.imag <= y) != (end.imag <= y):
                crossing = begin.real + (end.real - begin.real) * (y - begin.imag) / (end.imag - begin.imag)
                if crossing < x:
                    turns += 1 if begin.imag <= y else -1
        return turns

    def enters(self, corners: Sequence[complex]) -> bool:
        """Whether some edge has a stretch strictly inside the convex polygon of these corners, in order."""
        squares, found = self._squares, set[int]()
        for square in self._under(corners):
            found.update(squares.get(square, ()))
        if not found:
            return False
        sides = _half_planes(corners)
        return any(_crosses(*self._edges[number], sides) for number in found)


def _half_planes(corners: Sequence[complex]) -> list[tuple[complex, complex]]:
    """For each side of a convex polygon a point on it and the factor that turns its inward side to +y."""
    following = [*corners[1:], corners[0]]
    doubled = sum((a.conjugate() * b).imag for a, b in zip(corners, following, strict=True))
    sense = 1 if doubled >= 0 else -1
    return [
        (a, sense * (b - a).conjugate() / abs(b - a))
        for a, b in zip(corners, following, strict=True)
        if a != b
    ]


def _crosses(begin: complex, end: complex, sides: Sequence[tuple[complex, complex]]) -> bool:
    """Whether part of an edge lies inside all half planes (M. Cyrus, J. Beck, 1978: clipping)."""
    first, last = 0.0, 1.0
    for corner, inward in sides:
        d0 = (inward * (begin - corner)).imag - TOUCH_MM
        d1 = (inward * (end - corner)).imag - TOUCH_MM
        if d0 <= 0 and d1 <= 0:
            return False
        if d0 < 0:
            first = max(first, d0 / (d0 - d1))
        elif d1 < 0:
            last = min(last, d0 / (d0 - d1))
    return first < last
