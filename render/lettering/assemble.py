"""Shaped lines in their final places become paths in mm."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class GlyphRun:
    """A shaped line in whole font units, y up, the pen starting at (0, 0).

    Attributes:
        font_key: names the outlines it is drawn with: SHA-256 of the font file, index and variation.
        upem: font units to the em.
        gids: glyph ids in visual order, blank glyphs included.
        xs, ys: where each glyph's origin lies (pen and offset together), whole font units.
        clusters: for each glyph the number of its cluster, counted from 0 left to right.
        pens: for each cluster the pen's x at its left edge.
    """

    font_key: str
    upem: int
    gids: tuple[int, ...]
    xs: tuple[int, ...]
    ys: tuple[int, ...]
    clusters: tuple[int, ...] = ()
    pens: tuple[int, ...] = ()
