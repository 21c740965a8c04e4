"""Texts in several fonts: each script of a text in one that has all of it, side by side on one baseline.

A sign writer changes hands between words, never within one. So what is told apart is words by their script;
spaces, figures and signs go with the word they stand in, or else with the text's own font.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from operator import attrgetter, itemgetter
from typing import Final

from render.geometry import Box
from render.lettering.assemble import GlyphRun, Placed
from render.lettering.faces import Face, scale_to
from render.lettering.gaps import GAP_KEPT, gap_between
from render.lettering.scripts import Stretch, prepare, stretches, writing_of
from render.lettering.shaping import Shaped, shape
from render.lettering.skylines import beside, skyline_of
from render.model import Clusters, Line, Paragraph, SetLine, Setting, Skyline
from render.text.letters import graphemes


@dataclass(frozen=True, slots=True)
class Part:
    """Part of a line that is in one font.

    Attributes:
        font: its id.
        run: its glyphs; `run.upem` tells the size it is set at: larger than the font's own, the part is set
            smaller.
        x: where its pen begins, em of the line.
        first: number of its first cluster in the line.
    """

    font: str
    run: GlyphRun
    x: float
    first: int


@dataclass(frozen=True, slots=True)
class MixedRun:
    """A shaped line in several fonts, its parts from left to right."""

    parts: tuple[Part, ...]

    def placed(self, line: SetLine) -> Iterator[Placed]:
        """The parts of the line in their places."""
        for part in self.parts:
            turns = line.turns[part.first : part.first + len(part.run.pens)]
            yield part.run, replace(line, origin=line.origin + part.x * line.size, turns=turns)

    def skyline(self, faces: Mapping[str, Face]) -> Skyline | None:
        """How high and low its ink reaches, column by column."""
        return beside([skyline_of(part.run, faces[part.font].glyph, part.x) for part in self.parts])


def fonts_of(text: str, font: str, stand_ins: Mapping[str, str], faces: Mapping[str, Face]) -> list[str]:
    """For each character of a prepared text the id of its font.

    Letters are in the font of their script. What belongs to no script is in the font of the word it stands
    in; between words in that of both neighbours, where they agree, else in the text's own font, or the first
    that is used where that is not; in any case in a font that has it, if there is one.
    """
    fonts: list[str | None] = []
    for word, group in groupby(text, str.isspace):
        fonts += [None] * len(list(group)) if word else []
        if not word:
            fonts += _of_word(text[len(fonts) :].split(maxsplit=1)[0], font, stand_ins, faces)
    lettered = list(filter(None, fonts)) or [stand_ins.get("Latn", font)]
    alone = font if font in lettered else lettered[0]
    found: list[str] = []
    for at, own in enumerate(fonts):
        if own is None:
            before = next((f for f in reversed(fonts[:at]) if f), alone)
            after = next((f for f in fonts[at:] if f), alone)
            own = _having(text[at], before if before == after else alone, faces)
        found.append(own)
    return found


def _of_word(
    word: str, font: str, stand_ins: Mapping[str, str], faces: Mapping[str, Face]
) -> list[str | None]:
    """The fonts of a word's characters; None for all where it has no letters. Letters keep their marks."""
    fonts: list[str | None] = []
    last: str | None = None
    for letter in graphemes(word):
        script = next((s for c in letter if (s := writing_of(c))), "")
        if script:
            last = stand_ins.get(script, font)
        fonts += [last if script else None] * len(letter)
    first = next((f for f in fonts if f), None)
    if first is None:
        return fonts
    last = first
    for at, own in enumerate(fonts):
        last = own or last
        fonts[at] = own or _having(word[at], last, faces)
    return fonts


def _having(character: str, font: str, faces: Mapping[str, Face]) -> str:
    """The font, or the first that has a character which it lacks."""
    if character in faces[font].font.covered:
        return font
    return next((f for f, face in faces.items() if character in face.font.covered), font)


def runs_of(
    text: str, fonts: Sequence[str], paragraph: Paragraph | None = None
) -> Iterator[tuple[str, tuple[Stretch, ...]]]:
    """The runs of one font each, from left to right: its id, and the stretches in the order they stand."""
    parts = stretches(text, fonts, paragraph)
    for font, group in groupby(parts, lambda part: fonts[part.start]):
        yield font, tuple(group)


def told_runs(text: str, setting: Setting, faces: Mapping[str, Face]) -> tuple[tuple[str, str], ...]:
    """The runs of a text in reading order, each with its font and the words that are set in it."""
    prepared = prepare(text, Covers(faces), setting.language)
    fonts = fonts_of(prepared, setting.font, dict(setting.stand_ins), faces)
    runs = groupby(zip(fonts, prepared, strict=True), itemgetter(0))
    told = ((font, "".join(c for _, c in group).strip()) for font, group in runs)
    return tuple((font, words) for font, words in told if words)


def told_fonts(runs: Iterable[tuple[str, str]]) -> tuple[tuple[str, str], ...]:
    """The fonts of some runs, each once, with all the words that are set in it, in reading order."""
    words: dict[str, list[str]] = {}
    for font, some in runs:
        words.setdefault(font, []).append(some)
    return tuple((font, " ".join(some)) for font, some in words.items())


