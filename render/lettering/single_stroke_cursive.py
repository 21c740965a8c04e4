"""A joined hand of our own, generated from a few parameters.

Each small letter is the way of the pen from (0, JOIN) to (width, JOIN), in x-heights, y up; a place followed
by a corner is reached and left at once. Letters that end high hand the pen on at HIGH. Joined up, a word is
one way, and a smooth curve is laid through it. Capitals and figures are those of Newstroke (CC0), widened and
slanted by the same parameters.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

JOIN: Final = 0.32
"""Height at which letters join."""

HIGH: Final = 0.86
"""Height at which letters that end high join."""


@dataclass(frozen=True, slots=True)
class Manner:
    """The parameters of the hand.

    Attributes:
        slant: how far the pen moves right on its way up, per unit of height: 0.3 is about 17°.
        wide: width of all letters.
        ascender, descender: how far loops reach above the x-height and below the baseline, in x-heights.
        x_height: in em.
    """

    slant: float = 0.3
    wide: float = 1.12
    ascender: float = 1.0
    descender: float = 1.0
    x_height: float = 0.38


@dataclass(frozen=True, slots=True)
class Way:
    """One small letter.

    Attributes:
        pen: (x, y) of the places between its entry and its exit; a third member marks a corner.
        width: where it ends.
        high: whether it ends at HIGH.
        extra: strokes made when the pen is lifted.
    """

    pen: tuple[tuple[float, ...], ...]
    width: float
    high: bool = False
    extra: tuple[tuple[tuple[float, float], ...], ...] = ()


_LOOP: Final = ((0.34, 1.1), (0.4, 1.75), (0.27, 2.0), (0.15, 1.7), (0.1, 1.1))
_BOWL: Final = (
    (0.16, 0.72),
    (0.4, 0.99),
    (0.66, 0.92, 1),
    (0.4, 1.0),
    (0.12, 0.55),
    (0.28, 0.02),
    (0.58, 0.4),
    (0.72, 0.96, 1),
)
_DOT: Final = (((0.22, 1.36), (0.22, 1.44)),)

WAYS: Final[dict[str, Way]] = {
    "a": Way((*_BOWL, (0.7, 0.3), (0.82, 0.02)), 1.02),
    "b": Way((*_LOOP, (0.1, 0.4), (0.28, 0.0), (0.52, 0.35), (0.46, 0.82), (0.56, 0.78)), 0.86, high=True),
    "c": Way(((0.16, 0.72), (0.38, 0.98), (0.6, 0.86, 1), (0.38, 1.0), (0.12, 0.52), (0.34, 0.0)), 0.72),
    "d": Way((*_BOWL[:-1], (0.74, 1.2), (0.8, 2.0, 1), (0.74, 1.0), (0.72, 0.3), (0.84, 0.02)), 1.04),
    "e": Way(((0.3, 0.45), (0.52, 0.8), (0.36, 1.0), (0.12, 0.55), (0.32, 0.0)), 0.7),
    "f": Way(
        (*_LOOP, (0.08, 0.0), (0.06, -0.7), (0.16, -1.0), (0.27, -0.6), (0.14, 0.0, 1), (0.3, 0.06)), 0.56
    ),
    "g": Way((*_BOWL, (0.68, 0.0), (0.62, -0.75), (0.42, -1.0), (0.26, -0.75), (0.5, -0.2)), 1.0),
    "h": Way(
        (*_LOOP, (0.08, 0.0, 1), (0.2, 0.7), (0.42, 1.0), (0.56, 0.75), (0.54, 0.3), (0.66, 0.02)), 0.86
    ),
    "i": Way(((0.2, 1.0, 1), (0.18, 0.3), (0.3, 0.02)), 0.5, extra=_DOT),
    "ı": Way(((0.2, 1.0, 1), (0.18, 0.3), (0.3, 0.02)), 0.5),
    "j": Way(
        ((0.24, 1.0, 1), (0.2, 0.0), (0.14, -0.75), (-0.06, -1.0), (-0.2, -0.75), (0.06, -0.2)),
        0.5,
        extra=_DOT,
    ),
    "ȷ": Way(((0.24, 1.0, 1), (0.2, 0.0), (0.14, -0.75), (-0.06, -1.0), (-0.2, -0.75), (0.06, -0.2)), 0.5),
    "k": Way(
        (
            *_LOOP,
            (0.08, 0.0, 1),
            (0.22, 0.7),
            (0.44, 0.98),
            (0.5, 0.74),
            (0.22, 0.54, 1),
            (0.4, 0.2),
            (0.58, 0.02),
        ),
        0.78,
    ),
    "l": Way((*_LOOP, (0.12, 0.35), (0.27, 0.0)), 0.5),
    "m": Way(
        (
            (0.14, 0.96),
            (0.17, 0.7),
            (0.13, 0.0, 1),
            (0.24, 0.66),
            (0.42, 1.0),
            (0.52, 0.72),
            (0.48, 0.0, 1),
            (0.59, 0.66),
            (0.77, 1.0),
            (0.88, 0.72),
            (0.86, 0.3),
            (0.98, 0.02),
        ),
        1.18,
    ),
    "n": Way(
        (
            (0.14, 0.96),
            (0.17, 0.7),
            (0.13, 0.0, 1),
            (0.24, 0.66),
            (0.44, 1.0),
            (0.56, 0.72),
            (0.54, 0.3),
            (0.66, 0.02),
        ),
        0.86,
    ),
    "o": Way(
        (
            (0.16, 0.72),
            (0.36, 0.99),
            (0.48, 0.96, 1),
            (0.34, 0.98),
            (0.12, 0.52),
            (0.3, 0.0),
            (0.58, 0.5),
            (0.44, 0.95),
            (0.52, 0.8),
        ),
        0.88,
        high=True,
    ),
    "p": Way(
        (
            (0.2, 1.0, 1),
            (0.14, 0.2),
            (0.06, -1.0, 1),
            (0.15, 0.3),
            (0.38, 0.98),
            (0.6, 0.6),
            (0.44, 0.04),
            (0.22, 0.1, 1),
            (0.5, 0.0),
        ),
        0.86,
    ),
    "q": Way((*_BOWL, (0.68, 0.0), (0.62, -0.8), (0.72, -1.0), (0.84, -0.7), (0.74, -0.1)), 1.02),
    "r": Way(
        ((0.16, 0.94), (0.18, 1.08), (0.28, 0.93), (0.46, 0.9), (0.48, 0.68), (0.46, 0.25), (0.58, 0.02)),
        0.78,
    ),
    "s": Way(
        ((0.28, 0.9), (0.32, 1.04, 1), (0.36, 0.75), (0.42, 0.3), (0.24, 0.0), (0.08, 0.12, 1), (0.36, 0.02)),
        0.68,
    ),
    "t": Way(
        ((0.24, 1.1), (0.28, 1.55, 1), (0.22, 0.9), (0.2, 0.3), (0.32, 0.02)),
        0.54,
        extra=(((0.02, 1.1), (0.46, 1.13)),),
    ),
    "u": Way(
        ((0.2, 1.0, 1), (0.16, 0.35), (0.3, 0.0), (0.54, 0.45), (0.64, 1.0, 1), (0.6, 0.3), (0.72, 0.02)),
        0.92,
    ),
    "v": Way(
        ((0.14, 0.94), (0.2, 0.8), (0.26, 0.1), (0.34, 0.02), (0.56, 0.5), (0.56, 0.95), (0.62, 0.84)),
        0.92,
        high=True,
    ),
    "w": Way(
        (
            (0.2, 1.0, 1),
            (0.16, 0.35),
            (0.28, 0.0),
            (0.5, 0.4),
            (0.56, 0.95, 1),
            (0.52, 0.35),
            (0.64, 0.0),
            (0.88, 0.5),
            (0.86, 0.95),
            (0.94, 0.84),
        ),
        1.22,
        high=True,
    ),
    "x": Way(
        ((0.14, 0.9), (0.22, 0.98), (0.34, 0.6), (0.42, 0.15), (0.54, 0.0)),
        0.78,
        extra=(((0.62, 0.98), (0.06, 0.02)),),
    ),
    "y": Way(
        (
            (0.2, 1.0, 1),
            (0.16, 0.4),
            (0.3, 0.04),
            (0.54, 0.45),
            (0.64, 1.0, 1),
            (0.58, 0.0),
            (0.5, -0.75),
            (0.3, -1.0),
            (0.16, -0.75),
            (0.4, -0.2),
        ),
        0.92,
    ),
    "z": Way(((0.12, 0.86), (0.26, 1.0), (0.56, 0.88, 1), (0.1, 0.06, 1), (0.36, 0.08)), 0.72),
}
"""The small letters."""


def bent(x: float, y: float, manner: Manner) -> tuple[float, float]:
    """A place of a letter in em, widened and slanted, its loops as long as the manner says."""
    if y > 1:
        y = 1 + (y - 1) * manner.ascender
    elif y < 0:
        y *= manner.descender
    return (x * manner.wide + y * manner.slant) * manner.x_height, y * manner.x_height
