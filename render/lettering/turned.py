"""Lines along a curve: glyphs turned each by itself, united by tracing from crossing to crossing.

On a circle two neighbours stand to each other in the same way wherever on it they are, but on a wave no two
pairs do, and in a script with long swashes few do even on a circle: there is little to know again. So where
the outlines cross is reckoned anew, for a batch of lines at once (:mod:`render.lettering.crossings`), and the
outline of the union is traced from there (:mod:`render.lettering.traced`). It follows the glyphs' own curves,
cut where they cross, to a millionth of a font unit. What cannot be traced is united as a whole.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from render.geometry import CUBIC, LINE, QUAD, Affine, Path
from render.lettering.batch import assembled
from render.lettering.contours import Contour, Floats, Points, Segments, on_grid
from render.lettering.crossings import Laid, Whole, ranges
from render.lettering.pool import COUNT_SHIFT, GLYPH_MASK, LEAD, START_SHIFT, Glyph, Pool
from render.lettering.stitch import Incident, Stitcher
from render.lettering.traced import Traced, trace
from render.lettering.union import Way, unite

if TYPE_CHECKING:
    from render.lettering.assemble import GlyphRun

Turned = tuple["GlyphRun", Sequence[Affine]]
"""A shaped line, and for each cluster the map that takes it, drawn in em, y down, with its pen at the origin,
to its place in mm: a turn, a scale and a shift."""

BATCH: Final = 32
"""Lines that are traced at once."""

MOST_GLYPHS: Final = GLYPH_MASK
"""Glyphs of all lines that are traced at once."""


@dataclass(frozen=True, slots=True, eq=False)
class _Curves:
    """All curves of all glyphs that were needed so far, glyph by glyph.

    Attributes:
        controls: control points as cubics, font units, y up, shape (4, n).
        codes: LINE, QUAD or CUBIC, shape (n,).
        contour: for each curve its contour.
        begins: where each contour's curves begin, and the end.
        points: for each contour where its places in the pool begin among `pooled`.
        pooled: for each contour, twice over, where each curve's points begin in the pool, and the end.
        wholes: for each contour the piece that is all of it.
        first: for each glyph its first contour, and the end; by its number here.
    """

    controls: Points
    codes: NDArray[np.uint8]
    contour: Whole
    begins: Whole
    points: Whole
    pooled: Whole
    wholes: Whole
    first: Whole

    @classmethod
    def of(cls, glyphs: Sequence[Glyph]) -> _Curves:
        """The curves of some glyphs."""
        contours = [c for glyph in glyphs for c in glyph.contours]
        rings = [ring for glyph in glyphs for ring in glyph.rings]
        segments = Segments.of(contours)
        sizes = [len(ring.begins) for ring in rings]
        return cls(
            np.ascontiguousarray(segments.controls.T),
            np.concatenate([c.codes for c in contours]),
            np.repeat(np.arange(len(contours)), segments.sizes),
            np.append(0, np.cumsum(segments.sizes)),
            np.append(0, np.cumsum(sizes)),
            np.concatenate([ring.begins for ring in rings]).astype(np.int64),
            np.array([ring.whole() for ring in rings], np.int64),
            np.append(0, np.cumsum([len(glyph.rings) for glyph in glyphs])),
        )


@dataclass(frozen=True, slots=True, eq=False)
class _Placed:
    """The glyphs of a batch of lines that have ink.

    Attributes:
        numbers: of the glyphs among the curves.
        factors, places: what a glyph's points are multiplied by and shifted by, mm, y up.
        lines: where the glyphs of each line begin, and the end.
        units: mm to the font unit of each line.
    """

    numbers: Whole
    factors: Points
    places: Points
    lines: list[int]
    units: Floats


class Turner:
    """Draws lines of one font whose glyphs are turned. Not for use by two threads at once."""

    def __init__(self, stitcher: Stitcher) -> None:
        self._stitcher = stitcher
        self._pool: Pool | None = None
        self._numbers: dict[int, int] = {}
        self._glyphs: list[Glyph] = []
        self._curves: _Curves | None = None

    def paths(self, lines: Sequence[Turned]) -> list[Path]:
        """The outlines of lines in mm, all contours closed, no overlaps left."""
        found: list[Path] = []
        batch: list[Turned] = []
        size = 0
        for line in lines:
            if batch and (len(batch) == BATCH or size + len(line[0].gids) > MOST_GLYPHS):
                found += self._batch(batch)
                batch, size = [], 0
            batch.append(line)
            size += len(line[0].gids)
        return found + self._batch(batch) if batch else found

    def _batch(self, lines: Sequence[Turned]) -> list[Path]:
        placed = self._placed(lines)
        if not placed.numbers.size:
            return [Path.empty() for _ in lines]
        if self._curves is None:
            self._curves = _Curves.of(self._glyphs)
        curves = self._curves
        laid, original, glyph = _laid(curves, placed)
        traced = trace(laid)
        pool, mark = self._stitcher.pool, self._stitcher.pool.mark()
        pieces, owner = _pieces(curves, traced, laid, original, glyph, pool)
        line_of = np.repeat(np.arange(len(lines)), np.diff(placed.lines))[owner]
        order = np.argsort(line_of, kind="stable")
        sizes = np.bincount(line_of, minlength=len(lines)).tolist()
        paths = assembled(pool, pieces[order], sizes, placed.factors, placed.places)
        pool.back_to(mark)
        for line in np.flatnonzero(traced.failed).tolist():
            paths[line] = self._at_once(placed, line)
        return paths

    def _placed(self, lines: Sequence[Turned]) -> _Placed:
        if self._stitcher.pool is not self._pool:
            self._pool, self._curves = self._stitcher.pool, None
            self._numbers, self._glyphs = {}, []
        numbers: list[int] = []
        factors: list[complex] = []
        places: list[complex] = []
        ends, units = [0], []
        for run, turns in lines:
            unit = 1.0
            for gid, x, y, cluster in zip(run.gids, run.xs, run.ys, run.clusters, strict=True):
                number = self._numbers.get(gid)
                if number is None:
                    number = self._number(gid)
                if number < 0:
                    continue
                turn = turns[cluster]
                factor = complex(turn.a, -turn.b) / run.upem
                numbers.append(number)
                factors.append(factor)
                places.append(factor * complex(x - run.pens[cluster], y) + complex(turn.e, -turn.f))
                unit = abs(factor)
            ends.append(len(numbers))
            units.append(unit)
        return _Placed(
            np.array(numbers, np.int64), np.array(factors), np.array(places), ends, np.array(units)
        )

    def _number(self, gid: int) -> int:
        """The number of a glyph among the curves, which is not known yet; -1 if it is blank."""
        glyph = self._stitcher.glyph(gid)
        self._numbers[gid] = number = len(self._glyphs) if glyph.box is not None else -1
        if number >= 0:
            self._glyphs.append(glyph)
            self._curves = None
        return number

    def _at_once(self, placed: _Placed, line: int) -> Path:
        """The outline of one line of a batch, united as a whole."""
        here = range(placed.lines[line], placed.lines[line + 1])
        first = here[0]
        drawn = []
        for k in here:
            turn = placed.factors[k] / placed.factors[first]
            shift = (placed.places[k] - placed.places[first]) / placed.factors[first]
            glyph = self._glyphs[int(placed.numbers[k])]
            drawn += [Contour(c.codes, on_grid(c.points * turn + shift)) for c in glyph.contours]
        outcome = unite(drawn)
        if outcome.way is not Way.PLAIN:
            self._stitcher.incidents.append(Incident((), (), outcome.way))
        scratch = Pool()
        pieces = [whole for _, whole in Glyph.of(outcome.contours, scratch).wholes]
        return assembled(scratch, pieces, [len(pieces)], placed.factors[[first]], placed.places[[first]])[0]


def _laid(curves: _Curves, placed: _Placed) -> tuple[Laid, Whole, Whole]:
    """The glyphs in their places, in font units; for each curve its number among the curves; its glyph."""
    first, last = curves.first[placed.numbers], curves.first[placed.numbers + 1]
    begin, end = curves.begins[first], curves.begins[last]
    counts = end - begin
    original = ranges(begin, counts)
    glyph = np.repeat(np.arange(counts.size), counts)
    unit = np.repeat(placed.units, np.diff(placed.lines))
    controls = curves.controls.take(original, axis=1)
    controls *= (placed.factors / unit)[glyph]
    controls += (placed.places / unit)[glyph]
    contours = ranges(first, last - first)
    sizes = curves.begins[contours + 1] - curves.begins[contours]
    starts = np.append(0, np.cumsum(sizes))
    laid = Laid(
        controls,
        np.append(0, np.cumsum(counts)),
        placed.lines,
        starts,
        np.repeat(np.arange(contours.size), sizes),
    )
    return laid, original, glyph


def _pieces(
    curves: _Curves, traced: Traced, laid: Laid, original: Whole, glyph: Whole, pool: Pool
) -> tuple[Whole, Whole]:
    """The pieces of all lines, and the glyph that each belongs to; the cut curves are put into the pool."""
    heads_of = laid.contours[traced.wholes]
    owner = glyph[heads_of]
    pieces = curves.wholes[curves.contour[original[heads_of]]] + (owner << 1)
    out, into = original[traced.curve_out], original[traced.curve_in]
    mine = glyph[traced.curve_out]
    contour = curves.contour[out]
    size = curves.begins[contour + 1] - curves.begins[contour]
    same = (out == into) & (traced.at_in >= traced.at_out)
    between = np.where(same, 0, (into - out - 1) % size)
    tails = _cut(curves, out, traced.at_out, np.where(same, traced.at_in, 1.0), pool, led=True)
    inner = np.flatnonzero(~same)
    fronts = _cut(curves, into[inner], np.zeros(inner.size), traced.at_in[inner], pool, led=False)
    at = curves.points[contour] + (out - curves.begins[contour] + 1) % size
    begin, end = curves.pooled[at], curves.pooled[at + between]
    three = np.zeros((3, out.size), np.int64)
    lead = traced.heads
    degree = curves.codes[out].astype(np.int64)
    three[0] = np.where(lead, tails, tails + 1) << START_SHIFT | (degree + lead) << COUNT_SHIFT | lead * LEAD
    some = between > 0
    three[1, some] = begin[some] << START_SHIFT | (end - begin)[some] << COUNT_SHIFT
    three[2, inner] = fronts << START_SHIFT | curves.codes[into[inner]].astype(np.int64) << COUNT_SHIFT
    three += np.where(three != 0, mine << 1, 0)
    flat, whose = three.T.reshape(-1), np.repeat(mine, 3)
    kept = flat != 0
    return np.concatenate((pieces, flat[kept])), np.concatenate((owner, whose[kept]))


def _cut(curves: _Curves, which: Whole, low: Floats, high: Floats, pool: Pool, *, led: bool) -> Whole:
    """The part from `low` to `high` of each curve, put into the pool; where each begins there.

    With `led` its first point comes before it, as the end of a line.
    """
    degrees = curves.codes[which].astype(np.int64)
    counts = degrees + led
    ends = np.cumsum(counts)
    points = np.empty(int(counts.sum()), np.complex128)
    codes = np.full(which.size * (1 + led), LINE, np.uint8)
    codes[led :: 1 + led] = degrees
    begins = ends - counts
    c = curves.controls.take(which, axis=1)
    if led:
        points[begins] = _blossom(c, low, low, low)
    points[ends - 1] = np.where(high == 1.0, c[3], _blossom(c, high, high, high))
    quads = np.flatnonzero(degrees == QUAD)
    if quads.size:
        q, s, t = c[:, quads], low[quads], high[quads]
        bend = (3 * q[1] - q[0]) / 2
        points[ends[quads] - 2] = q[0] * (1 - s) * (1 - t) + bend * (s + t - 2 * s * t) + q[3] * s * t
    cubics = np.flatnonzero(degrees == CUBIC)
    if cubics.size:
        q, s, t = c[:, cubics], low[cubics], high[cubics]
        points[ends[cubics] - 3] = _blossom(q, s, s, t)
        points[ends[cubics] - 2] = _blossom(q, s, t, t)
    return begins + pool.add(codes, points)


def _blossom(c: Points, r: Floats, s: Floats, t: Floats) -> Points:
    """The blossom of cubics, shape (4, n), at three parameters (de Casteljau's steps, one with each)."""
    a, b, d = (c[k] + (c[k + 1] - c[k]) * r for k in range(3))
    e, f = a + (b - a) * s, b + (d - b) * s
    return np.asarray(e + (f - e) * t)
