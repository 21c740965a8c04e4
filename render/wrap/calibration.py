"""Calibration of a rotary: from what was commanded and what a ruler found, the factor that mends it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from render.errors import LibraryError
from render.model import Calibration

READING_MM: Final = 0.25
"""How well a distance on a round thing is read by tape or ruler: common practice, no source."""
_T95: Final = (12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228)
"""Two-sided 95 % points of Student's t for 1 to 10 degrees of freedom (standard tables, from memory)."""
_OFF: Final = 0.2


@dataclass(frozen=True, slots=True)
class Sighting:
    """One measurement, mm on the surface: what was commanded and what came of it."""

    commanded: float
    measured: float


def full_turn(circumference: float, off: float) -> Sighting:
    """A full turn that came back `off` mm beyond its start mark (negative: short of it)."""
    return Sighting(circumference, circumference + off)


def calibrated(
    sightings: Sequence[Sighting], before: Calibration, date: str, *, reading: float = READING_MM
) -> Calibration:
    """The calibration that makes measured lengths what is commanded.

    The gain g in measured = g · commanded is the least squares line through the origin, Σ c m / Σ c²; the
    axis must then be sent 1 / g times what it was, on top of the calibration it was measured with. Its error
    is the larger of what the reading allows (2 · reading / √Σ c²) and what the scatter says (Student's t).

    Args:
        sightings: one or more, all made with `before` in force.
        before: what the machine had then.
        date: of the measurement, ISO 8601.
        reading: how well a distance is read, mm.

    Raises:
        LibraryError: there is none, a length is not positive, or they are so far off that something slipped.
    """
    if not sightings or not all(s.commanded > 0 and s.measured > 0 for s in sightings):
        raise LibraryError(
            "Calibration needs lengths above 0 mm.",
            hint="Burn two marks a known way apart round the thing and measure between them by tape.",
        )
    squares = sum(s.commanded**2 for s in sightings)
    gain = sum(s.commanded * s.measured for s in sightings) / squares
    if abs(gain - 1) > _OFF:
        raise LibraryError(
            f"What was measured is {gain:.2f} times what was commanded: that is no matter of calibration.",
            hint="See that the thing does not slip, and that the mm for a full turn are right.",
        )
    error = 2 * reading / math.sqrt(squares)
    free = len(sightings) - 1
    if free:
        scatter = math.sqrt(sum((s.measured - gain * s.commanded) ** 2 for s in sightings) / free)
        error = max(error, _T95[min(free, len(_T95)) - 1] * scatter / math.sqrt(squares))
    return Calibration(before.factor / gain, error / gain, len(sightings), date)
