"""Thin strokes made stouter, and nothing else: outlines moved outward only where the stroke is too thin.

As a sign writer would with a fuller brush: a hairline is widened evenly to both sides to the wanted stroke,
stout strokes stay as they are, and from one to the other the width passes over slowly. What would narrow
a gap below the least one is left where it is, and the other side of the stroke takes its share if it can.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from render.geometry import CUBIC, LINE
from render.geometry.refit import Run, fit_runs
from render.lettering.across import Crossings, Outline, crossings, net_of
from render.lettering.contours import Contour, Floats, Points, closed_contour
from render.lettering.rays import Ints
from render.lettering.union import Outcome, Way, unite

SLOPE: Final = 0.2
"""How fast the added width may change along an outline: 1 in 5, which the eye takes for a swelling stroke."""

_OVER: Final = 1.004
"""Aimed a little above the wanted stroke, for what chords and curves lose."""

_CHORD: Final = 0.4
_CORNER: Final = 0.5
_EDGE_OF_COUNTER: Final = 0.25
_EDGE_OF_NOTCH: Final = 3.0
_SMALL: Final = 5.0
_STEEP: Final = 0.7
_HOLE: Final = 0.5
_LONG: Final = 2.0
_LEVEL_EDGE: Final = 0.06
_MOSTLY: Final = 0.9
_SLIT: Final = 0.3
_SPIKE: Final = 0.08
_SPECK: Final = 0.001
_FAR: Final = 1e7
_SHARP: Final = 1.9
_SMOOTH: Final = 0.35
_LEVEL: Final = 2e-3
_BREAK: Final = 0.35
_FIT: Final = 0.005
_STILL: Final = 1e-3


@dataclass(frozen=True, slots=True)
class Wanted:
    """What the outlines are to hold, in font units: the least stroke and the least gap, and how exactly."""

    stroke: float
    gap: float
    tolerance: float


def thickened(contours: Sequence[Contour], wanted: Wanted) -> Outcome:
    """The outlines with every stroke at least as wide as wanted, as far as the gaps allow.

    Args:
        contours: united: simple, outer ones counter-clockwise (y up).
        wanted: widths in font units.

    Returns:
        United contours and how they came about; the same contours where nothing is too thin.
    """
    if not contours:
        return Outcome((), Way.PLAIN)
    outline = Outline.of(contours, wanted.tolerance, _CHORD * wanted.stroke)
    moved = moves(outline, wanted)
    if not (moved > _STILL * wanted.stroke).any():
        return Outcome(tuple(contours), Way.PLAIN)
    rings = [_moved(outline, moved, ring) for ring in range(len(contours))]
    united = unite([ring for ring in rings if ring is not None])
    rest = _cleaned(united.contours, wanted)
    smooth = [_refitted(ring, wanted) for ring in rest]
    again = unite([ring for ring in smooth if ring is not None])
    return again if again.way is not Way.PLAIN else Outcome(again.contours, united.way)


def _cleaned(contours: Sequence[Contour], wanted: Wanted) -> list[Points]:
    """The rings of straight-sided contours without slits and holes too small for any beam."""
    import shapely

    hole = (_HOLE * wanted.gap) ** 2
    region: Any = shapely.Polygon()
    for contour in (c for c in contours if c.points.size > 2):
        ring = shapely.Polygon(np.ascontiguousarray(contour.points).view(np.float64).reshape(-1, 2))
        region = region.symmetric_difference(ring if ring.is_valid else ring.buffer(0))
    slit, spike = min(_SLIT * wanted.stroke, wanted.gap / 2), _SPIKE * wanted.stroke
    for by in (slit, -slit - spike, spike):
        region = region.buffer(by / 2, join_style="mitre", mitre_limit=3)
    found = []
    for polygon in shapely.get_parts(region):
        holes = [ring for ring in polygon.interiors if shapely.Polygon(ring).area > hole]
        for ring in (polygon.exterior, *holes):
            xy = np.ascontiguousarray(shapely.get_coordinates(ring)[:-1])
            points = xy.view(np.complex128).reshape(-1)
            points = points[np.abs(points - np.roll(points, 1)) > _SPECK * wanted.stroke]
            if points.size > 2:
                found.append(points)
    return found


def moves(outline: Outline, wanted: Wanted) -> Floats:
    """How far each chord of an outline is to be moved outward."""
    stroke, gap = wanted.stroke * _OVER, wanted.gap
    net = net_of(outline)
    across = crossings(outline, stroke, net=net)
    room = _room(outline, crossings(outline, gap + 2 * stroke, outward=True, net=net), gap)
    need = np.zeros(outline.begin.size)
    for side, share in _sides(outline, across, 1j):
        np.maximum.at(need, side, share * (stroke - across.width) / 2)
    moved = _allowed(outline, need, room, wanted)
    left = np.zeros(need.size)  # what one side could not take is for the other
    np.maximum.at(left, across.hit, (need - moved)[across.chord])
    np.maximum.at(left, across.chord, (need - moved)[across.hit])
    return _allowed(outline, need + left, room, wanted)


def _allowed(outline: Outline, need: Floats, room: Floats, wanted: Wanted) -> Floats:
    """The moves that are needed, as far as there is room; straight edges are moved as a whole or not at all.

    So an edge that is also the edge of something stout, such as the foot of a serif or the top of a B, stays
    where it is: baseline and height of letters are kept, and the other side of the thin part is moved.
    """
    moved = np.minimum(_spread(outline, need), room)
    most = np.full(moved.size, np.inf)
    length = np.abs(outline.end - outline.begin)
    for mine, straight in _edges(outline):
        whole = length[mine].sum()
        if whole < _LONG * wanted.stroke:
            continue
        if length[mine][need[mine] > 0].sum() < _MOSTLY * whole:
            moved[mine] = most[mine] = 0.0
        elif straight:
            moved[mine] = most[mine] = min(need[mine].max(), room[mine].min())
    return np.minimum(moved, -_along(outline, -most, np.abs(outline.turn) > _CORNER, _STEEP))


def _edges(outline: Outline) -> list[tuple[Ints, bool]]:
    """The chords of each straight edge, and of each that lies level but is a little hollow, as serifs are."""
    edges = np.unique(outline.edge[outline.edge >= 0])
    found = [(np.flatnonzero(outline.edge == edge), True) for edge in edges]
    level = np.abs(outline.way.imag) < _LEVEL_EDGE
    starts = np.flatnonzero(level & ~level[outline.before])
    for start in starts.tolist():
        run = [start]
        while level[outline.following[run[-1]]]:
            run.append(int(outline.following[run[-1]]))
        mine = np.array(run)
        if (np.unique(outline.edge[mine]).size > 1) or (outline.edge[mine] < 0).any():
            found.append((mine, False))
    return found


def _room(outline: Outline, gaps: Crossings, least: float) -> Floats:
    """How far each chord may be moved outward, so that gaps stay open: half of what they have too much."""
    area = np.bincount(outline.ring, (outline.begin.conj() * outline.end).imag / 2)
    small = (area < 0) & (area > -((_SMALL * least) ** 2))
    edge = np.where(small[outline.ring[gaps.chord]], _EDGE_OF_COUNTER, _EDGE_OF_NOTCH)
    gaps = gaps[gaps.tip > edge * least]
    room = np.full(outline.begin.size, np.inf)
    half = np.maximum(0.0, (gaps.width - least) / 2)
    for side, share in _sides(outline, gaps, -1j):
        np.minimum.at(room, side[share > 0.5], half[share > 0.5])
    return -_along(outline, -room, np.abs(outline.turn) > _CORNER)


def _sides(outline: Outline, found: Crossings, inward: complex) -> list[tuple[Ints, Floats]]:
    """The chords on both sides of crossings, and how squarely each is met; at a corner both its chords."""
    way = found.stop - found.start
    way = way / np.maximum(np.abs(way), 1e-12)
    at_corner = found.start == outline.begin[found.chord]
    before = np.where(at_corner, outline.before[found.chord], found.chord)
    square = [
        (chord, np.maximum(0.0, (way * (inward * outline.way[chord]).conj()).real))
        for chord in (found.chord, before)
    ]
    return [*square, (found.hit, np.ones(found.hit.size))]


def _spread(outline: Outline, need: Floats) -> Floats:
    """Moves that are nowhere less than needed and fade out along the outline, but not round corners."""
    return np.maximum(_along(outline, need, np.abs(outline.turn) > _CORNER), 0.0)


def _along(outline: Outline, values: Floats, blocked: NDArray[np.bool_], slope: float = SLOPE) -> Floats:
    """The least values not below the given that change by at most a slope along the outline.

    `blocked` chords take nothing over from the one before them, nor give it anything.
    """
    length = np.abs(outline.end - outline.begin) * slope
    first = np.flatnonzero(np.diff(outline.ring, prepend=-1))
    count = np.diff(first, append=length.size)
    twice = np.repeat(
        first, 2 * count
    )  # each ring twice over, so that what is passed on comes all the way round
    nth = np.arange(twice.size) - 2 * twice
    second = nth >= np.repeat(count, 2 * count)
    chord = twice + np.where(second, nth - np.repeat(count, 2 * count), nth)
    walls = blocked[chord] | (nth == 0)
    apart = _FAR * np.cumsum(walls)
    at = np.cumsum(length[chord]) - length[chord] / 2
    given = values[chord]
    ahead = np.maximum.accumulate(given + at + apart) - at - apart
    back = np.maximum.accumulate((given - at - apart)[::-1])[::-1] + at + apart
    spread = np.empty(values.size)
    spread[chord[second]] = ahead[second]
    spread[chord[~second]] = np.maximum(spread[chord[~second]], back[~second])
    return np.where(spread < -_FAR / 2, -np.inf, np.maximum(spread, values))


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
    sharp = (turn > _SHARP) & (np.maximum(here, there) > 0)
    first = np.where(sharp, corner + normal[before] * there, placed)
    second = corner + normal[chord] * here
    points = np.stack((first, second), axis=1)[np.stack((np.full(chord.size, True), sharp), axis=1)]
    return closed_contour(np.full(points.size - 1, LINE, np.uint8), points)


def _meeting(n0: Points, n1: Points, d0: Floats, d1: Floats) -> Points:
    """From a corner to where its two sides meet after they were moved by d0 and d1 along their normals."""
    cross = (n0.conj() * n1).imag
    cross = np.where(np.abs(cross) < 1e-6, 1e-6, cross)
    way = (d0 * n1 - d1 * n0) * -1j / cross
    most = 3 * np.maximum(d0, d1)
    size = np.maximum(np.abs(way), 1e-12)
    return np.asarray(way * np.minimum(1.0, most / size))


def _refitted(points: Points, wanted: Wanted) -> Contour | None:
    """A ring of dense points as lines and cubics: few where it is smooth, corners kept."""
    step = np.roll(points, -1) - points
    level = np.abs(np.angle(step * np.roll(step, 1).conj())) < _LEVEL
    points = points[~level]
    if points.size < 3:
        return None
    step = np.roll(points, -1) - points
    length = np.abs(step)
    way = step / length
    long = length > 2 * _CHORD * wanted.stroke
    breaks = (np.abs(np.angle(way * np.roll(way, 1).conj())) > _BREAK) | long | np.roll(long, 1)
    start = int(breaks.argmax())
    points, way, breaks = np.roll(points, -start), np.roll(way, -start), np.roll(breaks, -start)
    stops = [*(np.flatnonzero(breaks[1:]) + 1).tolist(), points.size]
    closed, ways = np.append(points, points[0]), np.append(way, way[0])
    begins = [0, *stops[:-1]]
    runs = [
        Run(closed[begin : stop + 1], _tangents(ways, begin, stop, smooth=not breaks.any()))
        for begin, stop in zip(begins, stops, strict=True)
        if stop - begin > 1
    ]
    fitted = iter(fit_runs(runs, _FIT * wanted.stroke))
    codes, drawn = [], [closed[:1]]
    for begin, stop in zip(begins, stops, strict=True):
        piece = next(fitted) if stop - begin > 1 else closed[stop : stop + 1]
        codes += [CUBIC] * (piece.size // 3) if stop - begin > 1 else [LINE]
        drawn.append(piece)
    return closed_contour(np.array(codes, np.uint8), np.concatenate(drawn))


def _tangents(ways: Points, begin: int, stop: int, *, smooth: bool) -> Points:
    """Unit tangents at the points of a run: means of the chords, at its ends its own."""
    mine = ways[begin:stop]
    first = mine[0] + ways[-2] if smooth else mine[0]
    last = first if smooth else mine[-1]
    inner = mine[1:] + mine[:-1]
    tangents = np.concatenate(([first], inner, [last]))
    return np.asarray(tangents / np.abs(tangents))
