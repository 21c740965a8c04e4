"""Where an irregular shape still has room on a sheet: small squares, correlated by Fourier transform.

It is safe by construction: shapes are widened by half the gap and half the diagonal of a square, and a square
counts as taken where its centre is; two widened shapes that share no centre keep the gap.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

Mask = NDArray[np.bool_]

MOST_SQUARES: Final = 700_000
"""A sheet is looked at in about so many squares at most; they get larger on larger sheets."""

FINEST_UM: Final = 250
_DOUBTS: Final = 100


def square_um(width: float, height: float, most: int = MOST_SQUARES) -> int:
    """Side of the squares for a sheet in mm: whole micrometres."""
    return max(FINEST_UM, math.ceil(math.sqrt(width * height / most) * 1000))


@dataclass(frozen=True, slots=True)
class Stamp:
    """A shape as squares, [x, y].

    Attributes:
        x_um, y_um: where the corner of its first square lies in the shape's own coordinates.
    """

    mask: Mask
    x_um: int
    y_um: int


def stamp(shape: Any, side: int, widen: float) -> Stamp:
    """A shapely polygon (mm) widened by `widen` mm and half a diagonal, as squares of `side` µm."""
    wide = shape.buffer((widen + reserve(side)) * 1.003, quad_segs=16)  # chords lie inside the round corner
    x0, y0, x1, y1 = (v * 1000 for v in wide.bounds)
    x_um, y_um = math.floor(x0), math.floor(y0)
    size = (math.ceil((x1 - x_um) / side), math.ceil((y1 - y_um) / side))
    return Stamp(filled(wide, (x_um, y_um), size, side), x_um, y_um)


def reserve(side: int) -> float:
    """Half a diagonal of a square, mm."""
    return side / 1000 * math.sqrt(0.5)


def filled(shape: Any, origin: tuple[int, int], size: tuple[int, int], side: int) -> Mask:
    """Squares, [x, y], whose centres lie in a polygon, by signed crossings of rows of centres."""
    import shapely

    step = np.zeros((size[0] + 1, size[1]), np.int32)
    for part in getattr(shape, "geoms", [shape]):
        for number, ring in enumerate((part.exterior, *part.interiors) if not part.is_empty else ()):
            xy = (shapely.get_coordinates(ring) * 1000 - origin) / side - 0.5
            if (shapely.is_ccw(ring)) != (number == 0):
                xy = xy[::-1]
            cross_rows(step, xy)
    return np.asarray(np.cumsum(step[:-1], axis=0) != 0)


def cross_rows(step: NDArray[np.int32], xy: NDArray[np.float64]) -> None:
    """Add to each row of centres, shape [x, row], where a closed ring (n, 2) crosses it, and which way."""
    begin, end = xy[:-1], xy[1:]
    low = np.ceil(np.minimum(begin[:, 1], end[:, 1])).astype(np.int64)
    high = np.ceil(np.maximum(begin[:, 1], end[:, 1])).astype(np.int64)
    counts = high - low
    edge = np.repeat(np.arange(counts.size), counts)
    row = np.arange(edge.size) - np.repeat(np.cumsum(counts) - counts, counts) + low[edge]
    a, b = begin[edge], end[edge]
    x = a[:, 0] + (row - a[:, 1]) / (b[:, 1] - a[:, 1]) * (b[:, 0] - a[:, 0])
    column = np.clip(np.ceil(x), 0, step.shape[0] - 1).astype(np.int64)
    inside = (row >= 0) & (row < step.shape[1])
    sign = np.sign(a[:, 1] - b[:, 1]).astype(np.int32)
    np.add.at(step, (column[inside], row[inside]), sign[inside])


def smooth(size: int) -> int:
    """The next whole number that has no other prime factors than 2, 3 and 5: transforms of it are quick."""
    while True:
        rest = size
        for prime in (2, 3, 5):
            while rest % prime == 0:
                rest //= prime
        if rest == 1:
            return size
        size += 1


class Board:
    """One sheet while it fills up: which squares are taken."""

    def __init__(self, taken: Mask) -> None:
        self.taken = taken
        self._size = (smooth(taken.shape[0]), smooth(taken.shape[1]))
        self._spectrum: Any = None

    def room(self, spectrum: Any, mask: Mask) -> tuple[int, int] | None:
        """The leftmost, then topmost place for a stamp with this spectrum; None if there is none.

        Transforms are in single precision: a place that they call free is looked at before it is given out.
        """
        width, height = self.taken.shape
        if self._spectrum is None:
            self._spectrum = np.fft.rfft2(self.taken.astype(np.float32), self._size)
        covered = np.fft.irfft2(self._spectrum * spectrum, self._size)
        free = covered[: width - mask.shape[0] + 1, : height - mask.shape[1] + 1] < 0.5
        for _ in range(_DOUBTS):
            i, j = divmod(int(free.argmax()), free.shape[1])
            if not free[i, j]:
                return None
            if not (self.taken[i : i + mask.shape[0], j : j + mask.shape[1]] & mask).any():
                return i, j
            free[i, j] = False
        return None

    def spectrum(self, mask: Mask) -> Any:
        """What :meth:`room` wants of a stamp on boards of this size."""
        return np.conj(np.fft.rfft2(mask.astype(np.float32), self._size))

    def put(self, mask: Mask, at: tuple[int, int]) -> None:
        """Take the squares of a stamp."""
        self.taken[at[0] : at[0] + mask.shape[0], at[1] : at[1] + mask.shape[1]] |= mask
        self._spectrum = None

    @property
    def free(self) -> int:
        """How many squares are left."""
        return int(self.taken.size - self.taken.sum())
