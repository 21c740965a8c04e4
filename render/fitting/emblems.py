"""Fitting things that are drawn about a centre and may take any size, such as monograms."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from render.fitting.regions import Region, region_of
from render.fitting.sizing import exceptions_allowed, largest_size
from render.geometry import Path
from render.model import FitRule, SizePolicy

_ROUND = 48


@dataclass(frozen=True, slots=True)
class Room:
    """Where an emblem goes: a region, and the point it is centred on."""

    region: Region
    centre: complex

    @classmethod
    def of(cls, area: Path) -> Room:
        """The room of an area; its middle is that of its box.

        Raises:
            ValueError: the area is empty, open or without extent.
        """
        region = region_of(area)
        return cls(region, complex(region.box.centre))

    def largest(self, hull: Sequence[complex], least: float, most: float) -> float | None:
        """The largest scale, mm to the unit, between two at which a convex hull fits; None if none does."""
        return largest_size(
            lambda size: self.region.holds([self.centre + size * corner for corner in hull]), least, most
        )

    def radius(self) -> float:
        """The radius of the largest circle about the centre."""
        from cmath import rect
        from math import pi

        box = self.region.box
        unit = [rect(1, 2 * pi * k / _ROUND) for k in range(_ROUND)]
        most = max(box.width, box.height)
        return self.largest(unit, 0.01, most) or 0.0


def scales_of_set(largest: Sequence[float | None], rule: FitRule) -> tuple[list[float | None], float | None]:
    """The scales of a set, from the largest that each of them may have; and the set's own.

    With the policy SET all take the largest scale that suits all but the allowed exceptions, which stay
    smaller; otherwise each has its own. What does not fit at all stays None.
    """
    fitting = sorted(scale for scale in largest if scale is not None)
    if not fitting or rule.policy is SizePolicy.EACH:
        return list(largest), None
    if rule.policy is SizePolicy.FIXED:
        return list(largest), fitting[-1]
    common = fitting[min(exceptions_allowed(len(fitting)), len(fitting) - 1)]
    if fitting[0] > 0.9 * common:
        common = fitting[0]
    return [None if scale is None else min(scale, common) for scale in largest], common
