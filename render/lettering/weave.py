"""The walk through a word: along contours, over patches, until each contour closes.

Every word goes through here, so it is written for speed: plain lists and whole numbers, nothing looked up
twice. A contour in a word has one number, ``place << PLACE_SHIFT | ring``.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final

from render.lettering.meeting import Meeting
from render.lettering.pool import COUNT_MASK, COUNT_SHIFT, LEAD, START_SHIFT, Glyph

PLACE_SHIFT: Final = 12
"""A glyph has fewer contours than this many bits can count."""

_LAST, _PATCH, _TO, _FIRST, _USED = range(5)
"""An exit of a contour: after which segment, the patch, to which contour and segment, whether it is done."""


class AstrayError(Exception):
    """The meetings of a word do not add up to closed contours."""


def weave(
    glyphs: Mapping[int, Glyph], touched: Sequence[int], met: Sequence[tuple[int, int, Meeting]]
) -> list[int]:
    """The pieces of a word.

    Args:
        glyphs: by place in the word.
        touched: for each place the segments that any meeting touches.
        met: the meetings and the places of their glyphs; no two touch the same segment.

    Returns:
        Pieces in the notation of :mod:`render.lettering.pool`.

    Raises:
        AstrayError: the walk does not come back to where it began.
    """
    pieces: list[int] = []
    exits: dict[int, list[list[Any]]] = {}
    for i, j, meeting in met:
        bases, shift = (i << PLACE_SHIFT, j << PLACE_SHIFT), i << 1
        for of, ring, last, patch, to, to_ring, first in meeting.jumps:
            leave = [last, patch and patch + shift, bases[to] + to_ring, first, False]
            contour = bases[of] + ring
            if contour in exits:
                exits[contour].append(leave)
            else:
                exits[contour] = [leave]
        pieces += [island + shift for island in meeting.islands]
    for place, glyph in glyphs.items():
        bits, base, shift = touched[place], place << PLACE_SHIFT, place << 1
        for number, (segments, whole) in enumerate(glyph.wholes):
            if not segments & bits and base + number not in exits:
                pieces.append(whole + shift)
    for leaving in exits.values():
        if len(leaving) > 1:
            leaving.sort()
    for leaving in exits.values():
        for leave in leaving:
            if not leave[_USED]:
                _round(leave, glyphs, touched, exits, pieces)
    return pieces


def _round(
    begin: list[Any],
    glyphs: Mapping[int, Glyph],
    touched: Sequence[int],
    exits: Mapping[int, list[list[Any]]],
    pieces: list[int],
) -> None:
    """Add the pieces of the contour that goes through the exit `begin`."""
    leave, lead = begin, 1
    while not leave[_USED]:
        leave[_USED] = True
        if leave[_PATCH] and not lead:
            pieces.append(leave[_PATCH])
        contour, first = leave[_TO], leave[_FIRST]
        place = contour >> PLACE_SHIFT
        ring = glyphs[place].rings[contour & ((1 << PLACE_SHIFT) - 1)]
        size, begins = ring.segments, ring.begins
        leaving = exits.get(contour)
        if leaving is None:
            raise AstrayError
        if touched[place] >> (ring.base + first) & 1:  # the next meeting begins right here
            leave = _exit_after((first or size) - 1, leaving)
            if lead:
                at = begins[first or size] - 1
                pieces.append(at << START_SHIFT | 1 << COUNT_SHIFT | place << 1 | lead)
                lead = 0
            continue
        leave = leaving[0]
        for other in leaving:
            if other[_LAST] >= first:
                leave = other
                break
        last = leave[_LAST]
        if last < first:
            last += size
        elif lead and not first:
            first, last = size, last + size
        start = begins[first] - lead
        pieces.append(start << START_SHIFT | (begins[last + 1] - start) << COUNT_SHIFT | place << 1 | lead)
        lead = 0
    if leave is not begin:
        raise AstrayError
    if begin[_PATCH]:
        pieces.append(begin[_PATCH])
    if pieces[-1] & LEAD and (pieces[-1] >> COUNT_SHIFT) & COUNT_MASK == 1:  # went round a node
        raise AstrayError


def _exit_after(last: int, leaving: list[list[Any]]) -> list[Any]:
    """The exit after a certain segment."""
    for leave in leaving:
        if leave[_LAST] == last:
            return leave
    raise AstrayError
