"""Shapes that letters fill, divided into a cell for each letter.

Every shape has the half height 1 about (0, 0), y down. A cell is told by its four sides; the map into it is
the bilinearly blended patch of S. A. Coons (1967; G. Farin, Curves and Surfaces for CAGD, 5th ed., ch. 22).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np

from render.geometry import Path
from render.geometry.bending import Bend
from render.geometry.shapes import circle, ellipse
from render.lettering.contours import Floats, Points

SWELL: Final = 0.55
"""How far the outer side of an outer letter follows a round rim: all the way it would end in two slivers."""

Side = Callable[[Floats], Points]
"""A side of a cell: places at parameters, which run from 0 to 1 left to right or top to bottom."""

GAP: Final = 0.07
"""Free room between two letters of a shape."""


@dataclass(frozen=True, slots=True)
class Cell:
    """A cell with its four sides."""

    top: Side
    bottom: Side
    left: Side
    right: Side

    def bend(self) -> Bend:
        """The map of the unit square, y down, into the cell."""
        zero, one = np.zeros(1), np.ones(1)
        c00, c10 = complex(self.left(zero)[0]), complex(self.right(zero)[0])
        c01, c11 = complex(self.left(one)[0]), complex(self.right(one)[0])

        def place(points: Points) -> Points:
            u, v = points.real, points.imag
            across = (1 - u) * self.left(v) + u * self.right(v)
            down = (1 - v) * self.top(u) + v * self.bottom(u)
            corners = (1 - u) * (1 - v) * c00 + u * (1 - v) * c10 + (1 - u) * v * c01 + u * v * c11
            return np.asarray(across + down - corners)

        return place

    @property
    def size(self) -> tuple[float, float]:
        """Width and height, each the mean of the two sides, measured straight."""
        ends = np.array((0.0, 1.0))
        width = float(np.mean([abs(np.diff(side(ends))[0]) for side in (self.top, self.bottom)]))
        middle = np.array((0.5,))
        wide = abs(complex(self.right(middle)[0]) - complex(self.left(middle)[0]))
        tall = abs(complex(self.bottom(middle)[0]) - complex(self.top(middle)[0]))
        return max(width, wide), tall


@dataclass(frozen=True, slots=True)
class Shape:
    """A shape.

    Attributes:
        half: half of its width.
        divide: half the width of the middle one of three cells.
        side: how far out, as a share of the half width, the outer letters reach.
        upper, lower: y of its rim over x.
        round_sides: whether the outer side of an outer cell follows the rim.
    """

    half: float
    divide: float
    side: float
    upper: Callable[[Floats], Floats]
    lower: Callable[[Floats], Floats]
    round_sides: bool
    outline: Callable[[float], Path]
    """The rim, moved outward by so much."""

    def cells(self, count: int) -> tuple[Cell, ...]:
        """The cells for one, two or three letters, left to right."""
        edges = {
            1: [(-0.64 * self.half, 0.64 * self.half)],
            2: [(-self.half, -GAP / 2), (GAP / 2, self.half)],
            3: [
                (-self.half, -self.divide - GAP / 2),
                (-self.divide + GAP / 2, self.divide - GAP / 2),
                (self.divide + GAP / 2, self.half),
            ],
        }[count]
        return tuple(self._cell(left, right) for left, right in edges)

    def _cell(self, left: float, right: float) -> Cell:
        outer_left, outer_right = left <= -self.half, right >= self.half
        reach = self.half * self.side
        x0, x1 = max(left, -reach), min(right, reach)

        def level(rim: Callable[[Floats], Floats]) -> Side:
            def side(u: Floats) -> Points:
                x = x0 + (x1 - x0) * u
                return np.asarray(x + 1j * rim(x))

            return side

        def upright(x: float, outer: bool) -> Side:
            y0, y1 = (float(rim(np.array([x]))[0]) for rim in (self.upper, self.lower))

            def side(v: Floats) -> Points:
                y = y0 + (y1 - y0) * v
                if not (outer and self.round_sides):
                    return np.asarray(x + 1j * y)
                bulge = (_round(y) * self.half - abs(x)) * SWELL
                return np.asarray(math.copysign(1, x) * (abs(x) + bulge) + 1j * y)

            return side

        return Cell(level(self.upper), level(self.lower), upright(x0, outer_left), upright(x1, outer_right))


_TANGENT: Final = 0.93
"""Beyond this share of the radius an arc goes on along its tangent: what overhangs is bent no further."""


def _round(t: Floats) -> Floats:
    """The height of the unit circle over t."""
    inner = np.minimum(np.abs(t), _TANGENT)
    height = np.sqrt(1 - inner**2)
    return np.asarray(height - inner / height * (np.abs(t) - inner))


def _arc(half: float, sign: float) -> Callable[[Floats], Floats]:
    return lambda x: np.asarray(sign * _round(x / half))


_SOFT: Final = 0.1


def _slope(sign: float, half: float) -> Callable[[Floats], Floats]:
    """A side of the diamond, its point rounded a little."""
    return lambda x: np.asarray(sign * (1 - (np.sqrt(np.square(x) + _SOFT**2) - _SOFT * 0.6) / half))


_SHIELD_HALF: Final = 0.86
_FLANK: Final = -0.05
_POINT: Final = 1.0


def _foot(x: Floats) -> Floats:
    """The lower rim of the shield: upright flanks that run together in a point."""
    t = np.sqrt(np.square(x) + 0.03**2) / _SHIELD_HALF
    return np.asarray(_FLANK + (_POINT - _FLANK) * (1 - np.minimum(t, 1.2) ** 1.7))


def _diamond(grow: float) -> Path:
    out = 1 + grow * math.sqrt(2)
    return Path.polygon((complex(0, -out), complex(out, 0), complex(0, out), complex(-out, 0)))


def _shield(grow: float) -> Path:
    half, top, foot = _SHIELD_HALF + grow, -1 - grow, _POINT + 1.5 * grow
    flank = _FLANK + 0.3 * grow
    return Path.of(
        (0, 1, 1, 3, 3, 4),
        (
            complex(-half, top), complex(half, top), complex(half, flank),
            complex(0.8 * half, 0.62 * foot), complex(0.36 * half, 0.88 * foot), complex(0, foot),
            complex(-0.36 * half, 0.88 * foot), complex(-0.8 * half, 0.62 * foot), complex(-half, flank),
        ),
    )  # fmt: skip


OVAL_HALF: Final = 1.4

SHAPES: Final = {
    "circle": Shape(
        1.0, 0.34, 0.8, _arc(1.0, -1), _arc(1.0, 1), True, lambda grow: circle(0j, 1 + grow)
    ),
    "oval": Shape(
        OVAL_HALF, 0.46, 0.82, _arc(OVAL_HALF, -1), _arc(OVAL_HALF, 1), True,
        lambda grow: ellipse(0j, OVAL_HALF + grow, 1 + grow),
    ),
    "diamond": Shape(1.0, 0.27, 0.8, _slope(-1, 1.0), _slope(1, 1.0), False, _diamond),
    "shield": Shape(
        _SHIELD_HALF, 0.3, 1.0, lambda x: np.full(x.shape, -1.0), _foot, False, _shield
    ),
}  # fmt: skip
"""The shapes by id."""
