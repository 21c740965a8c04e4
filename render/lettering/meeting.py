"""Two glyphs that overlap: united once, and the result told in terms of the segments of both.

Where the boundary of the union follows a glyph, it does so along whole segments of that glyph, which lie in
the pool already; only where it changes over from one glyph to the other are there pieces of segments that are
new (a *patch*). So a meeting is a list of jumps: leave this contour after that segment, follow the patch, go
on along the other contour from such a segment.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from render.geometry import LINE
from render.lettering.contours import Contour, winding
from render.lettering.pool import Glyph, Pool, piece
from render.lettering.union import Way, unite

NO_PATCH = 0
"""The patch of a jump from node to node."""


class Jump(NamedTuple):
    """Leave `ring` of glyph `of` after segment `last`, follow `patch`, enter `to_ring` of `to` at `first`."""

    of: int
    ring: int
    last: int
    patch: int
    to: int
    to_ring: int
    first: int


@dataclass(frozen=True, slots=True)
class Meeting:
    """How two glyphs at a certain offset unite.

    Attributes:
        touched: for either glyph a bit for each segment that is not wholly part of the union's boundary.
        jumps: all jumps.
        islands: pieces of contours that are made of patches alone, such as a small hole between two strokes.
        way: how the union was come by.
    """

    touched: tuple[int, int]
    jumps: tuple[Jump, ...]
    islands: tuple[int, ...]
    way: Way = Way.PLAIN


def meet(a: Glyph, b: Glyph, by: complex, pool: Pool) -> Meeting | None:
    """The meeting of glyph `a` and of `b` shifted by `by`; None if neither changes the other.

    Patches are put into the pool, in the place of `a`.
    """
    if a.box is None or b.box is None:
        return None
    if _near(a, b, by):
        return _united(a, b, by, pool)
    swallowed = _swallowed(a, b, by), _swallowed(b, a, -by)
    return Meeting(swallowed, (), ()) if any(swallowed) else None


def interact(a: Glyph, b: Glyph) -> bool:
    """Whether two glyphs, as they lie, may cross, or one covers a contour of the other."""
    return _near(a, b, 0j) or bool(_swallowed(a, b, 0j) or _swallowed(b, a, 0j))


def _near(a: Glyph, b: Glyph, by: complex) -> bool:
    """Whether a segment of `a` and one of `b` shifted by `by` come so near that they might cross."""
    shift = np.array([by.real, by.imag, by.real, by.imag])
    near_a = a.bounds()[_overlapping(a.bounds(), np.array(b.box) + shift)]
    near_b = b.bounds()[_overlapping(b.bounds(), np.array(a.box) - shift)] + shift
    if not near_a.size or not near_b.size:
        return False
    low = np.maximum(near_a[:, None, :2], near_b[None, :, :2])
    high = np.minimum(near_a[:, None, 2:], near_b[None, :, 2:])
    return bool((low <= high).all(axis=2).any())


def _overlapping(boxes: NDArray[np.float64], box: NDArray[np.float64]) -> NDArray[np.int64]:
    """Which boxes meet a box (touching counts)."""
    clear = (boxes[:, 0] > box[2]) | (boxes[:, 1] > box[3]) | (boxes[:, 2] < box[0]) | (boxes[:, 3] < box[1])
    return np.flatnonzero(~clear)


def _swallowed(inner: Glyph, outer: Glyph, by: complex) -> int:
    """The segments of those contours that lie wholly within `outer` shifted by `by`; none of them cross."""
    bits = 0
    for contour, ring in zip(inner.contours, inner.rings, strict=True):
        if winding(outer.edges, complex(contour.points[-1]) - by):
            bits |= ring.bits
    return bits


def _united(a: Glyph, b: Glyph, by: complex, pool: Pool) -> Meeting | None:
    """The meeting of glyphs whose segments come near each other."""
    shift = np.array([by.real, by.imag, by.real, by.imag])
    rings_a = _overlapping(a.ring_bounds(), np.array(b.box) + shift).tolist()
    rings_b = _overlapping(b.ring_bounds() + shift, np.array(a.box)).tolist()
    drawn = [a.contours[k] for k in rings_a] + [b.contours[k].moved(by) for k in rings_b]
    assert a.box is not None and b.box is not None  # noqa: S101, PT018
    zone = max(a.box[1], b.box[1] + by.imag), min(a.box[3], b.box[3] + by.imag)
    outcome = unite(drawn, zone)
    kept = [0, 0]
    jumps: list[Jump] = []
    islands: list[int] = []
    for contour in outcome.contours:
        labels = _labels(contour, a, b, by)
        for label in labels:
            if label is not None:
                kept[label[0]] |= label[3]
        _tell(contour, labels, (a, b), pool, jumps, islands)
    touched = (
        sum(a.rings[k].bits for k in rings_a) & ~kept[0],
        sum(b.rings[k].bits for k in rings_b) & ~kept[1],
    )
    if not (any(touched) or jumps):
        return None
    return Meeting(touched, tuple(jumps), tuple(islands), outcome.way)


Label = tuple[int, int, int, int] | None
"""Whose a segment is: which glyph's (0 or 1), which contour's, its number there, its bit; None if new."""


def _labels(contour: Contour, a: Glyph, b: Glyph, by: complex) -> list[Label]:
    """Whose each segment of a united contour is."""
    index_a, index_b = a.index(), b.index()
    here = contour.points.tolist()
    there = (contour.points - by).tolist()
    labels: list[Label] = []
    begin = -1
    for degree in contour.codes.tolist():
        end = begin + degree
        key_a = tuple(here[begin : end + 1]) if begin >= 0 else (here[-1], *here[: end + 1])
        if (found := index_a.get(key_a)) is not None:
            labels.append((0, *found))
        else:
            key_b = tuple(there[begin : end + 1]) if begin >= 0 else (there[-1], *there[: end + 1])
            found = index_b.get(key_b)
            labels.append(None if found is None else (1, *found))
        begin = end
    return labels


def _tell(
    contour: Contour,
    labels: list[Label],
    glyphs: tuple[Glyph, Glyph],
    pool: Pool,
    jumps: list[Jump],
    islands: list[int],
) -> None:
    """Add what one united contour says: its jumps, or itself as an island."""
    runs = _runs(labels, glyphs)
    if runs is None:  # just as it was
        return
    if not runs:
        codes = np.append(np.uint8(LINE), contour.codes)  # its first point, led by a move
        start = pool.add(codes, np.concatenate((contour.points[-1:], contour.points)))
        islands.append(piece(start, contour.points.size + 1, True))
        return
    ends, size = contour.ends(), len(labels)
    for (_, stop), (start, _) in zip(runs, runs[1:] + runs[:1], strict=True):
        side, ring, last = _known(labels[stop])
        patch = NO_PATCH
        new = [k % size for k in range(stop + 1, stop + 1 + (start - stop - 1) % size)]
        if new:
            index = np.concatenate([np.arange(ends[k] - contour.codes[k] + 1, ends[k] + 1) for k in new])
            patch = piece(pool.add(contour.codes[new], contour.points[index]), index.size, False)
        jumps.append(Jump(side, ring, last, patch, *_known(labels[start])))


def _known(label: Label) -> tuple[int, int, int]:
    """The label of a segment that is known to be a glyph's."""
    assert label is not None  # noqa: S101
    return label[:3]


def _runs(labels: list[Label], glyphs: tuple[Glyph, Glyph]) -> list[tuple[int, int]] | None:
    """Stretches (first, last) of a contour that follow one contour of a glyph; None if that is all of it."""
    goes_on = [
        before is not None
        and label is not None
        and before[:2] == label[:2]
        and label[2] == (before[2] + 1) % glyphs[label[0]].rings[label[1]].segments
        for before, label in zip(labels[-1:] + labels[:-1], labels, strict=True)
    ]
    if all(goes_on):
        return None
    size = len(labels)
    starts = [k for k in range(size) if labels[k] is not None and not goes_on[k]]
    stops = [k for k in range(size) if labels[k] is not None and not goes_on[(k + 1) % size]]
    if starts and stops[0] < starts[0]:
        stops = stops[1:] + stops[:1]
    return list(zip(starts, stops, strict=True))
