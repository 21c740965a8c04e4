"""Lettering that is cut out as one piece: parts tied, thin joins made stout, and proof that it holds.

The measure of all is a disc as wide as the narrowest neck allowed. Where its middle may lie without the disc
leaving the piece are the piece's stout places. A tie is the way of the disc from one stout place to another:
so a piece all of whose stout places are tied has no neck narrower than the disc, and no single point of
contact.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import shapely

from render.fitting.lines import second_holds
from render.fitting.midline import middle_line
from render.fitting.necks import SLACK, cores, falls_apart, holds, roughly
from render.fitting.smooth import curved
from render.fitting.solids import (
    Memory,
    Region,
    near,
    only_areas,
    parts_of,
    regions_of_paths,
    thickened,
    tidied,
    together,
    united,
)
from render.fitting.standing import EMBEDDED, stakes
from render.fitting.ties import Manner, Tie, best_tie, flares, shape_of, slant_of, unlikeliness
from render.geometry import Box, Path

ROUNDS: Final = 4
"""How often a piece is gone over until it holds."""

FLARE: Final = 0.5
"""Radius of the rounding where a stake meets lettering, in widths of the stake."""

MARGIN: Final = 1.05
"""Ties are made by so much wider than asked: what chords, rounding and smoothing take off."""

ROUNDING: Final = 0.45
"""Radius of the rounding beside a tie, in widths of the neck."""

_TOUCH_MM: Final = 0.002
_SLIVER: Final = 0.02
"""Holes smaller than this part of a neck's square are where edges nearly coincide: closed."""


@dataclass(frozen=True, slots=True)
class Fault:
    """Why a piece does not hold, and where."""

    why: str
    at: complex


@dataclass(frozen=True, slots=True)
class Joined:
    """A piece in one.

    Attributes:
        path: its outline: outer contours clockwise as seen, inner ones back.
        neck: no neck of it is narrower, mm.
        ties: the ties that were put in: middle of each, and how much of it shows, mm.
        added: mm² that ties and stouter joins add to it.
        waste: mm² of each bit that falls out of it.
        faults: why it does not hold; empty where it does.
    """

    path: Path
    neck: float
    ties: tuple[tuple[complex, float], ...] = ()
    added: float = 0.0
    waste: tuple[float, ...] = ()
    faults: tuple[Fault, ...] = ()


@dataclass(frozen=True, slots=True)
class Asked:
    """What a piece is made of.

    Attributes:
        letters: outlines of lettering, each without overlaps of its own; they may overlap each other.
        solids: shapes that are one with it; `holes` are taken out in the end.
        neck: narrowest neck allowed, mm.
        thicken: how far the outlines of letters are moved outward first, mm.
        baselines: y and x-height of each line of lettering.
        aloft: boxes of letters that ties join at the top of the box.
        stakes: how many stakes stand below the letters, how wide, and the room that they go down in.
        longest: a tie that shows more than this, mm, is a fault: it would look crude.
    """

    letters: tuple[Path, ...]
    neck: float
    solids: tuple[Path, ...] = ()
    holes: tuple[Path, ...] = ()
    thicken: float = 0.0
    baselines: tuple[tuple[float, float], ...] = ()
    aloft: tuple[Box, ...] = ()
    longest: float = 25.0
    stakes: tuple[int, float, Box] | None = None


def join(asked: Asked) -> Joined:
    """One piece of lettering and shapes, no neck of it narrower than asked.

    Raises:
        ValueError: there is nothing to join, or the neck is not larger than 0.
    """
    if not asked.neck > 0:
        raise ValueError("a neck must be larger than 0")
    memory = Memory()
    grows = Memory(remembers=False) if asked.thicken > 0 else memory
    letters = regions_of_paths([path for path in asked.letters if path], grows)
    shapes = regions_of_paths([path for path in asked.solids if path], memory)
    if not letters and not shapes:
        raise ValueError("there is nothing to join")
    grown = thickened(together(letters), asked.thicken) if letters else None
    holes = together(regions_of_paths(asked.holes, memory)) if asked.holes else None
    down = _stakes(grown, asked, memory)
    start = _tidy(_without(together([grown, *shapes, *down]), holes), asked.neck)
    if asked.stakes and down:
        rounding = [
            nook
            for stake in down
            for nook in flares(start, [stake], FLARE * asked.stakes[1], 1.5 * EMBEDDED * asked.neck)
        ]
        start = _tidy(_without(together([start, *rounding]), holes), asked.neck)
    slant = slant_of(together(letters)) if letters else 0.0
    manner = Manner(MARGIN * asked.neck, slant, asked.baselines, asked.aloft)
    whole, ties, held = hold_together(start, manner, holes)
    for second in second_holds(whole, manner):
        ties.append(second)
        bar = shape_of(second, manner.width)
        rounding = flares(whole, [bar], ROUNDING * asked.neck)
        whole = _tidy(_without(together([whole, bar, *rounding]), holes), asked.neck)
    added = whole.area - start.area
    faults = [*_too_long(ties, asked.longest), *([] if held else _weak(whole, asked.neck))]
    return Joined(
        curved(whole, memory),
        asked.neck,
        tuple((tie.middle, tie.shown) for tie in ties),
        added,
        tuple(shapely.polygons(ring).area for part in parts_of(whole) for ring in part.interiors),
        tuple(faults),
    )


