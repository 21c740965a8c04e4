"""The colours of a proof, and the measure of whether text in them can be read."""

from __future__ import annotations

from typing import Final

PAPER: Final = "#F3F0E9"
"""Ground of the page: a little darker than white card, so that white things show."""
INK: Final = "#23272C"
"""Names and titles."""
MUTED: Final = "#5A5E64"
"""Ids, remarks, the legend."""
RULE: Final = "#D8D3C7"
"""Hairlines that part the page; carry no meaning."""
LOOK: Final = "#8A4A00"
"""Flag: someone should look at the piece."""
HELD: Final = "#9C1F2E"
"""Flag: the piece is held back."""
HATCH: Final = "#B9B3A6"
"""Hatching of what is not made or not marked."""

TEXT_COLOURS: Final = (INK, MUTED, LOOK, HELD)
"""Everything that words on the paper are written in."""

LEAST_CONTRAST: Final = 4.5
"""Of text against its ground: WCAG 2.2, success criterion 1.4.3 (AA)."""


def channels(colour: str) -> tuple[int, int, int]:
    """Red, green and blue, 0 to 255, of ``#rrggbb``.

    Raises:
        ValueError: it is not of that form.
    """
    if len(colour) != 7 or colour[0] != "#":
        raise ValueError(f"{colour!r} is not a colour such as #23272c")
    return int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16)


def luminance(colour: str) -> float:
    """Relative luminance, 0 (black) to 1 (white): WCAG 2.2, definition "relative luminance"."""
    linear = []
    for channel in channels(colour):
        c = channel / 255
        linear.append(c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4)
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast of two colours, 1 to 21: WCAG 2.2, definition "contrast ratio"."""
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def mixed(colour: str, other: str, share: float) -> str:
    """`colour` with `share` (0 to 1) of `other` in it, channel by channel."""
    pairs = zip(channels(colour), channels(other), strict=True)
    return "#" + "".join(f"{round(a + (b - a) * share):02X}" for a, b in pairs)


def edge_of(tone: str) -> str:
    """The colour of a thing's rim: its own tone, darker, or lighter where it is dark."""
    return mixed(tone, "#FFFFFF" if luminance(tone) < 0.12 else "#000000", 0.38)
