"""Where the eye finds the weight of a line of lettering: its centre of mass, and its edges."""

from __future__ import annotations

from typing import Final

import numpy as np

from render.geometry import CLOSE, Path
from render.lettering.contours import Floats
from render.lettering.letters import chords
from render.model import Weight

EDGE: Final = 0.012
"""Square em of ink that may lie beyond a line's edge as the eye sees it: a thin swash, or a round letter's
side; a stem takes hardly a hundredth of an em for it (tried on the shipped fonts, no source)."""

_CELLS: Final = 512
_CHORDS: Final = 6


def weight_of(path: Path) -> Weight | None:
    """The weight of a line drawn one mm to the em, its pen at the origin; None if it has no ink.

    Outlines weigh by their area (Green's theorem), open strokes by their length.
    """
    if not path:
        return None
    begins, ends = chords(path, _CHORDS)
    if (path.commands == CLOSE).any():
        lead = (begins.imag + ends.imag) / 2 * (ends.real - begins.real)
        high = (begins.imag**2 + begins.imag * ends.imag + ends.imag**2) / 6 * (ends.real - begins.real)
        wide = (begins.real**2 + begins.real * ends.real + ends.real**2) / 6 * (begins.imag - ends.imag)
        sign = np.sign(lead.sum())
        ink, high, wide, most = sign * lead, sign * high, sign * wide, EDGE
    else:
        ink = np.abs(ends - begins)
        middle = (begins + ends) / 2
        high, wide, most = ink * middle.imag, ink * middle.real, float(ink.sum()) * EDGE
    total = float(ink.sum())
    if not total > 0:
        return None
    box = path.bounds()
    across = max(box.width, 1e-9)
    cells = _by_cell((begins.real - box.x0) / across, (ends.real - box.x0) / across, ink)
    most = min(most, total / 4)
    left, right = (
        (int(np.searchsorted(np.maximum.accumulate(np.cumsum(way)), most)) + 0.5) / _CELLS * across
        for way in (cells, cells[::-1])
    )
    return Weight(float(wide.sum()) / total, float(high.sum()) / total, box.x0 + left, box.x1 - right)


def _by_cell(begins: Floats, ends: Floats, ink: Floats) -> Floats:
    """What chords from place to place, 0 to 1, bring to each of _CELLS cells, evenly along each chord."""
    low, high = np.minimum(begins, ends) * _CELLS, np.maximum(begins, ends) * _CELLS
    first = np.clip(np.floor(low), 0, _CELLS - 1).astype(np.int64)
    last = np.clip(np.floor(high), 0, _CELLS - 1).astype(np.int64)
    spans = last - first + 1
    chord = np.repeat(np.arange(spans.size), spans)
    cell = np.arange(chord.size) - np.repeat(np.cumsum(spans) - spans - first, spans)
    within = np.minimum(cell + 1, high[chord]) - np.maximum(cell, low[chord])
    length = np.where(high > low, high - low, 1.0)
    share = np.where((spans == 1)[chord], 1.0, within / length[chord])
    return np.bincount(cell, ink[chord] * share, _CELLS).astype(np.float64)
