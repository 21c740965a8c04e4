"""Letters brought together until each overlaps the one before it by a stated height."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import islice
from typing import Final

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from render.fitting.habits import LEAST_GAP_EM, WORD_GAP_EM, Keeping, habit_of
from render.fitting.solids import Memory, Points
from render.geometry import Path

ROWS: Final = 6
"""Rows into which the height of an overlap is divided."""

DEPTH: Final = 0.25
"""How deep letters overlap in all of these rows, in necks: not at a mere touch."""

Floats = NDArray[np.float64]


def brought_together(
    clusters: Sequence[Path],
    neck: float,
    most: float,
    size: float,
    scripts: Sequence[str] = (),
    room: float = 0.0,
    grow: float = 0.0,
) -> list[float]:
    """By how much each cluster of a line is moved to the left, mm.

    Each is moved towards what stands before it until, over a height of one neck, they overlap in depth; or as
    far as it may. What meets already stays. After an empty cluster (a space) words are drawn nearer by
    twice as much, but never together. Letters of scripts that must not touch keep a gap instead, for which
    they are moved to the right where there is room; those that the font joins stay where they are.

    Args:
        clusters: outlines from left to right, in place, mm; without contours where there is no ink.
        neck: height of an overlap, mm.
        most: how far a letter may be moved towards the one before it, mm.
        size: mm to the em.
        scripts: of each cluster (ISO 15924); none where all are Latin.
        room: by how much the line may become longer, mm.
        grow: how far outlines will yet be moved outward, mm; letters that keep apart keep apart then too.
    """
    contours = [list(path.contours()) for path in clusters]
    every = iter(Memory(remembers=False).rings(contour for some in contours for contour in some))
    loops = [list(islice(every, len(some))) for some in contours]
    inked = [loop for some in loops for loop in some]
    if sum(bool(some) for some in loops) < 2:
        return [0.0] * len(clusters)
    step = neck / ROWS
    top, foot = min(loop.imag.min() for loop in inked), max(loop.imag.max() for loop in inked)
    rows = np.asarray(top + step * (np.arange(int((foot - top) / step) + 1) + 0.5), np.float64)
    right = np.full(rows.size, -np.inf)
    habits = [habit_of(script) for script in scripts] or [habit_of("Latn")] * len(loops)
    before, least = habits[0], LEAST_GAP_EM * size + 2 * grow
    moved, total, space = [], 0.0, False
    for some, habit in zip(loops, habits, strict=True):
        if not some:
            space = True
            moved.append(total)
            continue
        low, high = _profile(some, rows)
        if np.isfinite(right).any():
            gap = low - total - right
            if space:
                kept = max(before.word_gap, habit.word_gap)
                wide = low.min() - total - right.max() if kept > WORD_GAP_EM else np.min(gap)
                total += min(max(float(wide) - kept * size, 0.0), 2 * most)
            elif before.keeping is habit.keeping is Keeping.TOUCH:
                total += _needed(gap, DEPTH * neck, most) if float(np.min(gap)) > 0 else 0.0
            elif not before.keeping is habit.keeping is Keeping.SHAPED:
                total -= min(max(least - float(np.min(gap)), 0.0), max(room + total, 0.0))
        right = np.maximum(right, high - total)
        moved.append(total)
        space, before = False, habit
    return moved


def _needed(gap: Floats, depth: float, most: float) -> float:
    """The least move after which gaps of a neck's height in a row are all overlaps of `depth`."""
    if gap.size < ROWS:
        return 0.0
    worst = sliding_window_view(gap, ROWS).max(axis=1)
    return min(max(float(worst.min()) + depth, 0.0), most)


def _profile(loops: Sequence[Points], rows: Floats) -> tuple[Floats, Floats]:
    """The leftmost and rightmost x of closed loops at each row; +inf and -inf where it has none."""
    low, high = np.full(rows.size, np.inf), np.full(rows.size, -np.inf)
    for ring in loops:
        a, b = ring, np.roll(ring, -1)
        upper, lower = np.where(a.imag <= b.imag, a, b), np.where(a.imag <= b.imag, b, a)
        first = np.searchsorted(rows, upper.imag)
        count = np.searchsorted(rows, lower.imag) - first
        edge = np.repeat(np.arange(a.size), count)
        row = np.arange(edge.size) - np.repeat(np.cumsum(count) - count, count) + first[edge]
        share = (rows[row] - upper.imag[edge]) / (lower.imag[edge] - upper.imag[edge])
        x = upper.real[edge] + share * (lower.real[edge] - upper.real[edge])
        np.minimum.at(low, row, x)
        np.maximum.at(high, row, x)
    return low, high
