"""Grids of places, in whole micrometres so that moving a piece never changes its shape."""

from __future__ import annotations

import math
from dataclasses import dataclass

from render.geometry import Path
from render.geometry.box import Box
from render.units import UM_PER_MM, from_um, to_um

_FUZZ_UM = 1e-3


@dataclass(frozen=True, slots=True)
class UmBox:
    """A box in whole micrometres; (x0, y0) top left, (x1, y1) bottom right."""

    x0: int
    y0: int
    x1: int
    y1: int

    @classmethod
    def round_path(cls, path: Path) -> UmBox:
        """The box that the path fills once its points are rounded for the file."""
        return cls.round_box(Path(path.commands, from_um(to_um(path.points))).bounds())

    @classmethod
    def round_box(cls, box: Box) -> UmBox:
        """The smallest box round `box` (mm), but for float noise."""
        low = (math.floor(v * UM_PER_MM + _FUZZ_UM) for v in (box.x0, box.y0))
        high = (math.ceil(v * UM_PER_MM - _FUZZ_UM) for v in (box.x1, box.y1))
        return cls(*low, *high)

    @property
    def size(self) -> tuple[int, int]:
        """Width and height."""
        return self.x1 - self.x0, self.y1 - self.y0

    def turned(self, quarters: int) -> UmBox:
        """Turned clockwise about (0, 0) by quarter turns."""
        x0, y0, x1, y1 = self.x0, self.y0, self.x1, self.y1
        sides = ((x0, y0, x1, y1), (-y1, x0, -y0, x1), (-x1, -y1, -x0, -y0), (y0, -x1, y1, -x0))
        return UmBox(*sides[quarters % 4])

    def outside(self, other: UmBox, slack: int = 0) -> bool:
        """Whether any of this box lies more than `slack` outside `other`."""
        return (
            self.x0 < other.x0 - slack
            or self.y0 < other.y0 - slack
            or self.x1 > other.x1 + slack
            or self.y1 > other.y1 + slack
        )


@dataclass(frozen=True, slots=True)
class Grid:
    """Columns × rows of equal cells; micrometres. `quarters` turns every piece in its cell."""

    columns: int
    rows: int
    origin: tuple[int, int]
    pitch: tuple[int, int]
    quarters: int = 0

    @property
    def capacity(self) -> int:
        """How many places there are."""
        return self.columns * self.rows

    def corner(self, index: int, by_columns: bool) -> tuple[int, int]:
        """Top left corner of the place `index`, counted from 0 along rows or down columns."""
        if by_columns:
            column, row = divmod(index, self.rows)
        else:
            row, column = divmod(index, self.columns)
        return self.origin[0] + column * self.pitch[0], self.origin[1] + row * self.pitch[1]


def packed(size: tuple[int, int], area: tuple[int, int], margin: int, gap: int, quarters: int = 0) -> Grid:
    """As many cells of `size` as an area holds, `margin` free at the rim and `gap` between them."""
    if quarters % 2:
        size = (size[1], size[0])
    counts = [
        max(0, (side - 2 * margin + gap) // (cell + gap)) for side, cell in zip(area, size, strict=True)
    ]
    return Grid(counts[0], counts[1], (margin, margin), (size[0] + gap, size[1] + gap), quarters)
