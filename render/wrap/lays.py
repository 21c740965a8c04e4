"""How a drawing lies on a surface: maps between the drawing (x + iy, mm) and the surface (angle + i s).

Places on a body of revolution are those of :mod:`render.geometry.solids`: radians round it, mm along it. On a
cap they are mm in the plane of its rim. Each map has its inverse, says how finely lines must be cut, and how
much it stretches: the greatest and least factor of length and the change of area at a point (N. A. Tissot's
indicatrix; J. P. Snyder, Map Projections: A Working Manual, 1987, from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from render.geometry.solids import Profile, Sector

Floats = NDArray[np.float64]
Points = NDArray[np.complex128]


class DrawingMap(Protocol):
    """From the drawing to the surface and back."""

    @property
    def affine(self) -> bool:
        """Whether curves stay the curves they are."""
        ...

    def to_surface(self, points: Points) -> Points:
        """Where points of the drawing lie on the thing."""
        ...

    def to_drawing(self, surface: Points) -> Points:
        """Which points of the drawing lie there."""
        ...

    def pieces(self, ends: Points, lengths: Floats, tolerance: float) -> Floats:
        """Into how many parts lines must be cut so that their chords stay within `tolerance` mm."""
        ...

    def stretch(self, points: Points) -> tuple[Floats, Floats]:
        """Greatest and least factor of length at points of the drawing."""
        ...


@dataclass(frozen=True, slots=True)
class Turned:
    """An upright drawing made of one that lies on its side, `length` mm along the axis."""

    length: float

    def upright(self, points: Points) -> Points:
        """From the lying drawing: a quarter turn against the clock."""
        return np.asarray(-1j * points + 1j * self.length)

    def lying(self, points: Points) -> Points:
        """Back."""
        return np.asarray(1j * (points - 1j * self.length))


@dataclass(frozen=True, slots=True)
class RimMap:
    """Level lines follow the rim: θ = θ₀ + (x - x₀) / r(s), s = y."""

    profile: Profile
    x: float
    angle: float

    @property
    def affine(self) -> bool:
        """See :class:`DrawingMap`."""
        return self.profile.is_straight

    def to_surface(self, points: Points) -> Points:
        """See :class:`DrawingMap`."""
        mapped = np.empty(points.shape, np.complex128)
        mapped.real = (points.real - self.x) / self.profile.radius(points.imag) + self.angle
        mapped.imag = points.imag
        return mapped

    def to_drawing(self, surface: Points) -> Points:
        """See :class:`DrawingMap`."""
        mapped = np.empty(surface.shape, np.complex128)
        mapped.real = (surface.real - self.angle) * self.profile.radius(surface.imag) + self.x
        mapped.imag = surface.imag
        return mapped

    def pieces(self, ends: Points, lengths: Floats, tolerance: float) -> Floats:
        """From the second derivatives of the map."""
        if self.affine:
            return np.ones(lengths.shape)
        slope, thin = float(np.abs(self.profile.slopes).max()), float(self.profile.r.min())
        bend, away = slope / thin, np.abs(ends.real - self.x) + lengths
        return np.asarray(lengths * np.sqrt((bend + away * bend * bend) / (4 * tolerance)))

    def stretch(self, points: Points) -> tuple[Floats, Floats]:
        """Area is kept; what stands away from the middle leans by (x - x₀) r' / r."""
        lean = (points.real - self.x) * self.profile.slope(points.imag) / self.profile.radius(points.imag)
        half = np.abs(lean) / 2
        most = half + np.sqrt(1 + half * half)
        return most, 1 / most


@dataclass(frozen=True, slots=True)
class LabelMap:
    """A flat label on a cone: the drawing lies on the developed sector and is rolled up with it."""

    sector: Sector
    x: float
    angle: float

    @property
    def affine(self) -> bool:
        """See :class:`DrawingMap`."""
        return False

    def to_surface(self, points: Points) -> Points:
        """See :class:`DrawingMap`."""
        return self.sector.surface(points - self.x, self.angle)

    def to_drawing(self, surface: Points) -> Points:
        """See :class:`DrawingMap`."""
        return self.sector.plane(surface, self.angle) + self.x

    def pieces(self, ends: Points, lengths: Floats, tolerance: float) -> Floats:
        """A straight line in the plane bends in angle and distance by at most √5 l² / 8ρ."""
        bend = math.sqrt(5) / (8 * max(self.sector.inner, 1e-6) * tolerance)
        return lengths * math.sqrt(bend) + 0 * ends.real

    def stretch(self, points: Points) -> tuple[Floats, Floats]:
        """None: rolling up a sheet stretches nothing."""
        return np.ones(points.shape), np.ones(points.shape)