def cluster_scripts(text: str, setting: Setting, faces: Mapping[str, Face]) -> tuple[str, ...]:
    """For each cluster of a text, left to right, its script (ISO 15924); signs go with what precedes them.

    The text is shaped anew for it, as it was when it was measured.
    """
    prepared = prepare(text, Covers(faces), setting.language)
    fonts = fonts_of(prepared, setting.font, dict(setting.stand_ins), faces) if setting.stand_ins else ()
    found: list[str] = []
    for font, there in _told_apart(prepared, fonts, setting):
        face = faces[font]
        scripts = {at: part.script for part in there for at in range(part.start, part.stop)}
        shaped = shape(
            face.font,
            prepared,
            font_key=face.font.sha256,
            language=setting.language,
            features=setting.features if font == setting.font else (),
            tracking=round(setting.tracking * face.font.upem),
            joined=face.joined,
            parts=there,
        )
        found += [scripts[at] for at in shaped.characters]
    return tuple(found)


def _told_apart(
    text: str, fonts: Sequence[str], setting: Setting
) -> Iterator[tuple[str, tuple[Stretch, ...]]]:
    if fonts:
        return runs_of(text, fonts, setting.paragraph)
    return iter([(setting.font, stretches(text, (), setting.paragraph))])


class Covers:
    """The characters that all of some fonts have."""

    def __init__(self, faces: Mapping[str, Face]) -> None:
        self._sets = [face.font.covered for face in faces.values()]

    def __contains__(self, character: object) -> bool:
        return all(character in covered for covered in self._sets)


def set_mixed(text: str, setting: Setting, faces: Mapping[str, Face]) -> tuple[Line, MixedRun]:
    """A text shaped and measured in several fonts.

    Args:
        text: the text.
        setting: how it is set; its features go to its own font alone.
        faces: by id those that the setting names, its own first.

    Raises:
        ValueError: a feature is not one, or tracking would tear joined letters apart.
    """
    prepared = prepare(text, Covers(faces), setting.language)
    own, stand_ins = faces[setting.font], dict(setting.stand_ins)
    fonts = fonts_of(prepared, setting.font, stand_ins, faces)
    parts: list[Part] = []
    boxes: list[Box] = []
    pens: list[float] = []
    missing: dict[str, None] = {}
    x = 0.0
    before: tuple[Face, Shaped] | None = None
    for font, there in runs_of(prepared, fonts, setting.paragraph):
        face = faces[font]
        scale = 1.0 if face is own else scale_to(face, own)
        upem = round(face.font.upem / scale)
        shaped = shape(
            face.font,
            prepared,
            font_key=face.font.sha256,
            language=setting.language,
            features=setting.features if face is own else (),
            tracking=round(setting.tracking * upem),
            word_space=round(setting.word_space * upem),
            joined=face.joined,
            parts=there,
        )
        shaped = replace(shaped, run=replace(shaped.run, upem=upem))
        x += _kern(before, (face, shaped)) if before else 0.0
        corners, blanks = face.ink(shaped.run)
        if corners:
            boxes.append(Box(corners[0], -corners[3], corners[2], -corners[1]).scaled(1 / upem).moved(x, 0))
        piece = "".join(prepared[part.start : part.stop] for part in sorted(there, key=attrgetter("start")))
        lacking = face.font.lacks(piece)
        if not lacking and (0 in shaped.run.gids or blanks > piece.count(" ")):
            lacking = face.undrawn(prepared, shaped)
        missing |= dict.fromkeys(lacking)
        parts.append(Part(font, shaped.run, x, len(pens)))
        pens += [x + pen / upem for pen in shaped.run.pens]
        x += shaped.advance / upem
        before = face, shaped
    line = _line(text, setting, faces, parts, boxes, pens, x, tuple(missing))
    return line, MixedRun(tuple(parts))


def _line(
    text: str,
    setting: Setting,
    faces: Mapping[str, Face],
    parts: Sequence[Part],
    boxes: Sequence[Box],
    pens: Sequence[float],
    advance: float,
    missing: tuple[str, ...],
) -> Line:
    """What is measured on the whole line; heights are those of its own font, if it is used at all."""
    used = {part.font: faces[part.font].font.upem / part.run.upem for part in parts} or {setting.font: 1.0}
    head = setting.font if setting.font in used else next(iter(used))
    return Line(
        text=text,
        setting=setting,
        ink=Box.union(boxes) if boxes else None,
        advance=advance,
        cap_height=faces[head].font.cap_height * used[head],
        x_height=faces[head].font.x_height * used[head],
        thinnest=min(faces[font].thinnest * scale for font, scale in used.items()),
        clusters=Clusters(tuple(pens), advance),
        missing=missing,
    )


_CLOSEST: Final = -0.12
_FURTHEST: Final = 0.3
"""How far two parts that meet without a space are brought together, or apart, at most, em."""

_NEAREST: Final = 0.05
"""Free room that is kept between two parts that meet without a space, em."""

_WORD_SPACE: Final = 0.2
"""Free room that is kept where there is a space: those of script hands allow only for their own tails."""


def _kern(left: tuple[Face, Shaped], right: tuple[Face, Shaped]) -> float:
    """By how much a part is moved so that the gap before it looks like those within its neighbours, em.

    No font kerns its letters with another's. Where there is a space, just enough of it is kept free.
    """
    one, two = ((face.glyph, shaped, shaped.run.upem) for face, shaped in (left, right))
    gap = gap_between(one, two)
    if gap is None:
        return 0.0
    if gap.spaced:
        return max(_WORD_SPACE - gap.nearest, 0.0)
    usual = [
        face.gap * face.font.upem / shaped.run.upem for face, shaped in (left, right) if not face.joined
    ] or [GAP_KEPT]
    shift = min(max(sum(usual) / len(usual) - gap.seen, _CLOSEST), _FURTHEST)
    return max(shift, _NEAREST - gap.nearest)
