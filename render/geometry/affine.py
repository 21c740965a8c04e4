"""Affine maps of the plane."""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from render.geometry.point import Point


@dataclass(frozen=True, slots=True)
class Affine:
    """The map x' = a x + c y + e, y' = b x + d y + f: SVG's ``matrix(a b c d e f)``.

    ``first.then(second)`` maps by `first`, afterwards by `second`. Positive rotations turn clockwise as seen,
    since y is down.
    """

    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 1.0
    e: float = 0.0
    f: float = 0.0

    @classmethod
    def translation(cls, dx: float, dy: float) -> Affine:
        """Shift by (dx, dy) mm."""
        return cls(e=dx, f=dy)

    @classmethod
    def scale(cls, sx: float, sy: float | None = None) -> Affine:
        """Scale about the origin, by `sx` alone or differently in x and y."""
        return cls(a=sx, d=sx if sy is None else sy)

    @classmethod
    def rotation(cls, degrees: float) -> Affine:
        """Turn about the origin; quarter turns are exact."""
        quarter, rest = divmod(degrees, 90)
        if rest == 0:
            cos, sin = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarter) % 4]
        else:
            cos, sin = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
        return cls(cos, sin, -sin, cos)

    @classmethod
    def flip_y(cls) -> Affine:
        """Between a y-up world (font units) and this y-down one."""
        return cls(d=-1.0)

    @classmethod
    def mirror_x(cls) -> Affine:
        """Left to right about the y axis, as seen through the back of a clear thing."""
        return cls(a=-1.0)

    @classmethod
    def placing(cls, at: complex, tangent: complex) -> Affine:
        """Put the origin at `at` with the x axis along the unit vector `tangent`."""
        return cls(tangent.real, tangent.imag, -tangent.imag, tangent.real, at.real, at.imag)

    def then(self, second: Affine) -> Affine:
        """This map, followed by `second`."""
        return Affine(
            second.a * self.a + second.c * self.b,
            second.b * self.a + second.d * self.b,
            second.a * self.c + second.c * self.d,
            second.b * self.c + second.d * self.d,
            second.a * self.e + second.c * self.f + second.e,
            second.b * self.e + second.d * self.f + second.f,
        )

    def inverse(self) -> Affine:
        """The map back.

        Raises:
            ZeroDivisionError: the map is flat and has none.
        """
        det = self.determinant()
        a, b, c, d = self.d / det, -self.b / det, -self.c / det, self.a / det
        return Affine(a, b, c, d, -(a * self.e + c * self.f), -(b * self.e + d * self.f))

    def determinant(self) -> float:
        """Factor by which areas change; negative if the map mirrors."""
        return self.a * self.d - self.b * self.c

    def apply(self, points: NDArray[np.complex128]) -> NDArray[np.complex128]:
        """Map points x + iy, any shape."""
        if self.a == self.d and self.b == -self.c:  # turn, scale and shift: one complex product
            mapped = points * complex(self.a, self.b) + complex(self.e, self.f)
        else:
            x, y = points.real, points.imag
            mapped = np.empty(points.shape, np.complex128)
            mapped.real = self.a * x + self.c * y + self.e
            mapped.imag = self.b * x + self.d * y + self.f
        return mapped

    def apply_point(self, point: Point) -> Point:
        """Map one point."""
        x, y = point.x, point.y
        return Point(self.a * x + self.c * y + self.e, self.b * x + self.d * y + self.f)

    def turn(self) -> float:
        """Degrees by which the x axis is turned, in (-180, 180]."""
        return math.degrees(cmath.phase(complex(self.a, self.b)))
