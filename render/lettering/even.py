"""Letters bent to fill a shape while their strokes stay as thick as they were.

A map that fills a cell with a letter makes strokes thick where it stretches and thin where it squeezes. Each
point of the outline is therefore moved along the normal of the bent outline by half of what its stroke has
gained: a thin strip with the unit tangent τ comes out |det J| / |J τ| times as wide under a map with the
Jacobian J (derived here), and should come out `weight` times as wide.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from render.geometry import Box, Path
from render.geometry.bending import Bend, Curves, as_path, curves_of, on_curves
from render.lettering.batch import Whole
from render.lettering.contours import Floats, Points
from render.lettering.letters import Strokes, chords

_STEP: Final = 1e-4
_PARTS: Final = 4
"""Parts that each segment of an outline is cut into before it is bent."""
_SMOOTH: Final = 0.26
"""Turns below this many radians are no corners."""
_MITRE: Final = 2.5
"""A corner is moved at most so many times as far as its sides."""
END: Final = 2.4
_FAR: Final = 1e9


@dataclass(frozen=True, slots=True, eq=False)
class Outline:
    """A letter's outline, prepared for bending.

    Attributes:
        halves: half the thickness of the stroke at the ends of each segment, shape (n, 2).
        before: for each segment the index of the one before it on its contour, shape (n,).
        inward: 1 where the inside lies to the left of the way (x right, y up), else -1.
    """

    curves: Curves
    halves: Floats
    before: Whole
    inward: float


def prepared(path: Path, strokes: Strokes) -> Outline:
    """A closed path without overlaps, cut into parts, with the thickness of the stroke along it."""
    curves = _parts(curves_of(path))
    area = _area(curves)
    inward = 1.0 if area > 0 else -1.0
    before = np.arange(curves.contour.size) - 1
    first = np.flatnonzero(np.diff(curves.contour, prepend=-1))
    before[first] = np.append(first[1:], curves.contour.size) - 1
    return Outline(curves, _halves(curves, path, strokes, inward, before), before, inward)


def _parts(curves: Curves) -> Curves:
    """Each segment cut into parts of equal t."""
    c = curves.controls
    pieces = []
    for k in range(_PARTS):
        low, high = np.full(len(c), k / _PARTS), np.full(len(c), (k + 1) / _PARTS)
        a, b = on_curves(c, low), on_curves(c, high)
        reach = 1 / (3 * _PARTS)
        pieces.append(np.stack((a, a + _speed(c, low) * reach, b - _speed(c, high) * reach, b), axis=1))
    parts = np.stack(pieces, axis=1).reshape(-1, 4)
    return Curves(
        parts,
        np.repeat(curves.contour, _PARTS),
        curves.closed,
        curves.starts,
        np.repeat(curves.straight, _PARTS),
    )


def _speed(c: Points, t: Floats) -> Points:
    """Derivatives of cubics."""
    s = 1 - t
    return np.asarray(
        3 * ((c[:, 1] - c[:, 0]) * s * s + 2 * (c[:, 2] - c[:, 1]) * s * t + (c[:, 3] - c[:, 2]) * t * t)
    )


def _directions(c: Points) -> tuple[Points, Points]:
    """Unit tangents at both ends of cubics, also where the first handle has no length."""
    ends = []
    for legs in ((c[:, 1] - c[:, 0], c[:, 2] - c[:, 0], c[:, 3] - c[:, 0]),
                 (c[:, 3] - c[:, 2], c[:, 3] - c[:, 1], c[:, 3] - c[:, 0])):  # fmt: skip
        way = legs[2]
        for leg in (legs[1], legs[0]):
            way = np.where(np.abs(leg) > 1e-9, leg, way)
        length = np.abs(way)
        ends.append(np.divide(way, length, out=np.ones_like(way), where=length > 0))
    return ends[0], ends[1]


def _area(curves: Curves) -> float:
    t = np.broadcast_to(np.linspace(0, 1, 5), (len(curves.controls), 5))
    p = on_curves(curves.controls, t)
    return float((p[:, :-1].conj() * p[:, 1:]).imag.sum())


def _halves(curves: Curves, path: Path, strokes: Strokes, inward: float, before: Whole) -> Floats:
    """Half the thickness of the stroke at both ends of each segment.

    It is that of the font's usual strokes in this direction, or what is measured straight across where that
    is less; where two segments join smoothly the lesser of the two. Where it is END times as far across, this
    is no side of a stroke but its end, which stays where it is.
    """
    c = curves.controls
    middle = on_curves(c, np.full(len(c), 0.5))
    way = _speed(c, np.full(len(c), 0.5))
    unit = way / np.maximum(np.abs(way), 1e-12)
    usual = np.hypot(unit.imag * strokes.upright, unit.real * strokes.level)
    across = _across(middle, unit * 1j * inward, path)
    ends = np.sort((across / usual).reshape(-1, _PARTS), axis=1)[:, 1] > END
    half = np.where(np.repeat(ends, _PARTS), 0.0, np.minimum(usual, across) / 2)
    first, last = _directions(c)
    smooth = np.abs((last[before].conj() * first).imag) < np.sin(_SMOOTH)
    shared = np.minimum(half, half[before])
    end = half.copy()
    end[before[smooth]] = shared[smooth]
    return np.stack((np.where(smooth, shared, half), end), axis=1)


def _across(at: Points, way: Points, path: Path) -> Floats:
    """From each place straight on along `way`, how far it is to the next edge of the path."""
    begins, ends = chords(path)
    found = np.full(at.size, _FAR)
    for k, (place, unit) in enumerate(zip(at.tolist(), way.tolist(), strict=True)):
        b, e = (begins - place) * unit.conjugate(), (ends - place) * unit.conjugate()
        crossing = (b.imag <= 0) != (e.imag <= 0)
        x = b.real[crossing] - (e.real - b.real)[crossing] * b.imag[crossing] / (e.imag - b.imag)[crossing]
        ahead = x[x > 0.01]
        if ahead.size:
            found[k] = ahead.min()
    return found


def bent_evenly(outline: Outline, bend: Bend, weight: float) -> Path:
    """The outline bent by a map, its strokes `weight` times as thick as they were."""
    c, halves = outline.curves.controls, outline.halves
    size = len(c)
    t0, t1 = np.zeros(size), np.ones(size)
    into, out = (
        _displacement(c, t, halves[:, k], bend, weight, outline.inward) for k, t in enumerate((t0, t1))
    )
    mitres = _mitres(out, into, outline.before)
    after = np.empty_like(outline.before)
    after[outline.before] = np.arange(size)
    slide0, slide1 = _slides(
        (mitres * into.tangent.conj()).real[::_PARTS],
        (mitres[after] * out.tangent.conj()).real[_PARTS - 1 :: _PARTS],
    )

    def place(t: Floats) -> Points:
        half = halves[:, 0] * (1 - t) + halves[:, 1] * t
        here = _displacement(c, t, half, bend, weight, outline.inward)
        slide = slide0 * (1 - t) + slide1 * t
        return np.asarray(here.at + here.by * here.normal + slide * here.tangent)

    begin, end = place(t0), place(t1)
    joint = (begin + end[outline.before]) / 2
    first = (place(t0 + _STEP) - place(t0 - _STEP)) / (6 * _STEP)
    last = (place(t1 + _STEP) - place(t1 - _STEP)) / (6 * _STEP)
    start, stop = joint, joint[after]
    cubics = np.stack((start, start + first, stop - last, stop), axis=1)
    return as_path(cubics, outline.curves.contour, outline.curves.closed)


def _slides(begin: Floats, end: Floats) -> tuple[Floats, Floats]:
    """How far the ends of each part move along it: what a whole segment's ends do, evenly in between."""
    share = np.arange(_PARTS + 1) / _PARTS
    along = begin[:, None] * (1 - share) + end[:, None] * share
    return along[:, :-1].reshape(-1), along[:, 1:].reshape(-1)


