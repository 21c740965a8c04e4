"""Uniting overlapping outlines by the non-zero rule: the only module that knows the engines which do it.

The first engine is Skia's path operations, which keeps curves. It is not always right, so every result is
checked: along many horizontal lines it must cover what the drawing covers by the non-zero rule, with a
winding of exactly 1. What fails is tried again on coordinates rounded to whole units, and at last as a fine
polygon by shapely. The outcome says which way was taken.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, Final

import numpy as np

from render.geometry import CLOSE, CUBIC, LINE, MOVE, QUAD
from render.lettering.contours import STEPS, Contour, Edges, Points, Segments, closed_contour, scan, winding

Zone = tuple[float, float]


class Way(StrEnum):
    """How a union was come by."""

    PLAIN = "plain"
    """At the first go."""
    ROUNDED = "rounded"
    """After rounding coordinates to whole font units."""
    FLATTENED = "flattened"
    """As a polygon very near the curves."""
    UNCHECKED = "unchecked"
    """No way passed its check; this is the polygon nevertheless, and someone should look at it."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """United contours: outer ones counter-clockwise (y up), inner ones clockwise; and how they came about."""

    contours: tuple[Contour, ...]
    way: Way


SCAN_LINES: Final = 32
"""How many horizontal lines a result is checked along."""

CHECKS: Final = ((STEPS, 0.03), (16 * STEPS, 0.05))
"""Chords a curve, and the largest mean difference in covered length a line in font units: the second, finer
and slower check is asked where the first one, whose chords differ where a curve was cut, is not content."""

FLATTENED: Final = 0.02
"""Distance in font units that the polygon of last resort keeps to the curves."""


def unite(contours: Sequence[Contour], zone: Zone | None = None) -> Outcome:
    """The region that the contours cover by the non-zero rule, as simple contours that do not overlap.

    Args:
        contours: font units, y up; they may cross themselves and each other and run either way.
        zone: the heights between which the result is to be checked; all of it if None.
    """
    if not contours:
        return Outcome((), Way.PLAIN)
    drawn = Segments.of(contours).edges()
    for way, engine in _ENGINES:
        try:
            united, edges = _oriented(engine(contours))
        except _engine_errors():
            continue
        if _mean_error(drawn, edges, zone) <= CHECKS[0][1] or agrees(contours, united, zone):
            return Outcome(tuple(united), way)
    return Outcome(tuple(oriented(_flattened(contours))), Way.UNCHECKED)


def agrees(drawn: Sequence[Contour], united: Sequence[Contour], zone: Zone | None = None) -> bool:
    """Whether united contours cover what the drawn ones cover, once, and run the right way round."""
    before, after = Segments.of(drawn), Segments.of(united)
    return any(_mean_error(before.edges(steps), after.edges(steps), zone) <= limit for steps, limit in CHECKS)


def _mean_error(drawn: Edges, united: Edges, zone: Zone | None) -> float:
    """Mean length, along lines across, of what is covered differently or not once."""
    y = drawn[0].imag
    low, high = zone or (float(y.min()), float(y.max()))
    if not high > low:
        return 0.0  # no height, no region
    heights = low + (high - low) * (np.arange(SCAN_LINES) + 0.381966) / SCAN_LINES  # not where nodes lie
    error = np.sort(scan(drawn, united, heights))
    return float(error[:-2].mean())  # a line that grazes a curve tells little


def oriented(contours: Sequence[Contour]) -> list[Contour]:
    """Contours that do not cross, run so that the winding is 1 inside and 0 outside.

    An outline is outer if it lies in an even number of others, whichever way it was drawn.
    """
    return _oriented(contours)[0]


def _oriented(contours: Sequence[Contour]) -> tuple[list[Contour], Edges]:
    """Contours run the right way round, and their chords."""
    segments = Segments.of(contours)
    begins, ends = segments.edges()
    stops = np.cumsum(segments.sizes * STEPS).tolist()
    slices = [slice(start, stop) for start, stop in zip([0, *stops], stops, strict=False)]
    result = []
    for contour, part, signed, depth in zip(
        contours, slices, segments.areas().tolist(), _depths(begins, ends, slices), strict=True
    ):
        if (signed > 0) == (depth % 2 == 0):
            result.append(contour)
        else:
            result.append(contour.reversed())
            begins[part], ends[part] = ends[part].copy(), begins[part].copy()
    return result, (begins, ends)


def _depths(begins: Points, ends: Points, slices: Sequence[slice]) -> list[int]:
    """For each contour in how many others it lies."""
    if len(slices) < 2:
        return [0] * len(slices)
    edges = [(begins[part], ends[part]) for part in slices]
    boxes = [(b.real.min(), b.imag.min(), b.real.max(), b.imag.max()) for b, _ in edges]
    every = range(len(edges))
    return [
        sum(n != k and _within(boxes[k], boxes[n]) and _lies_in(edges[k], edges[n]) for n in every)
        for k in every
    ]


def _within(inner: tuple[float, ...], outer: tuple[float, ...]) -> bool:
    """Whether one box lies in another."""
    return inner[0] >= outer[0] and inner[1] >= outer[1] and inner[2] <= outer[2] and inner[3] <= outer[3]


def _lies_in(inner: Edges, outer: Edges) -> bool:
    """Whether most of three places on one contour lie inside another (they may touch somewhere)."""
    size = inner[0].size
    middles = ((inner[0] + inner[1]) / 2)[[0, size // 3, 2 * size // 3]]
    return sum(winding(outer, middle) % 2 for middle in middles.tolist()) >= 2


# ---------------------------------------------------------------- engines


def skia_regions(
    region: Sequence[Contour], knife: Sequence[Contour]
) -> tuple[tuple[Contour, ...], tuple[Contour, ...]]:
    """What of a region lies inside another, and what outside; whoever asks checks the areas.

    Both are free of overlaps and run as :func:`oriented` says.
    """
    import pathops

    whole, by = _drawn(region), _drawn(knife)
    kinds = (pathops.PathOp.INTERSECTION, pathops.PathOp.DIFFERENCE)
    inside, outside = (
        tuple(
            oriented(_read_back(pathops.op(whole, by, kind, fix_winding=False, keep_starting_points=False)))
        )
        for kind in kinds
    )
    return inside, outside


def _skia(contours: Sequence[Contour]) -> list[Contour]:
    """By Skia's path operations."""
    import pathops

    return _read_back(pathops.simplify(_drawn(contours), fix_winding=False, keep_starting_points=False))


