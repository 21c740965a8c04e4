"""Cuts that hold their parts, and that begin where it does not show."""

from __future__ import annotations

from typing import Any, Final

import numpy as np

from render.geometry import LINE, MOVE, Path
from render.sheets.stretches import Measured
from render.units import format_mm

_PLACES: Final = 25
_STARTS: Final = 96


def with_tabs(contour: Path, count: int, width: float, kerf: float = 0.0) -> Path:
    """A closed cut line with `count` gaps that leave tabs `width` mm wide, each where it is straightest.

    Every tab looks for its place in the middle three fifths of an equal share of the contour.

    Raises:
        ValueError: the contour is open, or too short for its tabs.
    """
    measured = Measured.of(contour)
    gap = width + kerf
    if not measured.closed or count < 1 or not width > 0:
        raise ValueError("tabs belong in a closed contour, one or more, with a width")
    if measured.length < 3 * count * gap:
        raise ValueError(
            f"a cut of {format_mm(measured.length, 1)} mm is too short for {count} tabs of {width:g} mm"
        )
    step = measured.length / count
    shares = 0.5 + np.linspace(-0.3, 0.3, _PLACES)
    shares = shares[np.argsort(np.abs(shares - 0.5), kind="stable")]  # of equals the one in the middle
    places = []
    for k in range(count):
        bends = [_bend(measured, (k + share) * step, gap) for share in shares.tolist()]
        places.append((k + float(shares[int(np.argmin(np.round(bends, 3)))])) * step)
    ends = [*places[1:], places[0] + measured.length]
    return Path.joined(
        measured.stretch(begin + gap / 2, end - gap / 2) for begin, end in zip(places, ends, strict=True)
    )


def _bend(measured: Measured, at: float, gap: float) -> float:
    """By how much, at most, the contour turns within a tab and its neighbourhood, radians."""
    ways = np.array([measured.point(at + share * gap)[1] for share in np.linspace(-1, 1, 7)])
    return float(np.abs(np.angle(ways / ways[3])).max())


def led(contour: Path, kept: Any, length: float) -> Path | None:
    """A closed cut as an open path that begins in the waste, goes once round and ends where it met the line.

    It is entered where the waste is widest. In waste too narrow for it the lead-in is shorter, down to a
    quarter; None where even that would touch what is kept.

    Args:
        contour: closed.
        kept: shapely region of what is kept.
        length: how far off it begins, mm.
    """
    import shapely

    measured = Measured.of(contour)
    corners = [0.0, *measured.ends[:-1].tolist()]
    even = (np.arange(_STARTS) / _STARTS * measured.length).tolist()
    places = corners + even
    spots = [measured.point(at) for at in places]
    for share in (1.0, 0.5, 0.25):
        long = length * share
        tips = np.array([at + side * 1j * way * long for at, way in spots for side in (1, -1)])
        points = shapely.points(tips.real, tips.imag)
        clear = shapely.distance(kept, points)
        room = shapely.distance(kept.boundary, points)
        free = np.where((clear > 0) & (room >= 0.6 * long), np.round(clear, 6), -1.0)
        for at in np.argsort(-free, kind="stable")[:8]:
            if free[at] < 0:
                break
            begin = spots[at // 2][0]
            way = shapely.LineString([(tips[at].real, tips[at].imag), (begin.real, begin.imag)])
            if way.intersection(kept).length < 1e-3:
                around = measured.stretch(places[at // 2], places[at // 2] + measured.length)
                codes = np.concatenate(([MOVE, LINE], around.commands[1:])).astype(np.uint8)
                return Path(codes, np.concatenate((tips[at : at + 1], around.points)))
    return None
