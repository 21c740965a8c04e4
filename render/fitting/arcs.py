"""Points and directions along a path, by arc length."""

from __future__ import annotations

import cmath
import math
from bisect import bisect_right
from typing import Final

import numpy as np
from numpy.typing import NDArray

from render.fitting.edges import segments
from render.geometry import MOVE, Path
from render.geometry.curves import evaluate

STEPS: Final = 64
"""Pieces that each curve is cut into: places are then right to 1e-4 mm even on bent cubics 60 mm wide, and to
1e-8 mm on a circle of 40 mm radius."""

_SAME_BEND: Final = 1e-3
"""A closed path whose bend differs by less than this share is a circle."""

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(5)

Points = NDArray[np.complex128]


class ArcPath:
    """A path measured by arc length.

    Lengths are integrals of |B'(t)| by five-point Gauss-Legendre quadrature on each of STEPS pieces of a
    curve (W. H. Press et al., Numerical Recipes, 3rd ed., 4.6). Between the ends of a piece a place is the
    cubic Hermite interpolant in arc length, whose end derivatives are the unit tangents. Built once, with
    numpy; asked with plain floats.

    Attributes:
        length: in mm.
        closed: whether the path is one closed contour: places then wrap around.
    """

    def __init__(self, path: Path) -> None:
        pieces = [_pieces(curve) for contour in path.contours() for curve in segments(contour)]
        if not pieces:
            raise ValueError("a path for lettering must have a length")
        lengths, points, tangents = (np.concatenate(column) for column in zip(*pieces, strict=True))
        marks = np.concatenate(([0.0], np.cumsum(lengths)))
        self.length = float(marks[-1])
        self.closed = bool((path.commands == MOVE).sum() == 1 and path.is_closed())
        self._marks: list[float] = marks[:-1].tolist()
        self._lengths: list[float] = lengths.tolist()
        self._points: list[list[complex]] = points.tolist()
        self._tangents: list[list[complex]] = tangents.tolist()
        self._bend: float | None = None
        self._bend = self._common_bend()

    def at(self, mm: float) -> tuple[complex, complex]:
        """The place `mm` along the path and the unit tangent there.

        Closed paths wrap around; an open one goes on straight beyond its ends.
        """
        if self.closed:
            mm %= self.length
        index = max(0, bisect_right(self._marks, mm) - 1)
        (p0, p1), (t0, t1) = self._points[index], self._tangents[index]
        step, rest = self._lengths[index], mm - self._marks[index]
        if rest < 0:
            return p0 + rest * t0, t0
        if rest > step:
            return p1 + (rest - step) * t1, t1
        u = rest / step
        v = 1 - u
        place = p0 * (v * v * (1 + 2 * u)) + p1 * (u * u * (1 + 2 * v)) + step * u * v * (v * t0 - u * t1)
        slope = 6 * u * v * (p1 - p0) / step + t0 * (v * (1 - 3 * u)) + t1 * (u * (1 - 3 * v))
        return place, slope / abs(slope)

    def bend(self, mm: float, reach: float) -> float:
        """How the path bends about a place: radians to the mm, positive where it turns to the right.

        It is the turn of the tangent from `reach` before the place to `reach` behind it; where the whole path
        is one circle that is known.
        """
        if self._bend is not None:
            return self._bend
        turn = self.at(mm - reach)[1].conjugate() * self.at(mm + reach)[1]
        if turn.real < 0:
            return cmath.phase(turn) / (2 * reach)
        return math.asin(min(max(turn.imag, -1.0), 1.0)) / (2 * reach)

    def _common_bend(self) -> float | None:
        """The bend of the whole path, if it is a closed circle; else None."""
        if not self.closed:
            return None
        bends = [self.bend(self.length * k / 16, self.length / 64) for k in range(16)]
        mean = sum(bends) / len(bends)
        return mean if max(abs(bend - mean) for bend in bends) < _SAME_BEND * abs(mean) else None


def _pieces(curve: Points) -> tuple[NDArray[np.float64], Points, Points]:
    """Lengths (n,), end points (n, 2) and end tangents (n, 2) of the pieces of one curve."""
    if curve.size == 2:
        run = curve[1] - curve[0]
        tangent = run / abs(run)
        return np.array([abs(run)]), curve[None, :], np.array([[tangent, tangent]])
    t = np.linspace(0, 1, STEPS + 1)
    hodograph = np.diff(curve) * (curve.size - 1)
    inner = t[:-1, None] + (_NODES + 1) / (2 * STEPS)
    lengths = np.abs(evaluate(hodograph, inner)) @ _WEIGHTS / (2 * STEPS)
    points = evaluate(curve, t)
    speed = evaluate(hodograph, t)
    speed = np.where(np.abs(speed) > 1e-9 * np.abs(hodograph).max(), speed, _direction(curve, t))
    unit = speed / np.abs(speed)
    keep = lengths > 0
    return (
        lengths[keep],
        np.stack((points[:-1], points[1:]), axis=1)[keep],
        np.stack((unit[:-1], unit[1:]), axis=1)[keep],
    )


def _direction(curve: Points, t: NDArray[np.float64]) -> Points:
    """Direction of short chords about each t: the tangent where the derivative vanishes."""
    near = 1e-4
    run = evaluate(curve, np.minimum(t + near, 1)) - evaluate(curve, np.maximum(t - near, 0))
    return np.where(np.abs(run) > 1e-100, run, 1)
