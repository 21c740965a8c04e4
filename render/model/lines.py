"""Lettering as it is asked for and measured, in em."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Protocol, overload

import numpy as np
from numpy.typing import NDArray

from render.geometry import Box


@dataclass(frozen=True, slots=True)
class Paragraph:
    """What decides on the direction of a text besides its own letters (Unicode Standard Annex #9).

    Attributes:
        direction: ``ltr`` or ``rtl``; empty where the first strong letter of the whole paragraph decides.
        before, after: the rest of the paragraph that a line is broken out of.
    """

    direction: str = ""
    before: str = ""
    after: str = ""

    @property
    def base(self) -> int | None:
        """The level of the paragraph; None where its letters decide."""
        return {"ltr": 0, "rtl": 1}.get(self.direction)


@dataclass(frozen=True, slots=True)
class Setting:
    """How a text is set.

    Attributes:
        font: id of the font on the shelf, such as ``great-vibes``; a variable font has its axes too, as in
            ``source-serif:opsz=12,wght=600``.
        language: BCP 47 tag, or empty when unknown.
        features: OpenType features in HarfBuzz's notation, such as ``swsh=1`` or ``-liga``.
        tracking: extra space after each cluster, in em; refused on joined scripts.
        word_space: extra space at each space between words, in em.
        stand_ins: pairs of a script (ISO 15924) and the id of the font that its letters are set in instead,
            since `font` lacks some of them.
        vertical: for text that runs down a column, how letters stand that are not made for it: ``mixed`` or
            ``upright`` (CSS's ``text-orientation``); empty for lines.
        paragraph: what decides on its direction besides its own letters; None where nothing does.
    """

    font: str
    language: str = ""
    features: tuple[str, ...] = ()
    tracking: float = 0.0
    word_space: float = 0.0
    stand_ins: tuple[tuple[str, str], ...] = ()
    vertical: str = ""
    paragraph: Paragraph | None = None


@dataclass(frozen=True, slots=True)
class Clusters(Sequence[tuple[float, float]]):
    """For each cluster left to right the pen's x at its left edge and its advance, in em.

    It keeps `pens`, where each cluster begins, and the `end` of the last: a tuple of pairs for each of many
    thousand lines would cost more than shaping them.
    """

    pens: tuple[float, ...]
    end: float

    def __len__(self) -> int:
        return len(self.pens)

    @overload
    def __getitem__(self, index: int) -> tuple[float, float]: ...
    @overload
    def __getitem__(self, index: slice) -> tuple[tuple[float, float], ...]: ...
    def __getitem__(self, index: int | slice) -> tuple[float, float] | tuple[tuple[float, float], ...]:
        return tuple(self)[index]

    def __iter__(self) -> Iterator[tuple[float, float]]:
        for pen, end in zip(self.pens, (*self.pens[1:], self.end), strict=False):
            yield pen, end - pen


@dataclass(frozen=True, slots=True)
class Line:
    """A shaped line of text, measured in em (1 em = the size it is set at), y down, origin on the baseline.

    Attributes:
        ink: exact box of its outlines; None if there is no ink (spaces only).
        advance: how far the pen travels.
        cap_height, x_height: of the font, measured on H and x.
        thinnest: thinnest stroke of the font's letters (10th percentile over a-zA-Z), in em.
        clusters: for each cluster left to right the pen's x at its left edge and its advance.
        missing: characters that the font cannot draw.
    """

    text: str
    setting: Setting
    ink: Box | None
    advance: float
    cap_height: float
    x_height: float
    thinnest: float
    clusters: Sequence[tuple[float, float]] = ()
    missing: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Skyline:
    """How high and how low the ink of a line reaches, column by column; em, y down, from the baseline.

    Attributes:
        first: number of the leftmost column; column k reaches from k × STEP to (k + 1) × STEP.
        tops, bottoms: for each column; inf and -inf where it has no ink.
    """

    first: int
    tops: NDArray[np.float64]
    bottoms: NDArray[np.float64]


SKYLINE_STEP: Final = 1 / 32
"""Width of a skyline's column, em."""


@dataclass(frozen=True, slots=True)
class Weight:
    """Where the eye finds a line's weight, em, y down, from its origin on the baseline.

    Attributes:
        x, y: the centre of mass of its ink.
        left, right: its edges as the eye sees them: little ink lies beyond.
    """

    x: float
    y: float
    left: float
    right: float


class Measure(Protocol):
    """Shape and measure a text: what fitting needs of lettering, cached, without outlines."""

    def __call__(self, text: str, setting: Setting) -> Line:
        """The measured line."""
        ...
