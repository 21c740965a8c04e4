"""Stretches of one contour by length along it: curves stay curves."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from render.geometry import CLOSE, CUBIC, LINE, MOVE, QUAD, Path
from render.geometry.curves import evaluate, split_at
from render.sheets.offset import segments

Points = NDArray[np.complex128]
Floats = NDArray[np.float64]

_STEPS = 64
_CODE = {2: LINE, 3: QUAD, 4: CUBIC}


@dataclass(frozen=True, slots=True)
class Measured:
    """One contour with the length of its segments.

    Attributes:
        curves: control points of each segment, the closing line included.
        ends: length along the contour at the end of each.
        tables: for each segment lengths at even steps of its parameter.
    """

    curves: tuple[Points, ...]
    ends: Floats
    tables: tuple[Floats, ...]
    closed: bool

    @classmethod
    def of(cls, contour: Path) -> Measured:
        """Measure a contour; curves by 64 chords, short of their length by some hundred thousandths."""
        closed = contour.commands[-1] == CLOSE
        curves = tuple(segments(contour))
        tables = []
        for curve in curves:
            t = np.linspace(0, 1, (1 if curve.size == 2 else _STEPS) + 1)
            tables.append(np.concatenate(([0.0], np.cumsum(np.abs(np.diff(evaluate(curve, t)))))))
        return cls(curves, np.cumsum([t[-1] for t in tables]), tuple(tables), bool(closed))

    @property
    def length(self) -> float:
        """Length of the whole contour, mm."""
        return float(self.ends[-1]) if self.ends.size else 0.0

    def _find(self, at: float) -> tuple[int, float]:
        """Segment and parameter at a length along the contour."""
        index = min(int(np.searchsorted(self.ends, at, "right")), len(self.curves) - 1)
        table = self.tables[index]
        rest = at - (self.ends[index] - table[-1])
        return index, float(np.interp(rest, table, np.linspace(0, 1, table.size)))

    def point(self, at: float) -> tuple[complex, complex]:
        """Point and unit tangent at a length along the contour."""
        index, t = self._find(at % self.length if self.closed else at)
        curve = self.curves[index]
        near = evaluate(curve, np.clip(np.array([t - 1e-3, t, t + 1e-3]), 0, 1))
        way = complex(near[2] - near[0])
        return complex(near[1]), way / (abs(way) or 1.0)

    def stretch(self, begin: float, end: float) -> Path:
        """What lies between two lengths along the contour, as an open path; past the start where closed."""
        if end > self.length and self.closed and begin < self.length:
            first, second = self.stretch(begin, self.length), self.stretch(0.0, end - self.length)
            return Path(
                np.concatenate((first.commands, second.commands[1:])),
                np.concatenate((first.points, second.points[1:])),
            )
        if begin >= self.length:
            begin, end = begin - self.length, end - self.length
        (i, t), (j, u) = self._find(begin), self._find(end)
        commands = [MOVE]
        points: list[Points] = []
        for index in range(i, j + 1):
            low, high = (t if index == i else 0.0), (u if index == j else 1.0)
            curve = self.curves[index]
            if high < 1:
                curve = split_at(curve, high)[0]
            if low > 0:
                curve = split_at(curve, low / high if high else 0.0)[1]
            if not points:
                points.append(curve[:1])
            if high > low:
                commands.append(_CODE[curve.size])
                points.append(curve[1:])
        return Path(np.array(commands, np.uint8), np.concatenate(points))
