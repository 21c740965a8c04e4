"""Text that runs down a column: CSS's ``writing-mode: vertical-rl``, one column.

Han, kana and hangul stand upright, with the forms that their font has for columns; other scripts, figures and
spaces lie on their side, as CSS's ``text-orientation: mixed`` has it (CSS Writing Modes Level 4, section 5.1;
Unicode Standard Annex #50), or, with ``upright``, stand letter under letter. What lies has the middle of its
capitals on the middle of the column; CSS has the middle of the em there, which is a little lower or higher.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from itertools import groupby
from typing import Any, Final

from render.geometry import Affine, Box
from render.lettering.assemble import GlyphRun, Placed
from render.lettering.faces import Corners, Face, scale_to
from render.lettering.font import Font
from render.lettering.mixed import Covers, fonts_of
from render.lettering.scripts import COMMON, Stretch, has_joined, prepare, script_of, stretches
from render.lettering.shaping import Shaped, feature_ranges, shape
from render.lettering.uprights import cell_top, has_form
from render.model import Clusters, Line, SetLine, Setting
from render.text.columns import Stance, stance
from render.text.letters import graphemes

_COLONS: Final = "：；"
"""Signs in full width that stand in Chinese columns; a font for Japanese has forms of them that lie."""


class _Way(Enum):
    """How a stretch is set: upright, on its side, or turned in its full-width cell."""

    UP = 1
    LIES = 2
    TURNED = 3


@dataclass(frozen=True, slots=True)
class Part:
    """A stretch of a column: its font, its glyphs, upright or lying, and where its pen begins, em, y down."""

    font: str
    run: GlyphRun
    at: complex
    lying: bool


@dataclass(frozen=True, slots=True)
class VerticalRun:
    """A shaped column, its parts from top to bottom; the pen begins at the top of its middle line."""

    parts: tuple[Part, ...]

    def placed(self, line: SetLine) -> Iterator[Placed]:
        """The parts of the column in their places."""
        for part in self.parts:
            begin = line.origin + part.at * line.size
            turns: tuple[Affine, ...] = ()
            if part.lying:
                turns = tuple(
                    Affine(
                        0, line.size, -line.size, 0, begin.real, begin.imag + line.size * pen / part.run.upem
                    )
                    for pen in part.run.pens
                )
            yield part.run, replace(line, origin=begin, turns=turns)


def set_column(text: str, setting: Setting, faces: Mapping[str, Face]) -> tuple[Line, VerticalRun]:
    """A text shaped and measured as a column.

    Args:
        text: the text.
        setting: how it is set; `vertical` tells how letters stand that do not by themselves.
        faces: by id the fonts that the setting names, its own first.

    Raises:
        ValueError: a feature is not one, or tracking would tear joined letters apart.
    """
    own = faces[setting.font]
    prepared = prepare(text, Covers(faces), setting.language)
    fonts = fonts_of(prepared, setting.font, dict(setting.stand_ins), faces)
    parts: list[Part] = []
    boxes: list[Box] = []
    missing: dict[str, None] = {}
    y = 0.0
    for font, way, start, stop in _stretches(prepared, fonts, faces, setting.vertical == "upright"):
        face, piece, upright = faces[font], prepared[start:stop], way is _Way.UP
        scale = 1.0 if face is own else scale_to(face, own)
        upem = round(face.font.upem / scale)
        ask = replace(setting, features=setting.features if face is own else ())
        shaped = (_standing if upright else _lying)(face, piece, ask, upem)
        run = replace(shaped.run, upem=upem)
        at = complex(-_middle(face.font, way) / upem, y)
        corners, blanks = face.ink(run)
        if corners:
            boxes.append(_box(corners, upem, at, upright))
        missing |= dict.fromkeys(face.missing(piece, replace(shaped, run=run), blanks))
        parts.append(Part(font, run, at, not upright))
        y += shaped.advance / upem
    line = Line(
        text=text,
        setting=setting,
        ink=Box.union(boxes) if boxes else None,
        advance=y,
        cap_height=own.font.cap_height,
        x_height=own.font.x_height,
        thinnest=own.thinnest,
        clusters=Clusters((0.0,), 0.0) if parts else (),
        missing=tuple(missing),
    )
    return line, VerticalRun(tuple(parts))


def _middle(font: Font, way: _Way) -> float:
    """What of lying letters is on the middle of the column, above their baseline, font units."""
    if way is _Way.LIES:
        return font.cap_height * font.upem / 2
    top = cell_top(font) if way is _Way.TURNED else None
    return 0.0 if way is _Way.UP else font.cap_height * font.upem / 2 if top is None else top - font.upem / 2


def _stretches(
    text: str, fonts: Sequence[str], faces: Mapping[str, Face], all_stand: bool
) -> Iterator[tuple[str, _Way, int, int]]:
    """The stretches of a text that are of one font and stand or lie alike.

    If all stand, signs do as what precedes them, and letters that join lie all the same, since standing would
    tear them apart.
    """
    kinds: list[tuple[str, _Way]] = []
    way = _Way.UP if all_stand else _Way.LIES
    for letter in graphemes(text):
        font = fonts[len(kinds)]
        own = stance(letter[0])
        if own is Stance.FORMED:
            formed = letter[0] in _COLONS or has_form(faces[font].font, letter[0])
            kinds += [(font, _Way.UP if formed else _Way.TURNED)] * len(letter)
            continue
        if not all_stand:
            way = _Way.UP if own is Stance.UPRIGHT else _Way.LIES
        elif any(script_of(c) not in COMMON for c in letter):
            way = _Way.LIES if has_joined(letter) else _Way.UP
        kinds += [(font, way)] * len(letter)
    start = 0
    for (font, way), group in groupby(kinds):
        stop = start + len(list(group))
        yield font, way, start, stop
        start = stop


def _lying(face: Face, text: str, setting: Setting, upem: int) -> Shaped:
    """A stretch on its side: shaped as a line."""
    return shape(
        face.font,
        text,
        font_key=face.font.sha256,
        language=setting.language,
        features=setting.features,
        tracking=round(setting.tracking * upem),
        word_space=round(setting.word_space * upem),
        joined=face.joined,
    )


def _standing(face: Face, text: str, setting: Setting, upem: int) -> Shaped:
    """A stretch letter under letter; its run's `ys` go down from 0, its advance is positive."""
    asked = feature_ranges(text, setting.language, setting.features, tracked=bool(setting.tracking))
    tracking = round(setting.tracking * upem)
    gids: list[int] = []
    xs: list[int] = []
    ys: list[int] = []
    clusters: list[int] = []
    characters: list[int] = []
    x = y = 0
    top, lift = cell_top(face.font), 0
    for part in stretches_down(text):
        buffer = _shaped_down(face.font, text, part, setting.language, asked)
        for info, position in zip(buffer.glyph_infos, buffer.glyph_positions, strict=True):
            x_offset, y_offset, x_advance, y_advance = position.position
            if not characters or info.cluster != characters[-1]:
                y -= tracking if characters else 0
                characters.append(info.cluster)
                lift = 0
                if top is not None and stance(text[info.cluster]) is not Stance.LIES:
                    lift, y_advance = -top - y_offset, -face.font.upem
            y_offset += lift
            gids.append(info.codepoint)
            xs.append(x + x_offset)
            ys.append(y + y_offset)
            clusters.append(len(characters) - 1)
            x += x_advance
            y += y_advance
    y -= tracking if characters else 0
    run = GlyphRun(
        face.font.sha256, upem, tuple(gids), tuple(xs), tuple(ys), tuple(clusters), (0,) * len(characters)
    )
    return Shaped(run, -y, tuple(characters))


def stretches_down(text: str) -> tuple[Stretch, ...]:
    """The stretches of one script each, from top to bottom: in a column nothing runs backward."""
    return tuple(
        replace(part, backward=False) for part in sorted(stretches(text), key=lambda part: part.start)
    )


def _shaped_down(font: Font, text: str, part: Stretch, language: str, asked: Any) -> Any:
    """One stretch through HarfBuzz, from top to bottom."""
    import uharfbuzz as hb

    buffer = hb.Buffer()
    buffer.add_str(text, part.start, part.stop - part.start)
    buffer.direction = "ttb"
    buffer.script = part.script
    if language:
        buffer.language = language
    hb.shape(font.shaper, buffer, asked or None)
    return buffer


def _box(corners: Corners, upem: int, at: complex, upright: bool) -> Box:
    """The ink of a part in its place, em, y down; `corners` are its run's, font units, y up."""
    x0, y0, x1, y1 = (c / upem for c in corners)
    if upright:
        return Box(x0, -y1, x1, -y0).moved(at.real, at.imag)
    return Box(y0, x0, y1, x1).moved(at.real, at.imag)
