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


@dataclass(frozen=True, slots=True)
class Run:
    """A smooth stretch: its points, and the unit tangent that the curve has at each of them."""

    points: Points
    tangents: Points


def fit_runs(runs: list[Run], tolerance: float) -> list[Points]:
    """For each run the control points of cubics after its first point, shape (3n,).

    Least squares with given end tangents and parameters mended by Newton's method (after P. J. Schneider,
    "An algorithm for automatically fitting digitized curves", Graphics Gems, 1990). The points of a run lie
    within `tolerance` mm of its cubics, and cubics of one run meet without a corner. A stretch that resists
    halving to two points stays a straight line.

    Args:
        runs: each of at least two different points.
        tolerance: mm.
    """
    lengths = [np.concatenate(([0.0], np.cumsum(np.abs(np.diff(r.points))))) for r in runs]
    waiting = [(i, 0.0, float(s[-1])) for i, s in enumerate(lengths)]
    done: list[list[tuple[float, Points]]] = [[] for _ in runs]
    for halving in range(_HALVINGS + 1):
        if not waiting:
            break
        samples, tangents = _sampled(runs, lengths, waiting)
        curves, errors = _fitted(samples, tangents)
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
    samples = np.empty((len(parts), _SAMPLES), np.complex128)
    tangents = np.empty((len(parts), 2), np.complex128)
    for row, (i, low, high) in enumerate(parts):
        at = np.linspace(low, high, _SAMPLES)
        samples[row] = np.interp(at, lengths[i], runs[i].points)
        ends = np.interp(at[[0, -1]], lengths[i], runs[i].tangents)
        tangents[row] = ends / np.maximum(np.abs(ends), 1e-12)
    return samples, tangents


def _fitted(samples: Points, tangents: Points) -> tuple[Points, Floats]:
    """The cubic of each row, shape (n, 4), and how far its points are from it."""
    steps = np.abs(np.diff(samples, axis=1))
    u = np.concatenate((np.zeros((len(samples), 1)), np.cumsum(steps, axis=1)), axis=1)
    u /= np.maximum(u[:, -1:], 1e-12)
    curves, errors = _solved(samples, tangents, u)
    for _ in range(_ROUNDS):
        u = _mended(curves, samples, u)
        newer, off = _solved(samples, tangents, u)
        better = off < errors
        curves[better], errors[better] = newer[better], off[better]
    return curves, errors


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
