"""Outlines drawn anew with their chords moved: dense rings, cleaned, and smooth curves through them again."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from render.geometry import CUBIC, LINE
from render.geometry.refit import Run, fit_runs
from render.lettering.across import Outline
from render.lettering.contours import Contour, Floats, Points, closed_contour
from render.lettering.union import Outcome, Way, unite

CHORD: Final = 0.4
"""How long chords of an outline are at most that is to be drawn anew, in wanted strokes."""

_HOLE: Final = 0.5
_SLIT: Final = 0.3
_SPIKE: Final = 0.08
_SPECK: Final = 0.001
_SHARP: Final = 1.9
_SMOOTH: Final = 0.35
_LEVEL: Final = 2e-3
_BREAK: Final = 0.35
_ARC: Final = 1.5
_FIT: Final = 0.007


def slit_of(stroke: float, gap: float) -> float:
    """How narrow cracks are that are filled: no beam would draw them as they are."""
    return min(_SLIT * stroke, gap / 2)


def redrawn(outline: Outline, moved: Floats, stroke: float, gap: float) -> Outcome:
    """Contours, not united, that cover what an outline does after its chords were moved; how they came about.

    Args:
        outline: as chords of at most CHORD times the stroke.
        moved: how far each chord is moved outward.
        stroke: the least stroke: slits and spikes far finer are smoothed away, and curves lie so near.
        gap: the least gap: holes far smaller are closed.
    """
    count = int(outline.ring.max()) + 1
    rings = [_moved(outline, moved, ring) for ring in range(count)]
    region, way = _region([ring for ring in rings if ring is not None])
    return Outcome(tuple(_refitted(_cleaned(region, stroke, gap), stroke)), way)


def _moved(outline: Outline, moved: Floats, ring: int) -> Contour | None:
    """One contour with its chords moved outward."""
    chord = np.flatnonzero(outline.ring == ring)
    before = outline.before[chord]
    normal = -1j * outline.way
    here, there = moved[chord], moved[before]
    turn = outline.turn[chord]
    corner = outline.begin[chord]
    mean = normal[chord] + normal[before]
    mean /= np.maximum(np.abs(mean), 1e-9)
    smooth = corner + mean * (here + there) / 2 / np.cos(turn / 2)
    met = corner + _meeting(normal[before], normal[chord], there, here)
    placed = np.where(np.abs(turn) < _SMOOTH, smooth, met)
    sharp = (turn > _SHARP) & (np.maximum(here, there) > 0)  # the ends of points and of notches become blunt
    sharp |= (turn < -_SHARP) & (np.minimum(here, there) < 0)
    first = np.where(sharp, corner + normal[before] * there, placed)
    second = corner + normal[chord] * here
    points = np.stack((first, second), axis=1)[np.stack((np.full(chord.size, True), sharp), axis=1)]
    return closed_contour(np.full(points.size - 1, LINE, np.uint8), points)


def _meeting(n0: Points, n1: Points, d0: Floats, d1: Floats) -> Points:
    """From a corner to where its two sides meet after they were moved by d0 and d1 along their normals."""
    cross = (n0.conj() * n1).imag
    cross = np.where(np.abs(cross) < 1e-6, 1e-6, cross)
    way = (d0 * n1 - d1 * n0) * -1j / cross
    most = 3 * np.maximum(np.abs(d0), np.abs(d1))
    size = np.maximum(np.abs(way), 1e-12)
    return np.asarray(way * np.minimum(1.0, most / size))


def _region(rings: Sequence[Contour]) -> tuple[Any, Way]:
    """What straight-sided contours cover, as shapely has it; united first only where they cross."""
    import shapely

    way = Way.PLAIN
    polygons = [_polygon(ring) for ring in rings]
    edges = [polygon.exterior for polygon in polygons]
    crossing = any(a.intersects(b) for a, b in combinations(edges, 2))
    if crossing or not all(polygon.is_valid for polygon in polygons):
        united = unite(rings)
        way = united.way
        polygons = [_polygon(ring) for ring in united.contours if ring.points.size > 2]
        polygons = [polygon if polygon.is_valid else polygon.buffer(0) for polygon in polygons]
    region: Any = shapely.Polygon()
    for polygon in polygons:
        region = region.symmetric_difference(polygon)
    return region, way


def _polygon(contour: Contour) -> Any:
    import shapely

    return shapely.Polygon(np.ascontiguousarray(contour.points).view(np.float64).reshape(-1, 2))


def _cleaned(region: Any, stroke: float, gap: float) -> list[Points]:
    """The rings of a straight-sided region without slits and holes too small for any beam."""
    import shapely

    hole = (_HOLE * gap) ** 2
    slit, spike = slit_of(stroke, gap), _SPIKE * stroke
    for by in (slit, -slit - spike, spike):
        region = region.buffer(by / 2, join_style="mitre", mitre_limit=3)
    found = []
    for polygon in shapely.get_parts(region):
        holes = [ring for ring in polygon.interiors if shapely.Polygon(ring).area > hole]
        for ring in (polygon.exterior, *holes):
            xy = np.ascontiguousarray(shapely.get_coordinates(ring)[:-1])
            points = xy.view(np.complex128).reshape(-1)
            points = points[np.abs(points - np.roll(points, 1)) > _SPECK * stroke]
            if points.size > 2:
                found.append(points)
    return found


@dataclass(frozen=True, slots=True)
class _Ring:
    """A ring of dense points, the first at its end again, and where it is broken into pieces."""

    points: Points
    way: Points
    corners: NDArray[np.bool_]
    stops: list[int]


def _refitted(rings: Sequence[Points], stroke: float) -> list[Contour]:
    """Rings of dense points as lines and cubics: few where it is smooth, corners kept."""
    broken = [ring for points in rings if (ring := _broken(points, stroke)) is not None]
    runs = [
        Run(ring.points[a : b + 1], _tangents(ring, a, b))
        for ring in broken
        for a, b in pairwise(ring.stops)
        if b - a > 1
    ]
    fitted = iter(fit_runs(runs, _FIT * stroke, hasty=True))
    found = []
    for ring in broken:
        codes, drawn = [], [ring.points[:1]]
        for a, b in pairwise(ring.stops):
            piece = next(fitted) if b - a > 1 else ring.points[b : b + 1]
            codes += [CUBIC] * (piece.size // 3) if b - a > 1 else [LINE]
            drawn.append(piece)
        found.append(closed_contour(np.array(codes, np.uint8), np.concatenate(drawn)))
    return [contour for contour in found if contour is not None]


def _broken(points: Points, stroke: float) -> _Ring | None:
    """A ring broken at its corners and about long straight edges, and evenly by how much it turns between."""
    step = np.roll(points, -1) - points
    level = np.abs(np.angle(step * np.roll(step, 1).conj())) < _LEVEL
    points = points[~level]
    if points.size < 3:
        return None
    step = np.roll(points, -1) - points
    length = np.abs(step)
    way = step / length
    turn = np.abs(np.angle(way * np.roll(way, 1).conj()))
    long = length > 2 * CHORD * stroke
    corner = (turn > _BREAK) | long | np.roll(long, 1)
    start = int(corner.argmax())
    points, way = np.roll(points, -start), np.roll(way, -start)
    turn, corner = np.roll(turn, -start), np.roll(corner, -start)
    begins = [0, *(np.flatnonzero(corner[1:]) + 1).tolist()]
    stops = [0]
    for a, b in pairwise([*begins, points.size]):
        turned = np.cumsum(turn[a + 1 : b])
        pieces = math.ceil(turned[-1] / _ARC) if turned.size else 1
        within = np.searchsorted(turned, turned[-1] * np.arange(1, pieces) / pieces) if turned.size else []
        stops += [a + 1 + k for k in within] + [b]
    return _Ring(np.append(points, points[0]), way, corner, stops)


def _tangents(ring: _Ring, begin: int, stop: int) -> Points:
    """Unit tangents at the points of a piece: means of the two chords there, at corners of its own chord."""
    way, count = ring.way, ring.way.size
    tangents = way[begin : stop + 1] if stop < count else np.append(way[begin:], way[0])
    before = way[np.arange(begin, stop + 1) - 1]
    tangents = tangents + before
    if ring.corners[begin]:
        tangents[0] = way[begin]
    if ring.corners[stop % count]:
        tangents[-1] = way[stop - 1]
    return np.asarray(tangents / np.abs(tangents))