@dataclass(frozen=True, slots=True, eq=False)
class _Moved:
    """Bent places, unit tangents, inward normals, and how far to go along these."""

    at: Points
    tangent: Points
    normal: Points
    by: Floats


def _displacement(c: Points, t: Floats, half: Floats, bend: Bend, weight: float, inward: float) -> _Moved:
    at = on_curves(c, t)
    ends = _directions(c)
    speed = _speed(c, t)
    chord = np.where(t < 0.5, ends[0], ends[1])
    slow = np.abs(speed) < 1e-9
    unit = np.where(slow, chord, speed / np.where(slow, 1.0, np.abs(speed)))
    stack = bend(np.concatenate((at, at + _STEP, at - _STEP, at + 1j * _STEP, at - 1j * _STEP)))
    n = at.size
    place = stack[:n]
    jx = (stack[n : 2 * n] - stack[2 * n : 3 * n]) / (2 * _STEP)
    jy = (stack[3 * n : 4 * n] - stack[4 * n :]) / (2 * _STEP)
    along = jx * unit.real + jy * unit.imag
    stretch = np.abs(along)
    tangent = along / np.maximum(stretch, 1e-12)
    det = np.abs((jx.conj() * jy).imag)
    gained = det / np.maximum(stretch, 1e-12) - weight
    return _Moved(place, tangent, tangent * 1j * inward, gained * half)


