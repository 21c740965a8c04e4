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

from render.geometry import CUBIC, LINE, QUAD
from render.lettering.contours import STEPS, Contour, Points, Segments, closed_contour, scan, winding


class Way(StrEnum):
    """How a union was come by."""

    PLAIN = "plain"
    """At the first go."""
    ROUNDED = "rounded"
    """After rounding coordinates to whole font units."""
    FLATTENED = "flattened"
    """As a polygon within a twentieth of a font unit of the curves."""
    UNCHECKED = "unchecked"
    """No way passed its check; this is the polygon nevertheless, and someone should look at it."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """United contours: outer ones counter-clockwise (y up), inner ones clockwise; and how they came about."""

    contours: tuple[Contour, ...]
    way: Way


SCAN_LINES: Final = 48
"""How many horizontal lines a result is checked along."""

CHECKS: Final = ((STEPS, 0.03), (4 * STEPS, 0.1))
"""Chords a curve, and the largest mean difference in covered length a line in font units: the second, finer
and slower check is asked where the first one, whose chords differ where a curve was cut, is not content."""

FLATTENED_STEPS: Final = 24
"""Chords a curve in the polygon of last resort."""


def unite(contours: Sequence[Contour], zone: tuple[float, float] | None = None) -> Outcome:
    """The region that the contours cover by the non-zero rule, as simple contours that do not overlap.

    Args:
        contours: font units, y up; they may cross themselves and each other and run either way.
        zone: the heights between which the result is to be checked; all of it if None.
    """
    for way, engine in _ENGINES:
        try:
            united = oriented(engine(contours))
        except _engine_errors():
            continue
        if agrees(contours, united, zone):
            return Outcome(tuple(united), way)
    return Outcome(tuple(oriented(_flattened(contours))), Way.UNCHECKED)


def agrees(
    drawn: Sequence[Contour], united: Sequence[Contour], zone: tuple[float, float] | None = None
) -> bool:
    """Whether united contours cover what the drawn ones cover, once, and run the right way round."""
    before, after = Segments.of(drawn), Segments.of(united)
    return after.area() >= 0 and any(
        _mean_error(before.edges(steps), after.edges(steps), zone) <= limit for steps, limit in CHECKS
    )


def _mean_error(
    drawn: tuple[Points, Points], united: tuple[Points, Points], zone: tuple[float, float] | None
) -> float:
    """Mean length by which lines across are covered differently, or not with a winding of 1."""
    y = np.concatenate((drawn[0].imag, united[0].imag))
    if not y.size:
        return 0.0
    low, high = zone or (float(y.min()), float(y.max()))
    heights = (
        low + (high - low) * (np.arange(SCAN_LINES) + 0.381966) / SCAN_LINES
    )  # off the even heights of nodes
    wanted, _ = scan(*drawn, heights)
    covered, wrong = scan(*united, heights)
    error = np.sort(np.abs(covered - wanted) + wrong)
    return float(error[:-2].mean())  # a line that grazes a curve tells little


def oriented(contours: Sequence[Contour]) -> list[Contour]:
    """Contours that do not cross, run so that the winding is 1 inside and 0 outside.

    An outline is outer if it lies in an even number of others, whichever way it was drawn.
    """
    every = [Segments.of([c]) for c in contours]
    edges = [s.edges() for s in every]
    result = []
    for index, (contour, segments) in enumerate(zip(contours, every, strict=True)):
        depth = sum(_lies_in(edges[index], edges[k]) for k in range(len(edges)) if k != index)
        signed = segments.area()
        result.append(contour if (signed > 0) == (depth % 2 == 0) else contour.reversed())
    return result


def _lies_in(inner: tuple[Points, Points], outer: tuple[Points, Points]) -> bool:
    """Whether most of three places on one contour lie inside another (they may touch somewhere)."""
    x, y = inner[0].real, inner[0].imag
    ox, oy = outer[0].real, outer[0].imag
    if x.max() > ox.max() or x.min() < ox.min() or y.max() > oy.max() or y.min() < oy.min():
        return False
    places = [0, x.size // 3, 2 * x.size // 3]
    middles = ((inner[0] + inner[1]) / 2)[places]
    return sum(winding(*outer, middle) % 2 for middle in middles.tolist()) >= 2


# ---------------------------------------------------------------- engines


def _skia(contours: Sequence[Contour]) -> list[Contour]:
    """By Skia's path operations."""
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
    return _read_back(pathops.simplify(path, fix_winding=False, keep_starting_points=False))


def _read_back(path: Any) -> list[Contour]:
    """The contours of a Skia path. Its verbs are 0 move, 1 line, 2 quadratic, 4 cubic, 5 close."""
    points = [complex(x, y) for x, y in path.points]
    contours: list[Contour | None] = []
    codes: list[int] = []
    begin = at = 0
    for verb in map(int, path.verbs):
        degree = {1: LINE, 2: QUAD, 4: CUBIC}.get(verb, 0)
        if degree:
            codes.append(degree)
            at += degree
        elif verb == 0:
            if codes:
                contours.append(closed_contour(codes, points[begin + 1 : at], points[begin]))
            codes, begin = [], at
            at += 1
        elif verb != 5:
            raise ValueError(f"an unexpected kind of curve ({verb})")
    if codes:
        contours.append(closed_contour(codes, points[begin + 1 : at], points[begin]))
    return [c for c in contours if c is not None]


def _skia_rounded(contours: Sequence[Contour]) -> list[Contour]:
    """By Skia's path operations on whole units, where near misses become meetings."""
    return _skia([Contour(c.codes, np.rint(c.points.real) + 1j * np.rint(c.points.imag)) for c in contours])


def _flattened(contours: Sequence[Contour]) -> list[Contour]:
    """By shapely on polygons: each contour's own region by the non-zero rule, put together from its faces."""
    import shapely

    rings = [Segments.of([c]) for c in contours]
    edges = [ring.edges(FLATTENED_STEPS) for ring in rings]
    begins = np.concatenate([b for b, _ in edges])
    ends = np.concatenate([e for _, e in edges])
    pairs = np.stack((begins, ends), axis=1).view(np.float64).reshape(-1, 2, 2)
    lines = shapely.union_all(shapely.linestrings(pairs), grid_size=1 / 1024)
    faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(lines)))
    marks = [complex(p.x, p.y) for p in shapely.point_on_surface(faces).tolist()]
    filled = [face for face, at in zip(faces.tolist(), marks, strict=True) if winding(begins, ends, at)]
    united = []
    for polygon in shapely.get_parts(shapely.union_all(filled)).tolist():
        for ring in (polygon.exterior, *polygon.interiors):
            corners = shapely.get_coordinates(ring).view(np.complex128).reshape(-1)
            united.append(
                closed_contour([LINE] * (corners.size - 1), corners[1:].tolist(), complex(corners[0]))
            )
    return [c for c in united if c is not None]


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
