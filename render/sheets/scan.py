"""Filled areas as scan lines: where on each line there is something to burn, and how long sweeping takes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from render.model import Motion
from render.sheets.chords import Chain, Floats, Points
from render.sheets.motion import seconds_of_moves, trapezoid

Ints = NDArray[np.int64]

MOST_CROSSINGS: Final = 40_000_000
"""More crossings of outlines with scan lines than this are refused, since they would not fit the memory."""


@dataclass(frozen=True, slots=True)
class Runs:
    """Stretches of scan lines to burn; one row a stretch, ordered by sweep and then by x.

    Attributes:
        group: what is swept by itself.
        line: number of the scan line; line k lies at y = (k + ½) interval.
        begin, end: x in mm.
    """

    group: Ints
    line: Ints
    begin: Floats
    end: Floats

    def burned(self) -> float:
        """Length of all stretches together, mm."""
        return float((self.end - self.begin).sum())


def runs(chain: Chain, part: Ints, group: Ints, interval: float) -> Runs:
    """Where scan lines along x meet filled outlines.

    Outlines of one `part` are filled together by the non-zero rule; parts of one `group` are swept together,
    and what two of them cover is burned once.

    Args:
        chain: closed contours.
        part: for each contour the number of its part.
        group: for each part the number of its group.
        interval: distance of scan lines, mm.

    Raises:
        ValueError: the interval is not positive, or so small that there are too many crossings.
    """
    if not interval > 0:
        raise ValueError("the interval of scan lines must be positive")
    rows, line, x, sign = _crossings(chain, interval)
    belongs = part[chain.contour[rows]]
    begins, ends = _covered(x, sign, (x, line, belongs))
    filled, lines = belongs[begins], line[begins]
    start, stop = x[begins], x[ends]
    sweeps = group[filled]
    both = np.concatenate((start, stop))
    ups = np.repeat(np.array([1, -1]), start.size)
    twice = (np.tile(lines, 2), np.tile(sweeps, 2))
    begins, ends = _covered(both, ups, (-ups, both, *twice))
    return Runs(twice[1][begins], twice[0][begins], both[begins], both[ends])


def _crossings(chain: Chain, interval: float) -> tuple[Ints, Ints, Floats, Ints]:
    """Of every crossing: the line of the chain, the scan line, x, and +1 downwards or −1 upwards.

    A line that begins on a scan line crosses it and one that ends there does not, so that each corner counts
    once.
    """
    y0, y1 = chain.start.imag, chain.end.imag
    first = np.ceil(np.minimum(y0, y1) / interval - 0.5).astype(np.int64)
    last = np.ceil(np.maximum(y0, y1) / interval - 0.5).astype(np.int64)
    counts = last - first
    total = int(counts.sum())
    if total > MOST_CROSSINGS:
        raise ValueError(f"an interval of {interval:g} mm gives {total} crossings: too many")
    rows = np.repeat(np.arange(counts.size), counts)
    nth = np.arange(total) - np.repeat(np.cumsum(counts) - counts, counts)
    line = first[rows] + nth
    share = ((line + 0.5) * interval - y0[rows]) / (y1 - y0)[rows]
    x = chain.start.real[rows] + share * (chain.end - chain.start).real[rows]
    return rows, line, x, np.sign(y1 - y0)[rows].astype(np.int64)


def _covered(x: Floats, sign: Ints, keys: tuple[NDArray[Any], ...]) -> tuple[Ints, Ints]:
    """Indices at which a count of +1 and −1 leaves 0 and returns to it, in the order of `keys`.

    As numpy's lexsort has it, the last key counts most. Stretches without length are left out.
    """
    order = np.lexsort(keys)
    depth = np.cumsum(sign[order])
    before = depth - sign[order]
    begins, ends = order[(before == 0) & (depth != 0)], order[(before != 0) & (depth == 0)]
    longer = x[begins] != x[ends]
    return begins[longer], ends[longer]


@dataclass(frozen=True, slots=True)
class Sweeps:
    """What sweeping takes.

    Attributes:
        seconds: all in all, from the first run-up to the last run-out.
        first, last: where the head is before the first run-up and after the last run-out, x + iy, mm.
        count: how many lines are swept.
        run_up: mm before the first and after the last stretch of each line.
    """

    seconds: float
    first: complex
    last: complex
    count: int
    run_up: float


def sweep(
    stretches: Runs, interval: float, speed: float, motion: Motion, *, both_ways: bool
) -> Sweeps | None:
    """Seconds to burn stretches line by line at `speed` mm/s; None where there are none.

    Each line is run up to, from rest, over v²/2a, swept from its first stretch to its last at an even speed,
    and run out of over the same distance; a line without stretches is left out. From rest to rest the head
    then goes to the next line: to its nearer end where it burns both ways, else back to the same end. With
    `motion.hurries` a gap is crossed faster where there is room to speed up and brake.
    """
    if not stretches.line.size:
        return None
    new = np.flatnonzero(
        np.concatenate(([True], (np.diff(stretches.line) != 0) | (np.diff(stretches.group) != 0)))
    )
    left = stretches.begin[new]
    right = stretches.end[np.append(new[1:], stretches.line.size) - 1]
    y = (stretches.line[new] + 0.5) * interval
    v, a = min(speed, motion.fastest[0]), motion.acceleration[0]
    run_up = v * v / (2 * a)
    back = (np.arange(new.size) % 2 == 1) & both_ways
    near, far = left - run_up + 1j * y, right + run_up + 1j * y
    enter, leave = np.where(back, far, near), np.where(back, near, far)
    swept = 2 * v / a * new.size + float((right - left).sum()) / v
    if motion.hurries:
        swept -= _saved(stretches, new, v, a, motion.fastest[0])
    between: Points = enter[1:] - leave[:-1]
    seconds = swept + float(seconds_of_moves(between, motion).sum())
    return Sweeps(seconds, complex(enter[0]), complex(leave[-1]), int(new.size), run_up)


def _saved(stretches: Runs, new: Ints, v: float, a: float, fastest: float) -> float:
    """Seconds won by crossing the gaps within lines as fast as the machine can."""
    inner = np.ones(stretches.line.size, np.bool_)
    inner[new] = False
    at = np.flatnonzero(inner)
    gap = stretches.begin[at] - stretches.end[at - 1]
    full = [np.full(gap.size, value) for value in (fastest, a, v, v)]
    return float((gap / v - trapezoid(gap, *full)).sum()) if gap.size else 0.0
