"""Thin strokes made stouter, narrow gaps opened, and nothing else: outlines moved only where it is needed.

As a sign writer would with a fuller brush: a hairline is widened evenly to both sides to the wanted stroke,
stout strokes stay as they are, and from one to the other the width passes over slowly. What would narrow
a gap below the least one is left where it is, and the other side of the stroke takes its share if it can.
Gaps that are too narrow as they are drawn are opened by :mod:`render.lettering.opening`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from render.lettering.across import Crossings, Outline, crossings, net_of
from render.lettering.contours import Contour, Floats
from render.lettering.marks import marks_apart
from render.lettering.opening import opening, too_narrow
from render.lettering.redrawn import CHORD, redrawn
from render.lettering.swelling import allowed, least_along, sides
from render.lettering.union import Outcome, Way, unite

_OVER: Final = 1.004
"""Aimed a little above the wanted stroke, for what chords and curves lose."""

_EDGE_OF_COUNTER: Final = 0.25
_EDGE_OF_NOTCH: Final = 3.0
_SMALL: Final = 5.0
_STILL: Final = 1e-3


@dataclass(frozen=True, slots=True)
class Wanted:
    """What the outlines are to hold, in font units: the least stroke and the least gap, and how exactly."""

    stroke: float
    gap: float
    tolerance: float


def thickened(contours: Sequence[Contour], wanted: Wanted) -> Outcome:
    """The outlines with every stroke and gap at least as wide as wanted, as far as each allows the other.

    Args:
        contours: united: simple, outer ones counter-clockwise (y up).
        wanted: widths in font units.

    Returns:
        United contours and how they came about; the same contours where nothing is too fine.
    """
    drawn = drawn_stouter(contours, wanted)
    if drawn is None:
        return Outcome(tuple(contours), Way.PLAIN)
    again = unite(drawn.contours)
    return again if again.way is not Way.PLAIN else Outcome(again.contours, drawn.way)


def drawn_stouter(contours: Sequence[Contour], wanted: Wanted) -> Outcome | None:
    """As :func:`thickened`, but the contours are still to be united; None where nothing is too fine."""
    if not contours:
        return None
    apart = marks_apart(contours, wanted.gap, wanted.tolerance)
    outline = Outline.of(apart, wanted.tolerance, CHORD * wanted.stroke)
    moved = moves(outline, wanted)
    if (np.abs(moved) > _STILL * wanted.stroke).any():
        return redrawn(outline, moved, wanted.stroke, wanted.gap)
    return Outcome(tuple(apart), Way.PLAIN) if apart != list(contours) else None


def moves(outline: Outline, wanted: Wanted) -> Floats:
    """How far each chord of an outline is to be moved outward, or, below 0, inward."""
    stroke, gap = wanted.stroke * _OVER, wanted.gap
    net = net_of(outline)
    gaps = crossings(outline, gap + 2 * stroke, outward=True, net=net)
    narrow = too_narrow(outline, gaps, stroke, gap)
    strokes = crossings(outline, stroke + (gap if narrow else 0.0), net=net)
    across = strokes[np.abs(strokes.stop - strokes.start) <= stroke]
    outward = _widening(outline, across, _room(outline, gaps, gap), stroke, wanted)
    return outward - opening(outline, narrow, strokes, stroke, gap) if narrow else outward


def _widening(outline: Outline, across: Crossings, room: Floats, stroke: float, wanted: Wanted) -> Floats:
    """How far chords are to be moved outward for the sake of too thin strokes."""
    need = np.zeros(outline.begin.size)
    for side, share in sides(outline, across, 1j):
        np.maximum.at(need, side, share * (stroke - across.width) / 2)
    moved = allowed(outline, need, room, wanted.stroke)
    left = np.zeros(need.size)  # what one side could not take is for the other
    np.maximum.at(left, across.hit, (need - moved)[across.chord])
    np.maximum.at(left, across.chord, (need - moved)[across.hit])
    return allowed(outline, need + left, room, wanted.stroke, last=True)


def _room(outline: Outline, gaps: Crossings, least: float) -> Floats:
    """How far each chord may be moved outward, so that gaps stay open: half of what they have too much."""
    area = np.bincount(outline.ring, (outline.begin.conj() * outline.end).imag / 2)
    small = (area < 0) & (area > -((_SMALL * least) ** 2))
    edge = np.where(small[outline.ring[gaps.chord]], _EDGE_OF_COUNTER, _EDGE_OF_NOTCH)
    gaps = gaps[gaps.tip > edge * least]
    room = np.full(outline.begin.size, np.inf)
    half = np.maximum(0.0, (gaps.width - least) / 2)
    for side, share in sides(outline, gaps, -1j):
        np.minimum.at(room, side[share > 0.5], half[share > 0.5])
    return least_along(outline, room)
