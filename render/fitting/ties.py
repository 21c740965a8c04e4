"""Where two separate parts of a piece are best tied together, and how such a tie looks."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import shapely
from numpy.typing import NDArray

from render.fitting.solids import Points, Region, near, only_areas, pairs
from render.geometry import Box

BEND: Final = 6.0
"""How much dearer a tie across the strokes' slant is than one along it, where parts lie above each other."""

HEIGHT: Final = 0.7
"""How much dearer a tie between neighbours is an x-height off the baseline than on it."""

ALOFT: Final = 4.0
"""How much dearer, of letters that are tied near their tops, a tie at their feet is than one at the top."""

LONG: Final = 2.0
"""A tie in script that shows more than this, in widths, hangs a little instead of being straight."""

SAG: Final = 0.22
"""By how much its middle is drawn down, in lengths (half of this is what it hangs by)."""

SCRIPT: Final = math.radians(4)
"""Letters that lean by more than this are taken for script."""

_STEP: Final = 0.4
"""Places are tried this far apart, in widths of the tie."""

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Manner:
    """What ties follow.

    Attributes:
        width: of a tie, mm.
        slant: the strokes' lean to the right of upright, radians.
        baselines: y and x-height of each line of lettering, mm.
        aloft: boxes of letters that ties join at the top of the box, since at their feet they make others.
    """

    width: float
    slant: float = 0.0
    baselines: tuple[tuple[float, float], ...] = ()
    aloft: tuple[Box, ...] = ()


@dataclass(frozen=True, slots=True)
class Tie:
    """A tie: its middle line from stout place to stout place, and how much of it is to be seen, mm."""

    line: Any
    shown: float

    @property
    def middle(self) -> complex:
        """Its middle."""
        (x0, y0), (x1, y1) = self.line.coords[0], self.line.coords[-1]
        return complex(x0 + x1, y0 + y1) / 2


