"""Regions of shapely, for the tests of the library."""

from __future__ import annotations

import numpy as np

from render.geometry import Path
from render.shop.lie import ring


def region(*paths: Path):
    """Closed contours as shapely's region by the even-odd rule (none of ours overlap the same way round)."""
    from shapely import Polygon

    whole = Polygon()
    for path in paths:
        for contour in path.contours():
            corners = ring(contour)
            whole = whole.symmetric_difference(Polygon(np.stack((corners.real, corners.imag), 1)))
    return whole
