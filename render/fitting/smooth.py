"""From polygons back to curves: the old ones wherever they were left alone, smooth new ones elsewhere."""

from __future__ import annotations

import math
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from render.fitting.solids import Memory, Points, Region, pairs, parts_of
from render.geometry import CLOSE, CUBIC, LINE, MOVE, Path
from render.geometry.curves import split_at

CORNER: Final = math.cos(math.radians(24))
"""Where a boundary turns by more than this, it has a corner; rounded places turn by less at each point."""

STRAIGHT_MM: Final = 0.6
"""A new edge of at least this length, several times that of its neighbours, is straight."""

THIN_MM: Final = 0.03
"""Points of a new run that change it by less than this are left out before curves are laid through."""

FEW: Final = 12
"""Of so few points all are kept."""

BULGE_MM: Final = 0.012
"""An edge that a curve would leave by more than this, twice what chords leave theirs by, is straight."""

OFF_MM: Final = 0.02
"""A new curve keeps within about this of the polygon that it replaces."""

_OUTRANKS: Final = 4.0
_MOST_TRIES: Final = 6

Floats = NDArray[np.float64]
Piece = tuple[int, Points]
"""A command and the points it takes."""


def curved(region: Region, memory: Memory) -> Path:
    """The boundary of a region as a path, outer contours clockwise as seen, inner ones back.

    Chords that `memory` knows become the curves they stood for, split where the boundary leaves them. Through
    what is new a curve is laid that is smooth but at corners, and passes through every point kept.
    """
    codes: list[int] = []
    points: list[Points] = []
    for part in parts_of(region):
        for number, ring in enumerate((part.exterior, *part.interiors)):
            corners = _corners(ring)
            if (_area(corners) > 0) != (number == 0):
                corners = corners[::-1].copy()
            pieces = _pieces(corners, memory)
            if not pieces:
                continue
            codes += [MOVE, *(code for code, _ in pieces), CLOSE]
            points += [pieces[-1][1][-1:], *(p for _, p in pieces)]
    if not codes:
        return Path.empty()
    return Path(np.array(codes, np.uint8), np.concatenate(points))


def _corners(ring: Any) -> Points:
    """The corners of a ring without repeating the first."""
    import shapely

    flat = np.ascontiguousarray(shapely.get_coordinates(ring))
    return flat.view(np.complex128).reshape(-1)[:-1]


def _area(z: Points) -> float:
    return float((z.conj() * np.roll(z, -1)).imag.sum() / 2)


def _pieces(z: Points, memory: Memory) -> list[Piece]:
    """The lines and curves of a ring, in order; the last one ends where the first begins."""
    known = _known(z, memory)
    size = len(known)
    begin = next((k for k in range(size) if known[k][:2] != known[k - 1][:2]), 0)
    known = known[begin:] + known[:begin]
    z = np.roll(z, -begin)
    runs: list[tuple[int, int]] = []
    for k in range(size):
        same = k > 0 and known[k][:2] == known[k - 1][:2]
        if same and (known[k][0] < 0 or known[k][2] == known[k - 1][2] + known[k][1]):
            runs[-1] = (runs[-1][0], k + 1)
        else:
            runs.append((k, k + 1))
    ring = np.append(z, z[0])
    found: list[list[Piece]] = []
    for first, stop in runs:
        number, way, place = known[first]
        if number < 0:
            found.append([])
        else:
            found.append([_kept(memory, number, way, place, stop - first, ring[first], ring[stop])])
    for n, (first, stop) in enumerate(runs):
        if known[first][0] < 0:
            if len(runs) == 1:
                found[n] = _closed_run(z)
            else:
                before, after = found[n - 1][-1][1], found[(n + 1) % len(runs)][0][1]
                start = _heading(before[-2] if before.size > 1 else ring[runs[n - 1][0]], before[-1])
                end = _heading(ring[stop], after[0])
                found[n] = _run(ring[first : stop + 1], start, end)
    return [piece for some in found for piece in some]


def _known(z: Points, memory: Memory) -> list[tuple[int, int, int]]:
    """For each edge of a ring the number of its curve (-1: new), which way it runs, and its place on it."""
    places = z.tolist()
    edges = memory.edges
    found = []
    for a, b in zip(places, places[1:] + places[:1], strict=True):
        hit = edges.get((a, b))
        if hit is not None:
            found.append((hit[0], 1, hit[1]))
            continue
        hit = edges.get((b, a))
        found.append((hit[0], -1, hit[1]) if hit is not None else (-1, 1, 0))
    return found


