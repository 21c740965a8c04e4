"""How narrow a cut-out piece gets, found by eroding it.

What a disc of a width can reach without leaving the piece hangs together at that width (erosion: J. Serra,
Image Analysis and Mathematical Morphology, 1982).
"""

from __future__ import annotations

from typing import Final

import shapely

from render.fitting.solids import Region, only_areas, parts_of

SLACK: Final = 0.97
"""A width is held if this part of it is: chords and rounded ends lose a little."""

LEVELS: Final = (1.0, 0.94, 0.8, 0.55)
"""Parts of the width at which a piece is asked whether it hangs together: what is smaller than a neck
vanishes when it is asked for the whole width only, and may yet hang by a thread."""

_SPECK: Final = 0.002
_QUAD_SEGS: Final = 6


def eroded(region: Region, width: float) -> Region:
    """Where the middle of a disc of `width` may lie within the region."""
    return only_areas(shapely.buffer(region, -width / 2, quad_segs=_QUAD_SEGS))


def cores(region: Region, width: float) -> list[Region]:
    """The stout places of a region: the parts of its erosion, specks left out."""
    return parts_of(eroded(region, width), _SPECK * width * width)


def roughly(region: Region, width: float) -> Region:
    """The region with fewer corners, for questions about necks of `width`: off by at most 1 % of it."""
    quick = shapely.simplify(region, 0.01 * width, preserve_topology=False)
    return only_areas(quick if quick.is_valid else shapely.simplify(region, 0.01 * width))


def holds(region: Region, width: float) -> bool:
    """Whether a region is one piece whose narrowest neck is at least `width` (less 3 per cent)."""
    return falls_apart(region, width) is None


def falls_apart(region: Region, width: float) -> tuple[float, list[Region]] | None:
    """The first level at which a region is in several stout places, and these; None if it holds.

    A region in several parts falls apart at level 1, whether or not they are stout.
    """
    several = len(parts_of(region)) != 1
    for level in LEVELS:
        places = cores(region, level * SLACK * width)
        if several or len(places) > 1:
            return level, places
    return None


def narrowest_neck(region: Region, most: float, *, exact: float = 0.01) -> float:
    """The width in mm of the narrowest neck of a region, up to `most`; 0 if it is in several pieces.

    A neck is where the region falls apart into two or more stout places when eroded; a thin end is none. The
    answer lies within `exact` below the true one. (As in a dumbbell the ends may vanish before the neck does
    when eroded further, the smallest of many widths at which it falls apart is looked for.)
    """
    if len(parts_of(region)) != 1:
        return 0.0
    steps = 12
    low = 0.0
    for step in range(1, steps + 1):
        high = most * step / steps
        if len(cores(region, high)) > 1:
            while high - low > exact:
                middle = (low + high) / 2
                low, high = (low, middle) if len(cores(region, middle)) > 1 else (middle, high)
            return low
        low = high
    return most
