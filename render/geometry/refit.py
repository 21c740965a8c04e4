"""Cubics through dense points: few smooth curves instead of thousands of short lines.

All pieces of all runs are fitted at once, halved where they leave the tolerance, and fitted again.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.complex128]
Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

_SAMPLES: Final = 32
_ROUNDS: Final = 10
_HALVINGS: Final = 12

_HOPELESS: Final = 12.0
_FEW: Final = 1.0
_SLOWEST: Final = 0.8
"""Where haste is asked: from how many tolerances on no mending is tried, and from how many on it ends when a
round leaves more than a share of the error."""


@dataclass(frozen=True, slots=True)
class Run:
    """A smooth stretch: its points, and the unit tangent that the curve has at each of them."""

    points: Points
    tangents: Points


def fit_runs(runs: list[Run], tolerance: float, *, hasty: bool = False) -> list[Points]:
    """For each run the control points of cubics after its first point, shape (3n,).

    Least squares with given end tangents and parameters mended by Newton's method (after P. J. Schneider,
    "An algorithm for automatically fitting digitized curves", Graphics Gems, 1990). The points of a run lie
    within `tolerance` mm of its cubics, and cubics of one run meet without a corner. A stretch that resists
    halving to two points stays a straight line.

    Args:
        runs: each of at least two different points.
        tolerance: mm.
        hasty: take a cubic as soon as it lies within the tolerance, and halve as soon as it will hardly come
            to that; otherwise each is brought as near as it goes.
    """
    lengths = [np.concatenate(([0.0], np.cumsum(np.abs(np.diff(r.points))))) for r in runs]
    waiting = [(i, 0.0, float(s[-1])) for i, s in enumerate(lengths)]
    done: list[list[tuple[float, Points]]] = [[] for _ in runs]
    for halving in range(_HALVINGS + 1):
        if not waiting:
            break
        samples, tangents = _sampled(runs, lengths, waiting)
        curves, errors = _hastily(samples, tangents, tolerance) if hasty else _fitted(samples, tangents)
        good = errors <= tolerance
        again = []
        for (i, low, high), curve, fits in zip(waiting, curves, good.tolist(), strict=True):
            if fits or halving == _HALVINGS:
                done[i].append((low, curve))
            else:
                middle = (low + high) / 2
                again += [(i, low, middle), (i, middle, high)]
        waiting = again
    return [np.concatenate([c[1:] for _, c in sorted(parts, key=lambda p: p[0])]) for parts in done]


def _sampled(
    runs: list[Run], lengths: list[Floats], parts: list[tuple[int, float, float]]
) -> tuple[Points, Points]:
    """Points evenly along each part, shape (n, samples), and the tangents at both ends, shape (n, 2)."""
    first = np.cumsum([0, *(float(s[-1]) + 1.0 for s in lengths[:-1])])  # the runs one after another
    along = np.concatenate([s + f for s, f in zip(lengths, first, strict=True)])
    which = np.array([i for i, _, _ in parts])
    low, high = np.array([part[1:] for part in parts]).T
    at = first[which, None] + np.linspace(low, high, _SAMPLES, axis=1)
    samples = np.interp(at, along, np.concatenate([run.points for run in runs]))
    ends = np.interp(at[:, [0, -1]], along, np.concatenate([run.tangents for run in runs]))
    return samples, ends / np.maximum(np.abs(ends), 1e-12)


def _fitted(samples: Points, tangents: Points) -> tuple[Points, Floats]:
    """The cubic of each row, shape (n, 4), and how far its points are from it."""
    u = _evenly(samples)
    curves, errors = _solved(samples, tangents, u)
    for _ in range(_ROUNDS):
        u = _mended(curves, samples, u)
        newer, off = _solved(samples, tangents, u)
        better = off < errors
        curves[better], errors[better] = newer[better], off[better]
    return curves, errors


def _hastily(samples: Points, tangents: Points, tolerance: float) -> tuple[Points, Floats]:
    """As _fitted, but only until each piece is near enough or without much hope."""
    u = _evenly(samples)
    curves, errors = _solved(samples, tangents, u)
    rows = np.flatnonzero((errors > tolerance) & (errors < _HOPELESS * tolerance))
    u = u[rows]
    for _ in range(_ROUNDS):
        if not rows.size:
            break
        u = _mended(curves[rows], samples[rows], u)
        newer, off = _solved(samples[rows], tangents[rows], u)
        slow = off > _SLOWEST * errors[rows]
        better = off < errors[rows]
        curves[rows[better]], errors[rows[better]] = newer[better], off[better]
        on = (errors[rows] > tolerance) & ~(slow & (errors[rows] > _FEW * tolerance))
        rows, u = rows[on], u[on]
    return curves, errors


def _evenly(samples: Points) -> Floats:
    """Parameters by the length along each row."""
    steps = np.abs(np.diff(samples, axis=1))
    u = np.concatenate((np.zeros((len(samples), 1)), np.cumsum(steps, axis=1)), axis=1)
    u /= np.maximum(u[:, -1:], 1e-12)
    return np.asarray(u)


def _solved(samples: Points, tangents: Points, u: Floats) -> tuple[Points, Floats]:
    first, last = samples[:, :1], samples[:, -1:]
    s = 1 - u
    b0, b1, b2, b3 = s**3, 3 * s * s * u, 3 * s * u * u, u**3
    a1, a2 = b1 * tangents[:, :1], -b2 * tangents[:, 1:]
    rest = samples - first * (b0 + b1) - last * (b2 + b3)
    c11, c22 = (np.abs(a) ** 2 for a in (a1, a2))
    c12 = (a1 * a2.conj()).real
    x1, x2 = ((a.conj() * rest).real.sum(axis=1) for a in (a1, a2))
    s11, s12, s22 = c11.sum(axis=1), c12.sum(axis=1), c22.sum(axis=1)
    det = s11 * s22 - s12 * s12
    chord = np.abs(last - first)[:, 0]
    safe = np.where(np.abs(det) > 1e-18, det, 1.0)
    h1, h2 = (x1 * s22 - x2 * s12) / safe, (s11 * x2 - s12 * x1) / safe
    wild = (np.abs(det) <= 1e-18) | (h1 < 1e-3 * chord) | (h2 < 1e-3 * chord)
    h1, h2 = np.where(wild, chord / 3, h1), np.where(wild, chord / 3, h2)
    curves = np.stack(
        (first[:, 0], first[:, 0] + h1 * tangents[:, 0], last[:, 0] - h2 * tangents[:, 1], last[:, 0]), axis=1
    )
    there = curves[:, :1] * b0 + curves[:, 1:2] * b1 + curves[:, 2:3] * b2 + curves[:, 3:] * b3
    return curves, np.abs(there - samples).max(axis=1)


def _mended(curves: Points, samples: Points, u: Floats) -> Floats:
    """Parameters one Newton step nearer to the points' feet on the curves."""
    s = 1 - u
    p = [curves[:, k : k + 1] for k in range(4)]
    at = p[0] * s**3 + 3 * p[1] * s * s * u + 3 * p[2] * s * u * u + p[3] * u**3
    d = [3 * (p[k + 1] - p[k]) for k in range(3)]
    first = d[0] * s * s + 2 * d[1] * s * u + d[2] * u * u
    second = 2 * (d[1] - d[0]) * s + 2 * (d[2] - d[1]) * u
    off = at - samples
    top = (off * first.conj()).real
    bottom = np.abs(first) ** 2 + (off * second.conj()).real
    step = np.divide(top, bottom, out=np.zeros_like(top), where=np.abs(bottom) > 1e-18)
    newer = np.clip(u - step, 0, 1)
    newer[:, 0], newer[:, -1] = 0.0, 1.0
    return np.sort(newer, axis=1)
