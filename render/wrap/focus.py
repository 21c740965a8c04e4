"""How far a surface may leave the focus, and what that means for curved things that do not turn."""

from __future__ import annotations

import math
from dataclasses import dataclass

from render.geometry.solids import chord_of


def focus_depth(spot: float, wavelength: float, quality: float = 1.0) -> float:
    """How far out of focus, mm either way, a beam has grown to √2 of its spot: the Rayleigh length.

    z = π (spot / 2)² / (M² λ) (A. E. Siegman, Lasers, 1986, from memory). With M² = 1 it is the best that any
    beam can do; a real one does less, so try your own and enter it as `focus_depth` in the machine's file.

    Args:
        spot: diameter of the beam in focus, mm.
        wavelength: nm.
        quality: M² of the beam, 1 or more.

    Raises:
        ValueError: one of them is not positive.
    """
    if not (spot > 0 and wavelength > 0 and quality >= 1):
        raise ValueError("spot and wavelength must be positive, and M² at least 1")
    return math.pi * (spot / 2) ** 2 / (quality * wavelength * 1e-6)


def flat_width(radius: float, depth: float) -> float:
    """How wide a curved surface of that radius may be marked without turning it, mm.

    The focus is set half way between its highest and lowest part, so that the sagitta may be twice `depth`.
    """
    return chord_of(radius, 2 * depth)


@dataclass(frozen=True, slots=True)
class HeightRow:
    """How far down the surface lies at a distance from its middle, all mm."""

    across: float
    along: float
    drop: float


def height_map(radius: float, chord: float, steps: int = 10) -> tuple[HeightRow, ...]:
    """A table of heights over half a chord of a curved thing, from its middle outwards.

    Args:
        radius: of the curve, mm.
        chord: across the whole, mm.
        steps: rows after the first.

    Returns:
        For equal steps across: across as the machine measures, along the surface, and the drop (the sagitta).

    Raises:
        ValueError: the chord does not fit the radius, or there are no steps.
    """
    if not (0 < chord <= 2 * radius and steps >= 1):
        raise ValueError(f"a chord of {chord:g} mm does not fit a curve of radius {radius:g} mm")
    rows = []
    for step in range(steps + 1):
        across = chord / 2 * step / steps
        lean = math.asin(min(1.0, across / radius))
        rows.append(HeightRow(across, radius * lean, 2 * radius * math.sin(lean / 2) ** 2))
    return tuple(rows)
