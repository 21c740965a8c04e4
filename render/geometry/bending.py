"""Paths bent by a smooth map: their Béziers subdivided until the bent ones follow the map."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from render.geometry.path import CLOSE, CUBIC, LINE, MOVE, QUAD, Path

Points = NDArray[np.complex128]
Floats = NDArray[np.float64]
Bend = Callable[[Points], Points]
"""A smooth map of the plane, of many points at once."""

BEND_TOLERANCE_MM: Final = 0.005
"""Default distance between a bent curve and the map: a tenth of a fine laser spot."""

_DEEPEST: Final = 7
_STEP: Final = 1e-4
_ONCE: Final = np.zeros(1)


@dataclass(frozen=True, slots=True)
class Curves:
    """The drawn segments of a path as cubics.

    Attributes:
        controls: control points, shape (n, 4).
        contour: number of the contour of each, shape (n,).
        closed: whether each contour is closed.
        starts: where each contour begins.
        straight: whether each segment is a straight line, shape (n,).
    """

    controls: Points
    contour: NDArray[np.int64]
    closed: tuple[bool, ...]
    starts: Points
    straight: NDArray[np.bool_]


def curves_of(path: Path) -> Curves:
    """The segments of a path as cubics, the straight line home included where it has a length."""
    rows: list[tuple[complex, complex, complex, complex]] = []
    contour: list[int] = []
    straight: list[bool] = []
    closed: list[bool] = []
    starts: list[complex] = []
    points, at, pen = path.points.tolist(), 0, 0j
    for command in path.commands.tolist():
        if command == MOVE:
            pen = points[at]
            starts.append(pen)
            closed.append(False)
        elif command == CLOSE:
            closed[-1] = True
            if abs(pen - starts[-1]) > 1e-12:
                rows.append(_line(pen, starts[-1]))
                contour.append(len(starts) - 1)
                straight.append(True)
            continue
        else:
            end = points[at + command - 1]
            if command == LINE:
                rows.append(_line(pen, end))
            elif command == QUAD:
                bend = points[at]
                rows.append((pen, pen + (bend - pen) * 2 / 3, end + (bend - end) * 2 / 3, end))
            else:
                rows.append((pen, points[at], points[at + 1], end))
            contour.append(len(starts) - 1)
            straight.append(command == LINE)
            pen = end
        at += (1, 1, 2, 3, 0)[command]
    controls = np.array(rows, np.complex128).reshape(-1, 4)
    return Curves(
        controls,
        np.array(contour, np.int64),
        tuple(closed),
        np.array(starts, np.complex128),
        np.array(straight, bool),
    )


def _line(a: complex, b: complex) -> tuple[complex, complex, complex, complex]:
    return a, a + (b - a) / 3, b - (b - a) / 3, b


def on_curves(controls: Points, t: Floats) -> Points:
    """Points of cubics, shape (n, 4), at parameters t, shape (n,) or (n, k)."""
    c = controls if t.ndim == 1 else controls[:, :, None]
    s = 1 - t
    return np.asarray(c[:, 0] * s**3 + 3 * c[:, 1] * (s * s * t) + 3 * c[:, 2] * (s * t * t) + c[:, 3] * t**3)


def bent(path: Path, bend: Bend, tolerance: float = BEND_TOLERANCE_MM) -> Path:
    """The path mapped by `bend`, as cubics that leave the mapped curves by about `tolerance` mm at most.

    Each piece of a curve takes the mapped ends and end derivatives of the piece (Hermite interpolation: its
    error falls with the fourth power of its length); where its middle third points leave the map by more than
    the tolerance, the piece is halved and tried again.
    """
    curves = curves_of(path)
    if not curves.controls.size:
        return path
    segment = np.arange(len(curves.controls))
    low, high = np.zeros(segment.size), np.ones(segment.size)
    done: list[tuple[NDArray[np.int64], Floats, Points]] = []
    for depth in range(_DEEPEST + 1):
        controls = curves.controls[segment]
        fitted = _fitted(controls, low, high, bend)
        off = np.zeros(segment.size)
        for t in (1 / 3, 2 / 3):
            true = bend(on_curves(controls, low + (high - low) * t))
            off = np.maximum(off, np.abs(on_curves(fitted, np.full(segment.size, t)) - true))
        good = (off <= tolerance) | (depth == _DEEPEST)
        done.append((segment[good], low[good], fitted[good]))
        segment, low, high = segment[~good], low[~good], high[~good]
        if not segment.size:
            break
        middle = (low + high) / 2
        segment = np.concatenate((segment, segment))
        low, high = np.concatenate((low, middle)), np.concatenate((middle, high))
    number = np.concatenate([s for s, _, _ in done])
    begin = np.concatenate([b for _, b, _ in done])
    order = np.lexsort((begin, number))
    fitted = np.concatenate([f for _, _, f in done])[order]
    return as_path(fitted, curves.contour[number[order]], curves.closed)


def _fitted(controls: Points, low: Floats, high: Floats, bend: Bend) -> Points:
    """Cubics through the mapped ends of pieces of cubics, with the mapped end derivatives."""
    size = low.size
    t = np.concatenate((low, low - _STEP, low + _STEP, high, high - _STEP, high + _STEP))
    mapped = bend(on_curves(np.tile(controls, (6, 1)), t))
    a, a0, a1, b, b0, b1 = (mapped[k * size : (k + 1) * size] for k in range(6))
    reach = (high - low) / (6 * _STEP)
    return np.stack((a, a + (a1 - a0) * reach, b - (b1 - b0) * reach, b), axis=1)


def as_path(cubics: Points, contour: NDArray[np.int64], closed: tuple[bool, ...]) -> Path:
    """Cubics in order, shape (n, 4), as a path; each contour begins where its first cubic does."""
    commands: list[NDArray[np.uint8]] = []
    points: list[Points] = []
    for number, is_closed in enumerate(closed):
        mine = cubics[contour == number]
        if not len(mine):
            continue
        body = mine[:, 1:].reshape(-1).copy()
        if is_closed:
            body[-1] = mine[0, 0]
        commands.append(np.array([MOVE, *[CUBIC] * len(mine), *([CLOSE] if is_closed else [])], np.uint8))
        points.append(np.concatenate((mine[0, :1], body)))
    if not commands:
        return Path.empty()
    return Path(np.concatenate(commands), np.concatenate(points))
