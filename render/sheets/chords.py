"""Paths as chains of short straight lines, as a machine drives them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from render.geometry import CLOSE, CUBIC, LINE, MOVE, QUAD, Path

Floats = NDArray[np.float64]
Points = NDArray[np.complex128]
Bools = NDArray[np.bool_]

TOLERANCE_MM: Final = 0.002
"""How far a chord may lie from its curve: lengths are then true to some millionths."""

_DEGREE: Final = np.array([1, 1, 2, 3, 1])  # by command


@dataclass(frozen=True, slots=True)
class Chain:
    """Straight lines, end to end within a contour; one row a line.

    Attributes:
        start, end: of each line, x + iy, mm.
        contour: number of its contour in the path, from 0; a contour of no length has no lines.
        bend: whether the line goes on into the next one along the same curve.
    """

    start: Points
    end: Points
    contour: NDArray[np.int64]
    bend: Bools

    def lengths(self) -> Floats:
        """Of each line, mm."""
        return np.abs(self.end - self.start)


def chain(path: Path, tolerance: float = TOLERANCE_MM) -> Chain:
    """The path as straight lines that lie within `tolerance` mm of it; CLOSE draws the line home.

    Curves get equal steps in t, their number by Wang's bound (see
    :func:`render.geometry.curves.chords_needed`), all curves at once. Lines of no length are left out.
    """
    commands, points = path.commands, path.points
    if not commands.size:
        none = np.empty(0, np.complex128)
        return Chain(none, none, np.empty(0, np.int64), np.empty(0, np.bool_))
    first = path.first_points()
    contour = np.cumsum(commands == MOVE) - 1
    steps = _steps(commands, points, first, tolerance)
    codes, nth = np.repeat(commands, steps), _count(steps)
    t = nth / np.repeat(steps, steps)
    ends = np.empty(codes.size, np.complex128)
    home = points[first[commands == MOVE]]
    at = np.repeat(first, steps)
    for code in (MOVE, QUAD, CUBIC):
        rows = codes == code if code != MOVE else (codes != QUAD) & (codes != CUBIC) & (codes != CLOSE)
        ends[rows] = _bezier(points, at[rows], int(_DEGREE[code]), t[rows])
    closing = codes == CLOSE
    belongs = np.repeat(contour, steps)
    ends[closing] = home[belongs[closing]]
    drawn = np.flatnonzero(codes != MOVE)
    start, end = ends[drawn - 1], ends[drawn]
    bend = (nth < np.repeat(steps, steps))[drawn]
    real = start != end
    return Chain(start[real], end[real], belongs[drawn][real], bend[real])


def _count(steps: NDArray[np.int64]) -> NDArray[np.int64]:
    """1, 2 ... n for each n of `steps`."""
    return np.arange(steps.sum()) - np.repeat(np.cumsum(steps) - steps, steps) + 1


def _steps(
    commands: NDArray[np.uint8], points: Points, first: NDArray[np.int64], tolerance: float
) -> NDArray[np.int64]:
    steps = np.ones(commands.size, np.int64)
    for code, degree in ((QUAD, 2), (CUBIC, 3)):
        rows = np.flatnonzero(commands == code)
        at = first[rows]
        bends = [
            np.abs(points[at + k - 1] - 2 * points[at + k] + points[at + k + 1]) for k in range(degree - 1)
        ]
        if rows.size:
            second = np.max(bends, axis=0)
            need = np.ceil(np.sqrt(degree * (degree - 1) * second / (8 * tolerance)))
            steps[rows] = np.maximum(need, 1).astype(np.int64)
    return steps


def _bezier(points: Points, at: NDArray[np.int64], degree: int, t: Floats) -> Points:
    """Points of curves whose points after the pen begin at `at` (Bernstein form)."""
    if degree == 1:
        return points[at]
    s = 1 - t
    p = [points[at + k - 1] for k in range(degree + 1)]
    if degree == 2:
        return np.asarray(p[0] * s * s + 2 * p[1] * s * t + p[2] * t * t)
    return np.asarray(p[0] * s**3 + 3 * p[1] * s * s * t + 3 * p[2] * s * t * t + p[3] * t**3)


def contour_areas(path: Path) -> Floats:
    """The signed area of each contour, closed by a straight line home, mm²; exact also for curves.

    Half the integral of B × B' over each Bézier, which in the Bernstein form is a sum over cross products of
    its control points (derived here): lines p0×p1 / 2; quadratics (2 p0×p1 + p0×p2 + 2 p1×p2) / 6; cubics
    (6 p0×p1 + 3 p0×p2 + p0×p3 + 3 p1×p2 + 3 p1×p3 + 6 p2×p3) / 20.
    """
    commands, points = path.commands, path.points
    first = path.first_points()
    contour = np.cumsum(commands == MOVE) - 1
    count = int(contour[-1]) + 1 if contour.size else 0
    total = np.zeros(count)
    for code, (whole, weights) in _AREA.items():
        rows = np.flatnonzero(commands == code)
        at = first[rows]
        twice = sum(w * _cross(points[at + i - 1], points[at + j - 1]) for (i, j), w in weights.items())
        total += np.bincount(contour[rows], np.asarray(twice) / whole, minlength=count) if rows.size else 0
    begins = first[commands == MOVE]
    ends = np.append(begins[1:], points.size) - 1
    return np.asarray(total + _cross(points[ends], points[begins]) / 2)


_AREA: Final = {
    LINE: (2, {(0, 1): 1}),
    QUAD: (6, {(0, 1): 2, (0, 2): 1, (1, 2): 2}),
    CUBIC: (20, {(0, 1): 6, (0, 2): 3, (0, 3): 1, (1, 2): 3, (1, 3): 3, (2, 3): 6}),
}
"""By command: the divisor, and the weight of the cross product of each two control points."""


def _cross(one: Points, other: Points) -> Floats:
    return np.asarray((one.conjugate() * other).imag)
