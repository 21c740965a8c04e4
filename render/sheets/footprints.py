"""What a piece covers of the stock it is cut from."""

from __future__ import annotations

from functools import lru_cache
from typing import Any, Final

import numpy as np

from render.geometry import CLOSE, Path
from render.model import Artwork, Operation
from render.sheets.inside import flattened

FLAT_MM: Final = 0.01
"""How far chords leave curves, and by how much footprints are widened to hold them."""


def burned(artwork: Artwork) -> Path:
    """All contours of an artwork that are burned."""
    return Path.joined(m.path for m in artwork.marks if m.operation is not Operation.GUIDE)


def footprint(artwork: Artwork) -> Any:
    """The shapely region that a piece takes on the stock: all that is burned of it, holes filled."""
    return _footprint(burned(artwork))


def corners_of(contour: Path) -> list[tuple[float, float]]:
    """The corners of a contour, its curves as chords, mm."""
    return [(p.real, p.imag) for p in flattened(contour, FLAT_MM).tolist()]


@lru_cache(maxsize=4096)
def _footprint(path: Path) -> Any:
    import shapely

    parts: list[Any] = []
    for contour in path.contours():
        corners = flattened(contour, FLAT_MM)
        xy = np.stack((corners.real, corners.imag), axis=1)
        if contour.commands[-1] == CLOSE and len(xy) > 2:
            parts.append(shapely.make_valid(shapely.Polygon(xy)))
        else:
            parts.append(shapely.LineString(xy) if len(xy) > 1 else shapely.Point(xy[0]))
    grown = shapely.union_all([part.buffer(FLAT_MM, quad_segs=2) for part in parts])
    return shapely.union_all([shapely.Polygon(g.exterior) for g in getattr(grown, "geoms", [grown])])
