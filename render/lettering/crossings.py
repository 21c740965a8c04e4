"""Where many curves cross, all at once: the outlines of glyphs that lie turned beside each other.

Boxes rule out most pairs of curves, boxes of their quarters most of the rest; what is left is cut into
chords, and each place where chords cross is brought onto both curves by Newton's method. Everything is done
for a whole batch of lines in one go: numpy's calls cost more than the work of a single line.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from render.lettering.contours import Floats, Points

Whole = NDArray[np.int64]
Truths = NDArray[np.bool_]
Boxes = tuple[Floats, Floats, Floats, Floats]
"""Left, low, right and high sides."""

QUARTERS: Final = 4
CHORDS: Final = 5
"""Each curve is cut into so many quarters, each quarter into so many chords."""

NEWTON_STEPS: Final = 12
NEAR: Final = 1e-6
"""Font units: a crossing counts as found when the two curves come so near."""
END: Final = 1e-9
"""Parameters so little beyond the end of a curve are taken to be its end."""


@dataclass(frozen=True, slots=True, eq=False)
class Laid:
    """Glyphs in their places.

    Attributes:
        controls: control points of all their curves, as cubics, shape (4, n).
        starts: where the curves of each glyph begin, and the end, shape (glyphs + 1,).
        lines: where the glyphs of each line begin, and the end.
        contours: where the curves of each contour begin, and the end, shape (contours + 1,).
        contour: for each curve its contour, shape (n,).
    """

    controls: Points
    starts: Whole
    lines: Sequence[int]
    contours: Whole
    contour: Whole

    def of(self, curves: Whole) -> Points:
        """Control points of some of the curves (`take` lays them out as the rest of the work wants them)."""
        return self.controls.take(curves, axis=1)

    def beside(self, curves: Whole, by: Whole) -> Whole:
        """The curves one before (-1), at (0) or behind (1) these on their contours."""
        begin = self.contours[self.contour[curves]]
        size = self.contours[self.contour[curves] + 1] - begin
        return np.asarray(begin + (curves - begin + by) % size)


@dataclass(frozen=True, slots=True, eq=False)
class Crossings:
    """Crossings of the curves of two glyphs.

    Attributes:
        pairs: numbers of the two glyphs of each pair whose boxes meet, shape (2, pairs).
        pair: for each crossing its pair.
        curves: for each crossing the two curves, shape (2, n).
        at: for each crossing the parameters on the two curves, shape (2, n).
        enters: whether the first glyph's outline runs into the second glyph there; else it leaves it.
    """

    pairs: Whole
    pair: Whole
    curves: Whole
    at: Floats
    enters: Truths


def ranges(starts: Whole, counts: Whole) -> Whole:
    """All numbers of the ranges that begin at `starts`, one after another."""
    ends = np.cumsum(counts)
    index = np.repeat(starts - (ends - counts), counts)
    index += np.arange(index.size)
    return index


def boxes_of(controls: Points) -> Boxes:
    """The boxes of control points, shape (k, n), over the first axis."""
    x, y = controls.real, controls.imag
    return x.min(axis=0), y.min(axis=0), x.max(axis=0), y.max(axis=0)


def boxes_over(boxes: Boxes, starts: Whole) -> Boxes:
    """The boxes round runs of boxes, none of them empty."""
    low, high = np.minimum.reduceat, np.maximum.reduceat
    return low(boxes[0], starts), low(boxes[1], starts), high(boxes[2], starts), high(boxes[3], starts)


def pick(boxes: Boxes, index: Whole | Truths) -> Boxes:
    """Some of the boxes."""
    return boxes[0][index], boxes[1][index], boxes[2][index], boxes[3][index]


def meet(a: Boxes, b: Boxes) -> Truths:
    """Whether each two boxes meet (touching counts)."""
    return np.asarray((a[0] <= b[2]) & (b[0] <= a[2]) & (a[1] <= b[3]) & (b[1] <= a[3]))


@lru_cache(maxsize=256)
def _every_pair(count: int) -> Whole:
    return np.array(np.triu_indices(count, 1))


def near_pairs(lines: Sequence[int], boxes: Boxes) -> Whole:
    """The numbers of any two glyphs of one line whose boxes meet, the first before the second."""
    parts = [_every_pair(end - begin) + begin for begin, end in pairwise(lines)]
    pairs = np.concatenate(parts, axis=1) if parts else np.empty((2, 0), np.int64)
    return pairs[:, meet(pick(boxes, pairs[0]), pick(boxes, pairs[1]))]


def find_crossings(laid: Laid, boxes: Boxes, pairs: Whole, whole: Boxes) -> Crossings:
    """All crossings of the curves of the glyphs of each pair.

    Args:
        laid: the glyphs.
        boxes: of each curve.
        pairs: of glyphs whose boxes meet.
        whole: the box of each glyph.
    """
    a, b = pick(whole, pairs[0]), pick(whole, pairs[1])
    common = (np.maximum(a[0], b[0]), np.maximum(a[1], b[1]), np.minimum(a[2], b[2]), np.minimum(a[3], b[3]))
    pair, first, second = _combined(*(_within(laid.starts, each, boxes, common) for each in pairs))
    near = meet(pick(boxes, first), pick(boxes, second))
    pair, curves = pair[near], np.stack((first[near], second[near]))
    which, at = _chords_cross(laid.of(curves[0]), laid.of(curves[1]))
    pair, curves = pair[which], curves[:, which]
    at, sure, sine = _on_both(laid.of(curves[0]), laid.of(curves[1]), at)
    for _ in range(2):  # what lies beyond the end of a curve is on the next
        beyond = np.floor(at).astype(np.int64)
        beyond[(at >= -END) & (at <= 1 + END)] = 0
        off = np.flatnonzero(beyond.any(axis=0))
        if not off.size:
            break
        curves[:, off] = laid.beside(curves[:, off], np.clip(beyond[:, off], -1, 1))
        guess = np.where(beyond[:, off] > 0, 0.0, np.where(beyond[:, off] < 0, 1.0, at[:, off]))
        ca, cb = laid.of(curves[0, off]), laid.of(curves[1, off])
        at[:, off], sure[off], sine[off] = _on_both(ca, cb, guess)
    sure &= ((at >= -END) & (at <= 1 + END)).all(axis=0)  # else only chords cross, as at a sharp tip
    return Crossings(pairs, pair[sure], curves[:, sure], np.clip(at[:, sure], 0.0, 1.0), sine[sure] < 0)


def _within(starts: Whole, glyphs: Whole, boxes: Boxes, common: Boxes) -> tuple[Whole, Whole]:
    """For each pair those curves of one glyph that reach into the common box: numbers of pair and curve."""
    counts = starts[glyphs + 1] - starts[glyphs]
    pair, curve = np.repeat(np.arange(glyphs.size), counts), ranges(starts[glyphs], counts)
    near = meet(pick(boxes, curve), pick(common, pair))
    return pair[near], curve[near]


def _combined(one: tuple[Whole, Whole], two: tuple[Whole, Whole]) -> tuple[Whole, Whole, Whole]:
    """Every curve of the first with every curve of the second glyph of each pair."""
    size = int(max(one[0].max(initial=-1), two[0].max(initial=-1))) + 1
    counts = np.bincount(two[0], minlength=size)
    begins = np.cumsum(counts) - counts
    partners = counts[one[0]]
    other = ranges(begins[one[0]], partners)
    return np.repeat(one[0], partners), np.repeat(one[1], partners), two[1][other]


# ---------------------------------------------------------------- chords


def _halves(c: Points) -> tuple[Points, Points]:
    """Both halves of cubics, shape (4, ...) (de Casteljau)."""
    m01, m12, m23 = (c[0] + c[1]) / 2, (c[1] + c[2]) / 2, (c[2] + c[3]) / 2
    p, q = (m01 + m12) / 2, (m12 + m23) / 2
    middle = (p + q) / 2
    return np.stack((c[0], m01, p, middle)), np.stack((middle, q, m23, c[3]))


def _quarters(c: Points) -> Points:
    """The quarters of cubics, shape (4, n), in order: shape (4, QUARTERS, n)."""
    halves = np.stack(_halves(c), axis=1)
    return np.stack(_halves(halves), axis=2).reshape(4, QUARTERS, -1)


_WEIGHTS: Final = [
    ((1 - t) ** 3, 3 * (1 - t) ** 2 * t, 3 * (1 - t) * t * t, t**3)
    for t in (k / CHORDS for k in range(CHORDS + 1))
]
"""Weights of a cubic's control points at the ends of CHORDS chords."""


