"""Lines along a curve: glyphs turned each by itself, still stitched from what is known of pairs.

As in :mod:`render.lettering.stitch`, but a glyph has a place *and* a turn. Two neighbours on a circle stand
to each other in the same way wherever on it they are, so that their meeting is found once and kept, by
their ids and their relative turn and offset. These are rounded: by at most 1/16 of a font unit and 1/40,000
of a radian, a micrometre in letters 20 mm high, which is what all output is rounded to.
"""

from __future__ import annotations

import cmath
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Final

import numpy as np

from render.geometry import Affine, Path
from render.lettering.batch import assembled
from render.lettering.contours import Contour, on_grid
from render.lettering.meeting import Meeting, meet
from render.lettering.pool import Glyph, Pool
from render.lettering.stitch import Incident, Stitcher
from render.lettering.union import Way, unite
from render.lettering.weave import AstrayError, weave

if TYPE_CHECKING:
    from render.lettering.assemble import GlyphRun

Key = tuple[int, int, int, int, int]
"""Ids of two glyphs, and the turn and offset of the second as whole steps."""

PER_UNIT: Final = 8
PER_RADIAN: Final = 20_000

FIRST_TURNED: Final = 1 << 24
"""Ids from here on are glyphs that were united from turned ones."""

MOST_KEPT: Final = 20_000


