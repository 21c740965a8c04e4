"""What one font brings to every line that is set in it, and how two of them agree."""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from render.lettering.assemble import GlyphRun
from render.lettering.font import Font
from render.lettering.gaps import usual_gap
from render.lettering.pool import Glyph
from render.lettering.shaping import Shaped, shape

Corners = tuple[float, float, float, float]

SMALLEST, LARGEST = 0.7, 1.4
"""By how much a font that takes over for another is set smaller or larger, at most."""

_SAMPLE: Final = "nonno"
_SMALL_CAPITALS: Final = 0.82
"""Small letters taller than this part of the capitals are capitals themselves."""


@dataclass(slots=True, eq=False)
class Face:
    """A font with what was measured on it.

    Attributes:
        joined: whether it joins its letters.
        thinnest: thinnest stroke of its letters, em.
        glyph: gives its outlines, united.
        boxes: of the glyphs measured so far, font units, y up; None for blank ones.
    """

    font: Font
    joined: bool
    thinnest: float
    glyph: Callable[[int], Glyph]
    boxes: dict[int, Corners | None] = field(default_factory=dict)
    _character: tuple[float, float] | None = None
    _gap: float | None = None

    def ink(self, run: GlyphRun) -> tuple[Corners | None, int]:
        """The exact box of a run, font units, y up, and how many of its glyphs are blank."""
        boxes = self.boxes
        x0 = y0 = float("inf")
        x1 = y1 = float("-inf")
        blanks = 0
        for gid, x, y in zip(run.gids, run.xs, run.ys, strict=True):
            try:
                box = boxes[gid]
            except KeyError:
                box = boxes[gid] = self.glyph(gid).box
            if box is None:
                blanks += 1
                continue
            left, low, right, high = box
            if x + left < x0:
                x0 = x + left
            if y + low < y0:
                y0 = y + low
            if x + right > x1:
                x1 = x + right
            if y + high > y1:
                y1 = y + high
        return ((x0, y0, x1, y1) if x0 <= x1 else None), blanks

    def missing(self, text: str, shaped: Shaped, blanks: int) -> tuple[str, ...]:
        """The characters that the font cannot draw: not in it, drawn wrongly, as a box or as nothing."""
        missing = self.font.lacks(text)
        if not missing and (0 in shaped.run.gids or blanks > text.count(" ")):
            missing = self.undrawn(text, shaped)
        return missing

    def undrawn(self, text: str, shaped: Shaped) -> tuple[str, ...]:
        """Visible characters at the head of clusters that came out as a box or without ink."""
        run = shaped.run
        drawn = {
            cluster
            for gid, cluster in zip(run.gids, run.clusters, strict=True)
            if gid and self.boxes[gid] is not None
        }
        heads = (text[at] for cluster, at in enumerate(shaped.characters) if cluster not in drawn)
        return tuple(dict.fromkeys(c for c in heads if unicodedata.category(c)[0] in "LMNPS"))

    @property
    def character(self) -> tuple[float, float]:
        """How wide its small letters are, em, and how much of their room is ink; 0 and 0 without n and o."""
        if self._character is None:
            font, run = self.font, None
            if not font.lacks(_SAMPLE):
                shaped = shape(font, _SAMPLE, font_key="")
                run, width = shaped.run, shaped.advance / len(_SAMPLE) / font.upem
            if run is None:
                self._character = 0.0, 0.0
            else:
                ink = sum(_area(self.glyph(gid)) for gid in run.gids) / len(_SAMPLE) / font.upem**2
                self._character = width, ink / (width * font.x_height)
        return self._character

    @property
    def gap(self) -> float:
        """The gap that the eye sees between two of its letters, em."""
        if self._gap is None:
            self._gap = usual_gap(self.font, self.glyph)
        return self._gap


def scale_to(face: Face, other: Face) -> float:
    """By how much a font is set smaller or larger so that it stands well beside another.

    Neither x-heights nor capitals alone: script hands have small x-heights under tall capitals. The geometric
    mean of both ratios is taken; that of the capitals alone where small letters are capitals (derived here;
    that scripts side by side are set to agree in apparent size is common practice, no source). Fonts of other
    scripts carry Latin letters that their makers matched to them.
    """
    one, two = face.font, other.font
    if not all((one.cap_height, one.x_height, two.cap_height, two.x_height)):
        return 1.0
    scale = capitals = two.cap_height / one.cap_height
    if all(font.x_height < _SMALL_CAPITALS * font.cap_height for font in (one, two)):
        scale = math.sqrt(capitals * two.x_height / one.x_height)
    return min(max(scale, SMALLEST), LARGEST)


def unlike(face: Face, other: Face) -> float:
    """How far a font, set to agree in size, is from another in weight and in proportion.

    How dark its small letters are, how wide, how tall beside the capitals, and (it counts half) the thinnest
    stroke; each as the logarithm of a ratio, so that twice and half weigh alike.
    """
    scale = scale_to(face, other)
    (width, dark), (other_width, other_dark) = face.character, other.character
    share, other_share = (
        one.font.x_height / one.font.cap_height if one.font.cap_height else 0.0 for one in (face, other)
    )
    pairs = (
        (1.0, dark, other_dark),
        (1.0, width * scale, other_width),
        (1.0, share, other_share),
        (0.5, face.thinnest * scale, other.thinnest),
    )
    return sum(weight * abs(math.log(a / b)) for weight, a, b in pairs if a > 0 and b > 0)


def _area(glyph: Glyph) -> float:
    """The area of a glyph's ink, square font units, by its chords (the shoelace formula)."""
    begins, ends = glyph.edges
    return abs(float(np.sum((np.conjugate(begins) * ends).imag))) / 2
