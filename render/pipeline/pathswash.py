"""Swashes of texts along a path: the letter stays as it is turned, and its swash may not leave the path."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any, Final

import numpy as np

from render.geometry import Affine, Path
from render.model import SetLine
from render.proof.flatten import flattened

CHORD_MM: Final = 0.005
"""How far a path and its chords may be apart."""

MOST_BEND: Final = 20.0
"""By how many degrees a path may bend below a swash. The swash is straight, and would stand off from a path
that bends more (chosen by eye on arcs of 20 to 80 mm radius)."""

PAST_EM: Final = 0.1
"""How far a swash may reach beyond the end of its path."""


def turned_with(line: SetLine, new: SetLine, *, start: bool) -> SetLine:
    """A line along a path with the swash of `new`: all other letters stay, and so does the one that has it.

    At the start the letter ends where the plain one did, at the end it begins there.
    """
    turns = list(line.turns)
    if start:
        (_, before), (_, after) = line.line.clusters[0], new.line.clusters[0]
        turns[0] = Affine(1, 0, 0, 1, before - after, 0).then(turns[0])
    return replace(new, turns=tuple(turns))


def stays_on(along: Path, line: SetLine, drawn: Path, *, start: bool) -> bool:
    """Whether the path bends little below a swash, and reaches as far.

    Args:
        along: the path.
        line: the line with the swash.
        drawn: its outlines in place.
        start: the swash is at the start.
    """
    import shapely

    turn = line.turns[0 if start else -1]
    way = complex(turn.a, turn.b) / abs(complex(turn.a, turn.b)) * (-1 if start else 1)
    _, advance = line.line.clusters[0 if start else -1]
    middle = complex(turn.e, turn.f) + complex(turn.a, turn.b) * advance / 2
    points = flattened(drawn, CHORD_MM).points
    near = points[np.abs(points - middle) < 4 * line.size]
    reach = float(((near - middle) / way).real.max()) if near.size else 0.0
    corners = flattened(along, CHORD_MM).points
    if along.is_closed():
        corners = np.append(corners, corners[:1])
    path: Any = shapely.LineString(np.stack((corners.real, corners.imag), axis=1))
    here, there = (path.project(_point(place)) for place in (middle, middle + way * reach))
    ends = () if along.is_closed() else (corners[0], corners[-1])
    tip = middle + way * reach
    for end, at in zip(ends, (0.0, path.length), strict=False):
        if abs(there - at) < CHORD_MM and abs(((tip - end) / way).real) > PAST_EM * line.size:
            return False
    return abs(_direction(path, there, way) - _direction(path, here, way)) <= math.radians(MOST_BEND)


def _point(place: complex) -> Any:
    import shapely

    return shapely.Point(place.real, place.imag)


def _direction(path: Any, at: float, way: complex) -> float:
    """The direction of a path there, as an angle from `way` or its opposite, at most a quarter turn."""
    step = min(0.2, path.length / 20)
    low, high = max(at - step, 0.0), min(at + step, path.length)
    a, b = path.interpolate(low), path.interpolate(high)
    angle = math.atan2(
        *((complex(b.x - a.x, b.y - a.y) / way).imag, (complex(b.x - a.x, b.y - a.y) / way).real)
    )
    return angle if abs(angle) <= math.pi / 2 else angle - math.copysign(math.pi, angle)
