"""Strokes given by places become open paths of smooth curves."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import numpy as np

from render.geometry import CUBIC, LINE, MOVE, Path

Stroke = tuple[tuple[float, float, bool | None], ...]
"""Places (x, y, corner) that a line goes through, em, y up; None where its turn tells whether it is one."""


SAME_EM: Final = 0.012
"""Ends of strokes of joined letters no further apart are one place."""


def chained(strokes: list[Stroke]) -> list[Stroke]:
    """Strokes that end where another begins, run on into each other."""
    left = list(strokes)
    done: list[Stroke] = []
    while left:
        stroke = left.pop(0)
        while True:
            x, y, _ = stroke[-1]
            found = next(
                (k for k, other in enumerate(left) if math.hypot(other[0][0] - x, other[0][1] - y) < SAME_EM),
                None,
            )
            if found is None:
                break
            stroke = (*stroke, *left.pop(found)[1:])
        done.append(stroke)
    return done


def smooth_path(strokes: Sequence[Stroke], smooth: float) -> Path:
    """Strokes as open contours, y down; curves go through their places (E. Catmull, R. Rom, 1974).

    A place is a corner where the line turns by more than `smooth` degrees or is said to be one; between two
    corners a line is straight.
    """
    commands: list[int] = []
    points: list[complex] = []
    for stroke in strokes:
        places = [complex(x, -y) for x, y, _ in stroke]
        forced = [corner for _, _, corner in stroke]
        keep = [0, *(k for k in range(1, len(places)) if abs(places[k] - places[k - 1]) > 1e-9)]
        places, forced = [places[k] for k in keep], [forced[k] for k in keep]
        tangents = _tangents(places, forced, smooth)
        commands.append(MOVE)
        points.append(places[0])
        for a, b, out, into in zip(places, places[1:], tangents, tangents[1:], strict=False):
            reach = abs(b - a) / 3
            if out[1] is None and into[0] is None:
                commands.append(LINE)
                points.append(b)
                continue
            leave = out[1] if out[1] is not None else (b - a) / abs(b - a)
            arrive = into[0] if into[0] is not None else (b - a) / abs(b - a)
            commands.append(CUBIC)
            points += [a + leave * reach, b - arrive * reach, b]
        if len(places) == 1:  # a dot: a stroke too short to see
            commands.append(LINE)
            points.append(places[0] + 0.01)
    if not commands:
        return Path.empty()
    return Path(np.array(commands, np.uint8), np.array(points, np.complex128))


_Ends = tuple[complex | None, complex | None]


def _tangents(places: list[complex], forced: list[bool | None], smooth: float) -> list[_Ends]:
    """For each place the direction in which it is reached and left; None where it is a corner or an end."""
    limit = math.cos(math.radians(smooth))
    last = len(places) - 1
    closed = last > 2 and abs(places[0] - places[last]) < 1e-9
    found: list[_Ends] = []
    for k, place in enumerate(places):
        if not closed and k in (0, last):
            found.append((None, None))
            continue
        before, after = places[k - 1] if k else places[last - 1], places[k + 1] if k < last else places[1]
        into, out = (place - before) / abs(place - before), (after - place) / abs(after - place)
        turns = (into.conjugate() * out).real < limit
        if forced[k] or (forced[k] is None and turns):
            found.append((None, None))
        else:
            way = (place - before) / abs(place - before) ** 0.5 + (after - place) / abs(after - place) ** 0.5
            unit = way / abs(way) if abs(way) > 1e-9 else out
            found.append((unit, unit))
    return found