def _kept(memory: Memory, number: int, way: int, place: int, count: int, a: complex, b: complex) -> Piece:
    """The piece of a remembered curve that `count` chords from `place` on stand for."""
    curve, chords = memory.curves[number], memory.chords[number]
    low = place if way > 0 else place - count + 1
    high = low + count
    if high < chords:
        curve = split_at(curve, high / chords)[0]
    if low > 0:
        curve = split_at(curve, low / high)[1]
    if way < 0:
        curve = curve[::-1]
    curve = curve.copy()
    curve[0], curve[-1] = a, b
    return curve.size - 1, curve[1:]


def _heading(a: complex, b: complex) -> complex:
    """The direction from a to b, 0 where there is none."""
    length = abs(b - a)
    return complex(b - a) / length if length > 1e-9 else 0j


# ---------------------------------------------------------------- new runs


def _closed_run(z: Points) -> list[Piece]:
    """A ring that is new all round, begun at its sharpest corner or the end of its longest edge."""
    steps = np.roll(z, -1) - z
    unit = steps / np.maximum(np.abs(steps), 1e-12)
    turn = (unit * np.roll(unit, 1).conj()).real
    begin = int(turn.argmin())
    smooth = turn[begin] > CORNER
    if smooth:
        begin = int(np.abs(steps).argmax())
    ring = np.append(np.roll(z, -begin), z[begin])
    heading = complex(np.roll(unit, -begin)[0]) if smooth else 0j
    return _run(ring, heading, heading)


