"""Breaking long texts into lines that suit a region: wide lines where it is wide, short ones where it is not.

A text of a few words can be broken in so few ways that all are tried. Of a long one the best way is looked
for: for a size, a number of lines and a height of the first, the lines have certain widths, and filling each
with as many words as it takes shows whether all words find room. (What a line takes does not depend on the
words, so that no other way of filling could place more: the usual argument for greedy filling.) The largest
size at which they do is found by bisection, once for lines as high as the ink of the whole text and once for
lines as high as its small letters, since only these fill a line from end to end.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise, product
from typing import Final

from render.fitting.forms import Form, Setter, pieces
from render.fitting.seats import Flat, Seat
from render.fitting.sizing import largest_size

FEW_PLACES: Final = 6
"""Texts that can be broken in no more places are broken in every way instead."""

HEIGHTS: Final = 16
"""Heights of the first line that are tried."""

STEP_MM: Final = 0.05
"""Sizes are looked for in steps of this much: the form is then held against the region exactly."""


def proposed(setter: Setter, seat: Seat, low: float, high: float) -> Iterator[Form]:
    """For each number of lines the way of breaking a long text that may be largest; none for a short text."""
    words = pieces(setter.text)
    if not isinstance(seat, Flat) or len(words) <= FEW_PLACES + 1:
        return
    whole = setter.measure(setter.text, setter.setting)
    if whole.ink is None:
        return
    advances = [setter.measure(word.strip(), setter.setting).advance for word in words]
    space = max(0.0, (whole.advance - sum(advances)) / (len(words) - 1))
    extents = (whole.ink.y0, whole.ink.y1), (-whole.x_height, 0.0)
    for count, extent in product(setter.line_counts(), extents):
        found: list[list[int]] = []

        def fits(
            size: float,
            count: int = count,
            extent: tuple[float, float] = extent,
            found: list[list[int]] = found,
        ) -> bool:
            breaks = _filled(seat, advances, space, extent, count, size)
            if breaks:
                found[:] = [breaks]
            return breaks is not None

        if largest_size(fits, low, high, STEP_MM) is not None and len(found[0]) > 1:
            ends = found[0]
            form = setter.lines(tuple("".join(words[a:b]).strip() for a, b in pairwise((0, *ends))))
            if form:
                yield form


def _filled(
    seat: Flat, advances: Sequence[float], space: float, extent: tuple[float, float], count: int, size: float
) -> list[int] | None:
    """After which words lines end, if all words find room on at most `count` lines; else None."""
    box, leading = seat.region.box, seat.rule.leading
    top = box.y0 - extent[0] * size
    spare = box.y1 - (extent[1] + (count - 1) * leading) * size - top
    if spare < 0:
        return None
    for step in range(HEIGHTS):
        first = top + spare * step / (HEIGHTS - 1)
        ends = _fill(seat, advances, space, extent, count, size, first)
        if ends is not None:
            return ends
    return None


def _fill(
    seat: Flat,
    advances: Sequence[float],
    space: float,
    extent: tuple[float, float],
    count: int,
    size: float,
    first: float,
) -> list[int] | None:
    """As above, with the first baseline at a certain height."""
    middle, at, ends = seat.region.box.centre.x, 0, []
    for number in range(count):
        y = first + number * seat.rule.leading * size
        span = seat.region.span(y + extent[0] * size, y + extent[1] * size)
        room = 2 * min(middle - span[0], span[1] - middle) / size if span else 0.0
        begin, taken = at, -space
        while at < len(advances) and taken + space + advances[at] <= room:
            taken += space + advances[at]
            at += 1
        if at == begin:
            return None
        ends.append(at)
        if at == len(advances):
            return ends
    return None
