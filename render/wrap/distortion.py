"""What a body's shape does to a drawing: by how much lengths, angles and areas come out different."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from render.wrap.figures import Distortion
from render.wrap.lays import DrawingMap

Points = NDArray[np.complex128]


def distortion_of(laid: Sequence[tuple[DrawingMap, Points]]) -> Distortion:
    """Worst and mean over all points of a drawing, from the greatest and least stretch a ≥ b at each.

    Length is off by a - 1 or 1 - b at most, an angle by 2 asin((a - b) / (a + b)), an area by a b - 1 (N. A.
    Tissot's indicatrix; J. P. Snyder, Map Projections: A Working Manual, 1987, from memory).

    Args:
        laid: maps, each with the points of the drawing that it lays.
    """
    stretched = [drawn.stretch(points) for drawn, points in laid if points.size]
    if not stretched:
        return Distortion()
    most, least = (np.concatenate(both) for both in zip(*stretched, strict=True))
    length = np.maximum(most - 1, 1 - least)
    angle = (most - least) / (most + least)
    area = np.abs(most * least - 1)
    worst_angle = math.degrees(2 * math.asin(float(angle.max())))
    mean_angle = float(np.degrees(2 * np.arcsin(angle)).mean())
    return Distortion(
        (_tidy(length.max()), _tidy(length.mean())),
        (_tidy(worst_angle), _tidy(mean_angle)),
        (_tidy(area.max()), _tidy(area.mean())),
    )


def _tidy(value: float) -> float:
    """What is only the noise of arithmetic is nothing."""
    return 0.0 if value < 1e-12 else float(value)
