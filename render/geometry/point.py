"""A place and a displacement are different things: their sums and differences say so."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import overload


@dataclass(frozen=True, slots=True)
class Vector:
    """A displacement in mm."""

    x: float
    y: float

    def __add__(self, other: Vector) -> Vector:
        return Vector(self.x + other.x, self.y + other.y)

    def __sub__(self, other: Vector) -> Vector:
        return Vector(self.x - other.x, self.y - other.y)

    def __mul__(self, factor: float) -> Vector:
        return Vector(self.x * factor, self.y * factor)

    def __neg__(self) -> Vector:
        return Vector(-self.x, -self.y)

    def length(self) -> float:
        """Euclidean length in mm."""
        return math.hypot(self.x, self.y)

    def angle(self) -> float:
        """Direction in degrees, 0 along +x, growing clockwise as seen (y is down)."""
        return math.degrees(math.atan2(self.y, self.x))


@dataclass(frozen=True, slots=True)
class Point:
    """A place in mm."""

    x: float
    y: float

    @classmethod
    def of(cls, z: complex) -> Point:
        """The point of a complex number x + iy."""
        return cls(float(z.real), float(z.imag))

    def __complex__(self) -> complex:
        return complex(self.x, self.y)

    def __add__(self, other: Vector) -> Point:
        return Point(self.x + other.x, self.y + other.y)

    @overload
    def __sub__(self, other: Point) -> Vector: ...
    @overload
    def __sub__(self, other: Vector) -> Point: ...
    def __sub__(self, other: Point | Vector) -> Point | Vector:
        if isinstance(other, Vector):
            return Point(self.x - other.x, self.y - other.y)
        return Vector(self.x - other.x, self.y - other.y)
