"""How many columns a page of pieces has, and how large each piece is shown."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

PAGE_WIDTH: Final = 210.0
"""mm: prints on A4 (ISO 216) at its own size."""
MARGIN: Final = 11.0
GUTTER: Final = 4.6
BEST_SHAPE: Final = 1.8
"""Height over width that a page tends to: pages are scrolled, and large pieces are seen better than small."""

NARROWEST: Final = 19.0
"""Columns are at least this wide, mm: under them stand captions."""
LARGEST: Final = (92.0, 80.0)
"""A piece is shown at most this wide and high, mm..."""
LARGEST_ALONE: Final = (130.0, 110.0)
"""...or, where there is but one column, this."""
CAPTION_SHARE: Final = 0.085
"""Size of caption type, as a share of the column's width..."""
CAPTION_SIZES: Final = (2.05, 3.4)
"""...within these limits, mm."""

ROW_GAP: Final = 1.7
"""Between a caption and the next row, in em of the caption."""
LARGEST_SCALE: Final = 2.0
"""Nothing is shown larger than this many times itself."""

_EMPTY_COST, _NARROW_COST = 0.3, 1.2
_SHORT_COST: Final = 0.7
"""A page that is shorter than the best is not as bad as one that is as many times longer."""


@dataclass(frozen=True, slots=True)
class Grid:
    """The columns of a page.

    Attributes:
        column: width of one, mm.
        scale: mm on the page for each mm of the thing.
        type_size: of captions, mm to the em.
    """

    columns: int
    column: float
    scale: float
    type_size: float

    def x(self, index: int) -> float:
        """Left edge of the column that the index-th piece stands in."""
        return MARGIN + (index % self.columns) * (self.column + GUTTER)


def grid_for(count: int, width: float, height: float) -> Grid:
    """The columns that suit `count` things of `width` × `height` mm: large, and a page of good shape."""
    inner = PAGE_WIDTH - 2 * MARGIN
    most = max(1, min(count, int((inner + GUTTER) / (NARROWEST + GUTTER))))
    options = [_grid(columns, inner, width, height) for columns in range(1, most + 1)]
    return min(options, key=lambda grid: _cost(grid, count, width, height))


def _grid(columns: int, inner: float, width: float, height: float) -> Grid:
    """The grid of so many columns."""
    column = (inner - GUTTER * (columns - 1)) / columns
    largest = LARGEST_ALONE if columns == 1 else LARGEST
    scale = min(column / width, largest[0] / width, largest[1] / height, LARGEST_SCALE)
    low, high = CAPTION_SIZES
    return Grid(columns, column, scale, min(high, max(low, column * CAPTION_SHARE)))


def _cost(grid: Grid, count: int, width: float, height: float) -> float:
    """How badly a grid suits: shape of the page, empty places, width left unused."""
    rows = math.ceil(count / grid.columns)
    high = rows * (height * grid.scale + grid.type_size * (3.6 + ROW_GAP)) + 50
    shape = math.log(high / PAGE_WIDTH / BEST_SHAPE)
    shape = shape if shape > 0 else -_SHORT_COST * shape
    empty = 1 - count / (rows * grid.columns)
    unused = 1 - width * grid.scale / grid.column
    return shape + _EMPTY_COST * empty + _NARROW_COST * unused
