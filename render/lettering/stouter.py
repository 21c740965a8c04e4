"""Lines whose thin strokes are made stouter: the same letters from outlines that were thickened once each.

A thickened font is a font of its own for whatever draws it: its glyphs are thickened as they are first asked
for and kept like any others. Letters that were apart and would come closer than the least gap are moved apart
by what is missing, and the line grows by that to both sides.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from render.lettering.closeness import Closeness
from render.lettering.contours import Contour
from render.lettering.outlines import GlyphReader
from render.lettering.thicken import Wanted, drawn_stouter

if TYPE_CHECKING:
    from render.lettering.assemble import GlyphRun
    from render.lettering.pool import Glyph

FORMAT: Final = 4
"""Raised whenever thickening changes what it makes."""

_CHORD_EM: Final = 2e-5
_PER_EM: Final = 4000
"""Widths are rounded up to this part of an em, so that nearly equal sizes share their outlines."""


@dataclass(frozen=True, slots=True)
class Stoutness:
    """How stout the strokes of a font are to be, in parts of an em (see _PER_EM)."""

    stroke: int
    gap: int

    @classmethod
    def of(cls, stroke: float, gap: float, size: float) -> Stoutness:
        """From widths and the size, all in mm."""
        return cls(math.ceil(stroke / size * _PER_EM), math.ceil(gap / size * _PER_EM))

    def key(self, font_key: str) -> str:
        """What the thickened font is called."""
        return f"{font_key};stroke {self.stroke};gap {self.gap};{FORMAT}"

    def wanted(self, upem: int) -> Wanted:
        """In font units."""
        return Wanted(self.stroke * upem / _PER_EM, self.gap * upem / _PER_EM, _CHORD_EM * upem)


class StoutReader(GlyphReader):
    """Draws the glyphs of another font, thickened."""

    def __init__(self, plain: GlyphReader, glyph: Callable[[int], Glyph], stoutness: Stoutness) -> None:
        self._plain, self._united = plain, glyph
        self._wanted = stoutness.wanted(plain.upem)
        self.upem, self.title = plain.upem, f"{plain.title}, thickened"

    def name(self, gid: int) -> str:
        """The glyph's name in the file."""
        return self._plain.name(gid)

    def contours(self, gid: int) -> list[Contour]:
        """The contours of a glyph, thickened, still to be united."""
        plain = self._united(gid).contours
        drawn = drawn_stouter(plain, self._wanted)
        return list(plain if drawn is None else drawn.contours)


def kept_apart(run: GlyphRun, key: str, plain: Closeness, stout: Closeness, least: float) -> GlyphRun:
    """The run in a thickened font, letters that were apart moved so that they still are.

    Args:
        run: in the plain font.
        key: names the thickened font.
        plain: how close letters stand in the plain font.
        stout: how close they stand in the thickened one.
        least: the least gap, em.
    """
    moved, xs, last = 0, [], -1
    for k, gid in enumerate(run.gids):
        if plain.inked(gid):
            if last >= 0:
                moved += _missing(run, last, k, plain, stout, least)
            last = k
        xs.append(run.xs[k] + moved)
    half = moved // 2
    shifts = {c: x - run.xs[k] for k, (c, x) in reversed(list(enumerate(zip(run.clusters, xs, strict=True))))}
    return replace(
        run,
        font_key=key,
        xs=tuple(x - half for x in xs),
        pens=tuple(pen + shifts.get(c, moved) - half for c, pen in enumerate(run.pens)),
    )


def _missing(run: GlyphRun, i: int, j: int, plain: Closeness, stout: Closeness, least: float) -> int:
    """By how many font units the second of two neighbours must be moved to the right."""
    dx, dy = run.xs[j] - run.xs[i], run.ys[j] - run.ys[i]
    a, b = run.gids[i], run.gids[j]
    if stout.surely_apart(a, b, dx, least):
        return 0
    before = plain.between(a, b, dx, dy)
    if before == math.inf:  # they touch, and may
        return 0
    least = min(least, before)
    move = 0
    for _ in range(3):
        far = stout.between(a, b, dx + move, dy)
        if least <= far < math.inf:
            break
        move += math.ceil((least - (0.0 if far == math.inf else far)) * stout.upem)
    return move
