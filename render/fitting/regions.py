"""Regions that lettering must stay in, each answering two plain questions.

``span(top, bottom)``: between which x may a box of that height lie? ``holds(corners)``: does a turned
rectangle lie inside? Rectangles and ellipses along the axes are recognised and answered in closed form; any
other region is cut into chords once, and its answers are kept.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cached_property
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from render.fitting.edges import CHORD_TOLERANCE_MM, TOUCH_MM, EdgeGrid, chords, segments
from render.fitting.hollows import COLUMNS, Hollow
from render.geometry import CLOSE, LINE, MOVE, Box, Path
from render.geometry.curves import evaluate

_ROUND_LOW, _ROUND_HIGH = 1 - 1e-5, 1 + 6e-4
"""Radii between which a contour counts as an ellipse: four cubics of common practice bulge by 2.7e-4."""

Span = tuple[float, float]
Floats = NDArray[np.float64]
Whole = NDArray[np.int64]


class Region(Protocol):
    """A closed region; lengths in mm."""

    box: Box

    @property
    def hollow(self) -> Hollow | None:
        """Its room column by column; None where nothing is gained by that, as in a rectangle."""
        ...

    def span(self, top: float, bottom: float) -> Span | None:
        """The widest (left, right) such that the whole box left-right × top-bottom is inside, or None."""
        ...

    def holds(self, corners: Sequence[complex]) -> bool:
        """Whether the convex polygon of these corners, in order, lies inside."""
        ...


class Rectangle:
    """A rectangle along the axes: exact."""

    hollow: Hollow | None = None

    def __init__(self, box: Box) -> None:
        self.box = box
        self._span = (box.x0, box.x1)
        self._top, self._bottom = box.y0 - TOUCH_MM, box.y1 + TOUCH_MM

    def span(self, top: float, bottom: float) -> Span | None:
        """See :class:`Region`."""
        return self._span if top >= self._top and bottom <= self._bottom else None

    def holds(self, corners: Sequence[complex]) -> bool:
        """See :class:`Region`."""
        left, right = self.box.x0 - TOUCH_MM, self.box.x1 + TOUCH_MM
        return all(left <= c.real <= right and self._top <= c.imag <= self._bottom for c in corners)


class Ellipse:
    """An ellipse along the axes: exact, from (x/rx)² + (y/ry)² ≤ 1."""

    def __init__(self, box: Box) -> None:
        self.box = box
        centre = box.centre
        self._x, self._y, self._rx, self._ry = centre.x, centre.y, box.width / 2, box.height / 2

    @cached_property
    def hollow(self) -> Hollow:
        """See :class:`Region`."""
        x = np.linspace(-1, 1, COLUMNS + 1)
        rise = self._ry * np.sqrt(np.maximum(1 - x * x, 0))
        rise = np.minimum(rise[:-1], rise[1:])
        return Hollow(self.box.x0, self.box.width / COLUMNS, self._y - rise, self._y + rise)

    def span(self, top: float, bottom: float) -> Span | None:
        """See :class:`Region`: the farther of the two edges decides."""
        far = max(self._y - top, bottom - self._y) / self._ry
        if far >= 1:
            return None
        half = self._rx * math.sqrt(1 - far * far)
        return self._x - half, self._x + half

    def holds(self, corners: Sequence[complex]) -> bool:
        """See :class:`Region`: a convex region holds a polygon when it holds its corners."""
        x, y, rx, ry = self._x, self._y, self._rx, self._ry
        limit = 1 + 2 * TOUCH_MM / min(rx, ry)
        return all(((c.real - x) / rx) ** 2 + ((c.imag - y) / ry) ** 2 <= limit for c in corners)


class Edged:
    """Any region, holes included (non-zero rule), by chords that leave its curves by ≤ CHORD_TOLERANCE_MM.

    An edge inside the region, as of overlapping contours, keeps lettering out too: unite contours first.
    """

    def __init__(self, path: Path) -> None:
        self.box = path.bounds()
        begins, ends = chords(path)
        low_first = begins.imag <= ends.imag
        self._low = np.where(low_first, begins, ends)
        self._high = np.where(low_first, ends, begins)
        rise = self._high.imag - self._low.imag
        run = self._high.real - self._low.real
        self._slope = np.divide(run, rise, out=np.zeros_like(run), where=rise > 0)
        self._grid = EdgeGrid(begins, ends)
        self._spans: dict[tuple[float, float], Span | None] = {}

    @cached_property
    def hollow(self) -> Hollow:
        """See :class:`Region`."""
        step = self.box.width / COLUMNS
        tops, bottoms = np.full(COLUMNS, np.inf), np.full(COLUMNS, -np.inf)
        order, ends, low, high = self._by_column(step)
        for column in range(COLUMNS):
            x = self.box.x0 + (column + 0.5) * step
            here = order[ends[column] : ends[column + 1]]
            here = here[np.argsort(low[here], kind="stable")]
            starts, stops = np.maximum.accumulate(high[here])[:-1], low[here][1:]
            for at in np.argsort(starts - stops, kind="stable"):
                top, bottom = float(starts[at]), float(stops[at])
                if bottom <= top:
                    break
                if self._grid.winding(complex(x, (top + bottom) / 2)):
                    tops[column], bottoms[column] = top, bottom
                    break
        return Hollow(self.box.x0, step, tops, bottoms)

    def _by_column(self, step: float) -> tuple[Whole, Whole, Floats, Floats]:
        """Pieces of edges within columns: their order by column, where each column's end, their y extents."""
        left = np.minimum(self._low.real, self._high.real) - self.box.x0
        right = np.maximum(self._low.real, self._high.real) - self.box.x0
        first = np.clip(np.floor(left / step - 1e-9), 0, COLUMNS - 1).astype(np.int64)
        last = np.clip(np.floor(right / step + 1e-9), 0, COLUMNS - 1).astype(np.int64)
        spans = last - first + 1
        edge = np.repeat(np.arange(spans.size), spans)
        column = np.arange(edge.size) - np.repeat(np.cumsum(spans) - spans - first, spans)
        a, b = self._low[edge], self._high[edge]
        run = b.real - a.real
        upright = np.abs(run) < TOUCH_MM
        slope = np.where(upright, 0.0, (b.imag - a.imag) / np.where(upright, 1.0, run))
        sides = [
            np.clip(self.box.x0 + (column + k) * step, np.minimum(a.real, b.real), np.maximum(a.real, b.real))
            for k in (0, 1)
        ]
        ys = [np.clip(a.imag + slope * (side - a.real), a.imag, b.imag) for side in sides]
        low = np.where(upright, a.imag, np.minimum(*ys))
        high = np.where(upright, b.imag, np.maximum(*ys))
        order = np.argsort(column, kind="stable")
        return order, np.searchsorted(column[order], np.arange(COLUMNS + 1)), low, high

    def span(self, top: float, bottom: float) -> Span | None:
        """See :class:`Region`; of equally wide ones the left. Kept, since letters repeat their heights."""
        key = (top, bottom)
        if key not in self._spans:
            self._spans[key] = self._find_span(top, bottom)
        return self._spans[key]

    def _find_span(self, top: float, bottom: float) -> Span | None:
        if top < self.box.y0 - TOUCH_MM or bottom > self.box.y1 + TOUCH_MM:
            return None
        reach = (self._low.imag < bottom - TOUCH_MM) & (self._high.imag > top + TOUCH_MM)
        if not reach.any():
            return None
        low, high, slope = self._low[reach], self._high[reach], self._slope[reach]
        level = low.imag == high.imag
        at_top = np.where(level, low.real, low.real + slope * (np.maximum(top, low.imag) - low.imag))
        at_bottom = np.where(level, high.real, low.real + slope * (np.minimum(bottom, high.imag) - low.imag))
        left, right = np.minimum(at_top, at_bottom), np.maximum(at_top, at_bottom)
        order = np.argsort(left, kind="stable")
        left, right = left[order], np.maximum.accumulate(right[order])
        starts, stops = right[:-1], left[1:]
        middle = (top + bottom) / 2
        best: Span | None = None
        for at in np.flatnonzero(stops > starts + TOUCH_MM):
            start, stop = float(starts[at]), float(stops[at])
            wider = best is None or stop - start > best[1] - best[0] + TOUCH_MM
            if wider and self._grid.winding(complex((start + stop) / 2, middle)):
                best = (start, stop)
        return best

    def holds(self, corners: Sequence[complex]) -> bool:
        """See :class:`Region`: no edge enters the polygon, and the polygon's middle is inside."""
        middle = sum(corners) / len(corners)
        return self._grid.winding(middle) != 0 and not self._grid.enters(corners)