def _run(z: Points, start: complex, end: complex) -> list[Piece]:
    """An open run of points as lines and curves.

    Args:
        z: the points, both ends included.
        start: direction in which the boundary arrives at the first point, 0 if it does not matter.
        end: direction in which it goes on from the last.
    """
    keep = np.append(True, np.abs(np.diff(z)) > 1e-7)
    keep[0] = True
    z = z[keep]
    if z.size < 2:
        return []
    breaks, straight = _breaks(z)
    out, into = _tangents(z, breaks, straight, start, end)
    bulging = _bulge(z, out, into) > BULGE_MM
    if bulging.any():
        straight |= bulging
        out, into = _tangents(z, breaks, straight, start, end)
    kept = _kept_points(z, breaks, straight) if z.size > FEW else np.arange(z.size)
    for _ in range(_MOST_TRIES):
        firsts, lasts = kept[:-1], kept[1:]
        alone = straight[firsts] & (lasts == firsts + 1)
        handles = _handles(z[kept], out[firsts], into[lasts - 1])
        bad = np.flatnonzero(_off(z, kept, alone, *handles))
        if not bad.size:
            break
        kept = np.union1d(kept, (kept[bad] + kept[bad + 1]) // 2)
    return _laid(z[kept], alone, *handles)


def _breaks(z: Points) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Which points are corners, and which edges are straight."""
    step = np.diff(z)
    length = np.abs(step)
    corner = np.zeros(z.size, bool)
    corner[[0, -1]] = True
    straight = np.zeros(step.size, bool)
    if step.size == 1:
        straight[0] = True
        return corner, straight
    unit = step / length
    corner[1:-1] = (unit[1:] * unit[:-1].conj()).real < CORNER
    before = np.append(np.inf, np.where(corner[1:-1], 0, length[:-1]))
    after = np.append(np.where(corner[1:-1], 0, length[1:]), np.inf)
    before[0], after[-1] = 0, 0
    straight = (length > STRAIGHT_MM) & (length > _OUTRANKS * np.maximum(before, after))
    lone = corner[1:] & corner[:-1]
    return corner, straight | lone


def _kept_points(z: Points, corner: NDArray[np.bool_], straight: NDArray[np.bool_]) -> NDArray[np.int64]:
    """The numbers of the points that matter: corners, ends of straight edges, and enough between them."""
    import shapely

    must = corner.copy()
    must[:-1] |= straight
    must[1:] |= straight
    stops = np.flatnonzero(must)
    spans = [(a, b) for a, b in zip(stops.tolist(), stops[1:].tolist(), strict=False) if b > a + 1]
    if not spans:
        return stops
    inner = np.concatenate([np.arange(a, b + 1) for a, b in spans])
    owner = np.repeat(np.arange(len(spans)), [b - a + 1 for a, b in spans])
    rows = np.column_stack((z.real[inner], z.imag[inner], inner))
    lines = shapely.simplify(shapely.linestrings(rows, indices=owner), THIN_MM)
    thin = shapely.get_coordinates(lines, include_z=True)[:, 2]
    return np.union1d(stops, thin[np.isfinite(thin)].astype(np.int64))


def _tangents(
    z: Points, corner: NDArray[np.bool_], straight: NDArray[np.bool_], start: complex, end: complex
) -> tuple[Points, Points]:
    """Unit tangents out of the start of each edge and into its end.

    At a smooth point between curves the tangent is that of the circle through it and its neighbours; beside
    a straight edge it is that edge's; at a corner, and at an end without a heading, each edge has that of
    the circle through its own side, or its own direction.
    """
    step = np.diff(z)
    length = np.abs(step)
    unit = step / length
    if unit.size == 1:
        tangents = np.concatenate((unit, unit))
    else:
        a, b = length[:-1], length[1:]
        turn = unit[1:] * unit[:-1].conj()
        share = np.angle(turn) * a / (a + b)
        middle = unit[:-1] * np.exp(1j * share)
        tangents = np.concatenate((unit[:1], middle, unit[-1:]))
    out, into = tangents[:-1].copy(), tangents[1:].copy()
    # a straight edge rules the tangent at both of its ends
    ruled = np.flatnonzero(straight)
    for edge in ruled.tolist():
        if edge > 0 and not corner[edge]:
            into[edge - 1] = unit[edge]
        if edge + 1 < unit.size and not corner[edge + 1]:
            out[edge + 1] = unit[edge]
    # at corners each side ends as a circle would through its last points
    for at in np.flatnonzero(corner).tolist():
        if at < unit.size:
            out[at] = _free(unit, out, into, at, forward=True)
        if at > 0:
            into[at - 1] = _free(unit, out, into, at - 1, forward=False)
    if start and (unit[0] * start.conjugate()).real > CORNER:
        out[0] = start
    if end and (unit[-1] * complex(end).conjugate()).real > CORNER:
        into[-1] = end
    return out, into


def _free(unit: Points, out: Points, into: Points, edge: int, *, forward: bool) -> complex:
    """The tangent at the free end of an edge: the one at its other end, mirrored about the edge."""
    other = complex(into[edge] if forward else out[edge])
    direction = complex(unit[edge])
    mirrored = direction * direction * other.conjugate()
    return mirrored if (mirrored * direction.conjugate()).real > 0.7 else direction


def _handles(z: Points, out: Points, into: Points) -> tuple[Points, Points]:
    """Control points of cubics with handles of c / (3 cos²(φ/2)), exact to third order on arcs.

    c is the chord and φ the angle by which the tangent leaves it. Derived here from the handle of common
    practice, 4/3 r tan(a/4), for an arc of angle a.
    """
    step = np.diff(z)
    length = np.abs(step)
    unit = step / length
    cosines = np.clip((np.stack((out, into)) * unit.conj()).real, -0.5, 1)
    first, second = length / (1.5 * (1 + cosines))
    return z[:-1] + out * first, z[1:] - into * second


def _bulge(z: Points, out: Points, into: Points) -> Floats:
    """By how much a curve over each edge would leave it, mm."""
    first, second = _handles(z, out, into)
    unit = np.diff(z) / np.abs(np.diff(z))
    aside = ((first - z[:-1]) * unit.conj()).imag, ((second - z[:-1]) * unit.conj()).imag
    return np.asarray(0.75 * np.maximum(np.abs(aside[0]), np.abs(aside[1])))


def _off(
    z: Points, kept: NDArray[np.int64], alone: NDArray[np.bool_], first: Points, second: Points
) -> NDArray[np.bool_]:
    """Which cubics leave the points that they stand for by more than OFF_MM, and could be cut in two."""
    import shapely

    a, d = z[kept[:-1]], z[kept[1:]]
    long = (np.diff(kept) > 1) & ~alone
    off = np.zeros(a.size, bool)
    at = np.flatnonzero(long)
    if not at.size:
        return off
    t = np.array((0.25, 0.5, 0.75))[:, None]
    s = 1 - t
    probes = a[at] * s**3 + 3 * first[at] * s * s * t + 3 * second[at] * s * t * t + d[at] * t**3
    counts = np.diff(kept)[at] + 1
    owner = np.repeat(np.arange(at.size), counts)
    inner = np.arange(owner.size) + (kept[at] - np.cumsum(counts) + counts)[owner]
    lines = shapely.linestrings(pairs(z[inner]), indices=owner)
    far = shapely.distance(shapely.points(probes.real, probes.imag), lines).max(axis=0)
    off[at] = far > OFF_MM
    return off


def _laid(z: Points, straight: NDArray[np.bool_], first: Points, second: Points) -> list[Piece]:
    """Lines, and cubics with these control points."""
    return [
        (LINE, z[k + 1 : k + 2]) if line else (CUBIC, np.array((a, b, z[k + 1])))
        for k, (line, a, b) in enumerate(zip(straight.tolist(), first.tolist(), second.tolist(), strict=True))
    ]
