"""What a round body measures: its profile, how sure its measures are, and what cannot be wrapped at all."""

from __future__ import annotations

import math
from typing import Final

from render.errors import LibraryError
from render.geometry.solids import Profile, Sector, radius_of
from render.model import RoundBody, Surface

THINNEST_MM: Final = 1.0
"""Least diameter that is taken for a thing and not for a slip of the pen."""


def profile_of(body: RoundBody) -> Profile:
    """The body's profile, from the top of what may be marked down.

    Raises:
        LibraryError: it has no length, no thickness, or a measure that is not finite.
    """
    lengths = {"circumference": body.circumference, "height": body.height}
    for name, length in lengths.items():
        if not (math.isfinite(length) and length > 0):
            raise LibraryError(
                f"The {name} of a round thing must be a positive length, not {length:g} mm.",
                hint="Measure the circumference with a tape, and the height along the surface.",
            )
    try:
        profile = (
            Profile.of(body.stations) if body.stations else Profile.straight(body.circumference, body.height)
        )
    except ValueError as error:
        raise LibraryError(
            f"The round thing cannot be: {error}.",
            hint="Give distance along the axis and circumference of each station, from the top down.",
        ) from error
    thin = 2 * float(profile.r.min())
    if thin < THINNEST_MM:
        raise LibraryError(
            f"The thing would be only {thin:.3g} mm thick.",
            hint="Give circumferences in mm; a diameter times 3.1416 is the circumference.",
        )
    return profile


def sector_of(body: RoundBody) -> Sector:
    """The development of a body that is one cone.

    Raises:
        LibraryError: it is not.
    """
    try:
        return Sector.of(profile_of(body))
    except ValueError as error:
        raise LibraryError(
            f"A flat label cannot lie on this body: {error}.",
            hint=f'Use lay = "follow-the-rim"; only a cone takes a flat label without a crease ({body.lay}).',
        ) from error


def cap_radius(body: RoundBody) -> float:
    """Radius of the sphere that a cap is part of, mm, from its shorter chord and its sagitta.

    Raises:
        LibraryError: the body is no cap, or deeper than half a sphere.
    """
    chord = min(body.circumference, body.height)
    if body.surface is not Surface.CAP or not 0 < body.sagitta <= chord / 2:
        raise LibraryError(
            f"A cap of {chord:g} mm across cannot be {body.sagitta:g} mm deep.",
            hint="Lay a straight edge across the bowl and measure the depth below its middle.",
        )
    return radius_of(chord, body.sagitta)
