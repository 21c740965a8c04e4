"""Where rays meet chords: all of them at once, by a grid of cells that says which chords lie near."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from render.lettering.contours import Floats, Points

Ints = NDArray[np.int64]

_CELL: Final = 2.0
"""Size of a cell, in mean lengths of a chord."""

_MOST_CELLS: Final = 160
"""Cells to the longer side, at most."""

_FIRST: Final = 6
"""Cells that rays are followed through at first; the more there are, the longer the next stretch."""


_AT_END: Final = 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class Meetings:
    """Where rays meet chords. One row a meeting, in no order, some twice.

    Attributes:
        ray, chord: numbers of the two.
        far: how far along the ray.
    """

    ray: Ints
    chord: Ints
    far: Floats


class Net:
    """Chords by the cells of a grid."""

    def __init__(self, begin: Points, end: Points) -> None:
        """Set up from the ends of chords, of which there is at least one."""
        self._begin, self._end = begin, end
        corner = complex(min(begin.real.min(), end.real.min()), min(begin.imag.min(), end.imag.min()))
        wide = max(np.ptp(begin.real), np.ptp(begin.imag), 1e-9)
        self._cell = cell = max(_CELL * float(np.abs(end - begin).mean()), float(wide) / _MOST_CELLS)
        self._corner = corner - complex(cell, cell)
        low = np.minimum(begin.real, end.real), np.minimum(begin.imag, end.imag)
        high = np.maximum(begin.real, end.real), np.maximum(begin.imag, end.imag)
        reach = 0.501 * cell  # rays are looked at once a cell
        x0, y0 = (self._index(v - reach, k) for k, v in enumerate(low))
        x1, y1 = (self._index(v + reach, k) for k, v in enumerate(high))
        self._columns, self._rows = int(x1.max()) + 1, int(y1.max()) + 1
        across, count = x1 - x0 + 1, (x1 - x0 + 1) * (y1 - y0 + 1)
        chord = np.repeat(np.arange(begin.size), count)
        k = np.arange(chord.size) - np.repeat(np.cumsum(count) - count, count)
        place = (y0[chord] + k // across[chord]) * self._columns + x0[chord] + k % across[chord]
        order = np.argsort(place, kind="stable")
        self._chord = chord[order]
        self._stops = np.cumsum(np.bincount(place, minlength=self._columns * self._rows))

    def _index(self, values: Floats, axis: int) -> Ints:
        zero = self._corner.imag if axis else self._corner.real
        return np.floor((values - zero) / self._cell).astype(np.int64)

    def first(
        self, start: Points, way: Points, most: float, skip: tuple[Ints, ...], least: float
    ) -> tuple[Ints, Ints, Floats]:
        """For each ray that meets a chord its number, the chord it meets first, and how far that is.

        Args:
            start: of each ray.
            way: of each, a unit vector.
            most: how long they are.
            skip: for each ray chords that it does not meet.
            least: nearer meetings do not count.
        """
        found = [(np.empty(0, np.int64), np.empty(0, np.int64), np.empty(0))]
        waiting = np.arange(start.size)
        done, stretch, steps = 0, _FIRST, int(np.ceil(most / self._cell)) + 1
        while waiting.size and done < steps:
            stop = min(done + stretch, steps)
            met = self.meetings(start[waiting], way[waiting], (done, stop), most)
            ray, other, far = waiting[met.ray], met.chord, met.far
            sure = (far > least) & (far <= min(most, (stop - 0.5) * self._cell if stop < steps else most))
            for chords in skip:
                sure &= other != chords[ray]
            ray, other, far = ray[sure], other[sure], far[sure]
            order = np.lexsort((far, ray))
            first = order[np.flatnonzero(np.diff(ray[order], prepend=-1))]
            found.append((ray[first], other[first], far[first]))
            waiting = np.setdiff1d(waiting, ray[first], assume_unique=True)
            done, stretch = stop, 2 * stretch
        ray, other, far = (np.concatenate(each) for each in zip(*found, strict=True))
        order = np.argsort(ray)
        return ray[order], other[order], far[order]

    def free(self, start: Points, way: Points, length: Floats) -> NDArray[np.bool_]:
        """Whether ways meet no chord but at their ends.

        Args:
            start: of each way.
            way: its direction, a unit vector.
            length: of each.
        """
        free = np.full(start.size, True)
        if start.size:
            most = float(length.max())
            met = self.meetings(start, way, (0, int(np.ceil(most / self._cell)) + 1), most)
            off = _AT_END * length[met.ray]
            free[met.ray[(met.far > off) & (met.far < length[met.ray] - off)]] = False
        return free

    def meetings(self, start: Points, way: Points, cells: tuple[int, int], most: float) -> Meetings:
        """Meetings of rays with chords near the given cells of their length (from, up to), and perhaps more.

        None within these cells and `most` is left out; where two chords meet, the ray meets at least one.
        """
        along = np.minimum(np.arange(*cells) * self._cell, most)
        x = self._index(start.real[:, None] + way.real[:, None] * along, 0)
        y = self._index(start.imag[:, None] + way.imag[:, None] * along, 1)
        ray, step = np.nonzero((x >= 0) & (y >= 0) & (x < self._columns) & (y < self._rows))
        place = y[ray, step] * self._columns + x[ray, step]
        stop = self._stops[place]
        begin = np.where(place > 0, self._stops[place - 1], 0)
        count = stop - begin
        ray = np.repeat(ray, count)
        chord = self._chord[np.arange(ray.size) + np.repeat(begin - np.cumsum(count) + count, count)]
        across, home = way.conj()[ray], start[ray]
        a, b = across * (self._begin[chord] - home), across * (self._end[chord] - home)
        meet = (a.imag > 0) != (b.imag > 0)
        meet |= (a.imag == 0) | (b.imag == 0)
        ray, chord, a, b = ray[meet], chord[meet], a[meet], b[meet]
        rise = a.imag - b.imag
        share = np.clip(np.divide(a.imag, rise, out=np.zeros_like(rise), where=rise != 0), 0, 1)
        return Meetings(ray, chord, a.real + share * (b.real - a.real))
