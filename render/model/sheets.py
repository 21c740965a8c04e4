"""Loads of the machine."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from render.geometry import Path
from render.model.artwork import Artwork
from render.model.operations import Operation
from render.units import to_um


@dataclass(frozen=True, slots=True)
class Placement:
    """A piece on a sheet: turned clockwise by `quarters` × 90° about (0, 0), then moved by whole micrometres.

    `place` counts the places of the sheet from 1, as a person would point at them.
    """

    artwork: Artwork
    place: int
    x_um: int
    y_um: int
    quarters: int = 0

    def path_um(self, path: Path) -> np.ndarray[tuple[int, int], np.dtype[np.int64]]:
        """The path's points on the sheet in whole micrometres, shape (n, 2): exact after one rounding."""
        um = to_um(path.points)
        if self.quarters % 4 == 0:
            um[:, 0] += self.x_um
            um[:, 1] += self.y_um
            return um
        x, y = um[:, 0], um[:, 1]
        x, y = ((x, y), (-y, x), (-x, -y), (y, -x))[self.quarters % 4]
        return np.stack((x + self.x_um, y + self.y_um), axis=1)


@dataclass(frozen=True, slots=True)
class Sheet:
    """One load of the machine.

    Attributes:
        number: from 1.
        size: width and height of the drawing in mm: the bed or the sheet of stock.
        gap: least distance in mm that pieces keep from each other.
        colours: stroke and fill colour by operation.
        settings: what a person sets at the machine for this load, in words, a line each; written into the
            file beside its title. Empty for flat work.
    """

    number: int
    title: str
    size: tuple[float, float]
    gap: float
    placements: tuple[Placement, ...]
    colours: Mapping[Operation, str] = field(default_factory=dict)
    settings: str = ""
