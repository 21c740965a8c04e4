"""A font to stand in for one that lacks some letters of a name: the nearest in character that has them all.

A whole text is set in it, never single letters, so that a name stays in one hand.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from render.model import Line, Setting

if TYPE_CHECKING:
    from render.lettering.letterer import Letterer

JOINING: Final = 0.7
"""What it counts if one font joins its letters and the other does not: as much as strokes twice as thick."""


def stand_in(letterer: Letterer, line: Line) -> Setting | None:
    """How to set a text whose own font lacks some of it, or None if no font at hand has all of it.

    Fonts are compared by x-height and thinnest stroke (as logarithms of their ratios, so that twice and half
    weigh alike) and by whether they join; of equals the first by id is taken. OpenType features and tracking
    were chosen for the old font, and are dropped.
    """
    best: tuple[float, str] | None = None
    for font in letterer.shelf.fonts_with(line.text):
        if font == line.setting.font:
            continue
        other = letterer.line(line.text, Setting(font, line.setting.language))
        if not other.missing:
            joins = letterer.joined(font) != letterer.joined(line.setting.font)
            rank = (_unlike(line, other) + JOINING * joins, font)
            best = rank if best is None else min(best, rank)
    return None if best is None else Setting(best[1], line.setting.language)


def _unlike(one: Line, other: Line) -> float:
    """How far apart two fonts are in x-height and thinnest stroke."""
    pairs = ((one.x_height, other.x_height), (one.thinnest, other.thinnest))
    return sum(abs(math.log(a / b)) for a, b in pairs if a > 0 and b > 0)
