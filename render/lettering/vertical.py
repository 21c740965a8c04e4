"""Text that runs down a column: CSS's ``writing-mode: vertical-rl``, one column.

Han, kana and hangul stand upright, with the forms that their font has for columns; other scripts lie on their
side, as CSS's ``text-orientation: mixed`` has it (CSS Writing Modes Level 4, section 5.1; Unicode Standard
Annex #50), or, with ``upright``, stand letter under letter.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from typing import Any, Final

from render.geometry import Affine, Box
from render.lettering.assemble import GlyphRun, Placed
from render.lettering.faces import Corners, Face, scale_to
from render.lettering.font import Font
from render.lettering.mixed import Covers, fonts_of
from render.lettering.scripts import COMMON, Stretch, has_joined, prepare, script_of, stretches
from render.lettering.shaping import Shaped, feature_ranges, shape
from render.model import Clusters, Line, SetLine, Setting
from render.text.letters import graphemes

UPRIGHT: Final = frozenset(("Hani", "Hira", "Kana", "Hang", "Bopo", "Yiii"))
"""Scripts that stand upright in a column (Unicode Standard Annex #50)."""

_ALWAYS_UPRIGHT: Final = (
    ("\u2e80", "\u2fdf"),
    ("\u3000", "\u303f"),
    ("\u30fb", "\u30ff"),
    ("\uff01", "\uff60"),
)
"""Signs that stand upright, or have a form for columns: of Han writing, and in full width."""


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


def stands(letter: str) -> bool:
    """Whether a letter stands upright in a column."""
    if any(first <= letter[0] <= last for first, last in _ALWAYS_UPRIGHT):
        return True
    return next((s for c in letter if (s := script_of(c)) not in COMMON), "") in UPRIGHT


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
    for font, upright, start, stop in _stretches(prepared, fonts, setting.vertical == "upright"):
        face, piece = faces[font], prepared[start:stop]
        scale = 1.0 if face is own else scale_to(face, own)
        upem = round(face.font.upem / scale)
        ask = replace(setting, features=setting.features if face is own else ())
        shaped = (_standing if upright else _lying)(face, piece, ask, upem)
        run = replace(shaped.run, upem=upem)
        at = complex(0, y) if upright else complex(-face.font.cap_height * face.font.upem / upem / 2, y)
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


def _stretches(text: str, fonts: Sequence[str], all_stand: bool) -> Iterator[tuple[str, bool, int, int]]:
    """The stretches of a text that are of one font and stand or lie alike; signs do as what precedes them.

    Letters that join never stand, since that would tear them apart.
    """
    kinds: list[tuple[str, bool]] = []
    up = all_stand
    for letter in graphemes(text):
        lettered = any(script_of(c) not in COMMON for c in letter)
        if all_stand:
            up = not has_joined(letter) if lettered else up
        elif lettered or stands(letter) or not kinds:
            up = stands(letter)
        kinds += [(fonts[len(kinds)], up)] * len(letter)
    start = 0
    for (font, upright), group in groupby(kinds):
        stop = start + len(list(group))
        yield font, upright, start, stop
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
    for part in stretches_down(text):
        buffer = _shaped_down(face.font, text, part, setting.language, asked)
        for info, position in zip(buffer.glyph_infos, buffer.glyph_positions, strict=True):
            x_offset, y_offset, x_advance, y_advance = position.position
            if not characters or info.cluster != characters[-1]:
                y -= tracking if characters else 0
                characters.append(info.cluster)
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
