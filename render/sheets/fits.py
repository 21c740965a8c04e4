"""Parts that fit into one another, and cuts that hold or begin where it does not show."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from render.geometry import LINE, MOVE, Affine, Path
from render.geometry.shapes import rectangle
from render.sheets.kerf import grow
from render.sheets.stretches import Measured
from render.units import format_mm

_PLACES: Final = 25
_STARTS: Final = 96


@dataclass(frozen=True, slots=True)
class Inlay:
    """Cut lines of a pocket and of the insert that lies in it, the kerf allowed for in both."""

    pocket: Path
    insert: Path


def inlay(outline: Path, kerf: float, play: float) -> Inlay:
    """Pocket and insert of one outline.

    Out of the beam the insert is as drawn, and the pocket wider by `play` all round: a pocket that is cut
    through. Where the play is less than half the kerf, outward corners of both are rounded: the beam leaves
    the inward ones of the other round. For a pocket that is engraved, engrave ``grow(outline, play).path``.

    Args:
        outline: closed contours; what lies inside an odd number of them belongs to the insert.
        kerf: full width of the cut, mm, as measured.
        play: gap left on every side, mm; negative presses.
    """
    rounding = max(0.0, kerf / 2 - play)
    inner = grow(outline, -rounding).path if rounding else outline
    outer = grow(outline, play + rounding).path
    return Inlay(grow(outer, -rounding - kerf / 2).path, grow(inner, rounding + kerf / 2).path)


def slot(
    centre: complex,
    length: float,
    thickness: float,
    *,
    kerf: float = 0.0,
    play: float = 0.0,
    turn: float = 0.0,
) -> Path:
    """The cut line of a slot for a stand: it comes out `thickness` + `play` wide and `length` + `play` long.

    Raises:
        ValueError: the kerf alone is as wide as the slot.
    """
    width, long = thickness + play - kerf, length + play - kerf
    if not (width > 0 and long > 0):
        raise ValueError(f"a kerf of {kerf:g} mm is wider than a slot for {thickness:g} mm")
    path = rectangle(-long / 2, -width / 2, long, width)
    return path.transformed(Affine.rotation(turn).then(Affine.translation(centre.real, centre.imag)))


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


# ---------------------------------------------------------------- lead-in


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