def _stakes(lettering: Region | None, asked: Asked, memory: Memory) -> list[Region]:
    if lettering is None or asked.stakes is None:
        return []
    count, width, room = asked.stakes
    clear: list[Box] = []
    if asked.aloft and asked.baselines:  # points hang below such letters, and a stake would hide them
        parts, base = parts_of(lettering), max(y for y, _ in asked.baselines)
        clear = [Box(*part.bounds) for part in parts if part.bounds[1] > base]
        lettering = together([part for part in parts if part.bounds[1] <= base] or parts)
    return regions_of_paths(stakes(lettering, count, width, room, asked.neck, clear), memory)


def hold_together(
    whole: Region, manner: Manner, holes: Region | None = None
) -> tuple[Region, list[Tie], bool]:
    """A region with the ties and stouter joins that make it one piece; the ties; and whether it holds now."""
    ties: list[Tie] = []
    for _ in range(ROUNDS):
        rough = roughly(whole, manner.width)
        fallen = falls_apart(rough, manner.width)
        if fallen is None:
            return whole, ties, True
        extra, some = _missing(rough, manner, *fallen)
        if not extra:
            break
        ties += some
        rounding = flares(whole, [shape_of(tie, manner.width) for tie in some], ROUNDING * manner.width)
        whole = _tidy(_without(together([whole, *extra, *rounding]), holes), manner.width)
    return whole, ties, holds(roughly(whole, manner.width), manner.width)


def _without(whole: Region, holes: Region | None) -> Region:
    return whole if holes is None else only_areas(shapely.difference(whole, holes))


def _tidy(whole: Region, neck: float) -> Region:
    return tidied(whole, _SLIVER * neck * neck)


# ---------------------------------------------------------------- what is missing


class _Sets:
    """Which stout places hang together already."""

    def __init__(self, count: int) -> None:
        self._heads = list(range(count))

    def head(self, k: int) -> int:
        while self._heads[k] != k:
            self._heads[k] = self._heads[self._heads[k]]
            k = self._heads[k]
        return k

    def join(self, a: int, b: int) -> None:
        self._heads[max(self.head(a), self.head(b))] = min(self.head(a), self.head(b))

    def groups(self) -> list[list[int]]:
        """The members of each set, in order."""
        found: dict[int, list[int]] = {}
        for k in range(len(self._heads)):
            found.setdefault(self.head(k), []).append(k)
        return [found[key] for key in sorted(found)]


def _missing(
    whole: Region, manner: Manner, level: float, found: Sequence[Region]
) -> tuple[list[Region], list[Tie]]:
    """What must be added so that all stout places hang together: first stouter joins, then ties.

    `found` are the places that are stout at a level, a part of the neck's width.
    """
    width, places = manner.width, list(found)
    opened = shapely.buffer(np.array(places, dtype=object), SLACK * level * width / 2, quad_segs=6).tolist()
    parts = parts_of(whole)
    stout = set(shapely.STRtree(parts).query(np.array(places, dtype=object), "intersects")[1].tolist())
    for number, part in enumerate(parts):  # what is nowhere stout is tied by its middle
        if number not in stout:
            places.append(_middle_of(part, width))
            opened.append(part)
    sets = _Sets(len(places))
    extra = _stouter(whole, opened, sets, width)
    ties = []
    for one, other in _pairs([united([places[k] for k in g]) for g in sets.groups()], manner):
        tie = best_tie(one, other, whole, manner)
        ties.append(tie)
        extra.append(shape_of(tie, width))
    return extra, ties


def _middle_of(part: Region, width: float) -> Region:
    """A stout place for a part that has none: its middle line where it is long, else its middle."""
    for share in (0.75, 0.5, 0.25):
        inner = cores(part, share * width)
        if inner:
            return max(inner, key=lambda place: place.area)
    return shapely.buffer(shapely.maximum_inscribed_circle(part, 0.05 * width).interpolate(0), 0.02 * width)


def _stouter(whole: Region, opened: Sequence[Region], sets: _Sets, width: float) -> list[Region]:
    """Thin joins between stout places, grown until a disc of the width passes along them."""
    owners = shapely.STRtree(parts_of(whole)).query(np.array(opened, dtype=object), "intersects")[1]
    if np.bincount(owners, minlength=1).max() < 2:
        return []
    thin = only_areas(shapely.difference(whole, shapely.union_all(opened)))
    parts = parts_of(thin, 1e-3 * width * width)
    if not parts:
        return []
    strips = np.array(parts, dtype=object)
    order = np.argsort(-shapely.area(strips) / shapely.length(strips), kind="stable")
    tree = shapely.STRtree(opened)
    touched: list[list[int]] = [[] for _ in parts]
    for strip, place in tree.query(strips, predicate="dwithin", distance=_TOUCH_MM).T.tolist():
        touched[strip].append(place)
    found: list[Region] = []
    for number in order.tolist():
        part, ends = parts[number], sorted(touched[number])
        heads = {sets.head(k) for k in ends}
        if len(heads) < 2:
            continue
        reached = [opened[k] for k in ends]
        found.append(_stout(whole, part, reached, width) or _grown(whole, part, reached, width))
        for k in ends[1:]:
            sets.join(ends[0], k)
    return found


