"""Shaped lines in their final places become paths in mm, with overlaps united throughout."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path as FilePath
from typing import Final

from render.geometry import Path
from render.lettering.batch import BATCH, assemble
from render.lettering.closeness import FORMAT, Closeness
from render.lettering.keep import file_of, load, save
from render.lettering.known import known_of
from render.lettering.outlines import GlyphReader
from render.lettering.placed import unite_placed
from render.lettering.pool import Glyph
from render.lettering.stitch import Incident, Stitcher, Walk
from render.lettering.stouter import Stoutness, StoutReader, kept_apart
from render.lettering.turned import Turned, Turner
from render.lettering.union import Way
from render.model import Problem, SetLine, Severity


@dataclass(frozen=True, slots=True)
class GlyphRun:
    """A shaped line in whole font units, y up, the pen starting at (0, 0).

    Attributes:
        font_key: names the outlines it is drawn with: SHA-256 of the font file, index and variation.
        upem: font units to the em.
        gids: glyph ids in visual order, blank glyphs included.
        xs, ys: where each glyph's origin lies (pen and offset together), whole font units.
        clusters: for each glyph the number of its cluster, counted from 0 left to right.
        pens: for each cluster the pen's x at its left edge.
    """

    font_key: str
    upem: int
    gids: tuple[int, ...]
    xs: tuple[int, ...]
    ys: tuple[int, ...]
    clusters: tuple[int, ...] = ()
    pens: tuple[int, ...] = ()


Placed = tuple[GlyphRun, SetLine]


@dataclass(slots=True)
class _Group:
    """The parts of one text: lines, or clusters along a curve."""

    size: float
    parts: list[Path] = field(default_factory=list)


class Assembler:
    """Draws shaped lines of any number of fonts. Not for use by two threads at once."""

    def __init__(self, *, cache: FilePath | None = None) -> None:
        """Set up.

        Args:
            cache: folder where united outlines are kept from run to run; None keeps them in memory.
        """
        self._cache = cache
        self._stitchers: dict[str, Stitcher] = {}
        self._turners: dict[str, Turner] = {}
        self._kept: dict[str, int] = {}
        self._late: list[Way] = []
        self._closeness: dict[str, Closeness] = {}
        self._plain: dict[str, str] = {}

    def add(
        self, font_key: str, data: bytes, *, index: int = 0, variation: Mapping[str, float] | None = None
    ) -> None:
        """Make a font known by its key, unless it is already."""
        if font_key not in self._stitchers:
            self._know(font_key, Stitcher(GlyphReader(data, index, variation)))

    def _know(self, font_key: str, stitcher: Stitcher) -> None:
        """Take a stitcher up, with what is kept of its font."""
        self._stitchers[font_key] = stitcher
        if self._cache is not None:
            load(stitcher, file_of(self._cache, font_key))
        self._kept[font_key] = stitcher.pool.points.size

    def keep(self) -> None:
        """Write what is new to the cache, if there is one: to be called when a job is done."""
        for font_key, stitcher in self._stitchers.items():
            size = stitcher.pool.points.size
            if self._cache is not None and size != self._kept[font_key]:
                save(stitcher, file_of(self._cache, font_key))
                self._kept[font_key] = size
        for closeness in self._closeness.values():
            closeness.keep()

    def closeness(self, font_key: str) -> Closeness:
        """How fine a font's glyphs are and how close they stand.

        Raises:
            KeyError: the font was not added.
        """
        known = self._closeness.get(font_key)
        if known is None:
            stitcher = self._stitchers[font_key]
            file = file_of(self._cache, font_key).with_suffix(".json") if self._cache else None
            plain = self.closeness(self._plain[font_key]) if font_key in self._plain else None
            known = self._closeness[font_key] = Closeness(
                stitcher.glyph, stitcher.reader.upem, file, known_of(font_key, FORMAT), plain
            )
        return known

    def stout(self, run: GlyphRun, line: SetLine) -> GlyphRun:
        """A run with strokes as stout as its line asks for: in a font of its own, which is known from now on.

        Raises:
            KeyError: the font was not added.
        """
        plain = self._stitchers[run.font_key]
        size = line.size * plain.reader.upem / run.upem
        stoutness = Stoutness.of(line.stroke, line.gap, size)
        key = stoutness.key(run.font_key)
        if key not in self._stitchers:
            self._plain[key] = run.font_key
            self._know(key, Stitcher(StoutReader(plain.reader, plain.glyph, stoutness)))
        if line.turns:
            return replace(run, font_key=key)
        return kept_apart(run, key, self.closeness(run.font_key), self.closeness(key), line.gap / size)

    def box(self, font_key: str, gid: int) -> tuple[float, float, float, float] | None:
        """The exact bounds (x0, y0, x1, y1) of a glyph, font units, y up; None if it is blank.

        Raises:
            KeyError: the font was not added.
        """
        return self._stitchers[font_key].glyph(gid).box

    def glyph(self, font_key: str, gid: int) -> Glyph:
        """A glyph's outline, united.

        Raises:
            KeyError: the font was not added.
        """
        return self._stitchers[font_key].glyph(gid)

    def paths(self, groups: Sequence[Sequence[Placed]]) -> list[Path]:
        """For each group of lines in place one path in mm, all contours closed, no overlaps left.

        Raises:
            KeyError: a font was not added.
        """
        for stitcher in self._stitchers.values():
            stitcher.trim()
        gathered = [_Group(min((each.size for _, each in group), default=1.0)) for group in groups]
        straight: dict[str, list[tuple[_Group, int, Walk, float, complex]]] = {}
        turned: dict[str, list[tuple[_Group, int, Turned]]] = {}
        for into, group in zip(gathered, groups, strict=True):
            for plain, each in group:
                run = self.stout(plain, each) if each.stroke else plain
                if each.turns:
                    line = (into, len(into.parts), (run, each.turns))
                    turned.setdefault(run.font_key, []).append(line)
                else:
                    walk = self._stitchers[run.font_key].walk(run.gids, run.xs, run.ys)
                    entry = (into, len(into.parts), walk, each.size / run.upem, each.origin)
                    straight.setdefault(run.font_key, []).append(entry)
                into.parts.append(Path.empty())
        for key, entries in straight.items():
            pool = self._stitchers[key].pool
            for begin in range(0, len(entries), BATCH):
                batch = entries[begin : begin + BATCH]
                drawn = assemble(pool, [entry[2:] for entry in batch])
                for (into, at, *_), path in zip(batch, drawn, strict=True):
                    into.parts[at] = path
        for key, lines in turned.items():
            drawn = self._turner(key).paths([line for _, _, line in lines])
            for (into, at, _), path in zip(lines, drawn, strict=True):
                into.parts[at] = path
        return [self._together(group) for group in gathered]

    def notes(self) -> tuple[Problem, ...]:
        """What should be known of unions that did not go the plain way, so far."""
        found = [
            _note(incident.way, f"{stitcher.reader.title}: {_named(stitcher.reader, incident)}")
            for stitcher in self._stitchers.values()
            for incident in stitcher.incidents
        ]
        found += [_note(way, "Lettering that meets where it was placed") for way in self._late]
        return tuple(dict.fromkeys(found))

    def _together(self, group: _Group) -> Path:
        """The parts of a text as one path."""
        if len(group.parts) == 1:
            return group.parts[0]
        path, ways = unite_placed(group.parts, group.size)
        self._late += [way for way in ways if way is not Way.PLAIN]
        return path

    def _turner(self, font_key: str) -> Turner:
        """What draws a font's turned lines."""
        turner = self._turners.get(font_key)
        if turner is None:
            turner = self._turners[font_key] = Turner(self._stitchers[font_key])
        return turner


_REMARKS: Final = {
    Way.PLAIN: (Severity.NOTE, "united-at-once", "was united as a whole, not letter by letter", ""),
    Way.ROUNDED: (
        Severity.NOTE,
        "united-rounded",
        "could only be united after rounding to whole font units",
        "The change is far below what a beam can show.",
    ),
    Way.FLATTENED: (
        Severity.NOTE,
        "united-flattened",
        "could only be united as a fine polygon",
        "Its curves are now many short lines; it looks the same.",
    ),
    Way.UNCHECKED: (
        Severity.LOOK,
        "union-unchecked",
        "was united, but the check of the result failed",
        "Look closely at this lettering, or choose another font.",
    ),
}
"""For each way of a union what is said of it: severity, code, message, hint."""


def _note(way: Way, subject: str) -> Problem:
    """What is said of a union that did not go the plain way."""
    severity, code, message, hint = _REMARKS[way]
    return Problem(severity, code, f"{subject} {message}.", hint)


def _named(reader: GlyphReader, incident: Incident) -> str:
    """The glyphs of an incident by name."""
    return " + ".join([reader.name(gid) for gid in incident.gids])
