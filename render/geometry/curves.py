"""Exact facts about lines and quadratic and cubic Béziers, for whole arrays of them at once.

The formulas are those of the Bernstein form (G. Farin, Curves and Surfaces for CAGD, 5th ed., ch. 5) or
derived from it here.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Points = NDArray[np.complex128]

FLATTEN_TOLERANCE_MM = 0.005
"""Default distance between a curve and the chords that stand for it: a tenth of a fine laser spot."""

_QUAD, _CUBIC = 2, 3


def quad_cubic_bounds(
    commands: NDArray[np.uint8], points: Points, first: NDArray[np.int64]
) -> tuple[float, float, float, float]:
    """The exact box (x0, y0, x1, y1) of a path's curves.

    Control points inside the box of the on-curve points cannot widen it; only the rest are solved for.
    """
    axes = (points.real, points.imag)
    whole = [float(end(values)) for end in (np.min, np.max) for values in axes]
    quads = first[commands == _QUAD]
    cubics = first[commands == _CUBIC]
    if not (quads.size or cubics.size):
        return whole[0], whole[1], whole[2], whole[3]
    on_curve = np.ones(points.size, bool)
    on_curve[quads] = False
    on_curve[cubics] = False
    on_curve[cubics + 1] = False
    ends = points[on_curve]
    box = [float(end(values)) for end in (np.min, np.max) for values in (ends.real, ends.imag)]
    for axis, values in enumerate(axes):
        if whole[axis] == box[axis] and whole[axis + 2] == box[axis + 2]:
            continue
        extremes = np.concatenate(
            (_quad_extremes(values, quads, box, axis), _cubic_extremes(values, cubics, box, axis))
        )
        if extremes.size:
            box[axis] = min(box[axis], float(extremes.min()))
            box[axis + 2] = max(box[axis + 2], float(extremes.max()))
    return box[0], box[1], box[2], box[3]


def _quad_extremes(values: Floats, starts: NDArray[np.int64], box: list[float], axis: int) -> Floats:
    """Values of quadratics at their turning points, for those whose control point leaves the box."""
    control = values[starts]
    starts = starts[(control < box[axis]) | (control > box[axis + 2])]
    p0, p1, p2 = values[starts - 1], values[starts], values[starts + 1]
    bend = p0 - 2 * p1 + p2
    t = np.divide(p0 - p1, bend, out=np.zeros_like(bend), where=bend != 0)
    t = np.clip(t, 0.0, 1.0)
    return np.asarray(p0 * (1 - t) ** 2 + 2 * p1 * t * (1 - t) + p2 * t * t)


def _cubic_extremes(values: Floats, starts: NDArray[np.int64], box: list[float], axis: int) -> Floats:
    """Values of cubics at their turning points, for those whose controls leave the box."""
    c1, c2 = values[starts], values[starts + 1]
    outside = (np.minimum(c1, c2) < box[axis]) | (np.maximum(c1, c2) > box[axis + 2])
    starts = starts[outside]
    p0, p1, p2, p3 = values[starts - 1], values[starts], values[starts + 1], values[starts + 2]
    # derivative / 3 = a t^2 + 2 b t + c, solved without cancellation (Numerical Recipes, 3rd ed., 5.6)
    a, b, c = -p0 + 3 * p1 - 3 * p2 + p3, p0 - 2 * p1 + p2, p1 - p0
    root = np.sqrt(np.maximum(b * b - a * c, 0.0))
    q = -(b + np.copysign(root, b))
    t1 = np.divide(q, a, out=np.zeros_like(a), where=a != 0)
    t2 = np.divide(c, q, out=np.zeros_like(a), where=q != 0)
    t = np.clip(np.concatenate((t1, t2)), 0.0, 1.0)
    p0, p1, p2, p3 = (np.concatenate((p, p)) for p in (p0, p1, p2, p3))
    s = 1 - t
    return np.asarray(p0 * s**3 + 3 * p1 * s * s * t + 3 * p2 * s * t * t + p3 * t**3)


def split_at(curve: Points, t: float) -> tuple[Points, Points]:
    """One Bézier of any degree, control points shape (k,), cut in two at t (de Casteljau)."""
    left, right, row = [curve[0]], [curve[-1]], curve
    while row.size > 1:
        row = row[:-1] * (1 - t) + row[1:] * t
        left.append(row[0])
        right.append(row[-1])
    return np.array(left), np.array(right[::-1])


def chords_needed(curve: Points, tolerance: float) -> int:
    """How many equal steps in t keep the chords of one Bézier within `tolerance` of it.

    From the bound on the second difference of the control points (Wang's formula: G. Wang, "The
    subdivision method for finding the intersection between two Bézier curves or surfaces", 1984).
    """
    degree = curve.size - 1
    if degree < 2:
        return 1
    second = np.abs(np.diff(curve, 2)).max()
    return max(1, int(np.ceil(np.sqrt(degree * (degree - 1) * second / (8 * tolerance)))))


def evaluate(curve: Points, t: Floats) -> Points:
    """Points of one Bézier of degree 1, 2 or 3 at parameters t."""
    s = 1 - t
    if curve.size == 2:
        return np.asarray(curve[0] * s + curve[1] * t)
    if curve.size == 3:
        return np.asarray(curve[0] * s * s + 2 * curve[1] * s * t + curve[2] * t * t)
    return np.asarray(curve[0] * s**3 + 3 * curve[1] * s * s * t + 3 * curve[2] * s * t * t + curve[3] * t**3)
