"""Fonts that take over for one that lacks some letters of a name: the nearest in character that have them.

What a sign writer would do: a word is never written in two hands, and neither are two words of one script. So
where the font lacks anything of a script, all its letters are set in the nearest font that has them all, and
the rest of the text stays as it is. Where that leaves something undrawn, the whole text goes to one font.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from render.errors import FontError
from render.lettering.faces import unlike
from render.lettering.scripts import JOINED_SCRIPTS, TOGETHER, prepare, script_of, writing_of
from render.model import Line, Setting

if TYPE_CHECKING:
    from render.lettering.font import Font
    from render.lettering.letterer import Letterer
    from render.lettering.shelf import Entry

_EAST_ASIAN: Final = frozenset("一あ가")
"""Who has one of these is a font for Han, kana or hangul."""

_HAN: Final = {"Jpan": "Hani", "Kore": "Hani", "Hans": "Hani", "Hant": "Hani", **TOGETHER}
"""ISO 15924's codes for ways of writing of which Han, kana and hangul are part."""

_TRADITIONAL: Final = ("hant", "tw", "hk", "mo")
"""Parts of the tag of a language that is written in traditional Han letters."""

JOINING: Final = 0.7
"""What it counts if one font joins its letters and the other does not: as much as strokes twice as thick."""


def stand_in(letterer: Letterer, line: Line) -> Setting | None:
    """How to set a text whose own font lacks some of it, or None if no fonts at hand have all of it.

    Fonts are compared by :func:`render.lettering.faces.unlike` and by whether they join; of equals the first
    by id is taken. Tracking is dropped where letters join; features stay with the font they were chosen for.
    """
    for way in _ways(letterer, line):
        setting = replace(line.setting, stand_ins=tuple(way.items()))
        if any(joins(letterer, font, script) for script, font in setting.stand_ins):
            setting = replace(setting, tracking=0.0)
        if not letterer.line(line.text, setting).missing:
            return setting
    return None


def _ways(letterer: Letterer, line: Line) -> Iterator[dict[str, str]]:
    """By script the fonts that take over: script by script, then one font for all."""
    words = words_by_script(line.text)
    if len(words) > 1:
        by_script = dict(_by_script(letterer, line, words))
        found = {script: font for script, font in by_script.items() if font}
        if len(found) == len(by_script):
            yield found
    whole = _nearest(letterer, line.setting, next(iter(words), "Latn"), line.text)
    if whole:
        yield dict.fromkeys(words or ("Latn",), whole)


def _meant(entry: Entry, font: Font, script: str) -> bool:
    """Whether a font is meant for a script. One for Han carries Latin letters for use beside Han alone."""
    if entry.scripts:
        return script in {_HAN.get(one, one) for one in entry.scripts}
    return script == "Hani" or font.covered.isdisjoint(_EAST_ASIAN)


def joins(letterer: Letterer, font: str, script: str) -> bool:
    """Whether a script's letters join in a font."""
    return script in JOINED_SCRIPTS or letterer.joined(font)


def words_by_script(text: str) -> dict[str, str]:
    """The scripts of a text in order, each with its words; a word of two scripts counts for both.

    >>> words_by_script("Anna & Мария")
    {'Latn': 'Anna', 'Cyrl': 'Мария'}
    """
    words: dict[str, list[str]] = {}
    for word in text.split():
        scripts = dict.fromkeys(script for c in word if (script := writing_of(c)))
        for script in scripts:
            mine = "".join(c for c in word if writing_of(c) in (script, "")) if len(scripts) > 1 else word
            words.setdefault(script, []).append(mine)
    return {script: " ".join(some) for script, some in words.items()}


def _by_script(letterer: Letterer, line: Line, words: dict[str, str]) -> Iterator[tuple[str, str | None]]:
    """The scripts that the font lacks something of, each with the nearest font that has it all."""
    font = letterer.face(line.setting.font).font
    for script, some in words.items():
        if font.lacks(prepare(some, font.covered, line.setting.language)):
            yield script, _nearest(letterer, line.setting, script, some)


def _nearest(letterer: Letterer, setting: Setting, script: str, text: str) -> str | None:
    """The nearest font that has a text, of those meant for its script if one of them has."""
    names = letterer.nearest(setting.font, script)
    if script == "Hani":
        way = _way_of_writing(setting.language, text)
        names = tuple(sorted(names, key=lambda name: way not in letterer.shelf.entry(name).scripts))
    for name in names:
        font = letterer.face(name).font
        if font.lacks(prepare(text, font.covered, setting.language)):
            continue
        alone = replace(setting, font=name, features=(), tracking=0.0)
        if not letterer.line(text, alone).missing:
            return name
    return None


def _way_of_writing(language: str, text: str) -> str:
    """How a text with Han, kana or hangul is written, by its letters or language (ISO 15924), if known.

    >>> _way_of_writing("zh-TW", "林"), _way_of_writing("", "マリー"), _way_of_writing("", "林")
    ('Hant', 'Jpan', '')
    """
    scripts = {script_of(c) for c in text}
    if scripts & {"Hira", "Kana"}:
        return "Jpan"
    if "Hang" in scripts:
        return "Kore"
    first, *others = language.lower().split("-")
    if first == "zh":
        return "Hant" if any(part in _TRADITIONAL for part in others) else "Hans"
    return {"ja": "Jpan", "ko": "Kore"}.get(first, "")


def ranked(letterer: Letterer, own_font: str, script: str) -> tuple[str, ...]:
    """All other fonts at hand that have letters of a script, from the nearest, those meant for it first."""
    own = letterer.face(own_font)
    ranks: list[tuple[bool, float, str]] = []
    for name in letterer.shelf.ids():
        if name == own.font.id:
            continue
        try:
            font = letterer.shelf.find(name)
        except FontError:  # told when it is asked for by name
            continue
        if not any(writing_of(c) == script for c in font.covered):
            continue
        other = letterer.face(name)
        rank = unlike(own, other) + JOINING * (own.joined != other.joined)
        ranks.append((not _meant(letterer.shelf.entry(name), font, script), rank, name))
    return tuple(name for _, _, name in sorted(ranks))
