"""Lettering cut out of a plate, with bridges, so that what is inside its letters does not fall out."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import shapely
from numpy.typing import NDArray

from render.fitting.joining import Fault
from render.fitting.necks import SLACK, cores, roughly
from render.fitting.smooth import curved
from render.fitting.solids import (
    Memory,
    Region,
    near,
    only_areas,
    pairs,
    parts_of,
    region_of_path,
    regions_of_paths,
    tidied,
    together,
)
from render.geometry import Path

PLACES: Final = 13
"""Across each island a bridge is tried at so many places."""

DIRECTIONS: Final = ((90.0, 1.0), (0.0, 1.7), (45.0, 3.0), (-45.0, 3.0))
"""Directions of bridges, degrees, and how dear each is: upright as is the custom (common practice,
no source)."""

SMALL_MM: Final = 10.0
"""Waste that is smaller than this in both directions can fall between the slats of a bed (common practice, no
source)."""

HANGING: Final = 8.0
"""A tongue that hangs by less than a neck is bridged if it is larger than so many squares of the neck."""

ROUNDS: Final = 4
_TOUCH_MM: Final = 1e-6
_CLEAR_MM: Final = 0.02
"""A bridge reaches this far beyond the stroke: cut flush, slivers would be left."""


@dataclass(frozen=True, slots=True)
class Bridged:
    """Lettering that may be cut out of a plate.

    Attributes:
        path: its outlines.
        neck: no bridge is narrower, mm.
        islands: how many would have fallen out.
        bridges: the middle of each bridge.
        waste: longer side in mm of each bit that falls out.
        faults: what falls out nevertheless.
        tongues: where a tongue of the plate hangs by less than a neck.
    """

    path: Path
    neck: float
    islands: int = 0
    bridges: tuple[complex, ...] = ()
    waste: tuple[float, ...] = ()
    faults: tuple[Fault, ...] = ()
    tongues: tuple[complex, ...] = ()


@dataclass(frozen=True, slots=True)
class _Bridge:
    """A way across a stroke, from the island's side of it to the other; `price` is what it costs the eye."""

    a: complex
    b: complex
    price: float


def bridge(letters: Sequence[Path], plate: Path | None, neck: float, count: int = 2) -> Bridged:
    """Lettering with bridges across its strokes, so that the plate stays in one piece.

    Each island gets `count` bridges (2: one on either side, in one line; 1: the shortest; 4: two and two), as
    wide as the neck, at a customary place: upright through the middle, where the stroke is thin.

    Args:
        letters: outlines, each without overlaps of its own.
        plate: closed contours of what they are cut out of, holes included; None: it goes on all round.
        neck: width of a bridge, mm.
        count: bridges for each island.

    Raises:
        ValueError: there are no letters, or the neck is not larger than 0.
    """
    if not neck > 0:
        raise ValueError("a bridge must be wider than 0")
    memory = Memory()
    open_ = together(regions_of_paths([path for path in letters if path], memory))
    if open_.is_empty:
        raise ValueError("there is no lettering")
    whole = (
        region_of_path(plate) if plate else shapely.box(*open_.bounds).buffer(5 * neck, join_style="mitre")
    )
    islands = 0
    bridges: list[_Bridge] = []
    for turn in range(ROUNDS):
        loose = _loose(whole, open_, neck)
        if not loose:
            break
        if turn == 0:
            islands = len(parts_of(only_areas(shapely.difference(whole, open_)), 0.01 * neck * neck)) - 1
        for island in loose:
            for way in _ways(island, _round(island, open_, neck), neck, count if turn == 0 else 1):
                bridges.append(way)
                open_ = _crossed(open_, way, neck)
    open_ = tidied(open_, 0.02 * neck * neck)
    return Bridged(
        curved(open_, memory),
        neck,
        islands,
        tuple((way.a + way.b) / 2 for way in bridges),
        tuple(_longer_side(part) for part in parts_of(open_)),
        *_faults(whole, open_, neck),
    )


def _longer_side(part: Region) -> float:
    x0, y0, x1, y1 = part.bounds
    return float(max(x1 - x0, y1 - y0))


def _loose(whole: Region, open_: Region, neck: float) -> list[Region]:
    """What would fall out, small ones first; where nothing would, what hangs by too little."""
    left = only_areas(shapely.difference(whole, open_))
    return _fallen(left, neck) or _hanging(left, neck)


def _fallen(left: Region, neck: float) -> list[Region]:
    return sorted(parts_of(left, 0.01 * neck * neck), key=lambda part: part.area)[:-1]


def _hanging(left: Region, neck: float) -> list[Region]:
    stout = sorted(cores(roughly(left, neck), SLACK * neck), key=lambda place: place.area)
    tongues = [shapely.buffer(core, 0.45 * neck) for core in stout[:-1]]
    return [part for part in tongues if part.area > HANGING * neck * neck]


def _faults(whole: Region, open_: Region, neck: float) -> tuple[tuple[Fault, ...], tuple[complex, ...]]:
    left = only_areas(shapely.difference(whole, open_))
    faults = tuple(Fault("the inside of a letter falls out", _inside(part)) for part in _fallen(left, neck))
    return faults, tuple(_inside(part) for part in _hanging(left, neck))


def _inside(part: Region) -> complex:
    middle = shapely.point_on_surface(part)
    return complex(middle.x, middle.y)


