"""How much room a region has above and below, column by column, and where lines of ink find room in it.

The ink of a line is narrower at its top and foot than in its middle, or the other way round, and a region
with slanting or round sides leaves room just there. So lines are held against the region column by column,
not as boxes, and may stand as high or low as the region allows.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np
from numpy.typing import NDArray

from render.model import SKYLINE_STEP, Line, Skyline

COLUMNS: Final = 1024
"""Columns that a region is cut into."""

_FAR: Final = 1e6
_CLOSE: Final = 0.002
"""Sizes are looked for this closely, mm."""

Floats = NDArray[np.float64]
Truths = NDArray[np.bool_]
Whole = NDArray[np.int64]


class Hollow:
    """The room of a region: for each column the interval of y that is free all over its width, mm.

    Where a column has several such intervals, as beside a hole, it is the largest.
    """

    def __init__(self, left: float, step: float, tops: Floats, bottoms: Floats) -> None:
        """Set up.

        Args:
            left: x of the first column's left side.
            step: width of a column.
            tops: the free interval's upper end (the smaller y); inf where a column has none.
            bottoms: its lower end; -inf where a column has none.
        """
        self._left, self._step, self._last = left, step, tops.size - 1
        self._tops, self._bottoms = [tops], [bottoms]
        self.width = step * tops.size
        self._last_block: tuple[object, Block] | None = None
        width = 1
        while 2 * width <= tops.size:  # a sparse table: the worst of 2, 4, 8 ... columns from each on
            self._tops.append(np.maximum(self._tops[-1][:-width], self._tops[-1][width:]))
            self._bottoms.append(np.minimum(self._bottoms[-1][:-width], self._bottoms[-1][width:]))
            width *= 2

    def between(self, block: Block, x: float, size: float) -> tuple[float, float]:
        """The least and the greatest y for a block's first baseline, its lines' middles on x.

        The least is greater than the greatest where it does not fit. Columns at the ends of lines, narrower
        than the others, may be taken to reach further inward.
        """
        scale, shift = size / self._step, (x - self._left) / self._step
        first = (block.lefts * scale + shift).astype(np.int64)
        last = (block.rights * scale + shift).astype(np.int64)
        if block.left * scale + shift < 0 or block.right * scale + shift >= self._last + 1:
            return math.inf, -math.inf
        return self._worst(block, first, last, size, scale * SKYLINE_STEP)

    def _worst(
        self, block: Block, first: Whole, last: Whole, size: float, width: float
    ) -> tuple[float, float]:
        """The same, for columns of the block that lie on columns of the region from first to last."""
        if block.boxed:  # a few wide columns, each of its own width
            lows, highs = [], []
            for begin, end in zip(first.tolist(), last.tolist(), strict=True):
                lows.append(float(self._tops[0][begin : end + 1].max()))
                highs.append(float(self._bottoms[0][begin : end + 1].min()))
            return float((lows - block.tops * size).max()), float((highs - block.bottoms * size).min())
        level = ((int(width) + 1) // 2).bit_length()  # two runs of 2^level columns cover each
        run = min(1 << level, self._last + 1) - 1
        tops, bottoms = self._tops[level], self._bottoms[level]
        end = np.maximum(last - run, np.where(block.leftward, first, 0))
        begin = np.where(block.leftward, first, np.minimum(first, end))
        np.minimum(begin, self._last - run, out=begin)
        np.minimum(end, self._last - run, out=end)
        low = np.maximum(tops[begin], tops[end]) - block.tops * size
        high = np.minimum(bottoms[begin], bottoms[end]) - block.bottoms * size
        return float(low.max()), float(high.min())

    def block(self, form: object, make: Callable[[], Block]) -> Block:
        """The block of a form, made once while one form is asked for at many sizes."""
        if self._last_block is None or self._last_block[0] is not form:
            self._last_block = form, make()
        return self._last_block[1]

    @cached_property
    def middles(self) -> tuple[float, ...]:
        """The x on which lines may be centred: the middle of all columns, and that of the highest ones."""
        heights = self._bottoms[0] - self._tops[0]
        good = np.flatnonzero(heights > 0)
        if not good.size:
            return ()
        tall = np.flatnonzero(heights > 0.98 * heights.max())
        places = [(span[0] + span[-1] + 1) / 2 for span in (good, tall)]
        return tuple(sorted({round(self._left + self._step * place, 6) for place in places}))


@dataclass(frozen=True, slots=True, eq=False)
class Block:
    """Lines under each other, each with the middle of its ink on x = 0, cut into columns; em, y down.

    Attributes:
        lefts, rights: of each column of each line.
        tops, bottoms: how far the ink reaches there, from the first baseline.
        leading: from baseline to baseline.
        leftward: whether a column lies to the left of the middle.
        left, right: of all columns.
        boxed: whether each line is one column, its box.
    """

    lefts: Floats
    rights: Floats
    tops: Floats
    bottoms: Floats
    leading: float
    leftward: Truths
    left: float
    right: float
    boxed: bool

    @classmethod
    def of(cls, lines: Sequence[Line], skylines: Sequence[Skyline | None], leading: float) -> Block:
        """The block of lines with ink; where a skyline is not known a line counts as its box."""
        parts = [
            _columns(line, skyline, number * leading)
            for number, (line, skyline) in enumerate(zip(lines, skylines, strict=True))
        ]
        lefts, rights, tops, bottoms = (np.concatenate(column) for column in zip(*parts, strict=True))
        leftward, left, right = lefts + rights < 0, float(lefts.min()), float(rights.max())
        return cls(lefts, rights, tops, bottoms, leading, leftward, left, right, skylines[0] is None)

    def largest(self, hollow: Hollow, low: float, high: float) -> float:
        """About the largest size at which the block fits on one of the region's middles; 0 if none does."""
        return max((self._largest(hollow, x, low, high) for x in hollow.middles), default=0.0)

    def _largest(self, hollow: Hollow, x: float, low: float, high: float) -> float:
        """By regula falsi on the room that is left, which falls nearly evenly (Illinois form [memory])."""

        def room(size: float) -> float:
            top, bottom = hollow.between(self, x, size)
            return max(bottom - top, -_FAR)

        high = min(high, hollow.width / (self.right - self.left))
        if high <= low or (at_low := room(low)) < 0:
            return 0.0
        if (at_high := room(high)) >= 0:
            return high
        while high - low > _CLOSE:
            if at_high <= -_FAR:
                size = (low + high) / 2
            else:
                share = min(max(at_low / (at_low - at_high), 0.02), 0.98)
                size = low + share * (high - low)
            at_size = room(size)
            if at_size >= 0:
                low, at_low, at_high = size, at_size, at_high / 2 if at_high > -_FAR else at_high
            else:
                high, at_high, at_low = size, at_size, at_low / 2
        return low


def _columns(line: Line, skyline: Skyline | None, below: float) -> tuple[Floats, Floats, Floats, Floats]:
    """A line's columns about the middle of its ink: left and right side, top and bottom."""
    ink = line.ink
    assert ink is not None  # noqa: S101
    middle = (ink.x0 + ink.x1) / 2
    if skyline is None:
        box = ink.x0 - middle, ink.x1 - middle, ink.y0 + below, ink.y1 + below
        left, right, top, bottom = (np.array([side]) for side in box)
        return left, right, top, bottom
    inked = np.flatnonzero(np.isfinite(skyline.tops))
    edges = (skyline.first + inked) * SKYLINE_STEP
    return (
        np.maximum(edges, ink.x0) - middle,
        np.minimum(edges + SKYLINE_STEP, ink.x1) - middle,
        skyline.tops[inked] + below,
        skyline.bottoms[inked] + below,
    )
