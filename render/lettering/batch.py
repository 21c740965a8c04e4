"""Walks through the pool become paths in mm, two dozen words at a time."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from render.geometry import CLOSE, MOVE, Path
from render.lettering.contours import Points
from render.lettering.pool import COUNT_MASK, COUNT_SHIFT, GLYPH_MASK, LEAD, START_SHIFT, Pool
from render.lettering.stitch import Walk

Whole = NDArray[np.int64]

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
    sizes = [len(walk.pieces) for walk, _, _ in walks]
    pieces = np.array([one for walk, _, _ in walks for one in walk.pieces], np.int64)
    if not pieces.size:
        return [Path.empty() for _ in walks]
    places = np.concatenate([_placed(*each) for each in walks])
    bases = np.cumsum([0] + [len(walk.xs) for walk, _, _ in walks[:-1]])
    lies = places[((pieces >> 1) & GLYPH_MASK) + np.repeat(bases, sizes)]
    starts = pieces >> START_SHIFT
    counts = (pieces >> COUNT_SHIFT) & COUNT_MASK
    index, ends = _ranges(starts, counts)
    points = flip_y(pool.points[index])
    point_ends = np.append(0, ends)[np.cumsum(sizes)].tolist()
    begin = 0
    for end, (_, scale, _) in zip(point_ends, walks, strict=True):
        points[begin:end] *= scale
        begin = end
    points += np.repeat(lies, counts)
    leads = (pieces & LEAD).astype(bool)
    segments = pool.segments
    firsts = segments[starts]
    commands, command_ends = _commands(pool.codes, firsts, segments[starts + counts - 1] + 1 - firsts, leads)
    return _cut(commands, np.append(0, command_ends)[np.cumsum(sizes)].tolist(), points, point_ends)


def assembled(
    pool: Pool, pieces: Sequence[int] | Whole, sizes: Sequence[int], factors: Points, places: Points
) -> list[Path]:
    """The outlines of lines whose glyphs are turned, scaled and shifted each by itself.

    Args:
        pool: the pool that the pieces lie in.
        pieces: of all lines as :mod:`render.lettering.pool` writes them, in order.
        sizes: how many of them each line has.
        factors: for each glyph what its points are multiplied by, y up.
        places: for each glyph where its origin lies, mm, y up.
    """
    numbers = np.asarray(pieces, np.int64)
    if not numbers.size:
        return [Path.empty() for _ in sizes]
    starts, counts = numbers >> START_SHIFT, (numbers >> COUNT_SHIFT) & COUNT_MASK
    glyph = np.repeat((numbers >> 1) & GLYPH_MASK, counts)
    index, ends = _ranges(starts, counts)
    points = flip_y(pool.points[index] * factors[glyph] + places[glyph])
    leads = (numbers & LEAD).astype(bool)
    segments = pool.segments
    firsts = segments[starts]
    commands, command_ends = _commands(pool.codes, firsts, segments[starts + counts - 1] + 1 - firsts, leads)
    stops = np.cumsum(sizes)
    return _cut(
        commands, np.append(0, command_ends)[stops].tolist(), points, np.append(0, ends)[stops].tolist()
    )


def _placed(walk: Walk, scale: float, origin: complex) -> Points:
    """Where the glyphs of a walk lie in mm, y down."""
    places = np.array(walk.xs, np.complex128)
    places.imag = walk.ys
    return flip_y(places) * scale + origin


def _ranges(starts: Whole, counts: Whole) -> tuple[Whole, Whole]:
    """All numbers of the ranges from `starts`, one after another, and where each range ends among them."""
    ends = np.cumsum(counts)
    index = np.repeat(starts - (ends - counts), counts)
    index += np.arange(index.size)
    return index, ends


def _commands(
    codes: NDArray[np.uint8], firsts: Whole, counts: Whole, leads: NDArray[np.bool_]
) -> tuple[NDArray[np.uint8], Whole]:
    """Commands of all pieces, each contour closed, and where those of each piece end.

    The segment to whose end a leading point belongs makes room for the move.
    """
    index, ends = _ranges(firsts, counts)
    before = np.cumsum(leads) - 1  # closes that come before each piece
    index_out = np.arange(index.size)
    index_out += np.repeat(before, counts)
    commands = np.full(index.size + int(before[-1]) + 1, CLOSE, np.uint8)
    drawn = codes[index]
    drawn[(ends - counts)[leads]] = MOVE
    commands[index_out] = drawn
    return commands, ends + before + 1


def _cut(
    commands: NDArray[np.uint8], command_ends: list[int], points: Points, point_ends: list[int]
) -> list[Path]:
    """The paths of a batch as slices of its arrays."""
    paths = []
    c = p = 0
    for c_end, p_end in zip(command_ends, point_ends, strict=True):
        paths.append(Path(commands[c:c_end], points[p:p_end]))
        c, p = c_end, p_end
    return paths
