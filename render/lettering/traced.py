"""The outline of a union, traced from where the outlines in it cross.

Every glyph is free of overlaps and runs with its inside to the left. A stretch of its outline belongs to the
outline of the union just where no other glyph covers it; how many do is known at each place from the
crossings before it: one more after the outline has run into a glyph, one less after it has left one. Where a
stretch of one glyph's outline ends because it runs into another, that other one's outline goes on (the walk
that K. Weiler and P. Atherton described in 1977 [memory], with depths in place of a clip list).

Nothing is taken on trust: the crossings of one outline with one glyph must lead in and out by turns, no depth
may fall below nothing, what ends must go on, and half way along every stretch as many glyphs must lie there
as the crossings say. Lines where that fails are named, for others to unite.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from render.lettering.contours import Floats, Points
from render.lettering.crossings import (
    Boxes,
    Crossings,
    Laid,
    Truths,
    Whole,
    boxes_of,
    boxes_over,
    find_crossings,
    near_pairs,
    pick,
    place,
    ranges,
)

_RAY_CHORDS: Final = 24

_ALIKE: Final = 1e-3
"""Font units: boxes that differ by less are the same glyph, drawn twice."""

_TRIALS: Final = 4

_LONG: Final = 4.0
"""Font units: a stretch that leads so far is tried half way along."""


@dataclass(frozen=True, slots=True, eq=False)
class Traced:
    """The outlines of lines of glyphs.

    Attributes:
        wholes: numbers of the contours that stay as they are.
        curve_out, at_out: for each stretch the curve and the parameter where it begins.
        curve_in, at_in: where it ends.
        heads: whether the stretch begins a contour; stretches of one contour follow each other.
        failed: for each line whether it could not be traced.
    """

    wholes: Whole
    curve_out: Whole
    at_out: Floats
    curve_in: Whole
    at_in: Floats
    heads: Truths
    failed: Truths


@dataclass(frozen=True, slots=True, eq=False)
class _Events:
    """Both sides of every crossing, in order along each contour.

    Attributes:
        crossing: number of the crossing.
        contour: on which the event lies.
        into: whether that contour runs into the other glyph there.
        before: how many glyphs cover the contour just before.
        following: number of the next event on the contour.
        along: where it lies: number of the curve, and the parameter as its fraction.
    """

    crossing: Whole
    contour: Whole
    into: Truths
    before: Whole
    following: Whole
    along: Floats


def trace(laid: Laid) -> Traced:
    """The outlines of lines of glyphs, of each line by itself."""
    boxes = boxes_of(laid.controls)
    whole = boxes_over(boxes, laid.starts[:-1])
    pairs = near_pairs(laid.lines, whole)
    found = find_crossings(laid, boxes, pairs, whole)
    line_of_glyph = np.repeat(np.arange(len(laid.lines) - 1), np.diff(laid.lines))
    glyph_of_contour = np.searchsorted(laid.starts, laid.contours[:-1], side="right") - 1
    line_of_contour = line_of_glyph[glyph_of_contour]
    failed = np.zeros(len(laid.lines) - 1, bool)
    failed[line_of_glyph[pairs[0, _alike(whole, pairs)]]] = True
    depth, crossed = _depths_without(laid, boxes, whole, found)
    events, wrong = _events(laid, found, depth)
    failed[line_of_contour[wrong]] = True
    failed[line_of_contour[_not_so(laid, boxes, whole, pairs, depth, events)]] = True
    free = (depth == 0) & ~crossed & ~failed[line_of_contour]
    good = ~failed[line_of_contour[events.contour]]
    order, heads, loose = _cycles(events, found, good)
    if loose.size:
        failed[line_of_contour[loose]] = True
        free &= ~failed[line_of_contour]
        order, heads, _ = _cycles(events, found, ~failed[line_of_contour[events.contour]])
    return _told(np.flatnonzero(free), found, order, heads, failed)


def _alike(whole: Boxes, pairs: Whole) -> Truths:
    """Pairs of glyphs that lie on each other: their outlines touch everywhere and cross nowhere."""
    a, b = pick(whole, pairs[0]), pick(whole, pairs[1])
    apart = [np.abs(one - other) for one, other in zip(a, b, strict=True)]
    return np.asarray(np.max(apart, axis=0) < _ALIKE)


def _depths_without(laid: Laid, boxes: Boxes, whole: Boxes, found: Crossings) -> tuple[Whole, Truths]:
    """For each contour in how many glyphs it lies that it does not cross, and whether it crosses any."""
    count = laid.contours.size - 1
    glyph = np.searchsorted(laid.starts, laid.contours[:-1], side="right") - 1
    per_glyph = np.bincount(glyph, minlength=laid.starts.size - 1)
    first = np.cumsum(per_glyph) - per_glyph
    one = np.concatenate((found.pairs[0], found.pairs[1]))
    other = np.concatenate((found.pairs[1], found.pairs[0]))
    contour = ranges(first[one], per_glyph[one])
    outer = np.repeat(other, per_glyph[one])
    inner = pick(boxes_over(boxes, laid.contours[:-1]), contour)
    around = pick(whole, outer)
    within = (
        (inner[0] >= around[0]) & (inner[1] >= around[1]) & (inner[2] <= around[2]) & (inner[3] <= around[3])
    )
    contour, outer = contour[within], outer[within]
    sides = laid.contour[found.curves]
    met = np.concatenate((sides[0], sides[1])) * (laid.starts.size - 1)
    met += np.concatenate((found.pairs[1, found.pair], found.pairs[0, found.pair]))
    apart = ~np.isin(contour * (laid.starts.size - 1) + outer, met)
    contour, outer = contour[apart], outer[apart]
    points = laid.controls[0, laid.contours[contour]]
    turns = _windings(laid, boxes, outer, points.real, points.imag)
    crossed = np.zeros(count, bool)
    crossed[sides.reshape(-1)] = True
    return np.bincount(contour[turns != 0], minlength=count), crossed


def _windings(laid: Laid, boxes: Boxes, glyphs: Whole, x: Floats, y: Floats) -> Whole:
    """How often the outline of each glyph goes round a point: crossings of the ray to its left."""
    counts = laid.starts[glyphs + 1] - laid.starts[glyphs]
    number, curve = np.repeat(np.arange(glyphs.size), counts), ranges(laid.starts[glyphs], counts)
    left, low, right, high = pick(boxes, curve)
    across = (low <= y[number]) & (high >= y[number]) & (left <= x[number])
    beside = right < x[number]  # the ends of a curve tell how it crosses a ray that meets all of it
    far, near = across & beside, across & ~beside
    turns = _ray(laid.of(curve[far])[::3], number[far], x, y)
    t = np.arange(_RAY_CHORDS + 1)[:, None] / _RAY_CHORDS
    turns += _ray(place(laid.of(curve[near])[:, None], t), number[near], x, y)
    return turns


def _ray(at: Points, number: Whole, x: Floats, y: Floats) -> Whole:
    """How often chords from place to place, shape (k, n), cross the ray to the left of the point of each."""
    above = at.imag > y[number]
    change = above[1:] != above[:-1]
    rise = np.where(change, at.imag[1:] - at.imag[:-1], 1.0)
    cut = at.real[:-1] + (y[number] - at.imag[:-1]) * (at.real[1:] - at.real[:-1]) / rise
    turn = np.where(change & (cut < x[number]), np.where(above[1:], 1, -1), 0).sum(axis=0)
    return np.bincount(number, turn, x.size).astype(np.int64)


def _events(laid: Laid, found: Crossings, depth: Whole) -> tuple[_Events, Whole]:
    """The events of every contour, and the contours where they do not add up."""
    count = found.pair.size
    curve = found.curves.reshape(-1)
    contour, along = laid.contour[curve], curve + found.at.reshape(-1)
    other = np.concatenate((found.pairs[1, found.pair], found.pairs[0, found.pair]))
    into = np.concatenate((found.enters, ~found.enters))
    grouped = np.lexsort((along, other, contour))
    wrong, inside = _by_turns(contour[grouped], other[grouped], into[grouped])
    start = depth + np.bincount(inside, minlength=depth.size)
    order = np.lexsort((along, contour))
    contour, into = contour[order], into[order]
    step = np.where(into, 1, -1)
    total = np.cumsum(step) - step
    first = np.flatnonzero(np.diff(contour, prepend=-1))
    size = np.diff(np.append(first, contour.size))
    before = start[contour] + total - np.repeat(total[first], size)
    following = np.arange(1, contour.size + 1)
    following[first + size - 1] = first
    bad = contour[(before < 0) | (before + step < 0)]
    events = _Events(order % max(count, 1), contour, into, before, following, along[order])
    return events, np.concatenate((wrong, bad))


def _by_turns(contour: Whole, other: Whole, into: Truths) -> tuple[Whole, Whole]:
    """Contours that do not run into and out of some glyph by turns; contours that begin inside one, each."""
    if not contour.size:
        return contour, contour
    first = np.flatnonzero((np.diff(contour, prepend=-1) != 0) | (np.diff(other, prepend=-1) != 0))
    last = np.append(first[1:], contour.size) - 1
    before = np.empty_like(into)
    before[1:] = into[:-1]
    before[first] = into[last]
    return contour[before == into], contour[first][~into[first]]


def _not_so(laid: Laid, boxes: Boxes, whole: Boxes, pairs: Whole, depth: Whole, events: _Events) -> Whole:
    """Contours that are not covered as the crossings say.

    Those that are crossed are tried half way along every stretch, the others at TRIALS places.
    """
    contour, at = _half_way(laid, events)
    expected = events.before[events.following]
    long = np.abs(at - place(laid.of(_curve_of(laid, events)), events.along % 1)) > _LONG
    contour, at, expected = contour[long], at[long], expected[long]
    lone = np.flatnonzero(~np.isin(np.arange(depth.size), events.contour))
    first, size = laid.contours[lone], laid.contours[lone + 1] - laid.contours[lone]
    shares = np.arange(_TRIALS) / _TRIALS
    curves = (first[:, None] + (size[:, None] * shares).astype(np.int64)).reshape(-1)
    contour = np.concatenate((contour, np.repeat(lone, _TRIALS)))
    at = np.concatenate((at, place(laid.of(curves), np.full(curves.size, 0.5))))
    expected = np.concatenate((expected, np.repeat(depth[lone], _TRIALS)))
    glyph = np.searchsorted(laid.starts, laid.contours[:-1], side="right")[contour] - 1
    number, other = _neighbours(pairs, glyph, laid.starts.size - 1)
    x, y = at.real[number], at.imag[number]
    around = pick(whole, other)
    inside = (around[0] <= x) & (around[2] >= x) & (around[1] <= y) & (around[3] >= y)
    number, other = number[inside], other[inside]
    turns = _windings(laid, boxes, other, x[inside], y[inside])
    return np.asarray(contour[np.bincount(number[turns != 0], minlength=contour.size) != expected])


def _curve_of(laid: Laid, events: _Events) -> Whole:
    """The curve on which each event lies (its end may be written as the beginning of the next)."""
    return np.minimum(events.along.astype(np.int64), laid.contours[events.contour + 1] - 1)


def _half_way(laid: Laid, events: _Events) -> tuple[Whole, Points]:
    """For each event its contour, and the place half way to the next event."""
    first = laid.contours[events.contour]
    size = laid.contours[events.contour + 1] - first
    begin, end = events.along, events.along[events.following]
    middle = (begin + np.where(end > begin, end, end + size)) / 2
    curve = middle.astype(np.int64)
    return events.contour, place(laid.of(first + (curve - first) % size), middle - curve)


def _neighbours(pairs: Whole, glyphs: Whole, count: int) -> tuple[Whole, Whole]:
    """For each of some glyphs those that it makes a pair with: the number of the one, and the other."""
    one, other = np.concatenate((pairs[0], pairs[1])), np.concatenate((pairs[1], pairs[0]))
    order = np.argsort(one, kind="stable")
    has = np.bincount(one, minlength=count)
    counts = has[glyphs]
    begins = (np.cumsum(has) - has)[glyphs]
    return np.repeat(np.arange(glyphs.size), counts), other[order][ranges(begins, counts)]


def _cycles(events: _Events, found: Crossings, good: Truths) -> tuple[Whole, Truths, Whole]:
    """Crossings in the order in which the union's contours pass them, and which begin a contour.

    Also the contours where a walk does not go on.
    """
    size = found.pair.size
    ends = np.flatnonzero(good & events.into & (events.before == 0))
    begins = np.flatnonzero(good & ~events.into & (events.before == 1))
    ending, beginning = np.zeros(size, bool), np.zeros(size, bool)
    ending[events.crossing[ends]] = True
    beginning[events.crossing[begins]] = True
    lost = ending != beginning
    goal = events.following[begins]
    stray = ~(events.into[goal] & (events.before[goal] == 0))
    loose = np.concatenate((events.contour[lost[events.crossing] & good], events.contour[begins[stray]]))
    if loose.size:
        return np.empty(0, np.int64), np.empty(0, bool), loose
    following = np.full(size, -1)
    following[events.crossing[begins]] = events.crossing[goal]
    after: list[int] = following.tolist()
    order: list[int] = []
    heads: list[bool] = []
    for crossing in np.flatnonzero(beginning).tolist():
        at, head = crossing, True
        while after[at] >= 0:
            order.append(at)
            heads.append(head)
            after[at], at, head = -1, after[at], False
    return np.array(order, np.int64), np.array(heads, bool), loose


def _told(wholes: Whole, found: Crossings, order: Whole, heads: Truths, failed: Truths) -> Traced:
    """The stretches: each leaves its crossing on the outline that leaves the other glyph there."""
    following = np.empty_like(order)
    first = np.flatnonzero(heads)
    following[:-1] = order[1:]
    following[np.append(first[1:], order.size) - 1 if first.size else first] = order[first]
    leaving, entering = np.where(found.enters[order], 1, 0), np.where(found.enters[following], 0, 1)
    return Traced(
        wholes,
        found.curves[leaving, order],
        found.at[leaving, order],
        found.curves[entering, following],
        found.at[entering, following],
        heads,
        failed,
    )