@dataclass(frozen=True, slots=True)
class TurnMap:
    """The drawing's width is one full turn at every height: θ = 2π x / width, s = y."""

    profile: Profile
    width: float

    @property
    def affine(self) -> bool:
        """See :class:`DrawingMap`."""
        return self.profile.s.size == 2

    def to_surface(self, points: Points) -> Points:
        """See :class:`DrawingMap`."""
        mapped = np.empty(points.shape, np.complex128)
        mapped.real = points.real * (2 * math.pi / self.width)
        mapped.imag = points.imag
        return mapped

    def to_drawing(self, surface: Points) -> Points:
        """See :class:`DrawingMap`."""
        mapped = np.empty(surface.shape, np.complex128)
        mapped.real = surface.real * (self.width / (2 * math.pi))
        mapped.imag = surface.imag
        return mapped

    def pieces(self, ends: Points, lengths: Floats, tolerance: float) -> Floats:  # noqa: ARG002
        """None: between the stations of a profile lines stay straight."""
        return np.ones(lengths.shape)

    def stretch(self, points: Points) -> tuple[Floats, Floats]:
        """Widths grow and shrink with the circumference; heights are true."""
        round_it = 2 * math.pi * self.profile.radius(points.imag) / self.width
        return np.maximum(round_it, 1.0), np.minimum(round_it, 1.0)


@dataclass(frozen=True, slots=True)
class CapMap:
    """On a cap lengths from its middle are true; the surface place is its view from straight above.

    At ρ mm from the middle along the surface the cap leans by φ = ρ / R and lies R sin φ from the middle as
    seen: the azimuthal equidistant map and the orthographic one (Snyder, as above).
    """

    radius: float
    middle: complex

    @property
    def affine(self) -> bool:
        """See :class:`DrawingMap`."""
        return False

    def to_surface(self, points: Points) -> Points:
        """See :class:`DrawingMap`."""
        away = points - self.middle
        lean = np.minimum(np.abs(away) / self.radius, math.pi / 2)
        return np.asarray(self.middle + away * np.sinc(lean / math.pi))

    def to_drawing(self, surface: Points) -> Points:
        """See :class:`DrawingMap`."""
        away = surface - self.middle
        sine = np.minimum(np.abs(away) / self.radius, 1.0)
        grown = np.divide(np.arcsin(sine), sine, out=np.ones_like(sine), where=sine > 1e-12)
        return np.asarray(self.middle + away * grown)

    def depth(self, points: Points) -> Floats:
        """How far below (or above) the middle points of the drawing lie, mm."""
        lean = np.minimum(np.abs(points - self.middle) / self.radius, math.pi / 2)
        return np.asarray(2 * self.radius * np.sin(lean / 2) ** 2)

    def pieces(self, ends: Points, lengths: Floats, tolerance: float) -> Floats:
        """The second derivatives stay below 1 / R (largest at a lean near a right angle)."""
        return lengths * math.sqrt(1 / (8 * self.radius * tolerance)) + 0 * ends.real

    def stretch(self, points: Points) -> tuple[Floats, Floats]:
        """True from the middle outwards; round it things come out smaller by sin φ / φ."""
        lean = np.abs(points - self.middle) / self.radius
        return np.ones(points.shape), np.sinc(lean / math.pi)


@dataclass(frozen=True, slots=True)
class StillMap:
    """A flat side: the drawing is the surface."""

    affine: bool = True

    def to_surface(self, points: Points) -> Points:
        """See :class:`DrawingMap`."""
        return points

    def to_drawing(self, surface: Points) -> Points:
        """See :class:`DrawingMap`."""
        return surface

    def pieces(self, ends: Points, lengths: Floats, tolerance: float) -> Floats:  # noqa: ARG002
        """See :class:`DrawingMap`."""
        return np.ones(lengths.shape)

    def stretch(self, points: Points) -> tuple[Floats, Floats]:
        """See :class:`DrawingMap`."""
        return np.ones(points.shape), np.ones(points.shape)
