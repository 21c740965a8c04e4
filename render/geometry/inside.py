"""Which contours lie inside which: true containment, not boxes."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from render.geometry import CLOSE, Path
from render.geometry.curves import FLATTEN_TOLERANCE_MM, chords_needed, evaluate
from render.geometry.path import POINTS_PER_COMMAND

Points = NDArray[np.complex128]


def flattened(contour: Path, tolerance: float = FLATTEN_TOLERANCE_MM) -> Points:
    """Corners of one contour with its curves as chords, each within `tolerance` mm of its curve."""
    corners = [contour.points[:1]]
    at = 1
    for code in contour.commands[1:].tolist():
        if code == CLOSE:
            continue
        count = int(POINTS_PER_COMMAND[code])
        curve = contour.points[at - 1 : at + count]
        steps = chords_needed(curve, tolerance)
        corners.append(evaluate(curve, np.linspace(0, 1, steps + 1)[1:]))
        at += count
    return np.concatenate(corners)


def winding(corners: Points, points: Points) -> NDArray[np.int64]:
    """How often the closed polygon of `corners` winds round each of `points`.

    Signed crossings of a ray to the right, the edges half open so that a corner counts once (K. Hormann,
    A. Agathos, "The point in polygon problem for arbitrary polygons", 2001). A point on the polygon itself
    may come out either way.
    """
    start, end = corners, np.roll(corners, -1)
    above0 = start.imag[None, :] > points.imag[:, None]
    above1 = end.imag[None, :] > points.imag[:, None]
    way = end - start
    rel = points[:, None] - start[None, :]
    side = way.real * rel.imag - way.imag * rel.real
    down = ~above0 & above1 & (side < 0)
    up = above0 & ~above1 & (side > 0)
    return np.asarray(down.sum(axis=1) - up.sum(axis=1), dtype=np.int64)


def depths(contours: Sequence[Path]) -> NDArray[np.int64]:
    """For each contour in how many of the others it lies.

    A contour lies in a closed one if its box does and most of its points do; contours of one piece may touch
    but not cross. Open contours contain nothing.
    """
    count = len(contours)
    depth = np.zeros(count, np.int64)
    if count < 2:
        return depth
    boxes = np.array([(b.x0, b.y0, b.x1, b.y1) for b in (c.bounds() for c in contours)])
    areas = (boxes[:, 2] - boxes[:, 0]) * (boxes[:, 3] - boxes[:, 1])
    for outer in (i for i, c in enumerate(contours) if c.commands[-1] == CLOSE):
        within = (boxes[:, :2] >= boxes[outer, :2]).all(axis=1) & (boxes[:, 2:] <= boxes[outer, 2:]).all(
            axis=1
        )
        candidates = np.flatnonzero(within & ((areas < areas[outer]) | (np.arange(count) > outer)))
        candidates = candidates[candidates != outer].tolist()
        if candidates:
            corners = flattened(contours[outer])
            for inner in candidates:
                inside = winding(corners, _samples(contours[inner])) != 0
                depth[inner] += 2 * int(inside.sum()) > inside.size
    return depth


def _samples(contour: Path) -> Points:
    """Points on the contour itself: where its commands end."""
    ends = np.cumsum(POINTS_PER_COMMAND[contour.commands])[contour.commands != CLOSE] - 1
    return np.asarray(contour.points[ends])
