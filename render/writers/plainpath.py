"""Path data, number by number: the plain way."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from render.geometry.path import POINTS_PER_COMMAND
from render.units import format_mm


def path_data(commands: NDArray[np.uint8], um: NDArray[np.int64]) -> str:
    """SVG path data in mm, absolute M L Q C Z, from whole micrometres of shape (n, 2)."""
    parts: list[str] = []
    at = 0
    for code in commands.tolist():
        count = int(POINTS_PER_COMMAND[code])
        numbers = (um[at : at + count] / 1000).reshape(-1).tolist()
        parts.append("MLQCZ"[code] + " ".join(format_mm(n) for n in numbers))
        at += count
    return "".join(parts)