def _mitres(out: _Moved, into: _Moved, before: Whole) -> Points:
    """For the start of each segment how far its corner moves, so that both sides move as they should."""
    n0, d0 = out.normal[before], out.by[before]
    n1, d1 = into.normal, into.by
    cross = (n0.conj() * n1).imag
    smooth = np.abs(cross) < np.sin(_SMOOTH)
    safe = np.where(smooth, 1.0, cross)
    sharp = (1j * (n0 * d1 - n1 * d0)) / safe
    flat = (n0 * d0 + n1 * d1) / 2
    move = np.where(smooth, flat, sharp)
    most = _MITRE * np.maximum(np.abs(d0), np.abs(d1))
    length = np.abs(move)
    return np.asarray(move * np.where(length > most, most / np.maximum(length, 1e-12), 1.0))


def fill(
    outline: Outline, path: Path, cell: Bend, size: tuple[float, float], stroke: float, strokes: Strokes
) -> Path:
    """A letter bent so that it fills a cell, its usual strokes `stroke` thick.

    Args:
        outline: the letter, prepared from `path`.
        path: the letter itself.
        cell: the map of the unit square into the cell.
        size: width and height of the cell.
        stroke: wanted thickness of upright strokes, in the units of the cell.
        strokes: the font's usual strokes.

    The letter reaches to the sides of its cell, unless that would make it more than MOST_STRETCH times as
    wide as it is; a letter that is one stem stays a stem in the middle. It is bent twice: what the first go
    leaves free at the sides is what the second makes up for.
    """
    box = path.bounds()
    weight = stroke / strokes.upright
    share = min(1.0, MOST_STRETCH * box.width * size[1] / box.height / size[0])
    if box.width < STEM * strokes.upright:
        share = min(share, weight * box.width / size[0])
    margins = ((1 - share) / 2, 0.0, (1 - share) / 2, 0.0)
    first = bent_evenly(outline, _within(path, cell, margins), weight).bounds()
    rim = _within(path, cell, margins)(_border(box))
    wide, tall = np.ptp(rim.real), np.ptp(rim.imag)
    off = (
        (rim.real.min() - first.x0) / wide * share,
        (rim.imag.min() - first.y0) / tall,
        (first.x1 - rim.real.max()) / wide * share,
        (first.y1 - rim.imag.max()) / tall,
    )
    if share < 1:
        off = (0.0, off[1], 0.0, off[3])
    settled = tuple(m + min(max(o, -MOST_MARGIN), MOST_MARGIN) for m, o in zip(margins, off, strict=True))
    return bent_evenly(outline, _within(path, cell, settled), weight)


def _within(path: Path, cell: Bend, margins: tuple[float, ...]) -> Bend:
    """The map of a letter's box into a cell, with margins left, top, right and bottom as shares of it."""
    box = path.bounds()
    left, top, right, bottom = margins
    wide, tall = (1 - left - right) / box.width, (1 - top - bottom) / box.height

    def bend(points: Points) -> Points:
        u = left + (points.real - box.x0) * wide
        return cell(u + 1j * (top + (points.imag - box.y0) * tall))

    return bend


def _border(box: Box) -> Points:
    """Places along the four sides of a box."""
    t = np.linspace(0, 1, 17)
    x, y = box.x0 + t * box.width, box.y0 + t * box.height
    return np.concatenate((x + 1j * box.y0, x + 1j * box.y1, box.x0 + 1j * y, box.x1 + 1j * y))


MOST_STRETCH: Final = 2.2
"""How much wider than in proportion a letter may become."""
STEM: Final = 1.6
"""A letter not so many strokes wide is one stem."""
MOST_MARGIN: Final = 0.12
