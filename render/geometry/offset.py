"""Closed contours moved outward or inward by a distance, and smooth again afterwards.

shapely's buffer (an adapter to GEOS) decides what the boundary of the grown region is, on chords so fine that
they do not matter; from the source's own tangents each stretch of it then becomes a line or few cubics again.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from render.geometry import CLOSE, CUBIC, LINE, MOVE, Path
from render.geometry.curves import chords_needed, evaluate
from render.geometry.inside import depths
from render.geometry.path import POINTS_PER_COMMAND
from render.geometry.refit import Run, fit_runs

Points = NDArray[np.complex128]
Ints = NDArray[np.int64]

TOLERANCE_MM: Final = 0.003
"""Most that an offset contour may lie from the true offset: far below what a beam can show."""

_FLAT_MM: Final = 0.0003
_FIT_MM: Final = 0.002
_CORNER: Final = 0.03  # radians: a bend sharper than this is a corner
_SAME_MM: Final = 1e-6
_MITRE_LIMIT: Final = 4.0


class Join(StrEnum):
    """What becomes of a corner that points outward."""

    ROUND = "round"
    """Rounded: everywhere exactly the distance away."""
    MITRE = "mitre"
    """Stays sharp, up to four times the distance; sharper ones are cut off."""


@dataclass(frozen=True, slots=True)
class _Source:
    """Chords of closed contours, one row a chord.

    Attributes:
        start, end: points; leave, arrive: unit tangents there.
        segment: number of the segment it belongs to; straight: whether that is a line.
        contour: number of its contour.
        corner: whether there is a corner at `start`.
        following: the next chord of the contour.
    """

    start: Points
    end: Points
    leave: Points
    arrive: Points
    segment: Ints
    straight: NDArray[np.bool_]
    contour: Ints
    corner: NDArray[np.bool_]
    following: Ints


def offset(
    contours: Sequence[Path], distance: float, join: Join = Join.ROUND, tolerance: float = _FIT_MM
) -> tuple[tuple[Path, int], ...]:
    """The boundary of a region grown by `distance` mm (shrunk if negative), outer contours and holes.

    A point belongs to the region if an odd number of the contours lie round it. Lines stay lines, everything
    else becomes cubics; contours keep the way they go round, and begin near where they began.

    Args:
        contours: closed, not crossing each other.
        distance: mm; 0 gives the contours back.
        join: what becomes of outward corners.
        tolerance: how far the cubics may lie from the fine chords, mm.

    Returns:
        Each new contour with the index of the contour it comes from. A hole or a part too narrow for the
        distance is gone; parts that grew together are one.
    """
    if distance == 0 or not contours:
        return tuple((c, i) for i, c in enumerate(contours))
    import shapely

    source = _sources(contours)
    grown = region(contours, [source.start[source.contour == i] for i in range(len(contours))]).buffer(
        distance,
        quad_segs=_quarter_steps(abs(distance)),
        join_style="round" if join is Join.ROUND else "mitre",
        mitre_limit=_MITRE_LIMIT,
    )
    chords: Any = shapely.linestrings(np.stack((_xy(source.start), _xy(source.end)), axis=1))
    tree = shapely.STRtree(chords)
    found: list[tuple[Path, int]] = []
    for polygon in getattr(grown, "geoms", [grown]):
        for ring in (polygon.exterior, *polygon.interiors) if not polygon.is_empty else ():
            xy = shapely.get_coordinates(ring)[:-1]
            corners = xy[:, 0] + 1j * xy[:, 1]
            corners = corners[np.abs(corners - np.roll(corners, 1)) > _SAME_MM]
            if corners.size > 2:
                found.append(_refitted(corners, source, tree, join, tolerance))
    return tuple(sorted(found, key=lambda f: (f[1], f[0].points[0].real, f[0].points[0].imag)))


def region(contours: Sequence[Path], corners: Sequence[Points]) -> Any:
    """The shapely region inside an odd number of contours, given their corners."""
    import shapely

    depth = depths(contours)
    rings = [shapely.make_valid(shapely.Polygon(_xy(c))) for c in corners]
    whole: Any = shapely.Polygon()
    for level in range(int(depth.max()) + 1):
        layer = shapely.union_all([r for r, d in zip(rings, depth.tolist(), strict=True) if d == level])
        whole = whole.difference(layer) if level % 2 else whole.union(layer)
    return whole


def _quarter_steps(distance: float) -> int:
    """Chords of a quarter circle so that they keep within the flattening tolerance of it."""
    return max(4, math.ceil(math.pi / 4 / math.acos(1 - min(_FLAT_MM / distance, 0.5))))


def _xy(points: Points) -> NDArray[np.float64]:
    return np.stack((points.real, points.imag), axis=1)


def _unit(v: Points) -> Points:
    size = np.abs(v)
    return np.asarray(np.divide(v, size, out=np.ones_like(v), where=size > 0))


def _sources(contours: Sequence[Path]) -> _Source:
    parts: list[tuple[Any, ...]] = []
    segment = 0
    base = 0
    for number, contour in enumerate(contours):
        rows = []
        for curve in segments(contour):
            rows.append((*_chords(curve), segment, curve.size == 2))
            segment += 1
        start, end, leave, arrive = (np.concatenate([r[k] for r in rows]) for k in range(4))
        counts = [r[0].size for r in rows]
        corner = np.abs(np.angle(leave * np.roll(arrive, 1).conj())) > _CORNER
        following = base + np.roll(np.arange(start.size), -1)
        parts.append(
            (
                *(start, end, leave, arrive),
                np.repeat([r[4] for r in rows], counts),
                np.repeat([r[5] for r in rows], counts),
                np.full(start.size, number),
                corner,
                following,
            )
        )
        base += start.size
    return _Source(*(np.concatenate([p[k] for p in parts]) for k in range(9)))


def segments(contour: Path) -> list[Points]:
    """Control points of every segment of one contour that has a length, the closing line included."""
    found, at = [], 1
    for code in contour.commands[1:].tolist():
        if code == CLOSE:
            found.append(np.array([contour.points[at - 1], contour.points[0]]))
            continue
        count = int(POINTS_PER_COMMAND[code])
        found.append(contour.points[at - 1 : at + count])
        at += count
    return [c for c in found if np.abs(np.diff(c)).sum() > _SAME_MM]


def _chords(curve: Points) -> tuple[Points, Points, Points, Points]:
    """Starts, ends and the curve's unit tangents at both of fine chords of one segment."""
    t = np.linspace(0, 1, chords_needed(curve, _FLAT_MM) + 1)
    points = evaluate(curve, t)
    hull = (curve.size - 1) * np.diff(curve)
    slope = evaluate(hull, t) if hull.size > 1 else np.full(t.size, hull[0])
    chord = np.diff(points)
    flat = np.abs(slope) < 1e-9  # a control point on its end
    slope = np.where(flat, np.append(chord, chord[-1]), slope)
    tangent = _unit(slope)
    return points[:-1], points[1:], tangent[:-1], tangent[1:]


