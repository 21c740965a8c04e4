"""Whether pieces keep their distance: boxes first, true distances only for pairs of near boxes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from numpy.typing import NDArray

from render.sheets.measure import FLAT_UM, corners
from render.sheets.pathpool import M, Pool, Z

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

TOLERANCE_UM: Final = 2 * FLAT_UM
"""What flattening both pieces may hide or feign, micrometres."""


def near_pairs(boxes: NDArray[Any], gap: float) -> Iterator[tuple[int, int]]:
    """Pairs (i, j) of boxes (n, 4) whose distance is less than `gap`, by a sweep along x."""
    order = np.argsort(boxes[:, 0], kind="stable")
    x0, y0, x1, y1 = boxes[order].T
    last = np.searchsorted(x0, x1 + gap, "left")
    for i, end in enumerate(last.tolist()):
        rest = slice(i + 1, end)
        dx = np.maximum(x0[rest] - x1[i], 0)
        dy = np.maximum(np.maximum(y0[rest] - y1[i], y0[i] - y1[rest]), 0)
        touching = (dx == 0) & (dy == 0) & (x0[rest] < x1[i]) & (y0[rest] < y1[i]) & (y0[i] < y1[rest])
        for j in np.flatnonzero((dx * dx + dy * dy < gap * gap) | touching):
            yield int(order[i]), int(order[i + 1 + j])


def too_near(
    pieces: Sequence[Sequence[Pool]], boxes: NDArray[Any], gap: float
) -> Iterator[tuple[int, int, float]]:
    """Pairs of pieces nearer than `gap` µm, and how near: exact but for :data:`TOLERANCE_UM`."""
    shapes: dict[int, BaseGeometry] = {}
    for i, j in near_pairs(boxes, gap):
        for k in (i, j):
            if k not in shapes:
                shapes[k] = _shape(pieces[k])
        distance = float(shapes[i].distance(shapes[j]))
        if distance < gap - TOLERANCE_UM or (distance == 0 and shapes[i].intersection(shapes[j]).area > 0):
            yield i, j, distance


def _shape(pools: Sequence[Pool]) -> BaseGeometry:
    """A piece as a shape for shapely: closed contours filled, open ones as lines."""
    import shapely

    parts: list[BaseGeometry] = []
    for pool in pools:
        begins = np.flatnonzero(pool.commands == M)
        ends = np.append(begins[1:], pool.commands.size) - 1
        for ring, end in zip(corners(pool), ends, strict=True):
            closed = pool.commands[end] == Z and len(ring) > 3
            parts.append(shapely.make_valid(shapely.Polygon(ring)) if closed else shapely.LineString(ring))
    return shapely.unary_union(parts)


def inside_later(pool: Pool) -> tuple[int, int] | None:
    """The first pair (outer, inner) of contours where the inner comes after the outer it lies in, or None."""
    rings = corners(pool)
    if len(rings) < 2:
        return None
    boxes = np.array([(*r.min(axis=0), *r.max(axis=0)) for r in rings])
    shapes: dict[int, Any] = {}
    for outer in range(len(rings) - 1):
        later = np.arange(outer + 1, len(rings))
        fits = (boxes[later, :2] >= boxes[outer, :2]).all(axis=1) & (
            boxes[later, 2:] <= boxes[outer, 2:]
        ).all(axis=1)
        for inner in later[fits]:
            if _holds(rings[outer], rings[inner], shapes, outer):
                return outer, int(inner)
    return None


def _holds(outer: NDArray[Any], inner: NDArray[Any], shapes: dict[int, Any], key: int) -> bool:
    """Whether most corners of `inner` lie strictly inside `outer`."""
    import shapely

    if key not in shapes:
        shapes[key] = (
            shapely.make_valid(shapely.Polygon(outer)) if len(outer) > 3 else shapely.LineString(outer)
        )
        shapely.prepare(shapes[key])
    return bool(2 * shapely.contains_xy(shapes[key], inner).sum() > len(inner))
