"""What a piece stands on: stakes put below lettering, and whether its weight rests on its foot."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from render.fitting.solids import Region, region_of_path
from render.geometry import Box, Path
from render.geometry.shapes import arc_points

SWAY: Final = 0.14
"""How far a stake may stand from its even place, in widths of the lettering."""

EMBEDDED: Final = 0.6
"""How far a stake reaches into the lettering, in necks."""

TIP: Final = 0.3
"""Radius of a stake's rounded tip, in widths of the stake."""

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Footing:
    """How a flat piece stands on its lowest edge.

    Attributes:
        middle: where its weight acts, mm.
        left, right: the ends of what it stands on, mm.
        sideways: by how many degrees it may be tipped to the nearer side; negative if it falls unaided.
        over: by how many degrees it may be tipped over its face or back.
    """

    middle: complex
    left: float
    right: float
    sideways: float
    over: float


def footing(path: Path, thickness: float, *, level: float = 0.05) -> Footing:
    """How a piece of even thickness stands: its centre of mass against what touches the ground.

    What lies within `level` mm of its lowest point carries it. It falls when its centre of mass is no longer
    above that (elementary statics).
    """
    region = region_of_path(path)
    x0, _, x1, foot = region.bounds
    contact = shapely.clip_by_rect(region, x0 - 1, foot - level, x1 + 1, foot + 1)
    left, _, right, _ = contact.bounds
    middle = region.centroid
    height = foot - middle.y
    inside = min(middle.x - left, right - middle.x)
    return Footing(
        complex(middle.x, middle.y),
        left,
        right,
        math.degrees(math.atan2(inside, height)),
        math.degrees(math.atan2(thickness / 2, height)),
    )


def stakes(
    lettering: Region, count: int, width: float, room: Box, neck: float, clear: Sequence[Box] = ()
) -> list[Path]:
    """Stakes below lettering, at even places of it or near them: where it comes down low and is stout.

    Args:
        lettering: in place, mm.
        count: how many.
        width: of a stake, mm.
        room: stakes go down to its foot; only its foot matters.
        neck: sets how far they reach into the lettering.
        clear: what a stake should not cross, such as points below letters.
    """
    x0, y0, x1, _ = lettering.bounds
    step = min(0.5, width / 6)
    columns = np.arange(x0 + width / 2, x1 - width / 2, step)
    if not columns.size:
        columns = np.array([(x0 + x1) / 2])
    low, thick = _lower_rim(lettering, columns)
    found: list[Path] = []
    taken: list[float] = []
    for number in range(count):
        even = x0 + (x1 - x0) * _even(number, count)
        price = _prices(columns, low, thick, even, x1 - x0, width, y0, neck)
        for box in clear:
            near = (columns > box.x0 - _CLEAR * width) & (columns < box.x1 + _CLEAR * width)
            price = price + np.where(near, _CROSSING, 0)
        for other in taken:
            price = price + np.where(np.abs(columns - other) < 1.5 * width, 1e6, 0)
        at = float(columns[int(np.argmin(np.round(price, 6)))])
        taken.append(at)
        found.append(_stake(at, columns, low, width, room.y1, EMBEDDED * neck))
    return found


_CLEAR: Final = 1.3
"""How far the middle of a stake keeps from a point, in its widths: its top is wider than itself."""

_CROSSING: Final = 1e3
"""What speaks against a stake through a point: more than any place, less than two stakes in one."""


def _even(number: int, count: int) -> float:
    """Even places, the outer ones a quarter in: 1 in the middle, 2 at a quarter and three quarters."""
    return 0.5 if count == 1 else 0.24 + 0.52 * number / (count - 1)


def _lower_rim(region: Region, columns: Floats) -> tuple[Floats, Floats]:
    """For each column the lowest y of the region, and how thick it is there."""
    _, y0, _, y1 = region.bounds
    rows = np.column_stack((columns, np.full(columns.size, y0 - 1), columns, np.full(columns.size, y1 + 1)))
    cuts = shapely.intersection(shapely.linestrings(rows.reshape(-1, 2, 2)), region)
    low = np.full(columns.size, np.nan)
    thick = np.zeros(columns.size)
    for k, cut in enumerate(cuts.tolist()):
        runs = [part.bounds for part in shapely.get_parts(cut).tolist() if part.length > 0]
        if runs:
            last = max(runs, key=lambda run: run[3])
            low[k], thick[k] = last[3], last[3] - last[1]
    known = np.flatnonzero(np.isfinite(low))
    return np.interp(columns, columns[known], low[known]), thick


def _prices(
    columns: Floats,
    low: Floats,
    thick: Floats,
    even: float,
    wide: float,
    width: float,
    top: float,
    neck: float,
) -> Floats:
    """What speaks against a stake at each column: off its place, high up, thin or uneven material above."""
    reach = max(1, round(width / 2 / max(float(np.diff(columns[:2]).sum()), 1e-9))) if columns.size > 1 else 0
    tall = float(low.max()) - top
    padded = np.pad(low, reach, mode="edge")
    around = np.lib.stride_tricks.sliding_window_view(padded, 2 * reach + 1)
    rough = (around.max(axis=1) - around.min(axis=1)) / width
    off = np.abs(columns - even) / (SWAY * wide)
    raised = (low.max() - low) / max(tall, 1e-9)
    thin = np.maximum(0.0, 1 - thick / (1.5 * neck))
    return np.asarray(0.5 * off**2 + 1.5 * raised + 0.4 * rough + 0.6 * thin)


def _stake(at: float, columns: Floats, low: Floats, width: float, foot: float, into: float) -> Path:
    """A stake with straight sides and a rounded, narrowed tip; its top lies within the lettering."""
    half, tip = width / 2, TIP * width
    taper = min(2.2 * width, 0.35 * (foot - float(np.interp(at, columns, low))))
    middle = float(np.interp(at, columns, low))
    xs = np.linspace(at - half, at + half, 9)
    tops = np.clip(np.interp(xs, columns, low), middle - 0.3 * width, middle + 0.5 * width) - into
    points = [complex(x, y) for x, y in zip(xs, tops, strict=True)]
    codes = [0] + [1] * (len(points) - 1)
    points += [complex(at + half, foot - taper), complex(at + tip, foot - tip)]
    codes += [1, 1]
    arc = arc_points(complex(at, foot - tip), tip, tip, 0, 180)
    points += arc
    codes += [3] * (len(arc) // 3)
    points += [complex(at - half, foot - taper)]
    codes += [1, 4]
    return Path.of(codes, points)