def _drawn(contours: Sequence[Contour]) -> Any:
    """The contours as a Skia path."""
    import pathops

    path = pathops.Path()
    draw = {LINE: path.lineTo, QUAD: path.quadTo, CUBIC: path.cubicTo}
    for contour in contours:
        points = contour.points.view(np.float64).tolist()
        path.moveTo(*points[-2:])
        at = 0
        for code in contour.codes.tolist():
            draw[code](*points[at : at + 2 * code])
            at += 2 * code
        path.close()
    return path


def _read_back(path: Any) -> list[Contour]:
    """The contours of a Skia path, which are all closed."""
    points = np.array(path.points, np.float64).reshape(-1, 2).view(np.complex128).reshape(-1)
    verbs = _DEGREES[list(map(int, path.verbs))]
    if (verbs < 0).any():
        raise ValueError("an unexpected kind of curve")
    drawn = verbs[verbs != CLOSE]
    moves = np.flatnonzero(drawn == MOVE)
    if not moves.size:
        return []
    firsts = np.cumsum(np.maximum(drawn, 1)) - np.maximum(drawn, 1)
    ends = np.append(moves[1:], drawn.size).tolist()
    stops = np.append(firsts[moves[1:]], points.size).tolist()
    contours = [
        closed_contour(drawn[move + 1 : end].astype(np.uint8), points[first:stop])
        for move, end, first, stop in zip(moves.tolist(), ends, firsts[moves].tolist(), stops, strict=True)
    ]
    return [c for c in contours if c is not None]


_DEGREES: Final = np.array((MOVE, LINE, QUAD, -1, CUBIC, CLOSE, -1))
"""Commands by Skia's verbs: move, line, quadratic, conic, cubic, close, done."""


def _skia_rounded(contours: Sequence[Contour]) -> list[Contour]:
    """By Skia's path operations on whole units, where near misses become meetings."""
    return _skia([Contour(c.codes, np.rint(c.points.real) + 1j * np.rint(c.points.imag)) for c in contours])


def _flattened(contours: Sequence[Contour]) -> list[Contour]:
    """By shapely on polygons: of the faces that all chords together cut out, those with a winding."""
    import shapely

    loops = [_chords(contour) for contour in contours]
    begins = np.concatenate(loops)
    ends = np.concatenate([np.roll(loop, -1) for loop in loops])
    rings: list[Any] = [
        shapely.linearrings(loop.view(np.float64).reshape(-1, 2)) for loop in loops if loop.size > 2
    ]
    faces = shapely.get_parts(shapely.polygonize([shapely.node(shapely.multilinestrings(rings))]))
    marks = _corners(shapely.point_on_surface(faces))
    filled = [face for face, at in zip(faces, marks.tolist(), strict=True) if winding((begins, ends), at)]
    united = []
    for polygon in shapely.get_parts(shapely.union_all(filled)):
        for ring in (polygon.exterior, *polygon.interiors):
            corners = _corners(ring)
            united.append(closed_contour(np.full(corners.size - 1, LINE, np.uint8), corners))
    return [c for c in united if c is not None]


def _corners(shape: Any) -> Points:
    """The coordinates of shapely's shapes."""
    import shapely

    pairs = np.ascontiguousarray(shapely.get_coordinates(shape))
    return pairs.view(np.complex128).reshape(-1)


def _chords(contour: Contour) -> Points:
    """The corners of chords within FLATTENED of a contour, evenly spaced in t.

    By the bound for a cubic's distance from n chords, 6 |second difference| / (8 n²) (Wang's formula, 1984).
    """
    segments = Segments.of([contour])
    bend = float(np.abs(np.diff(segments.controls, 2, axis=1)).max())
    steps = max(1, int(np.ceil(np.sqrt(0.75 * bend / FLATTENED))))
    return np.ascontiguousarray(segments.edges(steps)[0])


_ENGINES: Final[tuple[tuple[Way, Callable[[Sequence[Contour]], list[Contour]]], ...]] = (
    (Way.PLAIN, _skia),
    (Way.ROUNDED, _skia_rounded),
    (Way.FLATTENED, _flattened),
)


def _engine_errors() -> tuple[type[Exception], ...]:
    """What an engine raises when it cannot do it."""
    import pathops
    from shapely.errors import ShapelyError

    return (pathops.PathOpsError, ShapelyError, ValueError)
