"""What a sheet takes of its stock: how much becomes pieces, how much is waste, what is used up."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np

from render.geometry import Path
from render.model import Artwork, Blank, Machine, Sheet, Stock
from render.sheets.footprints import burned, corners_of, footprint
from render.sheets.inside import flattened
from render.sheets.places import UmBox
from render.units import UM_PER_MM

_COARSE_MM: Final = 0.2
"""How far the kept outline of a used-up region may lie outside it."""


@dataclass(frozen=True, slots=True)
class Taken:
    """What one sheet takes of the stock that it is cut from.

    Attributes:
        stock: as it is kept, which need not be as it lies on the bed.
        turned: whether it lies turned by a quarter, clockwise.
        pieces: area of the pieces, holes and all, mm².
        area: what there was of the stock, mm².
        width: of the sheet as it lies, mm.
        right: how far from its left its pieces reach, mm.
        angles: by how many degrees besides quarters a piece is turned, of those that are.
    """

    stock: Stock
    turned: bool
    pieces: float
    area: float
    width: float
    right: float
    angles: Mapping[str, float] = field(default_factory=dict)

    @property
    def waste(self) -> float:
        """The part of the stock that does not become pieces, 0 to 1."""
        return 1 - self.pieces / self.area if self.area else 0.0

    @property
    def used(self) -> float:
        """The area of the stock as far from the left as its pieces reach, mm²."""
        return self.area * min(1.0, self.right / self.width)


def waste_of(taken: Sequence[Taken], *, used: bool = False) -> float:
    """The part of all stock, or of what is used of it, that does not become pieces, 0 to 1."""
    area = sum(t.used if used else t.area for t in taken)
    return 1 - sum(t.pieces for t in taken) / area if area else 0.0


def right_of(sheet: Sheet) -> float:
    """How far from the left of a sheet what is burned on it reaches, mm."""
    right = 0
    for placement in sheet.placements:
        box = UmBox.round_path(burned(placement.artwork)).turned(placement.quarters)
        right = max(right, placement.x_um + box.x1)
    return right / UM_PER_MM


def lies_turned(stock: Stock, machine: Machine) -> bool:
    """Whether stock fits the bed only turned by a quarter."""
    width, height = stock.width, stock.height
    fits = width <= machine.bed[0] and height <= machine.bed[1]
    return not fits and height <= machine.bed[0] and width <= machine.bed[1]


def taken_in_grid(sheets: Sequence[Sheet], blank: Blank, stock: Stock, machine: Machine) -> tuple[Taken, ...]:
    """What sheets in a grid take of whole stock."""
    same = _area(blank.outline) if blank.outline_cut else None
    found = []
    for sheet in sheets:
        pieces = sum(_piece_area(p.artwork) if same is None else same for p in sheet.placements)
        whole = sheet.size[0] * sheet.size[1]
        turned = lies_turned(stock, machine)
        found.append(Taken(stock, turned, pieces, whole, sheet.size[0], right_of(sheet)))
    return tuple(found)


def _piece_area(artwork: Artwork) -> float:
    return float(footprint(artwork).area)


def _area(path: Path) -> float:
    """The area within an outline of one closed contour or several apart, mm²."""
    total = 0.0
    for contour in path.contours():
        ring = flattened(contour)
        total += abs(float((ring.conj() * np.roll(ring, -1)).imag.sum()) / 2)
    return total


def used_up(sheet: Sheet, taken: Taken | None = None, widen: float = 0.0) -> tuple[Path, ...]:
    """The closed regions of the stock that a sheet's pieces take, to be remembered with what is left.

    They have few corners and hold a little more than what is cut. They lie as the stock is kept, from its top
    left corner, even where it lies turned on the bed.

    Args:
        sheet: with its placements.
        taken: how the stock lies on the bed; None: as it is kept.
        widen: by how much the hole is wider than the piece all round, mm: the width of the kerf.
    """
    from shapely import affinity

    from render.sheets.nesting import Laid, lying

    found = []
    for placement in sheet.placements:
        at = Laid("", 0, 90.0 * (placement.quarters % 4), placement.x_um, placement.y_um)
        region = lying(at, footprint(placement.artwork)).buffer(widen + _COARSE_MM / 2, quad_segs=2)
        region = region.simplify(_COARSE_MM / 2)
        if taken is not None and taken.turned:
            region = affinity.affine_transform(region, [0, 1, -1, 0, 0, taken.stock.height])
        rings = [part.exterior.coords[:-1] for part in getattr(region, "geoms", [region])]
        found += [Path.polygon(complex(x, y) for x, y in ring) for ring in rings]
    return tuple(found)


def clear_rectangle(stock: Stock, more: Sequence[Path] = (), step: float = 5.0) -> tuple[float, float]:
    """Width and height, mm, of a large rectangle of stock that is free of used-up regions and margins.

    Looked for on squares of `step` mm, each free only if all of it is.
    """
    import shapely

    columns = int((stock.width - 2 * stock.margin) // step)
    rows = int((stock.height - 2 * stock.margin) // step)
    if columns < 1 or rows < 1:
        return 0.0, 0.0
    gone = shapely.union_all(
        [
            shapely.Polygon(corners_of(c)).buffer(stock.gap)
            for path in (*stock.used, *more)
            for c in path.contours()
        ]
    )
    x, y = (stock.margin + step * np.arange(n) for n in (columns, rows))
    left, top = np.meshgrid(x, y)
    cells = shapely.box(left, top, left + step, top + step)
    shapely.prepare(gone)
    return _largest(~shapely.intersects(gone, cells), step)


def _largest(free: Any, step: float) -> tuple[float, float]:
    """The largest rectangle of free cells [row, column], by the height of free cells above each row."""
    best, size = 0, (0.0, 0.0)
    high = [0] * free.shape[1]
    for row in free.tolist():
        high = [h + 1 if is_free else 0 for h, is_free in zip(high, row, strict=True)]
        for begin in range(len(high)):
            low = high[begin]
            for end in range(begin, len(high)):
                low = min(low, high[end])
                if not low:
                    break
                if low * (end - begin + 1) > best:
                    best, size = low * (end - begin + 1), ((end - begin + 1) * step, low * step)
    return size
