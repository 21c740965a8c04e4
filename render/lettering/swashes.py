"""Swashes: which letters of a font have one, and whether it would strike the letters beside it.

A swash is taken from the font, never made. Which features hold a font's swashes is said in the list of fonts
where someone has looked at them (``swash_end``, ``swash_start``); for other fonts these are tried in turn:
the forms for the end or beginning of a word, the swashes, and the stylistic sets that the font itself calls
swashes. There a form counts only if the letter is still in it, and if it reaches out.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Final

from render.lettering.alternates import named
from render.lettering.assemble import GlyphRun
from render.lettering.detail import polygon_of
from render.lettering.features import choices
from render.lettering.finest import finest_of_letter
from render.lettering.font import Font
from render.lettering.outlines import GlyphReader
from render.lettering.scripts import prepare
from render.lettering.shaping import parse_feature, shape
from render.lettering.single_stroke import HANDS
from render.lettering.union import unite
from render.model import SetLine, Setting

if TYPE_CHECKING:
    from render.lettering.shelf import Entry, Shelf

REACH: Final = 0.1
"""How far, in em, the ink of a swash must reach beyond that of the plain letter, to any side..."""
LISTED_REACH: Final = 0.04
"""...and where someone has looked at it."""

KEEPS: Final = 0.6
"""Share of the plain letter that its swash must cover, within NEAR em: else it is another letter, or none."""
NEAR: Final = 0.02

APART: Final = 0.03
"""Free room, in em, that a swash keeps from other letters; from the one beside it as the plain one does..."""
JOIN: Final = 0.002
"""...and where those two join, it may cover so much more of it, in square em, than the plain one does."""

Corners = tuple[float, float, float, float]

_LETTER: Final = re.compile(r"[^\W\d_]")


@dataclass(frozen=True, slots=True)
class Swashed:
    """A text with a swash.

    Attributes:
        setting: that gives it.
        thinnest: thinnest stroke of the letter with the swash, em.
    """

    setting: Setting
    thinnest: float


class Swashes:
    """Finds the swashes of the fonts of a shelf. Not for use by two threads at once."""

    def __init__(self, shelf: Shelf) -> None:
        """Look on `shelf`."""
        self._shelf = shelf
        self._readers: dict[str, GlyphReader] = {}
        self._shapes: dict[tuple[str, int], Any] = {}
        self._thin: dict[tuple[str, int], float] = {}

    def features(self, font: str, *, start: bool) -> tuple[str, ...]:
        """The features in which a font may hold swashes for the start or end of a text, in order.

        Raises:
            FontError: there is no such font.
        """
        if font in HANDS:
            return ()
        return _features(self._shelf.find(font), self._shelf.entry(font), start=start)

    def of(
        self, text: str, setting: Setting, *, start: bool, along: SetLine | None = None
    ) -> Iterator[Swashed]:
        """The swashes that the first or last letter of a text can take without striking another letter.

        With `along` the letters stand as in that line, which is along a path.

        A feature that the setting names itself, on or off, is left as it is.

        Raises:
            FontError: there is no such font.
        """
        tags = self.features(setting.font, start=start)
        at = 0 if start else len(text) - 1
        if not tags or not text or not _LETTER.match(text[at]):
            return
        font = self._shelf.find(setting.font)
        listed = bool(_listed(self._shelf.entry(setting.font), start=start))
        plain = self._run(font, text, setting)
        if plain is None:
            return
        decided = {parse_feature(feature)[0] for feature in setting.features}
        for tag in tags:
            if tag in decided:
                continue
            asked = replace(setting, features=(*setting.features, f"{tag}[{at}]=1"))
            run = self._run(font, text, asked)
            if run is None or run.gids == plain.gids or len(run.gids) != len(plain.gids):
                continue
            mine = 0 if start else len(run.gids) - 1
            if self._is_swash(font, plain, run, mine, listed=listed) and self._is_free(
                font, plain, run, mine, along
            ):
                yield Swashed(asked, self._thinnest(font, run.gids[mine]))

    def _run(self, font: Font, text: str, setting: Setting) -> GlyphRun | None:
        """The glyphs of a text all in one font and from left to right; None if it is otherwise."""
        prepared = prepare(text, font.covered)
        if len(prepared) != len(text) or font.lacks(prepared):
            return None
        shaped = shape(
            font,
            prepared,
            font_key=font.sha256,
            language=setting.language,
            features=setting.features,
            tracking=round(setting.tracking * font.upem),
            word_space=round(setting.word_space * font.upem),
        )
        forward = list(shaped.characters) == sorted(shaped.characters)
        return shaped.run if forward and 0 not in shaped.run.gids else None

    def _is_swash(self, font: Font, plain: GlyphRun, run: GlyphRun, at: int, *, listed: bool) -> bool:
        """Whether a form is the letter with something that reaches out."""
        before, after = self._shape(font, plain.gids[at]), self._shape(font, run.gids[at])
        if before.is_empty or after.is_empty:
            return False
        a, b = before.bounds, after.bounds
        reach = max(a[0] - b[0], a[1] - b[1], b[2] - a[2], b[3] - a[3]) / font.upem
        if listed:
            return bool(reach >= LISTED_REACH)
        kept = before.intersection(after.buffer(NEAR * font.upem)).area
        return bool(reach >= REACH and kept >= KEEPS * before.area)

    def _is_free(self, font: Font, plain: GlyphRun, run: GlyphRun, at: int, along: SetLine | None) -> bool:
        """Whether the form keeps clear of the other letters, save for joining the one beside it as ever."""
        shift = run.pens[1] - plain.pens[1] if at == 0 and len(run.pens) > 1 else 0
        mine = self._placed(font, run, at, along, -shift)
        beside = 1 if at == 0 else at - 1
        for other in range(len(run.gids)):
            if other == at or self._shape(font, run.gids[other]).is_empty:
                continue
            letter = self._placed(font, run, other, along)
            if _boxes_apart(mine.bounds, letter.bounds) > APART * font.upem:
                continue
            if other != beside:
                if mine.distance(letter) < APART * font.upem:
                    return False
                continue
            before, letter_before = (self._placed(font, plain, k, along) for k in (at, other))
            joined = before.intersection(letter_before).area
            if joined and mine.intersection(letter).area > joined + JOIN * font.upem**2:
                return False
            gap = min(APART * font.upem, before.distance(letter_before))
            if not joined and mine.distance(letter) < gap:
                return False
        return True

    def _placed(self, font: Font, run: GlyphRun, at: int, along: SetLine | None, shift: float = 0.0) -> Any:
        """The polygon of a glyph where it stands in its line, font units, y up.

        Along a path a first letter with a swash is moved by `shift`, so that it ends where the plain one did.
        """
        from shapely.affinity import affine_transform, translate

        shape = self._shape(font, run.gids[at])
        x, y = float(run.xs[at]), float(run.ys[at])
        if along is None:
            return translate(shape, x, y)
        turn, size = along.turns[run.clusters[at]], along.size
        x += shift - run.pens[run.clusters[at]]
        a, b, c, d = turn.a / size, turn.b / size, turn.c / size, turn.d / size
        e, f = turn.e / size * font.upem, turn.f / size * font.upem
        return affine_transform(shape, (a, -c, -b, d, a * x - c * y + e, d * y - b * x - f))

    def _shape(self, font: Font, gid: int) -> Any:
        """The polygon of a glyph, font units."""
        key = font.sha256, gid
        if key not in self._shapes:
            reader = self._readers.setdefault(font.sha256, GlyphReader(font.data))
            self._shapes[key] = polygon_of(unite(reader.contours(gid)).contours)
        return self._shapes[key]

    def _thinnest(self, font: Font, gid: int) -> float:
        """The thinnest stroke of a glyph, em."""
        key = font.sha256, gid
        if key not in self._thin:
            reader = self._readers.setdefault(font.sha256, GlyphReader(font.data))
            self._thin[key] = finest_of_letter(unite(reader.contours(gid)).contours, font.upem)[0]
        return self._thin[key]


def _boxes_apart(one: Corners, other: Corners) -> float:
    """How far two boxes are from each other along x or y, the larger; negative where they overlap."""
    return max(one[0] - other[2], other[0] - one[2], one[1] - other[3], other[1] - one[3])


def _listed(entry: Entry, *, start: bool) -> tuple[str, ...]:
    return entry.swash_start if start else entry.swash_end


def _features(font: Font, entry: Entry, *, start: bool) -> tuple[str, ...]:
    """The features to try, in order."""
    listed = _listed(entry, start=start)
    if listed:
        return tuple(tag for tag in listed if tag in font.features)
    has = choices(font)
    tags: list[str] = [tag for tag in ("init" if start else "fina", "swsh") if tag in has]
    tags += [tag for tag in has if tag.startswith("ss") and "swash" in named(font, tag).lower()]
    return tuple(tag for tag in tags if tag not in entry.ornaments)
