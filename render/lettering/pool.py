"""All outline points of one font in one array, so that any part of any contour is a slice of it.

Each contour lies in the pool twice over: a cyclic range of its segments, with the point before it, is then
one slice. A slice is written as one whole number (a *piece*), so that the pieces of a word are a small
array::

    start << 35 | count << 15 | glyph << 1 | lead

`glyph` is the place in its line of the glyph that moves the slice, `lead` says that the slice begins a
contour and its first point is a move.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from render.lettering.contours import Contour, Edges, Points, Segments, outline

START_SHIFT: Final = 35
COUNT_SHIFT: Final = 15
COUNT_MASK: Final = (1 << 20) - 1
GLYPH_MASK: Final = (1 << 14) - 1
LEAD: Final = 1


def piece(start: int, count: int, lead: bool) -> int:
    """The slice as one number, for the glyph at place 0."""
    if count > COUNT_MASK:
        raise ValueError("an outline has too many points")
    return start << START_SHIFT | count << COUNT_SHIFT | lead


class Pool:
    """Growing arrays of segments and their points."""

    def __init__(self) -> None:
        self._points = np.empty(1 << 14, np.complex128)
        self._segments = np.empty(1 << 14, np.int64)
        self._codes = np.empty(1 << 14, np.uint8)
        self._size = self._known = 0

    @property
    def points(self) -> Points:
        """All points so far, font units, y up."""
        return self._points[: self._size]

    @property
    def segments(self) -> NDArray[np.int64]:
        """For each point the number of its segment."""
        return self._segments[: self._size]

    @property
    def codes(self) -> NDArray[np.uint8]:
        """The command of each segment."""
        return self._codes[: self._known]

    def add(self, codes: NDArray[np.uint8], points: Points) -> int:
        """Put segments at the end; where their points begin."""
        start, end = self._size, self._size + points.size
        first, known = self._known, self._known + codes.size
        while end > self._points.size:  # segments are never more than points
            self._points = np.concatenate((self._points, np.empty_like(self._points)))
            self._segments = np.concatenate((self._segments, np.empty_like(self._segments)))
            self._codes = np.concatenate((self._codes, np.empty_like(self._codes)))
        self._points[start:end] = points
        self._codes[first:known] = codes
        self._segments[start:end] = np.repeat(np.arange(first, known), codes)
        self._size, self._known = end, known
        return start

    def mark(self) -> tuple[int, int]:
        """How much there is, to come back to."""
        return self._size, self._known

    def back_to(self, mark: tuple[int, int]) -> None:
        """Forget all that was put in since."""
        self._size, self._known = mark


@dataclass(frozen=True, slots=True)
class Ring:
    """One contour in the pool.

    Attributes:
        segments: how many it has.
        base: number of its first segment within the glyph.
        begins: where each segment's points begin in the pool, twice over, and the end.
        bits: one bit for each of its segments within the glyph.
    """

    segments: int
    base: int
    begins: tuple[int, ...]
    bits: int

    def whole(self) -> int:
        """The piece that is all of it."""
        before = self.begins[self.segments] - 1
        return piece(before, self.begins[-1] - before, True)


@dataclass(slots=True)
class Glyph:
    """A united glyph (or several that were united into one).

    Attributes:
        box: exact bounds (x0, y0, x1, y1), font units, y up; None if it is blank.
        wholes: for each contour the bits of its segments and the piece that is all of it.
        edges: chords of its contours, for windings.
        columns: its highest and lowest ink by column, by where the columns lie; whoever asks keeps it here.
    """

    contours: tuple[Contour, ...]
    rings: tuple[Ring, ...]
    box: tuple[float, float, float, float] | None
    wholes: tuple[tuple[int, int], ...]
    edges: Edges
    columns: dict[tuple[float, float], tuple[NDArray[np.float64], NDArray[np.float64]]] = field(
        default_factory=dict
    )
    _bounds: NDArray[np.float64] | None = None
    _index: dict[tuple[complex, ...], tuple[int, int, int]] | None = None

    @classmethod
    def of(cls, contours: Sequence[Contour], pool: Pool) -> Glyph:
        """The glyph of united contours, put into the pool."""
        starts = [pool.add(np.tile(c.codes, 2), np.tile(c.points, 2)) for c in contours]
        return cls.at([(start, c.codes.size) for start, c in zip(starts, contours, strict=True)], pool)

    @classmethod
    def at(cls, places: Sequence[tuple[int, int]], pool: Pool) -> Glyph:
        """The glyph whose contours lie in the pool: where each starts and how many segments it has."""
        rings, contours, base = [], [], 0
        for start, count in places:
            first = int(pool.segments[start])
            codes = pool.codes[first : first + count].copy()
            ends = np.cumsum(codes, dtype=np.int64)
            begins = start + np.concatenate(([0], ends, ends + ends[-1]))
            rings.append(Ring(count, base, tuple(begins.tolist()), ((1 << count) - 1) << base))
            contours.append(Contour(codes, pool.points[start : start + ends[-1]].copy()))
            base += count
        box = outline(contours).bounds() if contours else None
        corners = (box.x0, box.y0, box.x1, box.y1) if box else None
        wholes = tuple((ring.bits, ring.whole()) for ring in rings)
        return cls(tuple(contours), tuple(rings), corners, wholes, Segments.of(contours).edges())

    def bounds(self) -> NDArray[np.float64]:
        """For each segment the box of its control points (as a cubic), shape (n, 4)."""
        if self._bounds is None:
            controls = Segments.of(self.contours).controls
            x, y = controls.real, controls.imag
            self._bounds = np.stack((x.min(axis=1), y.min(axis=1), x.max(axis=1), y.max(axis=1)), axis=1)
        return self._bounds

    def ring_bounds(self) -> NDArray[np.float64]:
        """For each contour the box of its control points, shape (n, 4)."""
        bounds, bases = self.bounds(), [ring.base for ring in self.rings]
        low = np.minimum.reduceat(bounds[:, :2], bases)
        return np.hstack((low, np.maximum.reduceat(bounds[:, 2:], bases)))

    def index(self) -> dict[tuple[complex, ...], tuple[int, int, int]]:
        """Contour, number within it and bit of each segment, by its control points."""
        if self._index is None:
            self._index = {
                tuple(segment.tolist()): (number, k, 1 << self.rings[number].base + k)
                for number, contour in enumerate(self.contours)
                for k, segment in enumerate(contour.segments())
            }
        return self._index
