"""Where a full turn begins, and how what goes all round meets its own beginning."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from render.geometry import Path

Floats = NDArray[np.float64]

TURN: Final = 2 * math.pi
_AT_RIM: Final = 1e-6


def extents(path: Path) -> tuple[Floats, Floats, Floats, Floats]:
    """For each contour its least and greatest angle and height: of its points, which bound its curves too."""
    begins = path.starts()
    x, y = path.points.real, path.points.imag
    return (
        np.minimum.reduceat(x, begins),
        np.maximum.reduceat(x, begins),
        np.minimum.reduceat(y, begins),
        np.maximum.reduceat(y, begins),
    )


def widest_gap(low: Floats, high: Floats) -> tuple[float, float]:
    """The middle and width, radians, of the widest strip that no contour reaches into; (0, 0) if none.

    `low` and `high` are the least and greatest angle of each contour.
    """
    if not low.size:
        return 0.0, TURN
    order = np.argsort(low, kind="stable")
    low, high = low[order], np.maximum.accumulate(high[order])
    starts, ends = high, np.append(low[1:], low[0] + TURN)
    gaps = ends - starts
    best = int(np.argmax(gaps))
    if gaps[best] <= _AT_RIM:
        return 0.0, 0.0
    return float((starts[best] + ends[best]) / 2 % TURN), float(gaps[best])


def begun_at(path: Path, start: float, low: Floats, high: Floats) -> Path:
    """The same contours on a turn that begins at angle `start`, which none of them crosses.

    `low` and `high` are the least and greatest angle of each contour.
    """
    if not path:
        return path
    begins = path.starts()
    turns = np.floor(((low + high) / 2 - start) / TURN)
    shift = np.repeat(start + turns * TURN, np.diff(np.append(begins, path.points.size)))
    return Path(path.commands, path.points - shift)


def run_on(path: Path, by: float) -> Path:
    """Contours that go all round made longer at their end by the angle `by`, so that they close for sure."""
    if not path or by <= 0:
        return path
    begins = path.starts()
    low, high, _, _ = extents(path)
    all_round = (low < _AT_RIM) & (high > TURN - _AT_RIM)
    mine = np.repeat(all_round, np.diff(np.append(begins, path.points.size)))
    last = mine & (path.points.real > TURN - _AT_RIM)
    return Path(path.commands, path.points + by * last)
