"""Walks through the pool become paths in mm, two dozen words at a time."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from render.geometry import CLOSE, MOVE, Path
from render.lettering.contours import Points
from render.lettering.pool import COUNT_MASK, COUNT_SHIFT, GLYPH_MASK, INNER, LEAD, START_SHIFT, Pool
from render.lettering.stitch import Walk

BATCH: Final = 24
"""Words that are put together at once: they share the cost of numpy's calls and still fit the cache."""


def flip_y(points: Points) -> Points:
    """From y up (font units) to y down (everything else), or back: the only place where lettering does so."""
    return np.conjugate(points)


def assemble(pool: Pool, walks: Sequence[tuple[Walk, float, complex]]) -> list[Path]:
    """The outlines of several walks in mm.

    Args:
        pool: the pool that the walks go through.
        walks: each with mm to the font unit and the place of its origin, x + iy, mm, y down.

    Returns:
        One path per walk, all contours closed, y down; slices of arrays that the batch shares.
    """
    if not walks:
        return []
    sizes = np.array([walk.pieces.size for walk, _, _ in walks])
    pieces = np.concatenate([walk.pieces for walk, _, _ in walks])
    if not pieces.size:
        return [Path.empty() for _ in walks]
    scales = np.array([scale for _, scale, _ in walks])
    places = np.concatenate([flip_y(walk.places) * scale + origin for walk, scale, origin in walks])
    base = np.cumsum([0] + [walk.places.size for walk, _, _ in walks[:-1]])
    starts = pieces >> START_SHIFT
    counts = (pieces >> COUNT_SHIFT) & COUNT_MASK
    lies = places[((pieces >> 1) & GLYPH_MASK) + np.repeat(base, sizes)]
    ends = np.cumsum(counts)
    index = np.repeat(starts - (ends - counts), counts)
    index += np.arange(index.size)
    points = flip_y(pool.points[index])
    piece_ends = np.cumsum(sizes)
    point_ends = np.append(0, ends)[piece_ends]
    points *= np.repeat(scales, np.diff(point_ends, prepend=0))
    points += np.repeat(lies, counts)
    leads = (ends - counts)[pieces & LEAD == 1]
    commands, before = _commands(pool.codes[index], leads)
    command_ends = before[point_ends - 1] + 1 if point_ends.all() else _ends(before, point_ends)
    return _cut(commands, command_ends, points, point_ends)


def _commands(
    codes: NDArray[np.uint8], leads: NDArray[np.int64]
) -> tuple[NDArray[np.uint8], NDArray[np.int64]]:
    """Commands from the marks of all points, moves at `leads`, each contour closed.

    Also, for each point, the index of the last command that belongs to it.
    """
    codes[leads] = MOVE
    begins = codes != INNER
    at = np.cumsum(begins) - 1  # of each point's command, without closes
    at[:] += np.cumsum(codes == MOVE) - 1  # with the closes of the contours before
    commands = np.full(int(at[-1]) + 2, CLOSE, np.uint8)
    commands[at[begins]] = codes[begins]
    return commands, at + 1


def _ends(before: NDArray[np.int64], point_ends: NDArray[np.int64]) -> NDArray[np.int64]:
    """Where each walk's commands end, when the first walks may be blank."""
    return np.where(point_ends > 0, before[point_ends - 1] + 1, 0)


def _cut(
    commands: NDArray[np.uint8],
    command_ends: NDArray[np.int64],
    points: Points,
    point_ends: NDArray[np.int64],
) -> list[Path]:
    """The paths of a batch as slices of its arrays."""
    paths = []
    c = p = 0
    for c_end, p_end in zip(command_ends.tolist(), point_ends.tolist(), strict=True):
        paths.append(Path(commands[c:c_end], points[p:p_end]))
        c, p = c_end, p_end
    return paths
