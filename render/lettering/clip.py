"""One region cut by another, and two letters woven through each other."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Any, Final

import numpy as np

from render.geometry import Path
from render.geometry.curves import chords_needed, evaluate
from render.lettering.batch import flip_y
from render.lettering.contours import Contour, Points, area, outline
from render.lettering.placed import contours_of
from render.lettering.union import oriented, skia_regions, unite

UNIT: Final = 1 / 4096
"""Regions are cut in units of this size, where the cap height is 1: Skia likes large numbers."""

_AGREE: Final = 2e-3
_CHORD: Final = 5e-4
_BIT: Final = 1e-4


class CutError(Exception):
    """Two regions could not be cut so that the parts make up the whole."""


def parted(path: Path, by: Path) -> tuple[Path, Path]:
    """What of a region lies inside another region, and what outside.

    Both are closed and free of overlaps. The areas of the parts must add up to that of the whole.

    Raises:
        CutError: they do not.
    """
    whole, knife = _units(path), _units(by)
    inside, outside = skia_regions(whole, knife)
    total, parts = abs(area(whole)), abs(area(inside)) + abs(area(outside))
    if abs(total - parts) > _AGREE * max(total, 1.0):
        raise CutError(f"the parts have {parts / total:.4f} of the area")
    return _path(inside), _path(outside)


def united(path: Path) -> Path:
    """A closed path without overlaps of its own, by the non-zero rule."""
    return _tidy(_path(unite(contours_of(path, 0j, UNIT)).contours))


def _units(path: Path) -> list[Contour]:
    return oriented(contours_of(path, 0j, UNIT))


def _path(contours: Sequence[Contour]) -> Path:
    united = outline(contours)
    return Path(united.commands, flip_y(united.points) * UNIT)


def woven(under_first: Path, over_first: Path, gap: float) -> Path:
    """Two letters that cross, at each crossing one cut clean where the other passes over, by turns.

    The crossings are taken from top to bottom; at the first the second letter passes over. `gap` is the free
    room left beside the letter that is on top.
    """
    import shapely

    one, two = region(under_first), region(over_first)
    common = shapely.intersection(one, two)
    crossings = [c for c in shapely.get_parts(common) if c.area > _BIT]
    crossings = _apart(crossings, gap)
    crossings.sort(key=lambda c: (round(c.centroid.y, 3), c.centroid.x))
    for letter, other in ((0, two), (1, one)):
        mine = [c for k, c in enumerate(crossings) if k % 2 == letter]
        if not mine:
            continue
        near = shapely.union_all([shapely.buffer(c, 1.9 * gap + _reach(c)) for c in mine])
        knife = shapely.intersection(shapely.buffer(other, gap, quad_segs=12), near)
        rest = [c for c in crossings if c not in mine]
        if rest:
            knife = shapely.difference(knife, shapely.buffer(shapely.union_all(rest), 0.6 * gap))
        cutter = _from_polygon(knife)
        if letter == 0:
            under_first = _tidy(parted(under_first, cutter)[1])
        else:
            over_first = _tidy(parted(over_first, cutter)[1])
    beside = _from_polygon(shapely.buffer(region(under_first), 0.7 * gap, quad_segs=12))
    return Path.joined((under_first, _tidy(parted(over_first, beside)[1])))


SLIVER: Final = 0.06
"""What a cut leaves that is thinner than this looks like an accident."""


def best_place(still: Path, moving: Path, places: Sequence[complex], gap: float) -> complex:
    """Of some places of a second letter the one at which it can be woven with a first most cleanly.

    Cleanly: what is left of either letter beside the other has few slivers, and there are at least two
    crossings.
    """
    import shapely
    import shapely.affinity

    one, two = shapely.simplify(region(still), 2e-3), shapely.simplify(region(moving), 2e-3)
    wide = shapely.buffer(one, gap, quad_segs=3), shapely.buffer(two, gap, quad_segs=3)

    def poor(place: complex) -> float:
        there, there_wide = (
            shapely.affinity.translate(shape, place.real, place.imag) for shape in (two, wide[1])
        )
        rests = shapely.difference(one, there_wide), shapely.difference(there, wide[0])
        slivers: float = sum(
            rest.area
            - shapely.buffer(shapely.buffer(rest, -SLIVER / 2, quad_segs=2), SLIVER / 2, quad_segs=2).area
            for rest in rests
        )
        crossings = sum(bool(c.area > _BIT) for c in shapely.get_parts(shapely.intersection(one, there)))
        return slivers + 0.05 * max(0, 2 - crossings)

    return min(places, key=poor)


def _reach(crossing: Any) -> float:
    return 0.02 if crossing.area else 0.0


def _apart(crossings: list[Any], gap: float) -> list[Any]:
    """Crossings nearer to each other than two gaps count as one."""
    import shapely

    merged = shapely.union_all([shapely.buffer(c, 1.2 * gap) for c in crossings]) if crossings else None
    if merged is None:
        return []
    return [
        shapely.union_all([c for c in crossings if zone.contains(c.representative_point())])
        for zone in shapely.get_parts(merged)
    ]


def _tidy(path: Path) -> Path:
    """Without crumbs that a cut leaves behind."""
    return Path.joined(
        c for c in path.contours() if abs(area(contours_of(c, 0j, UNIT))) * UNIT**2 > 12 * _BIT
    )


@lru_cache(maxsize=256)
def region(path: Path) -> Any:
    """A closed path without overlaps as shapely's polygons, within _CHORD."""
    import shapely

    rings = [np.conjugate(_flat(contour) * UNIT) for contour in contours_of(path, 0j, UNIT)]
    loops = [shapely.Polygon(ring.view(np.float64).reshape(-1, 2)) for ring in rings if ring.size > 2]
    found: Any = shapely.Polygon()
    for loop in loops:
        if loop.area > _BIT / 10:
            found = shapely.symmetric_difference(found, loop)
    return found


def _flat(contour: Contour) -> Points:
    parts = [
        evaluate(s, np.linspace(0, 1, chords_needed(s, _CHORD / UNIT) + 1))[:-1] for s in contour.segments()
    ]
    return np.concatenate(parts)


def _from_polygon(shape: Any) -> Path:
    import shapely

    paths = []
    for polygon in shapely.get_parts(shape):
        if polygon.geom_type != "Polygon":
            continue
        for ring in (polygon.exterior, *polygon.interiors):
            pairs = np.ascontiguousarray(shapely.get_coordinates(ring)[:-1])
            paths.append(Path.polygon(pairs.view(np.complex128).reshape(-1)))
    return Path.joined(paths)
