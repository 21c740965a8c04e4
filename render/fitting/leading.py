"""How far apart lines must stand so that the ink of one does not run into that of the next."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from render.model import SKYLINE_STEP, Line, Skyline

INK_GAP_EM: Final = 0.08
"""Free room kept between the ink of two lines: about a hair stroke, and seen as a gap at any size."""

_BESIDE: Final = 2
"""Columns to either side in which ink counts as above or below: room to the side is room too."""

Skylines = Callable[[Line], Skyline | None]
"""Tells a line's skyline; None for a line without ink."""


def needed_leading(lines: Sequence[Line], pens: Sequence[float], skyline: Skylines) -> float:
    """The least distance of baselines, in em, at which the lines keep INK_GAP_EM; 0 where it does not matter.

    Args:
        lines: from top to bottom.
        pens: x at which each begins, em.
        skyline: tells the skyline of each.
    """
    need = 0.0
    for above, below, shift in zip(lines, lines[1:], np.diff(pens).tolist(), strict=False):
        need = max(need, _between(above, below, round(shift / SKYLINE_STEP), skyline))
    return need


def _between(above: Line, below: Line, columns: int, skyline: Skylines) -> float:
    """The distance that two lines need, the lower one shifted to the right by so many columns."""
    upper, lower = skyline(above), skyline(below)
    if upper is None or lower is None:
        return 0.0
    bottoms, tops = _widened(upper.bottoms, np.maximum), _widened(lower.tops, np.minimum)
    begin = max(upper.first, lower.first + columns) - _BESIDE
    end = min(upper.first + upper.tops.size, lower.first + columns + lower.tops.size) + _BESIDE
    if end <= begin:
        return 0.0
    a, b = begin - (upper.first - _BESIDE), begin - (lower.first + columns - _BESIDE)
    length = min(end - begin, bottoms.size - a, tops.size - b)
    reach = float((bottoms[a : a + length] - tops[b : b + length]).max(initial=-np.inf))
    return max(reach + INK_GAP_EM, 0.0) if np.isfinite(reach) else 0.0


def _widened(edge: NDArray[np.float64], further: np.ufunc) -> NDArray[np.float64]:
    """Each column with the furthest of its neighbours, two columns longer at both ends."""
    empty = -np.inf if further is np.maximum else np.inf
    padded = np.full(edge.size + 4 * _BESIDE, empty)
    padded[2 * _BESIDE : -2 * _BESIDE] = edge
    size = edge.size + 2 * _BESIDE
    return np.asarray(further.reduce([padded[k : k + size] for k in range(2 * _BESIDE + 1)]))


@lru_cache(maxsize=1)
def no_skylines() -> Skylines:
    """For whoever does not know the ink: no line is ever in the way."""
    return lambda _line: None