def _refitted(corners: Points, source: _Source, tree: Any, join: Join, tolerance: float) -> tuple[Path, int]:
    """A ring of the grown region as lines and cubics, and the contour it comes from."""
    import shapely

    middles = (corners + np.roll(corners, -1)) / 2
    near = tree.nearest(shapely.points(_xy(middles)))
    origin = int(np.bincount(source.contour[near]).argmax())
    if _area(corners) * _area(source.start[source.contour == origin]) < 0:
        corners = corners[::-1]
        near = np.roll(near[::-1], -1)
    home = source.start[source.contour == origin][0]
    keys, leave, arrive = _origins(corners, near, source, join)
    breaks = (keys != np.roll(keys, 1)) | (np.abs(np.angle(leave * np.roll(arrive, 1).conj())) > _CORNER)
    begins = np.flatnonzero(breaks) if breaks.any() else np.arange(corners.size)
    first = int(begins[np.abs(corners[begins] - home).argmin()])
    corners, leave, arrive = (np.roll(a, -first) for a in (corners, leave, arrive))
    keys, breaks = np.roll(keys, -first), np.roll(breaks, -first)
    breaks[0] = True
    return _assembled(corners, keys, leave, arrive, np.flatnonzero(breaks), tolerance), origin


def _area(ring: Points) -> float:
    return float((ring.conj() * np.roll(ring, -1)).imag.sum())


def _origins(corners: Points, near: Ints, source: _Source, join: Join) -> tuple[Ints, Points, Points]:
    """For each side of a ring what it comes from, and the true tangents at its two ends.

    A side comes from a straight segment (key: its number ≥ 0), from curves (key: below −1e9) or from a corner
    (key: negative).
    """
    ends = np.roll(corners, -1)
    way = _unit(ends - corners)

    def share(points: Points) -> NDArray[np.float64]:
        chord = source.end[near] - source.start[near]
        return np.asarray(((points - source.start[near]) * chord.conj()).real / np.abs(chord) ** 2)

    def tangent(points: Points) -> Points:
        u = np.clip(share(points), 0, 1)
        return _unit(source.leave[near] * (1 - u) + source.arrive[near] * u)

    u = share((corners + ends) / 2)
    at_start = (u <= 0) & source.corner[near]
    at_end = (u >= 1) & source.corner[source.following[near]]
    pivot = np.where(at_start, near, source.following[near])
    joins = at_start | at_end
    keys = np.where(source.straight[near], source.segment[near], -(10**10) - source.contour[near])
    keys = np.where(joins, -1 - pivot, keys)
    round_at = source.start[pivot]
    leave, arrive = (
        np.where(joins, 1j * _unit(points - round_at), tangent(points)) for points in (corners, ends)
    )
    if join is Join.MITRE:
        keys = np.where(joins, 10**10 + np.arange(corners.size), keys)
        leave, arrive = np.where(joins, way, leave), np.where(joins, way, arrive)
    leave, arrive = (np.where((v * way.conj()).real < 0, -v, v) for v in (leave, arrive))
    return keys, leave, arrive


def _assembled(
    corners: Points, keys: Ints, leave: Points, arrive: Points, begins: Ints, tolerance: float
) -> Path:
    """Lines and fitted cubics between the breaks of a ring that begins with one."""
    closed = np.append(corners, corners[0])
    stops = np.append(begins[1:], corners.size)
    curved = [(int(b), int(e)) for b, e in zip(begins, stops, strict=True) if keys[b] < 0]
    runs = [Run(closed[b : e + 1], np.append(leave[b:e], arrive[e - 1])) for b, e in curved]
    fitted = dict(zip((b for b, _ in curved), fit_runs(runs, tolerance), strict=True))
    commands, points = [MOVE], [closed[:1]]
    for begin, stop in zip(begins.tolist(), stops.tolist(), strict=True):
        if begin in fitted:
            commands += [CUBIC] * (fitted[begin].size // 3)
            points.append(fitted[begin])
        else:
            commands.append(LINE)
            points.append(closed[stop : stop + 1])
    if commands[-1] == LINE:  # the closing line is drawn by CLOSE
        commands.pop()
        points.pop()
    return Path(np.array([*commands, CLOSE], np.uint8), np.concatenate(points))
