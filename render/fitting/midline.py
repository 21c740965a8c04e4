"""The middle line of a thin strip: where discs that just fit into it have their middles (its medial axis)."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
import shapely
from numpy.typing import NDArray

from render.fitting.solids import Region

_FINE: Final = 0.35
"""Places of the boundary lie this part of the strip's width apart, at most."""

_CLEAR: Final = 0.55
"""Of the middle line counts what keeps this part of half the strip’s width from the boundary: no branches
into its corners."""

_MOST: Final = 600


def middle_line(whole: Region, strip: Region, width: float) -> Any:
    """The middle line of a region where it is as thin as `strip`, a little into what the strip ends at.

    From the Voronoi diagram of places on the boundary: its edges that lie within the region (F. Aurenhammer,
    Voronoi Diagrams, 1991, section 3).

    Args:
        whole: the region round the strip.
        strip: a thin part of it, between two stout ones.
        width: of a disc that just does not pass.

    Returns:
        A shapely line or several; None where none is found.
    """
    thin = 2 * strip.area / strip.length
    zone = shapely.buffer(strip, 0.3 * width, quad_segs=3)
    rim = shapely.intersection(whole.boundary, shapely.buffer(zone, width, quad_segs=3))
    places = shapely.get_coordinates(shapely.segmentize(rim, max(_FINE * thin, 0.02 * width)))
    if not 4 <= len(places) <= _MOST:
        return None
    corners, edges = _diagram(np.unique(places, axis=0))
    points: Any = shapely.points(corners)
    edges = edges[shapely.contains(zone, points)[edges].all(axis=1)]
    clear = np.zeros(len(corners))
    used = np.unique(edges)
    clear[used] = shapely.distance(points[used], whole.boundary)
    edges = edges[clear[edges].min(axis=1, initial=np.inf) >= _CLEAR * thin / 2]
    lines: Any = shapely.linestrings(corners[edges])
    shapely.prepare(whole)
    kept = lines[shapely.contains(whole, lines)] if len(edges) else []
    return shapely.union_all(kept) if np.size(kept) else None


def _diagram(places: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Corners of the Voronoi diagram of some places, and its bounded edges as pairs of them.

    By Qhull, in a fifth of the time that GEOS takes for as many places.
    """
    from scipy.spatial import QhullError, Voronoi

    try:
        diagram = Voronoi(places)
    except QhullError:  # all on one line
        return np.zeros((0, 2)), np.zeros((0, 2), np.int64)
    ridges = np.array(diagram.ridge_vertices, np.int64).reshape(-1, 2)
    return diagram.vertices, ridges[(ridges >= 0).all(axis=1)]
