"""Curves as chains of circular arcs, for machines that follow arcs better than splines or many chords."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from render.geometry.path import CUBIC, LINE, MOVE, QUAD, Path

Points = NDArray[np.complex128]
Floats = NDArray[np.float64]

_MOST: Final = 256
_SAMPLES: Final = np.linspace(0.0, 1.0, 18)[1:-1]
_TINY: Final = 1e-12
_FLAT_MM: Final = 1e-5
_WIDEST: Final = 0.4143
"""Bulge of an arc of a quarter turn: wider ones might go round the far side of their circle."""


def with_bulges(path: Path, tolerance: float) -> tuple[Points, Floats]:
    """One contour as points joined by arcs.

    Every curve is parted evenly in its parameter, each part replaced by two arcs that keep the tangents at
    its ends (a biarc: K. M. Bolton, "Biarc curves", Computer-Aided Design 7, 1975), until no sample of the
    curve lies further from its arcs than `tolerance` mm. Where no such arcs are found, as at a cusp, chords
    take their place.

    Returns:
        Points x + iy, shape (n,), and for each the bulge of what leads on from it (the tangent of a quarter
        of the arc's angle, positive clockwise as seen with y down; 0: straight; the last is 0).
    """
    points, bulges = [path.points[:1]], [np.zeros(0)]
    at = 1
    for command in path.commands.tolist():
        if command in (QUAD, CUBIC):
            control = path.points[at - 1 : at + (2 if command == QUAD else 3)]
            ends, bends = _curve(_cubic(control), tolerance)
            points.append(ends)
            bulges.append(bends)
            at += len(control) - 1
        elif command == LINE:
            points.append(path.points[at : at + 1])
            bulges.append(np.zeros(1))
            at += 1
        elif command != MOVE:
            raise ValueError("only a single contour without its close can be turned into arcs")
    return np.concatenate(points), np.append(np.concatenate(bulges), 0.0)


def _cubic(control: Points) -> Points:
    """The control points raised to a cubic's."""
    if len(control) == 4:
        return control
    a, b, c = control
    return np.array([a, a + (b - a) * 2 / 3, c + (b - c) * 2 / 3, c])


def _curve(control: Points, tolerance: float) -> tuple[Points, Floats]:
    count = 1
    while True:
        t = np.linspace(0.0, 1.0, count + 1)
        p, tangent = _at(control, t), _tangents(control, t)
        p[0], p[-1] = control[0], control[3]
        joints = _joints(p, tangent)
        first = _bulge(joints - p[:-1], tangent[:-1])
        second = -_bulge(joints - p[1:], -tangent[1:])
        inner = (t[:-1, None] + _SAMPLES / count).ravel()
        seen = _at(control, inner).reshape(count, -1)
        off = np.minimum(_off(seen, p[:-1], joints, first), _off(seen, joints, p[1:], second))
        widest = max(np.abs(first).max(), np.abs(second).max())
        if count >= _MOST:
            return p[1:], np.zeros(count)
        if widest <= _WIDEST and off.max(initial=0.0) <= tolerance * 0.9:
            ends = np.stack((joints, p[1:]), axis=1).ravel()
            return ends, np.stack((first, second), axis=1).ravel()
        count *= 2


def _at(c: Points, t: Floats) -> Points:
    s = 1 - t
    return np.asarray(c[0] * s**3 + 3 * c[1] * s * s * t + 3 * c[2] * s * t * t + c[3] * t**3)


def _tangents(c: Points, t: Floats) -> Points:
    """Unit tangents; where the curve stands still, along the chord of a small step."""
    s = 1 - t
    d = 3 * ((c[1] - c[0]) * s * s + 2 * (c[2] - c[1]) * s * t + (c[3] - c[2]) * t * t)
    step = 1e-3
    chord = _at(c, np.minimum(t + step, 1.0)) - _at(c, np.maximum(t - step, 0.0))
    d = np.where(np.abs(d) < 1e-6, chord, d)
    length = np.abs(d)
    return np.where(length < _TINY, 1.0 + 0j, d / np.maximum(length, _TINY))


def _dot(a: Points, b: Points) -> Floats:
    return np.asarray((a * b.conjugate()).real)


def _joints(p: Points, tangent: Points) -> Points:
    """Where the two arcs of each part meet, both tangents' handles being equal (derived from Bolton)."""
    v, t0, t1 = p[1:] - p[:-1], tangent[:-1], tangent[1:]
    along, apart = _dot(v, t0 + t1), 2 * (1 - _dot(t0, t1))
    square = _dot(v, v)
    root = np.sqrt(np.maximum(along**2 + apart * square, 0.0))
    handle = np.where(along + root > _TINY, square / np.maximum(along + root, _TINY), 0.0)
    return np.asarray((p[:-1] + p[1:] + handle * (t0 - t1)) / 2)


def _bulge(chord: Points, tangent: Points) -> Floats:
    """The bulge of an arc that starts along `tangent` and ends at `chord`: half its angle lies between.

    One that rises by next to nothing is straight: its centre would be too far away to reckon with.
    """
    bulge = np.tan(np.angle(chord * tangent.conjugate()) / 2)
    return np.asarray(np.where(np.abs(bulge * chord) / 2 < _FLAT_MM, 0.0, bulge))


def _off(seen: Points, start: Points, end: Points, bulge: Floats) -> Floats:
    """How far samples, shape (n, k), lie from each of n arcs: its circle if beside it, else from its ends."""
    chord = end - start
    length = np.maximum(np.abs(chord), _TINY)
    local = (seen - start[:, None]) * (chord.conjugate() / length)[:, None]
    b = np.where(np.abs(bulge) < 1e-9, 1e-9, bulge)
    radius = (length * (1 + b * b) / (4 * np.abs(b)))[:, None]
    centre = (length / 2 + 1j * length * (1 - b * b) / (4 * b))[:, None]
    to_middle = -1j * np.sign(b)[:, None]  # from the centre to the middle of an arc of less than half a turn
    beside = np.abs(np.angle((local - centre) / to_middle)) <= 2 * np.abs(np.arctan(b))[:, None]
    beside &= (np.abs(chord) > 1e-9)[:, None]
    ends = np.minimum(np.abs(seen - start[:, None]), np.abs(seen - end[:, None]))
    return np.asarray(np.where(beside, np.abs(np.abs(local - centre) - radius), ends))