def _corners(quarters: Points, which: Whole, curve: Whole) -> Points:
    """The ends of the CHORDS chords of some quarters, shape (CHORDS + 1, n)."""
    a, b, c, d = (control[which, curve] for control in quarters)
    return np.stack([wa * a + wb * b + wc * c + wd * d for wa, wb, wc, wd in _WEIGHTS])


def _chords_cross(a: Points, b: Points) -> tuple[Whole, Floats]:
    """Where the chords of two curves cross: the number of the pair of curves, and both parameters."""
    qa, qb = _quarters(a), _quarters(b)
    box_a, box_b = boxes_of(qa), boxes_of(qb)
    met = meet(_apart(box_a, 1), _apart(box_b, 0))
    ka, kb, which = np.nonzero(met)
    pa, pb = _corners(qa, ka, which), _corners(qb, kb, which)
    beside_a, beside_b = _sides(pa, pb), _sides(pb, pa)
    low_a, low_b = beside_a >= 0, beside_b >= 0
    hit = (low_a[:, :-1] != low_a[:, 1:]) & (low_b[:, :-1] != low_b[:, 1:]).transpose(1, 0, 2)
    i, j, n = np.nonzero(hit)
    from_, to = beside_b[j, i, n], beside_b[j, i + 1, n]
    t = (ka[n] + (i + from_ / (from_ - to)) / CHORDS) / QUARTERS
    from_, to = beside_a[i, j, n], beside_a[i, j + 1, n]
    u = (kb[n] + (j + from_ / (from_ - to)) / CHORDS) / QUARTERS
    return which[n], np.stack((t, u))