def _round(island: Region, open_: Region, neck: float) -> Region:
    """The lettering round an island, as far as bridges may reach."""
    _, y0, _, y1 = island.bounds
    return near(open_, island.bounds, max(8 * neck, y1 - y0))


def _crossed(open_: Region, way: _Bridge, neck: float) -> Region:
    """The lettering with one bridge across it."""
    along = (way.b - way.a) / abs(way.b - way.a)
    across = 0.5j * neck * along

    def strip(start: complex, end: complex) -> Region:
        return shapely.polygons(pairs(np.array((start - across, end - across, end + across, start + across))))

    stroke = shapely.linestrings(pairs(np.array((way.a, way.b))))
    crossing = shapely.intersection(open_, strip(way.a - along * neck, way.b + along * neck))
    hit = [part for part in parts_of(only_areas(crossing)) if part.intersects(stroke)]
    if not hit:
        return open_
    ends = [((_complex(shapely.get_coordinates(part)) - way.a) * along.conjugate()).real for part in hit]
    low, high = min(end.min() for end in ends) - _CLEAR_MM, max(end.max() for end in ends) + _CLEAR_MM
    return only_areas(shapely.difference(open_, strip(way.a + low * along, way.a + high * along)))


def _ways(island: Region, open_: Region, neck: float, count: int) -> list[_Bridge]:
    """The bridges of one island."""
    best: tuple[float, list[_Bridge]] | None = None
    for degrees, dear in DIRECTIONS:
        pairs_ = _across(island, open_, math.radians(degrees), neck)
        if count == 1:
            some = [(way.price * dear, [way]) for pair in pairs_ for way in pair if way]
        else:
            some = [(sum(way.price for way in pair if way) * dear, [w for w in pair if w]) for pair in pairs_]
            some = [(price * (1.0 if len(ways) == 2 else 2.0), ways) for price, ways in some if ways]
            if count > 2 and len(some) > 3:
                third = len(some) // 3
                ends = (min(some[:third], key=lambda s: s[0]), min(some[-third:], key=lambda s: s[0]))
                some = [(ends[0][0] + ends[1][0], ends[0][1] + ends[1][1])]
        if some:
            cheapest = min(some, key=lambda one: one[0])
            if best is None or cheapest[0] < best[0] - 1e-6:
                best = cheapest
    return best[1] if best else []


def _across(
    island: Region, open_: Region, turn: float, neck: float
) -> list[tuple[_Bridge | None, _Bridge | None]]:
    """At places across an island the ways out of it on either side, in one direction."""
    along = complex(math.cos(turn), math.sin(turn))
    corners = _complex(shapely.get_coordinates(island.exterior)) * along.conjugate()
    low, high = corners.imag.min(), corners.imag.max()
    middle, reach = (low + high) / 2, (high - low) / 2
    inner = max(reach - neck / 2, 0.0) if reach > neck / 2 else 0.0
    every = _complex(np.array(shapely.box(*open_.bounds).exterior.coords)) * along.conjugate()
    start, stop = every.real.min() - 1, every.real.max() + 1
    offsets = middle + inner * np.linspace(-0.85, 0.85, PLACES)
    ends = np.stack([(start + 1j * offsets) * along, (stop + 1j * offsets) * along], axis=1)
    lines = shapely.linestrings(np.stack((ends.real, ends.imag), axis=2))
    strokes = shapely.intersection(lines, open_)
    mine = shapely.intersection(lines, island)
    found = []
    for offset, stroke, inside in zip(offsets.tolist(), strokes.tolist(), mine.tolist(), strict=True):
        off = (offset - middle) / max(reach, neck)
        found.append(_both_ways(stroke, inside, along, off, neck))
    return found


def _both_ways(
    strokes: Any, inside: Any, along: complex, off: float, neck: float
) -> tuple[_Bridge | None, _Bridge | None]:
    """The strokes that bound what a line shares with an island, before and behind it."""
    runs = [_run(part, along) for part in shapely.get_parts(strokes).tolist() if part.length > _TOUCH_MM]
    held = [_run(part, along) for part in shapely.get_parts(inside).tolist() if part.length > _TOUCH_MM]
    if not held:
        return None, None
    first, last = min(h[0] for h in held), max(h[1] for h in held)
    before = [run for run in runs if run[1] <= first + 1e-3]
    behind = [run for run in runs if run[0] >= last - 1e-3]
    side = 1j * along * _level(inside, along)
    ways: list[_Bridge | None] = []
    for run in (max(before, default=None), min(behind, default=None)):
        if run is None:
            ways.append(None)
            continue
        a, b = run[0] * along + side, run[1] * along + side
        ways.append(_Bridge(a, b, (run[1] - run[0] + 0.5 * neck) * (1 + 0.8 * off * off)))
    return ways[0], ways[1]


def _run(part: Any, along: complex) -> tuple[float, float]:
    places = (_complex(shapely.get_coordinates(part)) * along.conjugate()).real
    return float(places.min()), float(places.max())


def _level(line: Any, along: complex) -> float:
    """How far a line along `along` lies to its side."""
    return float((_complex(shapely.get_coordinates(line)) * along.conjugate()).imag.mean())


def _complex(coordinates: NDArray[np.float64]) -> NDArray[np.complex128]:
    return np.asarray(coordinates[:, 0] + 1j * coordinates[:, 1])
