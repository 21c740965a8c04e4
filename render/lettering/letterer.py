"""The letterer: texts in, measured lines and their outlines out."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import lru_cache, partial
from pathlib import Path as FilePath
from typing import Final, cast

from render.geometry import Affine, Box, Path
from render.lettering.assemble import Assembler, GlyphRun, Placed
from render.lettering.closeness import Of, SetFinest
from render.lettering.detail import Details
from render.lettering.faces import Face
from render.lettering.mixed import MixedRun, cluster_scripts, set_mixed, told_fonts, told_runs
from render.lettering.scripts import COMMON, prepare, script_of
from render.lettering.shaping import shape
from render.lettering.shelf import Shelf
from render.lettering.single_stroke import HANDS, StrokeRun, set_line, turned
from render.lettering.skylines import skyline_of, skyline_of_strokes
from render.lettering.standins import ranked
from render.lettering.vertical import VerticalRun, set_column
from render.lettering.weights import weight_of
from render.model import Clusters, Line, Problem, SetLine, Setting, Skyline, Weight

KEPT: Final = 32_768
"""Lines kept for texts that come again, as when a fit is looked for."""

Run = GlyphRun | MixedRun | StrokeRun | VerticalRun


class Letterer:
    """Shapes and measures texts, and draws them. Not for use by two threads at once.

    ``letterer.line`` is a :class:`render.model.Measure`.
    """

    def __init__(self, shelf: Shelf, *, cache: FilePath | None = None, kept: int = KEPT) -> None:
        """Set up on a shelf.

        Args:
            shelf: the fonts at hand.
            cache: folder where measurements of the user's own fonts, and united outlines, are kept from
                run to run; None keeps them in memory.
            kept: how many lines to remember.
        """
        self.shelf = shelf
        self._details = Details(shelf.folders, cache)
        self._assembler = Assembler(cache=cache)
        self._faces: dict[str, Face] = {}
        self._names: dict[str, dict[int, str]] = {}
        self._set = lru_cache(maxsize=kept)(self._measured)
        self._skylines = lru_cache(maxsize=kept)(self._skyline)
        self._nearest: dict[tuple[str, str], tuple[str, ...]] = {}
        self._weights = lru_cache(maxsize=kept)(self._weighed)

    def line(self, text: str, setting: Setting) -> Line:
        """The shaped and measured line.

        Raises:
            FontError: there is no such font, or its file cannot be used.
            ValueError: the setting asks for a feature that is none, or for tracking where letters join.
        """
        return self._set(text, setting)[0]

    def skyline(self, line: Line) -> Skyline | None:
        """How high and low the ink of a line reaches, column by column; None if it has none."""
        return self._skylines(line.text, line.setting)

    def weight(self, line: Line) -> Weight | None:
        """Where the eye finds a line's weight; None if it has no ink."""
        return self._weights(line.text, line.setting)

    def _weighed(self, text: str, setting: Setting) -> Weight | None:
        (drawn,) = self.outlines([(SetLine(self.line(text, setting), 1.0, 0j),)])
        return weight_of(drawn)

    def outlines(self, groups: Sequence[Sequence[SetLine]]) -> list[Path]:
        """For each group of lines in place one path in mm, its overlaps united; single strokes stay open.

        Raises:
            FontError: a font cannot be used.
        """
        placed = [
            [(self._set(each.line.text, each.line.setting)[1], each) for each in group] for group in groups
        ]
        if all(type(run) is GlyphRun for group in placed for run, _ in group):
            return self._assembler.paths(cast("list[list[Placed]]", placed))
        outlined = self._assembler.paths([list(_outlined(group)) for group in placed])
        stroked = [
            [_stroked(run, each) for run, each in group if isinstance(run, StrokeRun)] for group in placed
        ]
        return [Path.joined((path, *lines)) for path, lines in zip(outlined, stroked, strict=True)]

    def finest(self, line: SetLine, reach: float = math.inf) -> SetFinest:
        """The thinnest stroke and the narrowest gap of a line in its place, as it will be drawn.

        Args:
            line: may be one whose strokes are thickened.
            reach: gaps between letters at least this wide, mm, need not be found.

        Raises:
            FontError: a font cannot be used.
        """
        run = self._set(line.line.text, line.line.setting)[1]
        if isinstance(run, StrokeRun):
            return SetFinest()
        if isinstance(run, GlyphRun):
            return self._finest(line.line.setting.font, run, line, reach)
        found = SetFinest()
        fonts = [part.font for part in run.parts]
        for font, (one, each) in zip(fonts, run.placed(line), strict=True):
            fine = self._finest(font, one, each, min(reach, found.gap))
            if fine.stroke < found.stroke:
                found = replace(found, stroke=fine.stroke, stroke_of=fine.stroke_of)
            if fine.gap < found.gap:
                found = replace(found, gap=fine.gap, gap_of=fine.gap_of)
        return found

    def _finest(self, font: str, run: GlyphRun, line: SetLine, reach: float) -> SetFinest:
        """The finest of what one font draws of a line."""
        if line.stroke:
            run = self._assembler.stout(run, line)
        closeness = self._assembler.closeness(run.font_key)
        mm = line.size * closeness.upem / run.upem
        fine = closeness.of_run(run, reach / mm)
        thinnest = (run.gids[fine.stroke_of],) if fine.stroke_of >= 0 else ()
        return SetFinest(
            fine.stroke * mm,
            fine.gap * mm,
            (font, thinnest),
            (font, tuple([run.gids[k] for k in fine.gap_of])),
        )

    def letters(self, of: Of, text: str) -> str:
        """What glyphs of a font are called in a text: its letters, or else all of it."""
        names = self._names.setdefault(of[0], {})
        if not all(gid in names for gid in of[1]):
            shaper = self.face(of[0]).font.shaper
            names.update({shaper.get_nominal_glyph(ord(c)): c for c in text if c.strip()})
        found = [names.get(gid, "") for gid in of[1]]
        return "".join(found) if all(name and name in text for name in found) else text

    def keep(self) -> None:
        """Write what was learned to the cache, if there is one: to be called when a job is done."""
        self._assembler.keep()

    def joined(self, font: str) -> bool:
        """Whether a font joins its letters, so that tracking would tear them apart.

        Raises:
            FontError: there is no such font, or its file cannot be used.
        """
        return HANDS[font].joined if font in HANDS else self.face(font).joined

    def single_stroke(self, font: str) -> bool:
        """Whether letters come as open lines, which can only be scored."""
        return font in HANDS

    def notes(self) -> tuple[Problem, ...]:
        """What should be known of unions that did not go the plain way, so far."""
        return self._assembler.notes()

    def describe_missing(self, line: Line, *, row: int | None = None, piece: str = "") -> Problem:
        """The problem that a line's font lacks some of its characters; see :meth:`Shelf.describe_missing`."""
        return self.shelf.describe_missing(
            line.missing, line.setting.font, row=row, value=line.text, piece=piece
        )

    def face(self, name: str) -> Face:
        """A font with what was measured on it.

        Raises:
            FontError: there is no such font, or its file cannot be used.
        """
        face = self._faces.get(name)
        if face is None:
            font = self.shelf.find(name)
            detail = self._details.of(font)
            self._assembler.add(font.sha256, font.data)
            glyph = partial(self._assembler.glyph, font.sha256)
            face = self._faces[name] = Face(font, detail.joined, detail.thinnest, glyph)
        return face

    def nearest(self, font: str, script: str) -> tuple[str, ...]:
        """The other fonts at hand from the nearest in character, those meant for a script (ISO 15924) first.

        Raises:
            FontError: there is no such font, or its file cannot be used.
        """
        if (font, script) not in self._nearest:
            self._nearest[font, script] = ranked(self, font, script)
        return self._nearest[font, script]

    def fonts_of(self, line: Line) -> tuple[tuple[str, str], ...]:
        """The fonts of a line, each with the words that are set in it, in reading order."""
        return told_fonts(self.runs_of(line))

    def runs_of(self, line: Line) -> tuple[tuple[str, str], ...]:
        """The runs of a line in reading order, each with its font and the words that are set in it."""
        if not line.setting.stand_ins:
            return ((line.setting.font, line.text),)
        return told_runs(line.text, line.setting, self._faces_of(line.setting))

    def scripts_of(self, line: Line) -> tuple[str, ...]:
        """For each cluster of a line, left to right, its script (ISO 15924); signs as their neighbours."""
        count, found = len(line.clusters), {s for c in line.text if (s := script_of(c)) not in COMMON}
        if len(found) < 2:
            return (next(iter(found), "Latn"),) * count
        return cluster_scripts(line.text, line.setting, self._faces_of(line.setting))

    def _faces_of(self, setting: Setting) -> dict[str, Face]:
        """By id the fonts that a setting names, its own first."""
        return {name: self.face(name) for name in (setting.font, *(font for _, font in setting.stand_ins))}

    def _measured(self, text: str, setting: Setting) -> tuple[Line, Run]:
        if setting.font in HANDS:
            return set_line(text, setting)
        if setting.vertical:
            return set_column(text, setting, self._faces_of(setting))
        if setting.stand_ins:
            return set_mixed(text, setting, self._faces_of(setting))
        face = self.face(setting.font)
        font = face.font
        prepared = prepare(text, font.covered, setting.language)
        shaped = shape(
            font,
            prepared,
            font_key=font.sha256,
            language=setting.language,
            features=setting.features,
            tracking=round(setting.tracking * font.upem),
            word_space=round(setting.word_space * font.upem),
            joined=face.joined,
            paragraph=setting.paragraph,
        )
        run, upem = shaped.run, font.upem
        corners, blanks = face.ink(run)
        advance = shaped.advance / upem
        line = Line(
            text=text,
            setting=setting,
            ink=Box(corners[0] / upem, -corners[3] / upem, corners[2] / upem, -corners[1] / upem)
            if corners
            else None,
            advance=advance,
            cap_height=font.cap_height,
            x_height=font.x_height,
            thinnest=face.thinnest,
            clusters=Clusters(tuple([pen / upem for pen in run.pens]), advance),
            missing=face.missing(prepared, shaped, blanks),
        )
        return line, run

    def _skyline(self, text: str, setting: Setting) -> Skyline | None:
        run = self._set(text, setting)[1]
        if isinstance(run, StrokeRun):
            return skyline_of_strokes(run.whole)
        if isinstance(run, VerticalRun):
            return None
        if isinstance(run, MixedRun):
            return run.skyline(self._faces_of(setting))
        return skyline_of(run, self.face(setting.font).glyph)


def _outlined(group: Sequence[tuple[Run, SetLine]]) -> Iterator[Placed]:
    """The lines of a group that have outlines, part by part."""
    for run, each in group:
        if isinstance(run, MixedRun | VerticalRun):
            yield from run.placed(each)
        elif isinstance(run, GlyphRun):
            yield run, each


def _stroked(run: StrokeRun, each: SetLine) -> Path:
    """A line of a single-stroke hand in its place: open contours."""
    if each.turns:
        return turned(run, each.turns)
    size, origin = each.size, each.origin
    return run.whole.transformed(Affine(size, 0, 0, size, origin.real, origin.imag))
