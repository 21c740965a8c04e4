"""Closed contours in font units, y up, and what can be told of a set of them: area, box, windings."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from render.geometry import CLOSE, LINE, MOVE, Path
from render.geometry.path import POINTS_PER_COMMAND

Points = NDArray[np.complex128]
Floats = NDArray[np.float64]

GRID: Final = 64
"""Contours lie on a grid of 1/64 unit: sums with whole units are then exact even in 32-bit floats."""

STEPS: Final = 8
"""Chords that stand for one curve where windings are counted."""


@dataclass(frozen=True, slots=True, eq=False)
class Contour:
    """One closed contour: it starts where its last segment ends.

    Attributes:
        codes: LINE, QUAD or CUBIC, shape (n,).
        points: controls and end of each segment, shape (m,), font units.
    """

    codes: NDArray[np.uint8]
    points: Points

    def ends(self) -> NDArray[np.int64]:
        """For each segment the index of its end point."""
        return np.cumsum(POINTS_PER_COMMAND[self.codes]) - 1

    def moved(self, by: complex) -> Contour:
        """Shifted."""
        return Contour(self.codes, self.points + by)

    def reversed(self) -> Contour:
        """Run through the other way."""
        points = np.concatenate((self.points[-2::-1], self.points[-1:]))
        return Contour(self.codes[::-1].copy(), points)

    def segments(self) -> list[Points]:
        """The control points of each segment, start and end included."""
        ends = self.ends()
        begins = np.append(-1, ends[:-1])
        closed = np.append(self.points, self.points[-1])  # index -1 is then the start
        return [closed[np.arange(b, e + 1)] for b, e in zip(begins, ends, strict=True)]


def on_grid(points: Points) -> Points:
    """Rounded to the grid."""
    return np.asarray(np.rint(points.real * GRID) / GRID + 1j * (np.rint(points.imag * GRID) / GRID))


def closed_contour(codes: Sequence[int], points: Sequence[complex], start: complex) -> Contour | None:
    """A contour on the grid from segments drawn from `start`, closed by a line; None if it has no extent."""
    pool = on_grid(np.array([start, *points], np.complex128))
    kinds = np.array(codes, np.uint8)
    if pool[0] != pool[-1]:
        pool, kinds = np.append(pool, pool[0]), np.append(kinds, np.uint8(LINE))
    counts = POINTS_PER_COMMAND[kinds]
    first = np.cumsum(counts) - counts  # of each segment's start, in `pool`
    still = np.ones(kinds.size, bool)
    for step in (1, 2, 3):
        reach = counts >= step
        still[reach] &= pool[first[reach] + step] == pool[first[reach]]
    if still.any():
        pool = np.append(pool[:1], pool[1:][np.repeat(~still, counts)])
        kinds = kinds[~still]
    return Contour(kinds, pool[1:]) if pool.size > 2 else None


@dataclass(frozen=True, slots=True, eq=False)
class Segments:
    """The segments of many contours by degree: control points, shapes (n, 2), (n, 3), (n, 4)."""

    lines: Points
    quads: Points
    cubics: Points

    @classmethod
    def of(cls, contours: Iterable[Contour]) -> Segments:
        """All segments of the contours."""
        every = list(contours)
        if not every:
            return cls(*(np.empty((0, n), np.complex128) for n in (2, 3, 4)))
        codes = np.concatenate([c.codes for c in every])
        points = np.concatenate([c.points for c in every])
        counts = POINTS_PER_COMMAND[codes]
        ends = np.cumsum(counts) - 1
        sizes = np.cumsum([c.codes.size for c in every])
        start = np.roll(ends, 1)  # the segment before ends where this one starts,
        start[np.append(0, sizes[:-1])] = ends[sizes - 1]  # the first one where the contour's last ends
        kinds = []
        for degree in (1, 2, 3):
            rows = np.flatnonzero(codes == degree)
            index = ends[rows][:, None] + np.arange(1 - degree, 1)
            kinds.append(points[np.concatenate((start[rows][:, None], index), axis=1)])
        return cls(*kinds)

    def area(self) -> float:
        """Signed area, positive where contours run counter-clockwise in y up (Green's theorem)."""
        p, q, r = self.lines.T, self.quads.T, self.cubics.T
        lines = _cross(p[0], p[1]) / 2
        quads = (2 * _cross(q[0], q[1]) + 2 * _cross(q[1], q[2]) + _cross(q[0], q[2])) / 6
        weights = ((0, 1, 6), (0, 2, 3), (0, 3, 1), (1, 2, 3), (1, 3, 3), (2, 3, 6))
        return lines + quads + sum(w * _cross(r[a], r[b]) for a, b, w in weights) / 20

    def edges(self, steps: int = STEPS) -> tuple[Points, Points]:
        """Chords of all segments, in no particular order: their starts and their ends."""
        t = np.arange(1, steps) / steps
        s = 1 - t
        q, r = self.quads, self.cubics
        inner_q = q @ np.stack((s * s, 2 * s * t, t * t)) if q.size else np.empty((0, steps - 1))
        basis = np.stack((s**3, 3 * s * s * t, 3 * s * t * t, t**3))
        inner_r = r @ basis if r.size else np.empty((0, steps - 1))
        curves = np.concatenate(
            (np.hstack((q[:, :1], inner_q, q[:, 2:])), np.hstack((r[:, :1], inner_r, r[:, 3:])))
        )
        begins = np.concatenate((self.lines[:, 0], curves[:, :-1].reshape(-1)))
        ends = np.concatenate((self.lines[:, 1], curves[:, 1:].reshape(-1)))
        return np.asarray(begins, np.complex128), np.asarray(ends, np.complex128)


def _cross(a: Points, b: Points) -> float:
    """Sum of the cross products of vectors."""
    return float((a.conj() * b).imag.sum())


def area(contours: Iterable[Contour]) -> float:
    """Signed area of all contours together, square units."""
    return Segments.of(contours).area()


def outline(contours: Sequence[Contour]) -> Path:
    """The contours as a path, still in font units and y up."""
    codes = [piece for c in contours for piece in ([MOVE], c.codes, [CLOSE])]
    points = [piece for c in contours for piece in (c.points[-1:], c.points)]
    if not contours:
        return Path.empty()
    return Path(np.concatenate(codes).astype(np.uint8), np.concatenate(points))


def winding(begins: Points, ends: Points, at: complex) -> int:
    """How often the chords of closed contours go round a point that lies on none of them."""
    low = begins.imag <= at.imag
    crossing = np.flatnonzero(low != (ends.imag <= at.imag))
    b, e = begins[crossing], ends[crossing]
    x = b.real + (at.imag - b.imag) / (e.imag - b.imag) * (e.real - b.real)
    right = x > at.real
    return int(np.where(low[crossing][right], 1, -1).sum())


def scan(begins: Points, ends: Points, heights: Floats) -> tuple[Floats, Floats]:
    """Where horizontal lines are covered.

    Args:
        begins: starts of the chords of closed contours.
        ends: their ends.
        heights: y of each line, shape (k,).

    Returns:
        For each line the length with a winding other than 0 (the non-zero rule), and the length where it is
        neither 0 nor 1 (which united outlines never show).
    """
    low = begins.imag <= heights[:, None]
    line, chord = np.nonzero(low != (ends.imag <= heights[:, None]))
    b, e = begins[chord], ends[chord]
    x = b.real + (heights[line] - b.imag) / (e.imag - b.imag) * (e.real - b.real)
    order = np.lexsort((x, line))
    turns = np.where(low[line, chord], -1, 1)[order].cumsum()[:-1]
    gaps = np.diff(x[order])
    inside = turns != 0  # between two lines it is 0, as contours are closed
    covered = np.bincount(line[order][:-1][inside], gaps[inside], heights.size)
    strange = inside & (turns != 1)
    wrong = np.bincount(line[order][:-1][strange], gaps[strange], heights.size)
    return np.asarray(covered, np.float64), np.asarray(wrong, np.float64)