class Turner:
    """What is known of one font's glyphs in their turns to each other. Not for use by two threads at once."""

    def __init__(self, stitcher: Stitcher) -> None:
        self._stitcher = stitcher
        self._forget()

    def _forget(self) -> None:
        self._pool = self._stitcher.pool
        self._meetings: dict[Key, Meeting | None] = {}
        self._composites: dict[Key, int] = {}
        self._glyphs: dict[int, Glyph] = {}

    def path(self, run: GlyphRun, turns: Sequence[Affine]) -> Path:
        """The outline of a line whose clusters are turned, in mm, all contours closed, no overlaps left.

        Args:
            run: the shaped line.
            turns: for each cluster the map that takes it, drawn in em, y down, with its pen at the origin, to
                its place in mm: a turn, a scale and a shift.
        """
        if self._stitcher.pool is not self._pool or len(self._meetings) > MOST_KEPT:
            self._forget()
        factors: list[complex] = []
        places: list[complex] = []
        for x, y, cluster in zip(run.xs, run.ys, run.clusters, strict=True):
            turn = turns[cluster]
            factor = complex(turn.a, -turn.b) / run.upem
            factors.append(factor)
            places.append(factor * complex(x - run.pens[cluster], y) + complex(turn.e, -turn.f))
        ids = list(run.gids)
        pieces = self._pieces(ids, factors, places)
        return assembled(self._pool, pieces, np.array(factors), np.array(places))

    def _glyph(self, gid: int) -> Glyph:
        return self._glyphs[gid] if gid >= FIRST_TURNED else self._stitcher.glyph(gid)

    def _pieces(self, ids: list[int], factors: list[complex], places: list[complex]) -> list[int]:
        """The pieces of a line; `ids` is changed where glyphs had to become one."""
        glyphs = {k: glyph for k, gid in enumerate(ids) if (glyph := self._glyph(gid)).box is not None}
        while True:
            met, touched = self._met(glyphs, ids, factors, places)
            if touched:
                break
            i, j, _ = met[-1]
            ids[i] = self._composite(self._key(ids, factors, places, i, j))
            glyphs[i] = self._glyph(ids[i])
            del glyphs[j]
        try:
            return weave(glyphs, touched, met)
        except AstrayError:
            return self._at_once(glyphs, factors, places)

    def _met(
        self, glyphs: Mapping[int, Glyph], ids: list[int], factors: list[complex], places: list[complex]
    ) -> tuple[list[tuple[int, int, Meeting]], list[int]]:
        """All meetings, as :meth:`Stitcher._met` gives them."""
        spans = sorted(_span(glyph, factors[k], places[k], k) for k, glyph in glyphs.items())
        touched = [0] * (len(ids) + 1)
        met = []
        for n, (_, right, low, high, k) in enumerate(spans, 1):
            for left, _, bottom, top, other in spans[n:]:
                if left >= right:
                    break
                if bottom < high and top > low:
                    i, j = (k, other) if k < other else (other, k)
                    meeting = self._meeting(self._key(ids, factors, places, i, j))
                    if meeting is not None:
                        here, there = meeting.touched
                        met.append((i, j, meeting))
                        if touched[i] & here or touched[j] & there:
                            return met, []
                        touched[i] |= here
                        touched[j] |= there
        return met, touched

    @staticmethod
    def _key(ids: list[int], factors: list[complex], places: list[complex], i: int, j: int) -> Key:
        turn = cmath.phase(factors[j] / factors[i])
        offset = (places[j] - places[i]) / factors[i] * PER_UNIT
        return ids[i], ids[j], round(turn * PER_RADIAN), round(offset.real), round(offset.imag)

    def _second(self, key: Key) -> Glyph:
        """The second glyph of a pair, turned and shifted to where it lies for the first."""
        _, gid, turn, x, y = key
        factor, shift = cmath.rect(1, turn / PER_RADIAN), complex(x, y) / PER_UNIT
        contours = [Contour(c.codes, on_grid(c.points * factor + shift)) for c in self._glyph(gid).contours]
        return Glyph.of(contours, Pool())

    def _meeting(self, key: Key) -> Meeting | None:
        if key not in self._meetings:
            near = self._boxes_meet(key)
            meeting = meet(self._glyph(key[0]), self._second(key), 0j, self._pool) if near else None
            if meeting is not None and meeting.way is not Way.PLAIN:
                self._report(key, meeting.way)
            self._meetings[key] = meeting
        return self._meetings[key]

    def _boxes_meet(self, key: Key) -> bool:
        """Whether the boxes of two glyphs meet, told along the sides of either (separating axes)."""
        factor, shift = cmath.rect(1, key[2] / PER_RADIAN), complex(key[3], key[4]) / PER_UNIT
        a, b = self._glyph(key[0]), self._glyph(key[1])
        for still, moving, turn, by in ((a, b, factor, shift), (b, a, 1 / factor, -shift / factor)):
            assert still.box is not None  # noqa: S101
            x0, x1, y0, y1, _ = _span(moving, turn, by, 0)
            box = still.box
            if x0 > box[2] or x1 < box[0] or y0 > box[3] or y1 < box[1]:
                return False
        return True

    def _report(self, key: Key, way: Way) -> None:
        named = tuple(gid for gid in key[:2] if gid < FIRST_TURNED)
        self._stitcher.incidents.append(Incident(named, (0j,) * len(named), way))

    def _composite(self, key: Key) -> int:
        """The id of the glyph that two make, which meet."""
        gid = self._composites.get(key)
        if gid is None:
            gid = self._composites[key] = FIRST_TURNED + len(self._composites)
            first, second = self._glyph(key[0]), self._second(key)
            outcome = unite([*first.contours, *second.contours])
            if outcome.way is not Way.PLAIN:
                self._report(key, outcome.way)
            self._glyphs[gid] = Glyph.of(outcome.contours, self._pool)
        return gid

    def _at_once(
        self, glyphs: Mapping[int, Glyph], factors: list[complex], places: list[complex]
    ) -> list[int]:
        """The pieces of all glyphs united at once, in the place of the first."""
        first = min(glyphs)
        drawn = []
        for k, glyph in glyphs.items():
            turn, shift = factors[k] / factors[first], (places[k] - places[first]) / factors[first]
            drawn += [Contour(c.codes, on_grid(c.points * turn + shift)) for c in glyph.contours]
        outcome = unite(drawn)
        self._stitcher.incidents.append(Incident((), (), outcome.way))
        return [whole + (first << 1) for _, whole in Glyph.of(outcome.contours, self._pool).wholes]


def _span(glyph: Glyph, factor: complex, place: complex, k: int) -> tuple[float, float, float, float, int]:
    """The box (x0, x1, y0, y1) of a turned glyph's own box, and its number."""
    assert glyph.box is not None  # noqa: S101
    x0, y0, x1, y1 = glyph.box
    middle = factor * complex((x0 + x1) / 2, (y0 + y1) / 2) + place
    wide, tall = (x1 - x0) / 2, (y1 - y0) / 2
    a, b = abs(factor.real), abs(factor.imag)
    across, down = a * wide + b * tall, b * wide + a * tall
    return middle.real - across, middle.real + across, middle.imag - down, middle.imag + down, k
