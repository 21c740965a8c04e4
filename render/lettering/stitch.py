"""Words from united glyphs: a walk along the slices of the pool, from glyph to glyph over patches.

Two glyphs are united once for each offset at which they meet, and a word only follows what is known. Where
two meetings touch the same segment, the glyphs of one of them become one glyph, and the walk is tried again.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from render.lettering.contours import Contour, Points
from render.lettering.meeting import Meeting, meet
from render.lettering.outlines import GlyphReader
from render.lettering.pool import COUNT_MASK, COUNT_SHIFT, GLYPH_MASK, LEAD, START_SHIFT, Glyph, Pool
from render.lettering.union import Way, agrees, unite
from render.lettering.weave import AstrayError, weave

Pair = tuple[int, int, int, int]
"""Ids of two glyphs, and the offset of the second in whole font units."""

FIRST_COMPOSITE: Final = 1 << 20
"""Ids from here on are glyphs that were united from others (glyph ids of a font have 16 bits)."""

MOST_WALKS: Final = 4096
"""Walks kept for texts that come again."""

MOST_POINTS: Final = 1 << 22
"""Points in the pool (24 bytes each) at which a stitcher begins anew."""

_NOWHERE: Final = (0.0, 0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True, eq=False)
class Walk:
    """The outline of a line of text as slices of the pool.

    Attributes:
        pieces: as :mod:`render.lettering.pool` writes them, in order.
        xs, ys: where each glyph lies, font units, y up.
    """

    pieces: tuple[int, ...]
    xs: tuple[int, ...]
    ys: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Incident:
    """A union that did not go the plain way: of these glyph ids at these places."""

    gids: tuple[int, ...]
    places: tuple[complex, ...]
    way: Way


class Stitcher:
    """What is known of one font's outlines: glyphs, meetings and walks. Not for use by two threads at once.

    Attributes:
        pool: holds every point.
        incidents: unions that did not go the plain way, in the order in which they were met.
        glyphs: by id; from FIRST_COMPOSITE on those that were united from others.
        composites: ids of glyphs that were united, by the ids of the two and the offset of the second.
        meetings: by the ids of two glyphs and the offset of the second; None where they do not meet.
    """

    def __init__(self, reader: GlyphReader) -> None:
        self.reader = reader
        self.pool = Pool()
        self.incidents: list[Incident] = []
        self.glyphs: dict[int, Glyph] = {}
        self.composites: dict[Pair, int] = {}
        self.meetings: dict[Pair, Meeting | None] = {}
        self._walks: dict[tuple[tuple[int, ...], ...], Walk] = {}

    def restore(
        self,
        pool: Pool,
        glyphs: dict[int, Glyph],
        meetings: dict[Pair, Meeting | None],
        composites: Sequence[Pair],
        incidents: list[Incident],
    ) -> None:
        """Know what another stitcher of the same font knew; the composites are in the order of their ids."""
        self.pool, self.glyphs, self.meetings, self.incidents = pool, glyphs, meetings, incidents
        self.composites = {pair: FIRST_COMPOSITE + n for n, pair in enumerate(composites)}
        self._walks.clear()

    def trim(self) -> None:
        """Forget everything but the incidents if it has become too much; walks from before are void then."""
        if self.pool.points.size > MOST_POINTS:
            self.restore(Pool(), {}, {}, (), self.incidents)

    def glyph(self, gid: int) -> Glyph:
        """A glyph, united."""
        glyph = self.glyphs.get(gid)
        if glyph is None:
            outcome = unite(self.reader.contours(gid))
            if outcome.way is not Way.PLAIN:
                self.incidents.append(Incident((gid,), (0j,), outcome.way))
            glyph = self.glyphs[gid] = Glyph.of(outcome.contours, self.pool)
        return glyph

    def ink(
        self, gids: Sequence[int], xs: Sequence[float], ys: Sequence[float]
    ) -> tuple[float, float, float, float] | None:
        """The exact box (x0, y0, x1, y1) of placed glyphs, font units, y up; None if there is no ink."""
        x0 = y0 = float("inf")
        x1 = y1 = float("-inf")
        for gid, x, y in zip(gids, xs, ys, strict=True):
            box = self.glyph(gid).box
            if box is not None:
                x0, y0 = min(x0, x + box[0]), min(y0, y + box[1])
                x1, y1 = max(x1, x + box[2]), max(y1, y + box[3])
        return (x0, y0, x1, y1) if x0 <= x1 else None

    def walk(self, gids: tuple[int, ...], xs: tuple[int, ...], ys: tuple[int, ...]) -> Walk:
        """The outline of a line: glyphs at whole font units, y up.

        Raises:
            ValueError: the line has more than 16,383 glyphs.
        """
        key = (gids, xs, ys)
        walk = self._walks.get(key)
        if walk is None:
            if len(gids) > GLYPH_MASK:
                raise ValueError("a line has too many glyphs")
            if len(self._walks) >= MOST_WALKS:
                self._walks.clear()
            walk = self._walks[key] = Walk(tuple(self._pieces(list(gids), xs, ys)), xs, ys)
        return walk

    def contours(self, pieces: Sequence[int], places: Sequence[complex]) -> list[Contour]:
        """What pieces are, as contours of their own."""
        points, segments, codes = self.pool.points, self.pool.segments, self.pool.codes
        parts: list[list[tuple[NDArray[np.uint8], Points]]] = []
        for one in pieces:
            start, count = one >> START_SHIFT, (one >> COUNT_SHIFT) & COUNT_MASK
            stop = start + count
            if one & LEAD:
                parts.append([])
                start += 1
            if start < stop:
                mine = codes[segments[start] : segments[stop - 1] + 1]
                parts[-1].append((mine, points[start:stop] + places[(one >> 1) & GLYPH_MASK]))
        return [
            Contour(np.concatenate([c for c, _ in part]), np.concatenate([p for _, p in part]))
            for part in parts
        ]

    # ------------------------------------------------------------ pieces of a word

    def _pieces(self, ids: list[int], xs: Sequence[int], ys: Sequence[int]) -> list[int]:
        """The pieces of a line; `ids` is changed where glyphs had to become one."""
        glyphs = {k: glyph for k, gid in enumerate(ids) if (glyph := self.glyph(gid)).box is not None}
        while True:
            met, touched = self._met(glyphs, ids, xs, ys)
            if touched:
                break
            i, j, _ = met[-1]
            ids[i] = self._composite(ids[i], ids[j], xs[j] - xs[i], ys[j] - ys[i])
            glyphs[i] = self.glyph(ids[i])
            del glyphs[j]
        try:
            return weave(glyphs, touched, met)
        except AstrayError:
            return self._at_once(
                [ids[k] for k in glyphs], [complex(xs[k], ys[k]) for k in glyphs], min(glyphs)
            )

    def _met(
        self, glyphs: Mapping[int, Glyph], ids: Sequence[int], xs: Sequence[int], ys: Sequence[int]
    ) -> tuple[list[tuple[int, int, Meeting]], list[int]]:
        """All meetings of a line, and for each place the segments that they touch.

        Where a meeting touches what another touches, it is the last in the list, and no touched segments are
        returned.
        """
        spans = []
        for k, glyph in glyphs.items():
            x0, y0, x1, y1 = glyph.box or _NOWHERE
            spans.append((x0 + xs[k], x1 + xs[k], y0 + ys[k], y1 + ys[k], k))
        spans.sort()
        touched = [0] * (len(ids) + 1)
        met = []
        meetings = self.meetings
        for n, (_, right, low, high, k) in enumerate(spans, 1):
            for left, _, bottom, top, other in spans[n:]:
                if left >= right:
                    break
                if bottom < high and top > low:
                    i, j = (k, other) if k < other else (other, k)
                    key = (ids[i], ids[j], xs[j] - xs[i], ys[j] - ys[i])
                    meeting = meetings[key] if key in meetings else self._meeting(*key)
                    if meeting is not None:
                        here, there = meeting.touched
                        met.append((i, j, meeting))
                        if touched[i] & here or touched[j] & there:
                            return met, []
                        touched[i] |= here
                        touched[j] |= there
        return met, touched

    def _meeting(self, a: int, b: int, dx: int, dy: int) -> Meeting | None:
        """The meeting of two glyphs, which is not known yet."""
        meeting = meet(self.glyph(a), self.glyph(b), complex(dx, dy), self.pool)
        if meeting is not None and meeting.way is not Way.PLAIN:
            self.incidents.append(Incident((a, b), (0j, complex(dx, dy)), meeting.way))
        self.meetings[a, b, dx, dy] = meeting
        return meeting

    def _composite(self, a: int, b: int, dx: int, dy: int) -> int:
        """The id of the glyph that two glyphs make, which meet."""
        key = (a, b, dx, dy)
        gid = self.composites.get(key)
        if gid is None:
            gid = self.composites[key] = FIRST_COMPOSITE + len(self.composites)
            glyphs = {0: self.glyph(a), 1: self.glyph(b)}
            places = (0j, complex(dx, dy))
            meeting = self.meetings[key]
            met = [(0, 1, meeting)] if meeting else []
            try:
                contours = self.contours(weave(glyphs, meeting.touched if meeting else (0, 0), met), places)
                drawn = [c.moved(at) for k, at in enumerate(places) for c in glyphs[k].contours]
                if not agrees(drawn, contours):
                    raise AstrayError
            except AstrayError:
                contours = self._united([a, b], places)
            self.glyphs[gid] = Glyph.of(contours, self.pool)
        return gid

    def _united(self, ids: Sequence[int], places: Sequence[complex]) -> list[Contour]:
        """Placed glyphs united all at once, which is reported."""
        drawn = [c.moved(at) for gid, at in zip(ids, places, strict=True) for c in self.glyph(gid).contours]
        outcome = unite(drawn)
        self.incidents.append(Incident(tuple(ids), tuple(places), outcome.way))
        return list(outcome.contours)

    def _at_once(self, ids: Sequence[int], places: Sequence[complex], at: int) -> list[int]:
        """The pieces of placed glyphs united all at once, in the place of the first of them."""
        contours = self._united(ids, [p - places[0] for p in places])
        return [whole + (at << 1) for _, whole in Glyph.of(contours, self.pool).wholes]
