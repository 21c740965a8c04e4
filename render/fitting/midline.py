"""The middle line of a thin strip: where discs that just fit into it have their middles (its medial axis)."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
import shapely

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
    diagram = shapely.voronoi_polygons(shapely.multipoints(places), only_edges=True)
    edges = shapely.get_parts(diagram)
    ends: Any = shapely.points(shapely.get_coordinates(edges))
    if len(ends) != 2 * len(edges):
        return None
    clear = shapely.distance(ends, whole.boundary).reshape(-1, 2).min(axis=1)
    inside = shapely.contains(zone, ends).reshape(-1, 2).all(axis=1) & shapely.contains(whole, edges)
    kept = edges[inside & (clear >= _CLEAR * thin / 2)]
    return shapely.union_all(kept) if np.size(kept) else None
