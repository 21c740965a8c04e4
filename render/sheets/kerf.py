"""Allowing for the kerf: what is cut is moved by half its width into the waste.

The kerf is measured by the shop for each material on each machine; nothing here knows one by itself.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Final

import numpy as np

from render.geometry import CLOSE, Path
from render.sheets.inside import flattened
from render.sheets.offset import Join, offset, region

_TELLS: Final = 12.0
"""A narrow gap counts as lost where what fills up exceeds this times the square of half the kerf. A corner of
angle a fills up by (cot(a/2) - (π - a)/2) times it (derived here): only one sharper than 8° is told of."""


@dataclass(frozen=True, slots=True)
class Lost:
    """A detail that the kerf takes: its middle and its size across, mm."""

    what: str
    at: complex
    size: float


@dataclass(frozen=True, slots=True)
class Grown:
    """Cut lines with the kerf allowed for, and the details that it takes."""

    path: Path
    lost: tuple[Lost, ...] = ()
    crossing: bool = False


@lru_cache(maxsize=256)
def grow(cuts: Path, by: float, join: Join = Join.ROUND) -> Grown:
    """Cut lines moved `by` mm into the waste, in the order they came; remembered, most pieces being alike.

    A negative `by` moves them into the piece, as a pocket needs that must not be wider than its insert.
    """
    contours = tuple(cuts.contours())
    closed = [i for i, c in enumerate(contours) if c.commands[-1] == CLOSE]
    if not closed:
        return Grown(cuts)
    rings = [contours[i] for i in closed]
    corners = [flattened(ring) for ring in rings]
    if _cross(corners):
        return Grown(cuts, crossing=True)
    moved = offset(rings, by, join)
    order: list[tuple[int, Path]] = [(closed[origin], path) for path, origin in moved]
    order += [(i, c) for i, c in enumerate(contours) if i not in closed]
    gone = set(range(len(rings))) - {origin for _, origin in moved}
    return Grown(
        Path.joined(path for _, path in sorted(order, key=lambda pair: pair[0])),
        _lost(region(rings, corners), abs(by), [rings[i] for i in sorted(gone)], outward=by > 0),
    )


def _cross(corners: Sequence[Any]) -> bool:
    """Whether any two rings cross or touch, or one crosses itself."""
    import shapely

    rings = [shapely.LinearRing(np.stack((c.real, c.imag), axis=1)) for c in corners if c.size > 2]
    if not all(ring.is_simple for ring in rings):
        return True
    tree = shapely.STRtree(rings)
    first, second = tree.query(rings, predicate="intersects")
    return bool((first != second).any())


def _lost(whole: Any, by: float, gone: Sequence[Path], *, outward: bool) -> tuple[Lost, ...]:
    """Contours that are gone, and gaps (outward) or necks (inward) too narrow to be kept."""
    lost = []
    for contour in gone:
        box = contour.bounds()
        lost.append(Lost("hole", complex(box.centre), min(box.width, box.height)))
    sign = 1 if outward else -1
    rest = whole.buffer(sign * by, quad_segs=32).buffer(-sign * by, quad_segs=32)
    rest = rest.difference(whole) if outward else whole.difference(rest)
    for part in getattr(rest, "geoms", [rest]):
        at = complex(part.centroid.x, part.centroid.y) if not part.is_empty else 0j
        if part.area > _TELLS * by * by + 1e-9 and not any(_near(at, contour) for contour in gone):
            lost.append(Lost("gap" if outward else "neck", at, 2 * part.area / part.length))
    return tuple(sorted(lost, key=lambda d: (d.what, d.at.real, d.at.imag)))


def _near(at: complex, contour: Path) -> bool:
    box = contour.bounds()
    return box.x0 <= at.real <= box.x1 and box.y0 <= at.imag <= box.y1


def steiner_area(area: float, perimeter: float, by: float) -> float:
    """Area of a convex region grown by `by`: A + P r + π r² (J. Steiner, 1840; from memory)."""
    return area + perimeter * by + math.pi * by * by
