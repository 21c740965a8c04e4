"""The thinnest stroke and the narrowest gap of an outline, and what is meant by that.

What is **thin** is fixed so:

* a crossing (see :mod:`render.lettering.across`) counts if its two sides **face** each other, within 30°:
  corners blunter than that are no stroke;
* and if it lies further than `short` from an **end**: the way along the outline from one side round the end
  to the other, less the crossing itself, is longer than twice `short`. So the ends of strokes, pointed or
  blunt, the points of serifs and the sharp bottoms of notches may be finer;
* **joins** between stout parts count however short they are, since the way round them is long;
* a part none of whose crossings count (a dot, a tiny counter) counts by the **largest disc** inside.

Gaps are told in the same way from outside: counters, openings, and what lies between the parts of a letter.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from render.lettering.across import Crossings, Outline, crossings, facing, net_of
from render.lettering.contours import Contour, Points, Segments
from render.lettering.rays import Net

SHORT_EM: Final = 0.14
"""Ends of strokes and gaps of letters up to this length do not count: a fifth of usual capitals' height."""

MOST_EM: Final = 0.3
"""Wider strokes and gaps of letters are not looked for."""

CHORD_EM: Final = 5e-5
"""How far chords may lie from their curves where letters are measured."""

_CLOSER: Final = 4
_STEPS: Final = 16
_ROUNDS: Final = 4


@dataclass(frozen=True, slots=True)
class Finest:
    """The finest of one outline, in its unit; inf where nothing as fine as what was looked for was found.

    Attributes:
        stroke, gap: the thinnest stroke and the narrowest gap.
        stroke_at, gap_at: the middle of it.
    """

    stroke: float = math.inf
    gap: float = math.inf
    stroke_at: complex = 0j
    gap_at: complex = 0j


def finest(contours: Sequence[Contour], *, short: float, most: float, tolerance: float) -> Finest:
    """The thinnest stroke and the narrowest gap of an outline, as the head of this module defines them.

    Args:
        contours: such as :func:`render.lettering.union.unite` gives them.
        short: ends up to this length do not count.
        most: what is wider is not looked for.
        tolerance: how far chords may lie from their curves; the answer is off by at most twice that.
    """
    outline = Outline.of(contours, tolerance, most / 8)
    if not outline.begin.size:
        return Finest()
    net = net_of(outline)
    stroke, stroke_at = _finest(contours, outline, net, short, most, outward=False)
    gap, gap_at = _finest(contours, outline, net, short, most, outward=True)
    return Finest(stroke, gap, stroke_at, gap_at)


def finest_of_letter(contours: Sequence[Contour], upem: int, most: float = MOST_EM) -> tuple[float, float]:
    """The thinnest stroke and the narrowest gap of a letter, united, em; inf where there is none."""
    found = finest(contours, short=SHORT_EM * upem, most=most * upem, tolerance=CHORD_EM * upem)
    return round(found.stroke / upem, 6), round(found.gap / upem, 6)


def _finest(
    contours: Sequence[Contour], outline: Outline, net: Net, short: float, most: float, *, outward: bool
) -> tuple[float, complex]:
    found = crossings(outline, most, outward=outward, net=net).counted(short)
    counted = set(outline.ring[np.concatenate((found.chord, found.hit))].tolist())
    best, at = math.inf, 0j
    if found.width.size:
        found = _near_the_finest(outline, net, found, short, most, outward)
        k = int(found.width.argmin())
        best, at = float(found.width[k]), complex(found.start[k] + found.stop[k]) / 2
    areas = Segments.of(contours).areas()
    for ring in range(len(contours)):
        corners = outline.begin[outline.ring == ring]
        if ring in counted or corners.size < 3 or (areas[ring] < 0) != outward:
            continue
        size, middle = _largest_disc(corners, most)
        if size < min(best, most):
            best, at = size, middle
    return best, at


def _largest_disc(corners: Points, most: float) -> tuple[float, complex]:
    """Diameter and middle of the largest disc in a ring; inf if the ring is too large to matter."""
    import shapely

    wide, tall = np.ptp(corners.real), np.ptp(corners.imag)
    if min(wide, tall) > 2 * most:
        return math.inf, 0j
    ring = shapely.Polygon(np.ascontiguousarray(corners).view(np.float64).reshape(-1, 2))
    line = shapely.maximum_inscribed_circle(ring, tolerance=0.002 * min(wide, tall))
    (x, y), _ = line.coords
    return 2 * float(line.length), complex(x, y)


def _near_the_finest(
    outline: Outline, net: Net, found: Crossings, short: float, most: float, outward: bool
) -> Crossings:
    """Crossings close about the finest ones, so that the finest of all lies between none."""
    sign = -1j if outward else 1j
    chords = found.chord[np.argsort(found.width, kind="stable")[:_CLOSER]]
    chord = np.unique(np.concatenate((chords, outline.before[chords], outline.following[chords])))
    at = np.tile((np.arange(_STEPS) + 0.5) / _STEPS, chord.size)
    chord = np.repeat(chord, _STEPS)
    width = 1.0
    for _ in range(_ROUNDS):
        start = outline.begin[chord] + at * (outline.end - outline.begin)[chord]
        rays = (start, sign * outline.way[chord], chord)
        closer = facing(outline, net, rays, most, outward).counted(short)
        if closer.width.size and closer.width.min() < found.width.min():
            found = closer
        best = int(found.width.argmin())
        home = found.chord[best]
        length = abs(outline.end[home] - outline.begin[home])
        width /= _STEPS
        at = float(abs(found.start[best] - outline.begin[home]) / length) + width * np.linspace(-1, 1, _STEPS)
        chord = np.where(at < 0, outline.before[home], np.where(at > 1, outline.following[home], home))
        at = at - np.floor(at)
    return found
