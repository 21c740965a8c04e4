"""What a body's shape does to a drawing: by how much lengths, angles and areas come out different."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from render.wrap.figures import Distortion
from render.wrap.lays import DrawingMap

Points = NDArray[np.complex128]


@dataclass(frozen=True, slots=True)
class Strain:
    """How far some points are off, added up: worst and sum of lengths, angles (radians) and areas.

    Attributes:
        points: how many there are.
        worst, total: of length, angle and area.
    """

    points: int
    worst: tuple[float, float, float]
    total: tuple[float, float, float]


def strain_of(drawn: DrawingMap, points: Points) -> Strain:
    """What a map does to points of a drawing, from the greatest and least stretch a ≥ b at each.

    Length is off by a - 1 or 1 - b at most, an angle by 2 asin((a - b) / (a + b)), an area by a b - 1 (N. A.
    Tissot's indicatrix; J. P. Snyder, Map Projections: A Working Manual, 1987, from memory).
    """
    if not points.size:
        return Strain(0, (0.0, 0.0, 0.0), (0.0, 0.0, 0.0))
    most, least = drawn.stretch(points)
    length = np.maximum(most - 1, 1 - least)
    angle = 2 * np.arcsin((most - least) / (most + least))
    area = np.abs(most * least - 1)
    off = (length, angle, area)
    worst, total = [float(each.max()) for each in off], [float(each.sum()) for each in off]
    return Strain(points.size, (worst[0], worst[1], worst[2]), (total[0], total[1], total[2]))


def distortion_of(strains: Iterable[Strain]) -> Distortion:
    """Worst and mean over all points of a drawing."""
    every = [strain for strain in strains if strain.points]
    if not every:
        return Distortion()
    count = sum(strain.points for strain in every)
    worst = [_tidy(max(strain.worst[k] for strain in every)) for k in range(3)]
    mean = [_tidy(sum(strain.total[k] for strain in every) / count) for k in range(3)]
    angle = (math.degrees(worst[1]), math.degrees(mean[1]))
    return Distortion((worst[0], mean[0]), angle, (worst[2], mean[2]))


def _tidy(value: float) -> float:
    """What is only the noise of arithmetic is nothing."""
    return 0.0 if value < 1e-12 else float(value)
