"""Words from united glyphs: a walk along the slices of the pool, from glyph to glyph over patches.

Two glyphs are united once for each offset at which they meet, and a word only follows what is known. Where
two meetings touch the same segment, the glyphs of one of them become one glyph, and the walk is tried again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from render.lettering.contours import Contour, Points
from render.lettering.meeting import NO_PATCH, Meeting, meet
from render.lettering.outlines import GlyphReader
from render.lettering.pool import COUNT_MASK, COUNT_SHIFT, GLYPH_MASK, INNER, START_SHIFT, Glyph, Pool
from render.lettering.union import Way, agrees, unite

FIRST_COMPOSITE: Final = 1 << 20
"""Ids from here on are glyphs that were united from others (glyph ids of a font have 16 bits)."""

MOST_WALKS: Final = 4096
"""Walks kept for texts that come again."""


@dataclass(frozen=True, slots=True, eq=False)
class Walk:
    """The outline of a line of text as slices of the pool.

    Attributes:
        pieces: as :mod:`render.lettering.pool` writes them, in order, shape (n,).
        places: where each glyph lies, font units, y up, shape (m,).
    """

    pieces: NDArray[np.int64]
    places: Points


@dataclass(frozen=True, slots=True)
class Incident:
    """A union that did not go the plain way: of these glyph ids at these places."""

    gids: tuple[int, ...]
    places: tuple[complex, ...]
    way: Way


class _Exit(NamedTuple):
    """A jump as it stands in a word: leave after `last`; the patch, already placed; where to go on."""

    last: int
    patch: int
    to: tuple[int, int]
    first: int


class _Astray(Exception):  # noqa: N818 - it never leaves this module
    """The meetings of a word do not add up to closed contours."""


class Stitcher:
    """What is known of one font's outlines: glyphs, meetings and walks. Not for use by two threads at once.

    Attributes:
        pool: holds every point.
        incidents: unions that did not go the plain way, in the order in which they were met.
    """

    def __init__(self, reader: GlyphReader) -> None:
        self.reader = reader
        self.pool = Pool()
        self.incidents: list[Incident] = []
        self._glyphs: dict[int, Glyph] = {}
        self._composites: dict[tuple[int, int, int, int], int] = {}
        self._meetings: dict[tuple[int, int, int, int], Meeting | None] = {}
        self._walks: dict[tuple[tuple[int, ...], ...], Walk] = {}

    def glyph(self, gid: int) -> Glyph:
        """A glyph, united."""
        glyph = self._glyphs.get(gid)
        if glyph is None:
            outcome = unite(self.reader.contours(gid))
            if outcome.way is not Way.PLAIN:
                self.incidents.append(Incident((gid,), (0j,), outcome.way))
            glyph = self._glyphs[gid] = Glyph.of(outcome.contours, self.pool)
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
            pieces = np.array(self._pieces(list(gids), xs, ys), np.int64)
            places = np.array(xs, np.float64) + 1j * np.array(ys, np.float64)
            if len(self._walks) >= MOST_WALKS:
                self._walks.clear()
            walk = self._walks[key] = Walk(pieces, places)
        return walk

    def contours(self, pieces: Sequence[int], places: Sequence[complex]) -> list[Contour]:
        """What pieces are, as contours of their own."""
        points, codes = self.pool.points, self.pool.codes
        parts: list[list[tuple[NDArray[np.uint8], Points]]] = []
        for one in pieces:
            start, count = one >> START_SHIFT, (one >> COUNT_SHIFT) & COUNT_MASK
            span = slice(start, start + count)
            if one & 1:
                parts.append([])
                span = slice(start + 1, start + count)
            parts[-1].append((codes[span], points[span] + places[(one >> 1) & GLYPH_MASK]))
        contours = []
        for part in parts:
            marks = np.concatenate([c for c, _ in part])
            contours.append(Contour(marks[marks != INNER], np.concatenate([p for _, p in part])))
        return contours

    # ------------------------------------------------------------ pieces of a word

    def _pieces(self, ids: list[int], xs: Sequence[int], ys: Sequence[int]) -> list[int]:
        """The pieces of a line; `ids` is changed where glyphs had to become one."""
        places = [k for k, gid in enumerate(ids) if self.glyph(gid).box is not None]
        while True:
            met, clash = self._met(ids, xs, ys, places)
            if clash is None:
                break
            i, j = clash
            ids[i] = self._composite(ids[i], ids[j], xs[j] - xs[i], ys[j] - ys[i])
            places.remove(j)
        glyphs = {k: self.glyph(ids[k]) for k in places}
        try:
            return _stitched(glyphs, met)
        except _Astray:
            return self._at_once([ids[k] for k in places], [complex(xs[k], ys[k]) for k in places], places[0])

    def _met(
        self, ids: Sequence[int], xs: Sequence[int], ys: Sequence[int], places: Sequence[int]
    ) -> tuple[list[tuple[int, int, Meeting]], tuple[int, int] | None]:
        """All meetings of a line, or the first two glyphs whose meeting touches what another touches."""
        spans = []
        for k in places:
            box = self._glyphs[ids[k]].box
            assert box is not None  # noqa: S101
            spans.append((box[0] + xs[k], box[2] + xs[k], box[1] + ys[k], box[3] + ys[k], k))
        spans.sort()
        touched = dict.fromkeys(places, 0)
        met = []
        for n, (_, right, low, high, k) in enumerate(spans, 1):
            for left, _, bottom, top, other in spans[n:]:
                if left >= right:
                    break
                if bottom < high and top > low:
                    i, j = (k, other) if k < other else (other, k)
                    meeting = self._meeting(ids[i], ids[j], xs[j] - xs[i], ys[j] - ys[i])
                    if meeting is not None:
                        here, there = meeting.touched
                        if touched[i] & here or touched[j] & there:
                            return [], (i, j)
                        touched[i] |= here
                        touched[j] |= there
                        met.append((i, j, meeting))
        return met, None

    def _meeting(self, a: int, b: int, dx: int, dy: int) -> Meeting | None:
        """The meeting of two glyphs, known or new."""
        key = (a, b, dx, dy)
        try:
            return self._meetings[key]
        except KeyError:
            meeting = meet(self.glyph(a), self.glyph(b), complex(dx, dy), self.pool)
            if meeting is not None and meeting.way is not Way.PLAIN:
                self.incidents.append(Incident((a, b), (0j, complex(dx, dy)), meeting.way))
            self._meetings[key] = meeting
            return meeting

    def _composite(self, a: int, b: int, dx: int, dy: int) -> int:
        """The id of the glyph that two glyphs make."""
        key = (a, b, dx, dy)
        gid = self._composites.get(key)
        if gid is None:
            gid = self._composites[key] = FIRST_COMPOSITE + len(self._composites)
            meeting = self._meeting(*key)
            glyphs = {0: self.glyph(a), 1: self.glyph(b)}
            places = (0j, complex(dx, dy))
            try:
                contours = self.contours(_stitched(glyphs, [(0, 1, meeting)] if meeting else []), places)
                drawn = [c.moved(at) for k, at in enumerate(places) for c in glyphs[k].contours]
                if not agrees(drawn, contours):
                    raise _Astray
            except _Astray:
                contours = self._united([a, b], places)
            self._glyphs[gid] = Glyph.of(contours, self.pool)
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
        return [one + (at << 1) for one in Glyph.of(contours, self.pool).whole]


def _stitched(glyphs: dict[int, Glyph], met: Sequence[tuple[int, int, Meeting]]) -> list[int]:
    """The pieces of glyphs, by place, and of their meetings, of which no two touch the same segment."""
    touched = dict.fromkeys(glyphs, 0)
    exits: dict[tuple[int, int], list[_Exit]] = {}
    pieces: list[int] = []
    for i, j, meeting in met:
        for place, bits, jumps in zip((i, j), meeting.touched, meeting.jumps, strict=True):
            touched[place] |= bits
            for ring, last, patch, to, to_ring, first in jumps:
                leave = _Exit(last, patch and patch + (i << 1), (j if to else i, to_ring), first)
                exits.setdefault((place, ring), []).append(leave)
        pieces += [island + (i << 1) for island in meeting.islands]
    for place, glyph in glyphs.items():
        bits = touched[place]
        for number, (contour, one) in enumerate(zip(glyph.rings, glyph.whole, strict=True)):
            if not contour.bits & bits and (place, number) not in exits:
                pieces.append(one + (place << 1))
    for leaving in exits.values():
        leaving.sort()
    return pieces + _rounds(glyphs, exits, touched)


def _rounds(
    glyphs: dict[int, Glyph], exits: dict[tuple[int, int], list[_Exit]], touched: dict[int, int]
) -> list[int]:
    """The pieces of all contours that go by jumps."""
    pieces: list[int] = []
    done: set[tuple[tuple[int, int], int]] = set()
    for ring, leaving in exits.items():
        for begin in range(len(leaving)):
            at, number, lead = ring, begin, True
            while (at, number) not in done:
                done.add((at, number))
                _, patch, at, first = exits[at][number]
                if patch and not lead:
                    pieces.append(patch)
                glyph, place = glyphs[at[0]].rings[at[1]], at[0]
                if touched[place] >> (glyph.base + first) & 1:  # two meetings side by side
                    number = _exit_at(exits.get(at), (first or glyph.segments) - 1)
                    span = glyph.spot(first) if lead else NO_PATCH
                else:
                    number, last = _next_exit(exits.get(at), first)
                    span = glyph.span(first, last, lead)
                if span:
                    pieces.append(span + (place << 1))
                lead = False
            if not lead:
                if (at, number) != (ring, begin):
                    raise _Astray
                if leaving[begin].patch:
                    pieces.append(leaving[begin].patch)
    return pieces


def _exit_at(leaving: list[_Exit] | None, last: int) -> int:
    """The number of the exit after segment `last`."""
    for number, leave in enumerate(leaving or ()):
        if leave.last == last:
            return number
    raise _Astray


def _next_exit(leaving: list[_Exit] | None, first: int) -> tuple[int, int]:
    """Number and segment of the exit that a contour, followed from segment `first`, comes to first."""
    if leaving is None:
        raise _Astray
    for number, leave in enumerate(leaving):
        if leave.last >= first:
            return number, leave.last
    return 0, leaving[0].last
