"""Bodies of revolution: their profile, their unrolled surface, and how they look from a side.

A place on such a surface is a complex number: its real part the angle round the axis in **radians**, its
imaginary part the distance s along the surface from the top rim down, in mm. Angles grow to the right as seen
from outside with the axis upright.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Points = NDArray[np.complex128]


@dataclass(frozen=True, slots=True, eq=False)
class Profile:
    """The meridian of a body of revolution as a chain of straight pieces: cylinders and cones end to end.

    Attributes:
        s: distance along the surface from the top rim, mm, ascending from 0, shape (k,).
        z: distance along the axis from the top rim, mm, not descending, shape (k,).
        r: radius, mm, above 0, shape (k,).
    """

    s: Floats
    z: Floats
    r: Floats

    @classmethod
    def of(cls, stations: Sequence[tuple[float, float]]) -> Profile:
        """From pairs of distance along the axis and circumference, mm.

        Raises:
            ValueError: fewer than two, a circumference that is not positive, distances that go back, or two
                equal stations.
        """
        at = np.array(stations, np.float64).reshape(-1, 2)
        z, r = at[:, 0] - at[:1, 0], at[:, 1] / (2 * math.pi)
        if z.size < 2 or not np.isfinite(at).all():
            raise ValueError("a profile needs two stations or more, all finite")
        if not (r > 0).all():
            raise ValueError("each circumference of a profile must be a positive length")
        steps = np.hypot(np.diff(z), np.diff(r))
        if (np.diff(z) < 0).any() or not (steps > 0).all():
            raise ValueError("the stations of a profile must go on along the axis")
        return cls(np.append(0.0, np.cumsum(steps)), z, r)

    @classmethod
    def straight(cls, circumference: float, height: float) -> Profile:
        """A cylinder."""
        return cls.of(((0.0, circumference), (height, circumference)))

    @property
    def height(self) -> float:
        """Length along the surface, mm."""
        return float(self.s[-1])

    @property
    def is_straight(self) -> bool:
        """Whether it is a cylinder."""
        return bool((self.r == self.r[0]).all())

    @property
    def slopes(self) -> Floats:
        """Change of radius for each mm along the surface, by piece, shape (k - 1,)."""
        return np.asarray((self.r[1:] - self.r[:-1]) / (self.s[1:] - self.s[:-1]))

    def radius(self, s: Floats) -> Floats:
        """Radius at distances along the surface, mm; beyond the ends that of the end."""
        if self.s.size > 2:
            return np.asarray(np.interp(s, self.s, self.r))
        share = np.clip(s / self.s[1], 0.0, 1.0)
        return np.asarray(self.r[0] + (self.r[1] - self.r[0]) * share)

    def axial(self, s: Floats) -> Floats:
        """Distance along the axis at distances along the surface, mm."""
        return np.asarray(np.interp(s, self.s, self.z))

    def slope(self, s: Floats) -> Floats:
        """Change of radius for each mm along the surface, at distances along it."""
        if self.s.size == 2:
            return np.full(np.shape(s), self.slopes[0])
        piece = np.clip(np.searchsorted(self.s, s, side="right") - 1, 0, self.s.size - 2)
        return np.asarray(self.slopes[piece])


def frustum(top: float, bottom: float, *, slant: float = 0.0, axial: float = 0.0) -> Profile:
    """A truncated cone by its two circumferences and its slant height or its height along the axis, mm.

    slant² = axial² + (difference of radii)²: Pythagoras.

    Raises:
        ValueError: not exactly one of the heights is given, or the slant is too short for that taper.
    """
    if (slant > 0) == (axial > 0):
        raise ValueError("a cone needs its slant height or its height along the axis, one of them")
    if slant > 0:
        squared = slant**2 - ((top - bottom) / (2 * math.pi)) ** 2
        if squared <= 0:
            raise ValueError("the slant height is too short for the difference of the two ends")
        axial = math.sqrt(squared)
    return Profile.of(((0.0, top), (axial, bottom)))


@dataclass(frozen=True, slots=True)
class Sector:
    """The development of a truncated cone: part of a ring in the plane.

    With radii r₁ > r₂ and slant s it lies between the radii R = s r₁ / (r₁ - r₂) and R - s and opens by the
    angle 2π r₁ / R (Machinery's Handbook, developments of a frustum of a cone, from memory).

    Attributes:
        outer, inner: radii of the ring, mm.
        angle: opening, degrees.
        narrows: whether the thing narrows downwards, so that the apex lies below.
    """

    outer: float
    inner: float
    angle: float
    narrows: bool

    @classmethod
    def of(cls, profile: Profile) -> Sector:
        """Of a cone.

        Raises:
            ValueError: it is a cylinder, whose development is a rectangle, or not a single cone.
        """
        if profile.s.size != 2 or profile.is_straight:
            raise ValueError("only a cone unrolls into a sector")
        thick, thin, slant = float(profile.r.max()), float(profile.r.min()), profile.height
        outer = slant * thick / (thick - thin)
        sine = (thick - thin) / slant
        return cls(outer, thin / sine, 360.0 * sine, bool(profile.r[0] > profile.r[1]))

    def plane(self, surface: Points, middle: float = 0.0) -> Points:
        """Places of the surface in the plane, mm, the meridian of angle `middle` upright and its top at 0."""
        turn, along = self._polar(surface, middle)
        sign = 1.0 if self.narrows else -1.0
        top = self.outer if self.narrows else self.inner
        return np.asarray(along * (np.sin(turn) - 1j * sign * np.cos(turn)) + 1j * sign * top)

    def surface(self, plane: Points, middle: float = 0.0) -> Points:
        """Back from the plane to the surface."""
        sign = 1.0 if self.narrows else -1.0
        top = self.outer if self.narrows else self.inner
        x, y = plane.real, sign * (sign * top - plane.imag)
        turn, along = np.arctan2(x, y), np.hypot(x, y)
        s = (along - top) * -sign
        return np.asarray(turn * 360.0 / self.angle + middle + 1j * s)

    def _polar(self, surface: Points, middle: float) -> tuple[Floats, Floats]:
        turn = (surface.real - middle) * self.angle / 360.0
        along = self.outer - surface.imag if self.narrows else self.inner + surface.imag
        return turn, along


def sagitta(radius: float, chord: float) -> float:
    """Depth of an arc under its chord, mm: r - sqrt(r² - c²/4) (Machinery's Handbook, from memory).

    Raises:
        ValueError: the chord is longer than the circle is wide.
    """
    half = chord / 2
    if not 0 <= half <= radius:
        raise ValueError(f"a chord of {chord:g} mm does not fit a circle of radius {radius:g} mm")
    return half**2 / (radius + math.sqrt(radius**2 - half**2))


def radius_of(chord: float, depth: float) -> float:
    """Radius of the arc with that chord and sagitta, mm: (c²/4 + h²) / 2h.

    Raises:
        ValueError: one of them is not a positive length.
    """
    if not (chord > 0 and depth > 0):
        raise ValueError("chord and sagitta must be positive lengths")
    return (chord**2 / 4 + depth**2) / (2 * depth)


def chord_of(radius: float, depth: float) -> float:
    """Chord of an arc of that radius and sagitta, mm: the whole width where the depth reaches the radius."""
    return 2 * radius if depth >= radius else 2 * math.sqrt(depth * (2 * radius - depth))


@dataclass(frozen=True, slots=True)
class View:
    """Where a body of revolution is seen from, its axis upright.

    Attributes:
        azimuth: degrees round the thing that face the eye.
        elevation: degrees by which the eye stands above the level.
        distance: mm from the axis to the eye; infinite for a parallel projection.
    """

    azimuth: float = 0.0
    elevation: float = 0.0
    distance: float = math.inf

    def project(self, profile: Profile, surface: Points) -> Points:
        """Where places of the surface are seen, mm in the picture, (0, 0) the middle of the top rim."""
        return self.seen(surface.real, profile.radius(surface.imag), profile.axial(surface.imag))

    def seen(self, angle: Floats, radius: Floats, down: Floats) -> Points:
        """Where points at an angle (radians), a radius and a depth below the top rim are seen, mm."""
        phi = angle - math.radians(self.azimuth)
        cos, sin = math.cos(math.radians(self.elevation)), math.sin(math.radians(self.elevation))
        near = radius * np.cos(phi)
        x, y, toward = radius * np.sin(phi), down * cos + near * sin, near * cos - down * sin
        scale = 1.0 if math.isinf(self.distance) else self.distance / (self.distance - toward)
        return np.asarray((x + 1j * y) * scale)

    def horizon(self, profile: Profile, s: Floats) -> Floats:
        """How far round from the middle the surface is seen at heights s, radians from 0 to π.

        Where the outward normal stands square to the line of sight (derived here): with slope r' and the
        elevation e, cos φ · z' cos e + r' sin e > (r z' - z r') / distance.
        """
        rise = profile.slope(s)
        run = np.sqrt(np.maximum(1 - rise * rise, 0.0))
        cos, sin = math.cos(math.radians(self.elevation)), math.sin(math.radians(self.elevation))
        near: Floats | float = 0.0
        if not math.isinf(self.distance):
            near = (profile.radius(s) * run - profile.axial(s) * rise) / self.distance
        with np.errstate(divide="ignore", invalid="ignore"):
            cosine = np.where(run * cos > 1e-12, (near - rise * sin) / np.maximum(run * cos, 1e-12), 1.0)
        return np.asarray(np.arccos(np.clip(cosine, -1.0, 1.0)))

    def clamped(self, profile: Profile, surface: Points) -> tuple[Points, NDArray[np.bool_]]:
        """Places with what lies beyond the horizon drawn up to it, and which of them are seen.

        A region filled after that is the part of it that is seen: what lies behind has shrunk to the edge.
        """
        middle = math.radians(self.azimuth)
        phi, limit = surface.real - middle, self.horizon(profile, surface.imag)
        seen = np.abs(phi) < limit
        return np.asarray(np.clip(phi, -limit, limit) + middle + 1j * surface.imag), seen