def _stout(whole: Region, part: Region, ends: Sequence[Region], width: float) -> Region | None:
    """A thin join made exactly a width wide along its middle line; None where that line cannot be found."""
    middle = middle_line(near(whole, part.bounds, width), part, width)
    if middle is None:
        return None
    ways = [shapely.shortest_line(middle, anchor) for anchor in _anchors(ends, width)]
    if any(way.length > width for way in ways):
        return None
    stout = shapely.buffer(shapely.union_all([middle, *ways]), width / 2, quad_segs=12)
    return stout if _joins(together([near(whole, stout.bounds, width), stout]), ends, width) else None


def _grown(whole: Region, part: Region, ends: Sequence[Region], width: float) -> Region:
    """A thin join grown all round, by half a width where less is not enough."""
    thin = 2 * part.area / part.length  # the width of a long thin strip
    by = min(max(0.55 * (width - thin), 0.1 * width), 0.5 * width)
    grown = shapely.buffer(part, by, quad_segs=12)
    enough = _joins(together([near(whole, grown.bounds, width), grown]), ends, width)
    return grown if enough else shapely.buffer(part, width / 2, quad_segs=12)


def _anchors(ends: Sequence[Region], width: float) -> list[Any]:
    """Where, in stout parts, the middle of a disc of the width may lie."""
    every: Any = shapely.buffer(np.array(ends, dtype=object), -0.49 * width, quad_segs=6)
    return [anchor for anchor in every.tolist() if not anchor.is_empty]


def _joins(tried: Region, ends: Sequence[Region], width: float) -> bool:
    """Whether one stout place of a region reaches all these ends."""
    anchors = _anchors(ends, width)
    stout = cores(tried, SLACK * width)
    return any(all(place.distance(anchor) < 0.05 * width for anchor in anchors) for place in stout)


def _pairs(groups: Sequence[Region], manner: Manner) -> list[tuple[Region, Region]]:
    """The pairs to tie so that all groups hang together: a least spanning tree (Kruskal, 1956)."""
    count = len(groups)
    if count < 2:
        return []
    some = np.array(groups, dtype=object)
    boxes = shapely.bounds(some)
    gap = np.maximum(boxes[:, None, :2] - boxes[None, :, 2:], boxes[None, :, :2] - boxes[:, None, 2:])
    apart = np.hypot(*np.moveaxis(np.maximum(gap, 0), 2, 0))
    unlike = unlikeliness(boxes, manner)
    chosen: list[tuple[Region, Region]] = []
    sets = _Sets(count)
    for nearest in (min(6, count - 1), count - 1):
        order = np.argsort(apart * unlike + np.eye(count) * 1e9, axis=1, kind="stable")[:, :nearest]
        pairs = sorted({(min(i, int(j)), max(i, int(j))) for i in range(count) for j in order[i]})
        one, other = np.array(pairs).T
        prices = (shapely.distance(some[one], some[other]) + 0.05) * unlike[one, other]
        for k in np.argsort(np.round(prices, 6), kind="stable").tolist():
            i, j = pairs[k]
            if sets.head(i) != sets.head(j):
                sets.join(i, j)
                chosen.append((groups[i], groups[j]))
        if len(sets.groups()) == 1:
            break
    return chosen


# ---------------------------------------------------------------- what does not hold


def _too_long(ties: Sequence[Tie], longest: float) -> list[Fault]:
    return [
        Fault(f"a tie of {tie.shown:.1f} mm would be needed", tie.middle)
        for tie in ties
        if tie.shown > longest
    ]


def _weak(whole: Region, neck: float) -> list[Fault]:
    """Where a region is in several pieces, or too narrow."""
    pieces = parts_of(whole)
    if len(pieces) > 1:
        smallest = min(pieces, key=lambda piece: piece.area)
        middle = shapely.point_on_surface(smallest)
        return [Fault(f"it is in {len(pieces)} pieces", complex(middle.x, middle.y))]
    places = sorted(cores(whole, SLACK * neck), key=lambda place: -place.area)
    faults = []
    for place in places[1:]:
        line = shapely.shortest_line(place, shapely.union_all([p for p in places if p is not place]))
        middle = line.interpolate(0.5, normalized=True)
        faults.append(Fault(f"it is narrower than {neck:g} mm", complex(middle.x, middle.y)))
    return faults or [Fault(f"it hangs by less than {neck:g} mm", complex(*pieces[0].centroid.coords[0]))]
