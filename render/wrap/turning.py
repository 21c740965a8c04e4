"""How a rotary turns a thing: from places on the surface to machine coordinates and back.

A chuck turns by angle: a full turn is `turn` mm of its axis, whatever the thing measures. Rollers move the
surface by length where they touch it: a full turn is the circumference **there**, which on a taper is not
where the mark is, and they may slip. Along the axis the head moves level, while the surface of a taper
slopes; tilting the axis levels it. (Derived here.)
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from render.errors import LibraryError
from render.geometry import Affine
from render.geometry.solids import Profile
from render.model import Rotary, RotaryKind, RoundBody

Floats = NDArray[np.float64]
Points = NDArray[np.complex128]

_LEVEL: Final = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class Turning:
    """Places on the surface (radians + i mm) to the machine (x + iy, mm) and back.

    Attributes:
        profile: of the thing.
        turn: mm the replaced axis is sent for one full turn.
        contact: circumference where the device takes hold, mm; on a chuck that of the drawing.
        tilt: degrees by which the axis is tilted.
        along: machine mm along the axis at each station of the profile, ascending.
        heights: how far the surface under the beam lies below that of the first station, mm, by station.
        placed: from (mm round, mm along) to the machine's axes.
    """

    profile: Profile
    turn: float
    contact: float
    tilt: float
    along: Floats
    heights: Floats
    placed: Affine

    @property
    def reach(self) -> float:
        """Machine mm along the axis from the top of the drawing to its foot."""
        return float(self.along.max())

    def flat(self, surface: Points) -> Points:
        """Places as mm round + i mm along, before they are put on the machine's axes."""
        mapped = np.empty(surface.shape, np.complex128)
        mapped.real = surface.real * (self.turn / (2 * math.pi))
        if self.along.size == 2:
            mapped.imag = surface.imag * (self.along[1] / self.profile.height)
        else:
            mapped.imag = np.interp(surface.imag, self.profile.s, self.along)
        return mapped

    def to_machine(self, surface: Points) -> Points:
        """Where the machine must go for these places."""
        return self.placed.apply(self.flat(surface))

    def to_surface(self, machine: Points) -> Points:
        """Which places the machine marks there.

        Raises:
            ValueError: part of the surface stands upright, so that several places lie under one another.
        """
        if not (np.diff(self.along) > _LEVEL).all():
            raise ValueError("part of the surface stands upright under the beam")
        flat = self.placed.inverse().apply(machine)
        mapped = np.empty(flat.shape, np.complex128)
        mapped.real = flat.real * (2 * math.pi / self.turn)
        if self.along.size == 2:
            mapped.imag = flat.imag * (self.profile.height / self.along[1])
        else:
            mapped.imag = np.interp(flat.imag, self.along, self.profile.s)
        return mapped

    def drop(self, s: Floats) -> Floats:
        """How far below the first station's level the surface lies at heights s, mm."""
        return np.asarray(np.interp(s, self.profile.s, self.heights))


def turning(
    body: RoundBody, profile: Profile, rotary: Rotary, *, half_turned: bool = False, overlap: float = 0.0
) -> Turning:
    """How this rotary turns this body.

    Where the rotary replaces the machine's x axis, the surface lies as drawn, the rim at y = 0. Where it
    replaces y, the surface is turned clockwise by a quarter, so that the rim is at the far end of x.
    `half_turned` is for the thing held the other way about. The picture is never mirrored, unless the device
    turns the other way or the inner side is marked, where turning goes the other way by nature.

    Raises:
        LibraryError: a chuck's `turn`, the slip or the tilt makes no sense, or the axis is neither x nor y.
    """
    _check(rotary)
    contact = contact_circumference(body, profile, rotary)
    turn = turn_sent(rotary, contact)
    tilt = level_tilt(profile) if rotary.tilt is None else rotary.tilt
    cos, sin = math.cos(math.radians(tilt)), math.sin(math.radians(tilt))
    along = profile.z * cos - profile.r * sin
    heights = profile.r * cos + profile.z * sin
    along, heights = along - along[0], heights[0] - heights
    if not (along[-1] > _LEVEL and (np.diff(along) >= -_LEVEL).all()):
        raise LibraryError(
            f"Tilted by {tilt:g}°, part of the surface is hidden from the beam.",
            hint="Tilt the axis less, or mark less of the height.",
        )
    width, depth = turn * (1 + overlap / body.circumference), float(along[-1])
    placed = Affine()
    if rotary.reversed != body.inside:
        placed = Affine(a=-1.0, e=width)
    if rotary.axis == "y":
        placed = placed.then(Affine.rotation(90)).then(Affine.translation(depth, 0.0))
        width, depth = depth, width
    if half_turned:
        placed = placed.then(Affine.rotation(180)).then(Affine.translation(width, depth))
    return Turning(profile, turn, contact, tilt, along, heights, placed)


def level_tilt(profile: Profile) -> float:
    """The tilt, degrees, that brings both ends of the surface to one level: exact on a cone."""
    return math.degrees(math.atan2(profile.r[0] - profile.r[-1], profile.z[-1] - profile.z[0]))


def contact_circumference(body: RoundBody, profile: Profile, rotary: Rotary) -> float:
    """Circumference where the device takes hold, mm: where rollers touch, else the drawing's."""
    if rotary.kind is RotaryKind.CHUCK or profile.is_straight:
        return body.circumference
    if body.contact is None:
        return 2 * math.pi * float(profile.r.max())
    return 2 * math.pi * float(profile.radius(np.array([body.contact]))[0])


def turn_sent(rotary: Rotary, contact: float) -> float:
    """What the replaced axis is sent, mm, for one full turn, after slip and calibration.

    `contact` is the circumference where the device takes hold, mm.
    """
    if rotary.scales:
        return contact * rotary.calibration.factor
    if rotary.kind is RotaryKind.CHUCK:
        return rotary.turn * rotary.calibration.factor
    return contact / (1 - rotary.slip) * rotary.calibration.factor


def _check(rotary: Rotary) -> None:
    if rotary.kind is RotaryKind.CHUCK and not (math.isfinite(rotary.turn) and rotary.turn > 0):
        raise LibraryError(
            f"The mm for a full turn of a chuck must be a positive length, not {rotary.turn:g} mm.",
            hint="It is on its data sheet, or found by turning it once.",
        )
    if rotary.axis not in ("x", "y"):
        raise LibraryError(f"A rotary replaces the machine's axis x or y, not {rotary.axis!r}.")
    if not 0 <= rotary.slip < 0.5:
        raise LibraryError(
            f"Rollers cannot lose {100 * rotary.slip:g} % of each turn.", hint="Give slip as 0.01 for 1 %."
        )
    if rotary.tilt is not None and not -60 <= rotary.tilt <= 60:
        raise LibraryError(f"An axis cannot be tilted by {rotary.tilt:g}°.", hint="Give -60 to 60 degrees.")
