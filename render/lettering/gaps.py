"""The gap that the eye sees between two letters: free room side by side, row by row."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np

from render.lettering.contours import Floats
from render.lettering.font import Font
from render.lettering.pool import Glyph
from render.lettering.shaping import Shaped, shape
from render.lettering.skylines import columns

ROW_EM: Final = 1 / 32
_LOWEST, _HIGHEST = -8, 28
"""Rows that are looked at, from a descender's depth to above the capitals."""

_BAND: Final = slice(-_LOWEST, -_LOWEST + 13)
"""Rows that the eye judges by: from the baseline up about the height of small letters."""

DEEPEST_EM: Final = 0.3
"""Free room deeper than this looks no wider."""

GAP_KEPT: Final = 0.1
"""The gap of a font without letters to tell it by, or that joins them, em."""

_ABOUT_LETTERS, _ABOUT_WORDS = 3, 14
"""Rows that count as beside each other."""

Glyphs = Callable[[int], Glyph]
Side = tuple[Glyphs, Shaped, int]
"""What gives the glyphs of a run, the run, shaped, and font units to the em of the line."""


@dataclass(frozen=True, slots=True)
class Gap:
    """Free room between the last letter of one run and the first of the next, em of the line.

    Attributes:
        seen: its mean, as the eye judges it: free room counts no deeper than DEEPEST_EM in any row (derived
            here; that spaces are judged by their area is common practice in type design, no source).
        nearest: its least; what is a little higher or lower counts as beside, where there is a space much so.
        spaced: whether there is a space between the two letters.
    """

    seen: float
    nearest: float
    spaced: bool


def gap_between(left: Side, right: Side) -> Gap | None:
    """The gap between two runs side by side; None if one has no ink."""
    one, two = _free(*left, last=True), _free(*right, last=False)
    if one is None or two is None:
        return None
    rows = one[0] + two[0]
    seen = float(np.minimum(rows[_BAND], DEEPEST_EM).mean())
    spaced = one[1] or two[1]
    about = _ABOUT_WORDS if spaced else _ABOUT_LETTERS
    near = [one[0][k : k + about].min() + two[0][k : k + about].min() for k in range(rows.size - about + 1)]
    return Gap(seen, float(min(near)), spaced)


def usual_gap(font: Font, glyphs: Glyphs) -> float:
    """The gap as the eye sees it between two plain letters of a font, em of the font."""
    letter = next((c for c in "nHоהकن中" if c in font.covered), "")
    side = (glyphs, shape(font, letter, font_key=""), font.upem)
    gap = gap_between(side, side) if letter else None
    return GAP_KEPT if gap is None else gap.seen


def _free(glyphs: Glyphs, shaped: Shaped, upem: int, *, last: bool) -> tuple[Floats, bool] | None:
    """The free room beside the last letter of a run, or the first, row by row, em; None if it has no ink.

    And whether there is a space between that letter and the run's end.
    """
    run = shaped.run
    inked = {cluster for gid, cluster in zip(run.gids, run.clusters, strict=True) if glyphs(gid).box}
    if not inked:
        return None
    wanted = max(inked) if last else min(inked)
    step = ROW_EM * upem
    edge: Floats = np.full(_HIGHEST - _LOWEST, -np.inf)
    for at in (k for k, cluster in enumerate(run.clusters) if cluster == wanted):
        glyph = glyphs(run.gids[at])
        if glyph.box is None:
            continue
        begin = int(np.floor((glyph.box[1] + run.ys[at]) / step))
        count = int(np.floor((glyph.box[3] + run.ys[at]) / step)) - begin + 1
        begins, ends = (1j * np.conjugate(points) for points in glyph.edges)  # rows become columns
        furthest, nearest = columns((begins, ends), run.ys[at] - begin * step, step, count)
        rows = np.arange(begin, begin + count) - _LOWEST
        there = (rows >= 0) & (rows < edge.size)
        reach = furthest + run.xs[at] - shaped.advance if last else -(nearest + run.xs[at])
        edge[rows[there]] = np.maximum(edge[rows[there]], reach[there])
    return -edge / upem, wanted != (len(run.pens) - 1 if last else 0)
