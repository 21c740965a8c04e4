"""Closed contours in font units, y up, and what can be told of a set of them: area, box, windings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from render.geometry import CLOSE, CUBIC, LINE, MOVE, Path
from render.geometry.path import POINTS_PER_COMMAND

Points = NDArray[np.complex128]
Floats = NDArray[np.float64]
Edges = tuple[Points, Points]
"""Starts and ends of straight chords."""

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
    return np.rint(np.ascontiguousarray(points).view(np.float64) * GRID).view(np.complex128) / GRID


def closed_contour(codes: NDArray[np.uint8], points: Points) -> Contour | None:
    """A contour on the grid, closed by a line if need be; None if it has no extent.

    Args:
        codes: of its segments, shape (n,).
        points: the start, then the points of each segment.
    """
    points = on_grid(points)
    if points[0] != points[-1]:
        points, codes = np.append(points, points[0]), np.append(codes, np.uint8(LINE))
    ends = np.cumsum(codes, dtype=np.int64)
    still = points[ends] == points[ends - codes]
    if still.any():
        for step in (1, 2):  # a curve that comes back to its start still has extent
            reach = codes > step
            still[reach] &= points[ends[reach] - step] == points[ends[reach]]
        points = np.append(points[:1], points[1:][np.repeat(~still, codes)])
        codes = codes[~still]
    return Contour(codes, points[1:]) if points.size > 2 else None


@dataclass(frozen=True, slots=True, eq=False)
class Segments:
    """All segments of some contours as cubics, in order; lines and quadratics are raised to that degree.

    Attributes:
        controls: control points, shape (n, 4).
        sizes: how many segments each contour has.
    """

    controls: Points
    sizes: NDArray[np.int64]

    @classmethod
    def of(cls, contours: Sequence[Contour]) -> Segments:
        """The segments of the contours."""
        if not contours:
            return cls(np.empty((0, 4), np.complex128), np.empty(0, np.int64))
        codes = np.concatenate([c.codes for c in contours])
        points = np.concatenate([c.points for c in contours])
        sizes = np.array([c.codes.size for c in contours])
        last = np.cumsum(sizes) - 1
        ends = np.cumsum(codes, dtype=np.int64) - 1
        before = np.append(0, ends[:-1])  # the segment before ends where this one starts,
        before[last - sizes + 1] = ends[last]  # the first one where the contour's last ends
        controls = np.empty((codes.size, 4), np.complex128)
        controls[:, 0] = start = points[before]
        controls[:, 3] = end = points[ends]
        bend = np.where(codes == LINE, (start + end) / 2, points[ends - 1])
        controls[:, 1] = start + (bend - start) * (2 / 3)
        controls[:, 2] = end + (bend - end) * (2 / 3)
        cubic = np.flatnonzero(codes == CUBIC)
        if cubic.size:
            controls[cubic, 1] = points[ends[cubic] - 2]
            controls[cubic, 2] = points[ends[cubic] - 1]
        return cls(controls, sizes)

    def areas(self) -> Floats:
        """Signed area of each contour, positive where it runs counter-clockwise in y up (Green's theorem)."""
        if not self.sizes.size:
            return np.empty(0)
        x, y = self.controls.real.T, self.controls.imag.T
        swept = (x * (_AREA @ y)).sum(axis=0)
        return np.add.reduceat(swept, np.cumsum(self.sizes) - self.sizes)

    def edges(self, steps: int = STEPS) -> Edges:
        """Chords of all segments, `steps` of each, in order: their starts and their ends."""
        places = self.controls @ _bernstein(steps)
        return places[:, :-1].reshape(-1), places[:, 1:].reshape(-1)


_AREA: Final = np.array(((0, 6, 3, 1), (-6, 0, 3, 3), (-3, -3, 0, 6), (-1, -3, -6, 0))) / 20
"""Half the integral of x dy - y dx along a cubic is the sum of these times x and y of its control points."""


@cache
def _bernstein(steps: int) -> Points:
    """Weights of four control points at equal steps of t from 0 to 1."""
    t = np.arange(steps + 1) / steps
    s = 1 - t
    return np.stack((s**3, 3 * s * s * t, 3 * s * t * t, t**3)).astype(np.complex128)


def area(contours: Sequence[Contour]) -> float:
    """Signed area of all contours together, square units."""
    return float(Segments.of(contours).areas().sum())


def outline(contours: Sequence[Contour]) -> Path:
    """The contours as a path, still in font units and y up."""
    codes = [piece for c in contours for piece in ([MOVE], c.codes, [CLOSE])]
    points = [piece for c in contours for piece in (c.points[-1:], c.points)]
    if not contours:
        return Path.empty()
    return Path(np.concatenate(codes).astype(np.uint8), np.concatenate(points))


def winding(edges: Edges, at: complex) -> int:
    """How often the chords of closed contours go round a point that lies on none of them."""
    begins, ends = edges
    low = begins.imag <= at.imag
    crossing = np.flatnonzero(low != (ends.imag <= at.imag))
    b, e = begins[crossing], ends[crossing]
    x = b.real + (at.imag - b.imag) / (e.imag - b.imag) * (e.real - b.real)
    right = x > at.real
    return int(np.where(low[crossing][right], 1, -1).sum())


def scan(drawn: Edges, united: Edges, heights: Floats) -> Floats:
    """How far united contours differ from drawn ones along horizontal lines.

    Args:
        drawn: chords of closed contours that may overlap.
        united: chords of contours that should cover the same, once.
        heights: y of each line, ascending and evenly spaced, shape (k,).

    Returns:
        For each line the length of all places that only one of the two covers by the non-zero rule, or where
        the united contours wind otherwise than once.
    """
    begins, ends = (np.concatenate(pair) for pair in zip(drawn, united, strict=True))
    spacing = heights[1] - heights[0]
    from_, to = (
        np.clip(np.ceil((points.imag - heights[0]) / spacing), 0, heights.size).astype(np.int64)
        for points in (begins, ends)
    )  # the first line at or above each point, the same wherever a point occurs
    chord = np.flatnonzero(from_ != to)
    first = np.minimum(from_, to)[chord]
    counts = np.abs(to - from_)[chord]
    line = np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts - first, counts)
    chord = np.repeat(chord, counts)
    b, e = begins[chord], ends[chord]
    x = b.real + (heights[line] - b.imag) / (e.imag - b.imag) * (e.real - b.real)
    order = np.lexsort((x, line))
    line, chord = line[order], chord[order]
    turns = np.where(b.imag < e.imag, -1, 1)[order]  # to the right of it; 0 between lines, as contours close
    is_drawn = chord < drawn[0].size
    before = np.cumsum(turns * is_drawn)[:-1] != 0
    after = np.cumsum(turns * ~is_drawn)[:-1]
    wrong = np.where(before, after != 1, after != 0)
    return np.bincount(line[:-1][wrong], np.diff(x[order])[wrong], heights.size).astype(np.float64)
