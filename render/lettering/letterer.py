"""The letterer: texts in, measured lines and their outlines out."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path as FilePath
from typing import Final, cast

from render.geometry import Affine, Box, Path
from render.lettering.assemble import Assembler, GlyphRun, Placed
from render.lettering.detail import Details
from render.lettering.font import Font
from render.lettering.scripts import prepare
from render.lettering.shaping import Shaped, shape
from render.lettering.shelf import Shelf
from render.lettering.single_stroke import HANDS, StrokeRun, set_line, turned
from render.lettering.skylines import skyline_of, skyline_of_strokes
from render.model import Clusters, Line, Problem, SetLine, Setting, Skyline

KEPT: Final = 32_768
"""Lines kept for texts that come again, as when a fit is looked for."""

Corners = tuple[float, float, float, float]


@dataclass(slots=True)
class _Face:
    """What one font brings to every line set in it."""

    font: Font
    joined: bool
    thinnest: float
    boxes: dict[int, Corners | None]


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
        self._faces: dict[str, _Face] = {}
        self._set = lru_cache(maxsize=kept)(self._measured)
        self._skylines = lru_cache(maxsize=kept)(self._skyline)

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

    def outlines(self, groups: Sequence[Sequence[SetLine]]) -> list[Path]:
        """For each group of lines in place one path in mm, its overlaps united; single strokes stay open.

        Raises:
            FontError: a font cannot be used.
        """
        placed = [
            [(self._set(each.line.text, each.line.setting)[1], each) for each in group] for group in groups
        ]
        if not any(isinstance(run, StrokeRun) for group in placed for run, _ in group):
            return self._assembler.paths(cast("list[list[Placed]]", placed))
        outlined = self._assembler.paths(
            [[(run, each) for run, each in group if isinstance(run, GlyphRun)] for group in placed]
        )
        stroked = [
            [_stroked(run, each) for run, each in group if isinstance(run, StrokeRun)] for group in placed
        ]
        return [Path.joined((path, *lines)) for path, lines in zip(outlined, stroked, strict=True)]

    def keep(self) -> None:
        """Write what was learned to the cache, if there is one: to be called when a job is done."""
        self._assembler.keep()

    def joined(self, font: str) -> bool:
        """Whether a font joins its letters, so that tracking would tear them apart.

        Raises:
            FontError: there is no such font, or its file cannot be used.
        """
        return HANDS[font].joined if font in HANDS else self._face(font).joined

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

    def _face(self, name: str) -> _Face:
        face = self._faces.get(name)
        if face is None:
            font = self.shelf.find(name)
            detail = self._details.of(font)
            self._assembler.add(font.sha256, font.data)
            face = self._faces[name] = _Face(font, detail.joined, detail.thinnest, {})
        return face

    def _measured(self, text: str, setting: Setting) -> tuple[Line, GlyphRun | StrokeRun]:
        if setting.font in HANDS:
            return set_line(text, setting)
        face = self._face(setting.font)
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
        )
        run, upem = shaped.run, font.upem
        corners, blanks = self._ink(face, run)
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
            missing=self._missing(face, prepared, shaped, blanks),
        )
        return line, run

    def _skyline(self, text: str, setting: Setting) -> Skyline | None:
        run = self._set(text, setting)[1]
        if isinstance(run, StrokeRun):
            return skyline_of_strokes(run.whole)
        return skyline_of(run, lambda gid: self._assembler.glyph(run.font_key, gid))

    def _ink(self, face: _Face, run: GlyphRun) -> tuple[Corners | None, int]:
        """The exact box of a run, font units, y up, and how many of its glyphs are blank."""
        boxes = face.boxes
        x0 = y0 = float("inf")
        x1 = y1 = float("-inf")
        blanks = 0
        for gid, x, y in zip(run.gids, run.xs, run.ys, strict=True):
            try:
                box = boxes[gid]
            except KeyError:
                box = boxes[gid] = self._assembler.box(run.font_key, gid)
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

    def _missing(self, face: _Face, text: str, shaped: Shaped, blanks: int) -> tuple[str, ...]:
        """The characters that the font cannot draw: not in it, drawn wrongly, as a box or as nothing."""
        missing = face.font.lacks(text)
        if not missing and (0 in shaped.run.gids or blanks > text.count(" ")):
            missing = _undrawn(face, text, shaped)
        return missing


def _stroked(run: StrokeRun, each: SetLine) -> Path:
    """A line of a single-stroke hand in its place: open contours."""
    if each.turns:
        return turned(run, each.turns)
    size, origin = each.size, each.origin
    return run.whole.transformed(Affine(size, 0, 0, size, origin.real, origin.imag))


def _undrawn(face: _Face, text: str, shaped: Shaped) -> tuple[str, ...]:
    """Visible characters at the head of clusters that came out as a box or without ink."""
    run = shaped.run
    drawn = {
        cluster
        for gid, cluster in zip(run.gids, run.clusters, strict=True)
        if gid and face.boxes[gid] is not None
    }
    heads = (text[at] for cluster, at in enumerate(shaped.characters) if cluster not in drawn)
    return tuple(dict.fromkeys(c for c in heads if unicodedata.category(c)[0] in "LMNPS"))
