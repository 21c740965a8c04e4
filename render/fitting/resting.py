"""Where the lines of a set come to rest in a region whose middle is not free."""

from __future__ import annotations

from render.fitting.regions import Edged, Region
from render.fitting.sizing import largest_size
from render.model import Anchor, FitRule

_COARSE_MM, _LARGER = 0.05, 1.02
"""Step of size, and the gain that is worth leaving the middle, when a place to rest is looked for."""


def resting_centre(
    region: Region, rule: FitRule, width: float, band: tuple[float, float], optical: float
) -> float:
    """The y on which lines are centred.

    It is the middle of the region's box, unless a line of that ink width, band and optical middle (em) may be
    set more than a fiftieth larger elsewhere, as below the hole of a tag: then the middle of the heights, in
    64ths of the box, at which it may be about as large, of those next to the box's middle.
    """
    box = region.box
    middle = (box.y0 + box.y1) / 2
    if not isinstance(region, Edged):
        return middle
    up, down = band
    lift = (up - down) / 2 if rule.anchor is Anchor.INK else optical

    def room(share: int) -> float:
        y = middle + share / 64 * box.height

        def fits(size: float) -> bool:
            span = region.span(y + (lift - up) * size, y + (lift + down) * size)
            return span is not None and span[1] - span[0] >= width * size

        return largest_size(fits, _COARSE_MM, max(rule.largest, _COARSE_MM), _COARSE_MM) or 0.0

    rooms = {share: room(share) for share in range(-31, 32)}
    good = max(rooms.values()) / _LARGER
    if rooms[0] >= good:
        return middle
    first = last = min((s for s in rooms if rooms[s] >= good), key=lambda share: (abs(share), share))
    while rooms.get(first - 1, 0.0) >= good:
        first -= 1
    while rooms.get(last + 1, 0.0) >= good:
        last += 1
    return middle + (first + last) / 128 * box.height
