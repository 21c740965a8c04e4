"""How wide strokes and gaps are: measured across them, all along an outline.

From many places of the outline a ray goes straight inward (across the stroke) or outward (across the gap) to
the outline again. Both ends of such a crossing belong to a disc that touches the outline at both; its
diameter is what counts, so that converging sides are not told too wide. Where two corners poke at each other,
their distance is a crossing. Lengths are in the unit of the outline; y is up.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from render.lettering.contours import Contour, Floats, Points, Segments
from render.lettering.rays import Ints, Net

FACING_DEGREES: Final = 30.0
"""Sides that converge by more than this are a corner, not a stroke."""

_FACING: Final = math.cos(math.radians(FACING_DEGREES))
_CORNER: Final = math.radians(3)
_FAN: Final = math.radians(7.5)
_NEAR: Final = 1e-9
_STRAIGHT: Final = 0.02  # radians
_LEVEL: Final = 25.0


@dataclass(frozen=True, slots=True, eq=False)
class Outline:
    """Closed contours as chords, the region on their left. One row a chord.

    Attributes:
        begin, end: of each chord.
        way: unit vector along it; the region lies towards `1j * way`.
        ring: number of its contour.
        at: length along the contour up to `begin`.
        around: length of its contour.
        following, before: number of the chord after and before it on its contour.
        edge: number of the straight segment that it is part of; -1 on curves.
    """

    begin: Points
    end: Points
    way: Points
    ring: Ints
    at: Floats
    around: Floats
    following: Ints
    before: Ints
    edge: Ints

    @classmethod
    def of(cls, contours: Sequence[Contour], tolerance: float, longest: float) -> Outline:
        """The chords of contours that do not cross, outer ones counter-clockwise (y up).

        Args:
            contours: such as :func:`render.lettering.union.unite` gives them.
            tolerance: how far a chord may lie from its curve.
            longest: longer chords are divided.
        """
        parts = []
        base = segments = 0
        for number, contour in enumerate(contours):
            corners, segment = _corners(contour, tolerance, longest)
            edges = _edges(contour, _LEVEL * tolerance)
            ends = np.roll(corners, -1)
            lengths = np.abs(ends - corners)
            at = np.cumsum(lengths) - lengths
            index = np.arange(corners.size)
            parts.append(
                (
                    *(corners, ends, (ends - corners) / lengths),
                    np.full(corners.size, number),
                    *(at, np.full(corners.size, lengths.sum())),
                    *(base + np.roll(index, -1), base + np.roll(index, 1)),
                    np.where(edges[segment] < 0, -1, segments + edges[segment]),
                )
            )
            base += corners.size
            segments += contour.codes.size
        if not parts:
            kinds = (complex, complex, complex, int, float, float, int, int, int)
            return cls(*(np.empty(0, kind) for kind in kinds))
        return cls(*(np.concatenate([part[k] for part in parts]) for k in range(9)))

    @property
    def turn(self) -> Floats:
        """By how much, in radians, the outline turns left at the begin of each chord."""
        return np.asarray(np.angle(self.way * self.way[self.before].conj()))


def _corners(contour: Contour, tolerance: float, longest: float) -> tuple[Points, Ints]:
    """The corners of one contour's chords, none twice, and the number of each chord's segment."""
    controls = Segments.of([contour]).controls
    bend = np.abs(np.diff(controls, 2, axis=1)).max(axis=1)
    length = np.abs(np.diff(controls, axis=1)).sum(axis=1)
    counts = np.maximum(np.sqrt(0.75 * bend / tolerance), length / longest)  # Wang's bound for cubics, 1984
    counts = np.maximum(1, np.ceil(counts)).astype(np.int64)
    row = np.repeat(np.arange(counts.size), counts)
    t = (np.arange(row.size) - np.repeat(np.cumsum(counts) - counts, counts)) / counts[row]
    s, c = 1 - t, controls[row].T
    points = c[0] * s**3 + 3 * c[1] * s * s * t + 3 * c[2] * s * t * t + c[3] * t**3
    keep = np.abs(points - np.roll(points, -1)) > _NEAR * longest
    return points[keep], row[keep]


def _edges(contour: Contour, tolerance: float) -> Ints:
    """For each segment the number of the straight edge that it is part of, -1 on curves."""
    c = Segments.of([contour]).controls
    chord = c[:, 3] - c[:, 0]
    size = np.maximum(np.abs(chord), 1e-12)
    bulge = np.abs(((c - c[:, :1]) * chord[:, None].conj()).imag).max(axis=1) / size
    straight = (bulge < tolerance) & (np.abs(chord) > tolerance)
    way = chord / size
    goes_on = straight & np.roll(straight, 1) & (np.abs(np.angle(way * np.roll(way, 1).conj())) < _STRAIGHT)
    number = np.cumsum(~goes_on) - 1
    if goes_on[0]:
        number[number == number[-1]] = number[0]
    return np.where(straight, number, -1)


@dataclass(frozen=True, slots=True, eq=False)
class Crossings:
    """Where rays from an outline meet it again. One row a ray.

    Attributes:
        start, stop: its ends.
        chord: number of the chord (or the corner's chord) that it starts from.
        hit: number of the chord that it meets.
        width: diameter of the disc that touches both sides.
        tip: how far it lies from an end, along the outline; inf between different contours.
    """

    start: Points
    stop: Points
    chord: Ints
    hit: Ints
    width: Floats
    tip: Floats

    def counted(self, short: float) -> Crossings:
        """Those that lie further than `short` from an end."""
        return self[self.tip > short]

    def __getitem__(self, rows: Any) -> Crossings:
        return Crossings(*(getattr(self, name)[rows] for name in self.__slots__))


_NONE: Final = Crossings(*(np.empty(0, kind) for kind in (complex, complex, int, int, float, float)))


def crossings(outline: Outline, most: float, *, outward: bool = False, net: Net | None = None) -> Crossings:
    """The crossings of strokes (or, `outward`, of gaps) whose sides face each other, up to a width.

    Args:
        outline: as chords.
        most: wider ones are not looked for.
        outward: across the gaps.
        net: of the outline, if there is one already.
    """
    if not outline.begin.size:
        return _NONE
    net = net or net_of(outline)
    plain = facing(outline, net, _rays(outline, outward), most, outward)
    corners = _corner_pairs(outline, net, most, outward)
    return Crossings(*(np.concatenate((getattr(plain, n), getattr(corners, n))) for n in Crossings.__slots__))


def facing(
    outline: Outline, net: Net, rays: tuple[Points, Points, Ints], most: float, outward: bool
) -> Crossings:
    """The crossings along rays (starts, unit ways, chords they start from) whose sides face each other."""
    sign = -1j if outward else 1j
    home = rays[2]
    beside = (home, outline.before[home], outline.following[home])
    ray, other, far = net.first(rays[0], rays[1], most, beside, _NEAR * most)
    start, way, chord = rays[0][ray], rays[1][ray], home[ray]
    cosine = np.minimum(1.0, -(way * (sign * outline.way[other]).conj()).real)
    faces = cosine > _FACING
    start, way, chord = start[faces], way[faces], chord[faces]
    other, far, cosine = other[faces], far[faces], cosine[faces]
    stop = start + far * way
    # two sides at an angle a: the disc that touches both has the diameter far * 2 tan(a/2) / tan(a)
    width = far * 2 * cosine / (1 + cosine)
    return Crossings(start, stop, chord, other, width, _tips(outline, start, chord, stop, other, far))


def net_of(outline: Outline) -> Net:
    """The chords of an outline, which are not none, where rays find them."""
    return Net(outline.begin, outline.end)


def _corner_pairs(outline: Outline, net: Net, most: float, outward: bool) -> Crossings:
    """Corners that poke at each other across the stroke (or gap), with nothing between."""
    turn = outline.turn
    poking = np.flatnonzero((turn if outward else -turn) > _CORNER)
    i, j = np.triu_indices(poking.size, 1)
    i, j = poking[i], poking[j]
    link = outline.begin[j] - outline.begin[i]
    far = np.abs(link)
    near = (far < most) & (far > _NEAR * most)
    i, j, link, far = i[near], j[near], link[near], far[near]
    sees = _in_fan(outline, i, link, turn, outward) & _in_fan(outline, j, -link, turn, outward)
    i, j, link, far = i[sees], j[sees], link[sees], far[sees]
    if not i.size:
        return _NONE
    free = net.free(outline.begin[i], link / far, far)
    i, j, far = i[free], j[free], far[free]
    start, stop = outline.begin[i], outline.begin[j]
    return Crossings(start, stop, i, j, far, _tips(outline, start, i, stop, j, far))


def _in_fan(outline: Outline, corner: Ints, way: Points, turn: Floats, outward: bool) -> NDArray[np.bool_]:
    """Whether ways from corners lie between the normals of the corners' two sides."""
    first = (-1j if outward else 1j) * outline.way[outline.before[corner]]
    share = np.angle(way * first.conj()) / turn[corner]
    return np.asarray((share > -0.01) & (share < 1.01))


def _rays(outline: Outline, outward: bool) -> tuple[Points, Points, Ints]:
    """Where rays start, their unit directions, and the chords they start from.

    From the middle of each chord, near corners from its ends too; from corners that poke into it, fans.
    """
    sign = -1j if outward else 1j
    count = outline.begin.size
    index = np.arange(count)
    length = np.abs(outline.end - outline.begin)
    turn = outline.turn
    poking = turn if outward else -turn
    sharp = np.abs(turn) > _CORNER
    near = np.flatnonzero(sharp | sharp[outline.following])
    starts = [(outline.begin + outline.end) / 2]
    ways, chords = [sign * outline.way], [index]
    for share in (1e-4, 1 - 1e-4):
        starts.append(outline.begin[near] + share * length[near] * outline.way[near])
        ways.append(sign * outline.way[near])
        chords.append(near)
    corner = np.flatnonzero(poking > _CORNER)
    steps = np.maximum(1, np.ceil(poking[corner] / _FAN)).astype(np.int64)
    row = np.repeat(np.arange(corner.size), steps + 1)
    part = (np.arange(row.size) - np.repeat(np.cumsum(steps + 1) - steps - 1, steps + 1)) / steps[row]
    before = outline.way[outline.before[corner]]
    starts.append(outline.begin[corner[row]])
    ways.append(sign * before[row] * np.exp(1j * (part * turn[corner[row]])))
    chords.append(corner[row])
    return np.concatenate(starts), np.concatenate(ways), np.concatenate(chords)


def _tips(outline: Outline, start: Points, chord: Ints, stop: Points, other: Ints, far: Floats) -> Floats:
    """How far crossings lie from the end of their stroke, by the shorter way along the outline."""
    here = outline.at[chord] + np.abs(start - outline.begin[chord])
    there = outline.at[other] + np.abs(stop - outline.begin[other])
    way = np.abs(here - there)
    way = np.minimum(way, outline.around[chord] - way)
    return np.where(outline.ring[chord] == outline.ring[other], (way - far) / 2, np.inf)
