"""Which place of a body each contour of a drawing belongs to."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from render.geometry import Path
from render.model import Place, RoundBody
from render.wrap.seams import extents

Ints = NDArray[np.int64]

ALL_ROUND: Final = 0.6
"""Share of the turn from which a contour goes round the thing and takes nothing inside it along."""
_SLACK_MM: Final = 1e-6


def by_place(path: Path, body: RoundBody) -> list[tuple[Place | None, Path]]:
    """The contours of an upright drawing, parted by the place each belongs to, in the order of the places.

    A contour belongs to the first place whose strip holds it, else to the nearest of the places without a
    strip, else to none (told last). What lies inside another contour goes where that goes, so that a letter
    keeps its counter.
    """
    if not path or not body.places:
        return [(None, path)]
    whole = _whole(path, body)
    if whole is not None:
        return [(whole, path)]
    owner = _owners(path, body)
    first = int(owner[0])
    if (owner == first).all():
        return [(_named(body.places, first), path)]
    parts = []
    for index in (*range(len(body.places)), -1):
        mine = owner == index
        if mine.any():
            parts.append((_named(body.places, index), path.chosen(mine)))
    return parts


def _whole(path: Path, body: RoundBody) -> Place | None:
    """The place that is nearest to both ends of a path, and so to all of it; None where strips part it."""
    if any(place.width for place in body.places):
        return None
    x = path.points.real
    ends = (float(x.min()), float(x.max()))
    left, right = (
        min(body.places, key=lambda place: abs(end - body.circumference * place.at / 360.0)) for end in ends
    )
    return left if left is right else None


def _named(places: Sequence[Place], index: int) -> Place | None:
    return places[index] if index >= 0 else None


def _owners(path: Path, body: RoundBody) -> Ints:
    """For each contour the number of its place, or -1."""
    x0, x1, y0, y1 = extents(path)
    middle, half = (x0 + x1) / 2, (x1 - x0) / 2
    at = np.array([body.circumference * place.at / 360.0 for place in body.places])
    width = np.array([place.width for place in body.places])
    away = np.abs(middle[:, None] - at)
    held = (width > 0) & (away + half[:, None] <= width / 2 + _SLACK_MM)
    free = np.where(width == 0, away, np.inf)
    nearest = np.where(np.isfinite(free.min(axis=1)), free.argmin(axis=1), -1)
    owner = np.where(held.any(axis=1), held.argmax(axis=1), nearest)
    if (owner == owner[0]).all():
        return owner
    return _with_parents(owner, (x0, x1, y0, y1), ALL_ROUND * body.circumference)


def _with_parents(owner: Ints, boxes: tuple[NDArray[np.float64], ...], limit: float) -> Ints:
    """Each contour's owner, or that of the largest contour round it which does not go round the thing.

    Only what lies in a contour of another owner is looked at closely: all else keeps its own.
    """
    x0, x1, y0, y1 = boxes
    area, small = (x1 - x0) * (y1 - y0), x1 - x0 < limit

    def inside(these: Ints, those: Ints) -> NDArray[np.bool_]:
        a, b = these[:, None], those
        return (x0[a] >= x0[b]) & (x1[a] <= x1[b]) & (y0[a] >= y0[b]) & (y1[a] <= y1[b])

    found, every = owner.copy(), np.flatnonzero(small)
    for each in np.unique(owner):
        mine = np.flatnonzero(owner == each)
        others = every[owner[every] != each]
        near = (x0[others] <= x1[mine].max()) & (x1[others] >= x0[mine].min())
        near &= (y0[others] <= y1[mine].max()) & (y1[others] >= y0[mine].min())
        held = mine[inside(mine, others[near]).any(axis=1)]
        if held.size:
            within = inside(held, every)
            found[held] = owner[every[np.where(within, area[every], -1.0).argmax(axis=1)]]
    return found
