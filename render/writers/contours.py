"""The contours of a sheet, one by one, for formats that know no paths of several."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from render.geometry.path import CLOSE, Path
from render.geometry.subdivide import with_lines_home
from render.model import Operation, Sheet
from render.units import from_um
from render.writers.svg import DRAW_ORDER


@dataclass(frozen=True, slots=True)
class Contour:
    """One contour on the sheet, rounded to whole micrometres, in mm.

    Attributes:
        path: without its CLOSE; the last point is the first where `closed`.
        mark: counts the marks of the sheet: contours of one mark are filled together.
    """

    operation: Operation
    mark: int
    closed: bool
    path: Path


def sheet_contours(sheet: Sheet) -> Iterator[Contour]:
    """By operation, guides first and then as the beam goes; in it by piece. Lone points are left out."""
    number = 0
    for operation in DRAW_ORDER:
        for placement in sheet.placements:
            for mark in placement.artwork.marks:
                if mark.operation is not operation or not mark.path:
                    continue
                number += 1
                placed = Path(mark.path.commands, from_um(placement.path_um(mark.path)))
                for part in with_lines_home(placed).contours():
                    if part.points.size > 1:
                        closed = bool(part.commands[-1] == CLOSE)
                        commands = part.commands[:-1] if closed else part.commands
                        yield Contour(operation, number, closed, Path(np.array(commands), part.points))