def region_of(path: Path) -> Region:
    """The region inside a closed path.

    Raises:
        ValueError: the path is empty, open or has no area to speak of.
    """
    if not path or not path.is_closed():
        raise ValueError("an area for lettering must be a closed path")
    box = path.bounds()
    if box.width < CHORD_TOLERANCE_MM or box.height < CHORD_TOLERANCE_MM:
        raise ValueError("an area for lettering must have a width and a height")
    if _is_rectangle(path, box):
        return Rectangle(box)
    return Ellipse(box) if _is_ellipse(path, box) else Edged(path)


def _is_rectangle(path: Path, box: Box) -> bool:
    """One contour of lines that visits the four corners of its box in turn."""
    if (path.commands == MOVE).sum() != 1 or not np.isin(path.commands, (MOVE, LINE, CLOSE)).all():
        return False
    points = path.points
    if points.size == 5 and points[0] == points[4]:
        points = points[:4]
    if points.size != 4 or (box.width == 0) or (box.height == 0):
        return False
    corners = {complex(x, y) for x in (box.x0, box.x1) for y in (box.y0, box.y1)}
    diagonal = abs(points[2] - points[0]) > max(box.width, box.height)
    return set(points.tolist()) == corners and bool(diagonal)


def _is_ellipse(path: Path, box: Box) -> bool:
    """One contour of curves, each point of which is as far from the middle as the ellipse of its box."""
    if (path.commands == MOVE).sum() != 1 or np.isin(path.commands, (LINE,)).any():
        return False
    curves = segments(path)
    if not 2 <= len(curves) <= 64:
        return False
    on = np.concatenate([evaluate(c, np.linspace(0, 1, 9)) for c in curves if c.size > 2])
    centre = box.centre
    radius = np.hypot((on.real - centre.x) / (box.width / 2), (on.imag - centre.y) / (box.height / 2))
    return bool(radius.min() > _ROUND_LOW and radius.max() < _ROUND_HIGH)