def best_tie(one: Region, other: Region, whole: Region, manner: Manner) -> Tie:
    """The tie between two stout places (see :func:`render.fitting.necks.cores`) that looks best.

    Among lines from many places of either to the nearest of the other it takes the one that shows least
    outside the piece. A part above another (a dot, an accent) is rather tied along the slant of the strokes,
    neighbours rather at the baseline.

    Args:
        one: a region that is a disc of the tie's width smaller than what it is in.
        other: another such region.
        whole: the piece as it is so far.
        manner: the tie's width, and what it follows.
    """
    nearest: Any = shapely.shortest_line(one, other)
    reach = nearest.length + 3 * manner.width
    lines: list[Any] = [nearest]
    for here, there in ((one, other), (other, one)):
        x0, y0, x1, y1 = there.bounds
        rim = shapely.clip_by_rect(here.boundary, x0 - reach, y0 - reach, x1 + reach, y1 + reach)
        places: Any = shapely.points(shapely.get_coordinates(shapely.segmentize(rim, _STEP * manner.width)))
        if places.size > _MOST_PLACES:
            places = places[:: -(-places.size // _MOST_PLACES)]
        ways: Any = shapely.shortest_line(places, there)
        lines += ways.tolist()
    tried = np.array([line for line in lines if line.length <= reach])
    local = near(whole, tuple(shapely.total_bounds(tried).tolist()), manner.width)
    shapely.prepare(local)
    plain = 0.15 * shapely.length(tried) + 0.05 * manner.width
    dear = _dearness(tried, one, other, manner)
    guess = (shapely.length(tried) * _outside(tried, local) + plain) * dear
    best = np.argsort(guess, kind="stable")[:_LOOKED_AT]
    shown = shapely.length(shapely.difference(tried[best], local))
    cheapest = int(np.argmin(np.round((shown + plain[best]) * dear[best], 4)))
    line, seen = tried[best][cheapest], float(shown[cheapest])
    if seen > LONG * manner.width and manner.slant > SCRIPT and not _vertical(line):
        line = _hanging(line)
    return Tie(line, seen)


def _outside(lines: NDArray[Any], region: Region) -> Floats:
    """The part of each straight line that lies outside a region, nearly: at evenly spaced places of it."""
    ends = pairs_of(lines)
    t = (np.arange(_SAMPLES) + 0.5) / _SAMPLES
    places = ends[:, :1] * (1 - t) + ends[:, 1:] * t
    inside = shapely.contains_xy(region, places.real.ravel(), places.imag.ravel())
    return np.asarray(1 - inside.reshape(places.shape).mean(axis=1))


def pairs_of(lines: NDArray[Any]) -> Points:
    """The ends of straight lines, x + iy, shape (n, 2)."""
    flat = np.ascontiguousarray(shapely.get_coordinates(lines))
    return flat.view(np.complex128).reshape(-1, 2)


def _vertical(line: Any) -> bool:
    (x0, y0), (x1, y1) = line.coords
    return bool(abs(y1 - y0) > abs(x1 - x0))


def _mark(part: Region, manner: Manner) -> bool:
    """Whether a part is a dot or accent: it lies clear above or below the small letters of its line."""
    _, top, _, foot = part.bounds
    if not manner.baselines:
        return False
    base, height = min(manner.baselines, key=lambda line: abs((top + foot) / 2 - line[0] + line[1] / 2))
    return bool(foot < base - 0.8 * height or top > base + 0.05 * height)


def _stacked(one: Region, other: Region) -> bool:
    """Whether one lies above the other."""
    (_, top, _, foot), (_, top2, _, foot2) = one.bounds, other.bounds
    return bool(max(top - foot2, top2 - foot) > 0)


def _hanging(line: Any) -> Any:
    """A long tie, let hang a little as a stroke of the pen would."""
    a, b = (complex(*place) for place in line.coords)
    deep = (a + b) / 2 + SAG * abs(b - a) * 1j
    t = np.linspace(0, 1, 17)
    return shapely.linestrings(pairs(a * (1 - t) ** 2 + 2 * deep * t * (1 - t) + b * t * t))


_MOST_PLACES: Final = 32
_SAMPLES: Final = 16
_LOOKED_AT: Final = 10


def _dearness(lines: NDArray[Any], one: Region, other: Region, manner: Manner) -> Floats:
    """By what each tie's shown length is multiplied for how and where it runs."""
    ends = shapely.get_coordinates(lines).reshape(-1, 2, 2)
    across = ends[:, 1] - ends[:, 0]
    if _stacked(one, other) or _mark(one, manner) or _mark(other, manner):
        lean = np.arctan2(-across[:, 0], across[:, 1]) - manner.slant
        return np.asarray(1 + BEND * np.sin(lean) ** 2)
    if not manner.baselines:
        return np.ones(lines.size)
    y = ends[:, :, 1].mean(axis=1)
    rises = [np.abs(y - base) / max(height, 0.1) for base, height in manner.baselines]
    dear = 1 + HEIGHT * np.minimum(np.min(rises, axis=0), 2.0)
    for box in manner.aloft:
        low, high = (box.x0, box.y0 - box.height), (box.x1, box.y1 + box.height / 4)
        within = ((ends >= low) & (ends <= high)).all(axis=(1, 2))
        fall = np.abs(y - box.y0) / max(box.height, 0.1)
        dear = np.where(within, 1 + ALOFT * np.minimum(fall, 2.0), dear)
    return np.asarray(dear)


def unlikeliness(boxes: Floats, manner: Manner) -> Floats:
    """By what the distance of each two parts is multiplied when it is chosen which of them to tie.

    A dot or accent belongs to the letter below or above it, and only where there is none to another mark:
    so much a reader's eye expects.

    Args:
        boxes: x0, y0, x1, y1 of each part, shape (n, 4).
        manner: knows the baselines.
    """
    x0, y0, x1, y1 = boxes.T
    count = len(boxes)
    if not manner.baselines:
        return np.ones((count, count))
    bases = np.array(manner.baselines)
    line = np.abs((y0 + y1)[:, None] / 2 - bases[:, 0] + bases[:, 1] / 2).argmin(axis=1)
    base, height = bases[line].T
    mark = (y1 < base - 0.8 * height) | (y0 > base + 0.05 * height)
    # where a part's middle would be if it were moved along the slant to the other's height
    shift = math.tan(manner.slant) * ((y0 + y1)[:, None] - (y0 + y1)[None, :]) / 2
    middle = (x0 + x1)[:, None] / 2 + shift
    beside = np.maximum(x0[None, :] - middle, middle - x1[None, :]) > 0.1 * height[:, None]
    both = mark[:, None] & mark[None, :]
    factor = np.ones((count, count))
    factor[both] = 2.0
    factor[both & beside & beside.T] = 5.0
    factor[~both & mark[:, None] & beside] = 3.0
    return np.maximum(factor, factor.T)


def shape_of(tie: Tie, width: float) -> Region:
    """A tie as a region: a bar with round ends, so that a disc of `width` passes from end to end."""
    return shapely.buffer(tie.line, width / 2, quad_segs=12)


def flares(whole: Region, tied: Sequence[Region], radius: float, below: float | None = None) -> list[Region]:
    """What rounds the nooks beside ties: their closing by a disc of `radius`.

    With `below`, only nooks that reach so far below the top of the ties, or lower, are rounded.

    Closing: grow, then shrink again (J. Serra, Image Analysis and Mathematical Morphology, 1982).
    """
    if not tied:
        return []
    zones = shapely.buffer(np.array(tied, dtype=object), 1.5 * radius, quad_segs=6)
    zone = shapely.union_all(zones)
    tops = [tie.bounds[1] for tie in tied]
    least = -math.inf if below is None else min(tops) + below
    found = []
    for part in shapely.get_parts(zone).tolist():
        local = shapely.union_all(
            [near(whole, part.bounds, 3 * radius), *(t for t in tied if t.intersects(part))]
        )
        closed = shapely.buffer(shapely.buffer(local, radius, quad_segs=8), -radius, quad_segs=8)
        nooks = only_areas(shapely.intersection(shapely.difference(closed, local), part))
        stout = shapely.buffer(nooks, -0.004, quad_segs=2)
        found += [
            shapely.buffer(piece, 0.007, quad_segs=2)
            for piece in shapely.get_parts(only_areas(stout)).tolist()
            if piece.area > 0.002 and piece.bounds[3] > least
        ]
    return found


def slant_of(region: Region) -> float:
    """The lean of upright strokes, radians to the right: the middle one of all edges, weighted by length.

    Edges that lean by more than 45° are of other strokes.
    """
    steps: list[Floats] = [
        np.diff(shapely.get_coordinates(ring), axis=0)
        for part in shapely.get_parts(region).tolist()
        for ring in (part.exterior, *part.interiors)
    ]
    if not steps:
        return 0.0
    step = np.concatenate(steps)
    step[step[:, 1] > 0] *= -1
    lean = np.arctan2(step[:, 0], -step[:, 1])
    keep = np.abs(lean) < math.pi / 4
    if not keep.any():
        return 0.0
    lean, length = lean[keep], np.hypot(*step[keep].T)
    order = np.argsort(lean, kind="stable")
    sums = np.cumsum(length[order])
    return float(lean[order][np.searchsorted(sums, sums[-1] / 2)])