def _apart(boxes: Boxes, axis: int) -> Boxes:
    """Boxes with an axis put in, so that every one meets every other."""
    left, low, right, high = (np.expand_dims(side, axis) for side in boxes)
    return left, low, right, high


def _sides(chords: Points, points: Points) -> Floats:
    """How far each point lies to the left of each chord, times its length: shape (chords, points, n)."""
    way = np.diff(chords, axis=0)
    x, y = np.ascontiguousarray(way.real), np.ascontiguousarray(way.imag)
    base = x * chords.imag[:-1] - y * chords.real[:-1]
    sides: Floats = x[:, None] * np.ascontiguousarray(points.imag)
    sides -= y[:, None] * np.ascontiguousarray(points.real)
    sides -= base[:, None]
    return sides


# ---------------------------------------------------------------- onto the curves


def place(c: Points, t: Floats) -> Points:
    """Places on cubics, shape (4, n)."""
    s = 1 - t
    return np.asarray(s * s * (s * c[0] + 3 * t * c[1]) + t * t * (3 * s * c[2] + t * c[3]))


def speed(c: Points, t: Floats) -> Points:
    """Derivatives of cubics, a third of them."""
    s = 1 - t
    return np.asarray(s * s * (c[1] - c[0]) + 2 * s * t * (c[2] - c[1]) + t * t * (c[3] - c[2]))


def _on_both(a: Points, b: Points, at: Floats) -> tuple[Floats, Truths, Floats]:
    """Parameters where two curves really cross, whether that was found, and the sine of the crossing."""
    at = at.copy()
    todo = np.arange(at.shape[1])
    for _ in range(NEWTON_STEPS):
        t, u = at[0, todo], at[1, todo]
        ca, cb = a.take(todo, axis=1), b.take(todo, axis=1)
        gap = place(cb, u) - place(ca, t)
        va, vb = 3 * speed(ca, t), 3 * speed(cb, u)
        det = va.real * vb.imag - va.imag * vb.real
        safe = np.where(det == 0, 1.0, det)
        dt = (gap.real * vb.imag - gap.imag * vb.real) / safe
        du = (gap.real * va.imag - gap.imag * va.real) / safe
        at[0, todo] += np.clip(dt, -0.1, 0.1)
        at[1, todo] += np.clip(du, -0.1, 0.1)
        todo = todo[(np.abs(dt) > 1e-12) | (np.abs(du) > 1e-12) | (det == 0)]
        if not todo.size:
            break
    va, vb = speed(a, at[0]), speed(b, at[1])
    sine = va.real * vb.imag - va.imag * vb.real
    sure = np.abs(place(a, at[0]) - place(b, at[1])) < NEAR
    return at, sure, sine
