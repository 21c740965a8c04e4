"""A path: contours of straight lines and quadratic and cubic Béziers, held in two flat arrays."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from render.geometry.affine import Affine
from render.geometry.box import Box
from render.geometry.curves import quad_cubic_bounds

MOVE: Final = 0
LINE: Final = 1
QUAD: Final = 2
CUBIC: Final = 3
CLOSE: Final = 4

POINTS_PER_COMMAND: Final = np.array([1, 1, 2, 3, 0], dtype=np.int64)
"""How many points each command takes from the pool, by command code."""


@dataclass(frozen=True, slots=True, eq=False)
class Path:
    """Contours in order; filled by the **non-zero** rule.

    Attributes:
        commands: uint8 codes, shape (m,). Every contour begins with MOVE; a closed one ends with CLOSE. As in
            SVG, CLOSE draws the straight line home if the pen is not there already.
        points: x + iy in mm, shape (n,): for MOVE and LINE the end, for QUAD control and end, for CUBIC two
            controls and the end.

    Both arrays are read-only; methods return new paths.
    """

    commands: NDArray[np.uint8]
    points: NDArray[np.complex128]

    def __post_init__(self) -> None:
        self.commands.setflags(write=False)
        self.points.setflags(write=False)

    @classmethod
    def empty(cls) -> Path:
        """The path without contours."""
        return cls(np.empty(0, np.uint8), np.empty(0, np.complex128))

    @classmethod
    def of(cls, commands: Iterable[int], points: Iterable[complex]) -> Path:
        """A path from any two sequences, checked.

        Raises:
            ValueError: the number of points is not what the commands need, a contour does not begin with
                MOVE, or a point is not finite.
        """
        codes = np.fromiter(commands, np.uint8)
        pool = np.fromiter(points, np.complex128)
        if codes.size and codes.max() > CLOSE:
            raise ValueError("unknown path command")
        if POINTS_PER_COMMAND[codes].sum() != pool.size:
            raise ValueError("the points do not match the commands")
        begins = np.concatenate(([True], codes[:-1] == CLOSE))[: codes.size]
        if (codes[begins] != MOVE).any():
            raise ValueError("a contour must begin with a move")
        if not np.isfinite(pool).all():
            raise ValueError("a point is not finite")
        return cls(codes, pool)

    @classmethod
    def polygon(cls, corners: Iterable[complex]) -> Path:
        """One closed contour of straight lines."""
        pool = np.fromiter(corners, np.complex128)
        return cls(np.array([MOVE] + [LINE] * (pool.size - 1) + [CLOSE], np.uint8), pool)

    @classmethod
    def polyline(cls, corners: Iterable[complex]) -> Path:
        """One open contour of straight lines."""
        pool = np.fromiter(corners, np.complex128)
        return cls(np.array([MOVE] + [LINE] * (pool.size - 1), np.uint8), pool)

    @classmethod
    def joined(cls, paths: Iterable[Path]) -> Path:
        """All contours of all paths, in order, as one path."""
        every = [p for p in paths if p.commands.size]
        if not every:
            return cls.empty()
        if len(every) == 1:
            return every[0]
        return cls(np.concatenate([p.commands for p in every]), np.concatenate([p.points for p in every]))

    def __bool__(self) -> bool:
        return bool(self.commands.size)

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Path):
            return NotImplemented
        return np.array_equal(self.commands, other.commands) and np.array_equal(self.points, other.points)

    def __hash__(self) -> int:
        return hash((self.commands.tobytes(), self.points.tobytes()))

    def transformed(self, affine: Affine) -> Path:
        """Mapped by `affine`. (A mirroring map turns contours round; the non-zero fill stays the same.)"""
        return Path(self.commands, affine.apply(self.points))

    def moved(self, dx: float, dy: float) -> Path:
        """Shifted by (dx, dy) mm."""
        return Path(self.commands, self.points + complex(dx, dy))

    def first_points(self) -> NDArray[np.int64]:
        """For each command the index of its first point in `points`, shape (m,)."""
        counts = POINTS_PER_COMMAND[self.commands]
        return np.cumsum(counts) - counts

    def starts(self) -> NDArray[np.int64]:
        """For each contour the index of its first point in `points`, shape (number of contours,)."""
        kinds = self.commands[self.commands != CLOSE]
        if kinds.size == self.points.size:  # straight lines only: one point for each of them
            return np.flatnonzero(kinds == MOVE)
        return np.asarray(self.first_points()[self.commands == MOVE])

    def contours(self) -> Iterator[Path]:
        """The contours one by one, each a path of its own."""
        if not self.commands.size:
            return
        moves = np.flatnonzero(self.commands == MOVE)
        first = self.first_points()
        ends = np.append(moves[1:], self.commands.size)
        point_ends = np.append(first[moves[1:]], self.points.size)
        for begin, end, start, stop in zip(moves, ends, first[moves], point_ends, strict=True):
            yield Path(self.commands[begin:end], self.points[start:stop])

    def chosen(self, wanted: NDArray[np.bool_]) -> Path:
        """The contours for which `wanted`, shape (number of contours,), is true, in their order, as one."""
        taken = wanted[np.cumsum(self.commands == MOVE) - 1]
        return Path(self.commands[taken], self.points[taken.repeat(POINTS_PER_COMMAND[self.commands])])

    def is_closed(self) -> bool:
        """Whether every contour is closed (true of the empty path)."""
        moves = int((self.commands == MOVE).sum())
        closes = np.flatnonzero(self.commands == CLOSE)
        after = closes[closes + 1 < self.commands.size] + 1
        ends_closed = not self.commands.size or self.commands[-1] == CLOSE
        return closes.size == moves and ends_closed and bool((self.commands[after] == MOVE).all())

    def bounds(self) -> Box:
        """The exact box of the drawn curves (their extrema, not their control points).

        Raises:
            ValueError: the path is empty.
        """
        if not self.points.size:
            raise ValueError("an empty path has no bounds")
        return Box(*quad_cubic_bounds(self.commands, self.points, self.first_points()))
