"""All that a font can do with a text: each form that looks different, with the code to ask for it by."""

from __future__ import annotations

import io
import string
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

from render.lettering.catalogue import ALPHABETS
from render.lettering.features import choices, title_of
from render.lettering.font import Font
from render.lettering.outlines import GlyphReader
from render.lettering.scripts import prepare
from render.lettering.shaping import shape

MOST_VALUES: Final = 20
"""So many alternates of one letter are tried."""

MOST_LETTERS: Final = 12
"""So many letters stand for a feature where no sample was given."""

LETTERS: Final = (*string.ascii_uppercase, *string.ascii_lowercase, *string.digits, "&", "ß", "æ", "œ")
LIGATURES: Final = ("fi", "ff", "fl", "ffi", "tt", "Th", "ct", "st", "sp", "ch", "ll", "ss", "tz")
"""Pairs that fonts are seen to draw as one (no source)."""

NOT_SHOWN: Final = ("afrc", "frac", "ordn", "subs", "sups")
"""Features for parts of a text, such as fractions: over a whole name they say nothing."""

SCRIPTS: Final = ("Hebrew", "Arabic", "Persian and Urdu", "Devanagari", "Thai")
"""Alphabets whose letters are looked at beside the Latin ones."""

_USUALLY_ON: Final = ("calt", "clig", "liga")
"""Features that are on by themselves (OpenType 1.9, "Registered features"), of those to choose from."""


@dataclass(frozen=True, slots=True)
class Alternate:
    """One way in which a font can set a text.

    Attributes:
        codes: what to ask for, such as ``swsh`` or ``salt=2``; several that give the same; none for the plain
            way.
        title: in words, the font's own where it has some.
        text: what it is shown with.
        features: the first code in HarfBuzz's notation.
    """

    codes: tuple[str, ...]
    title: str
    text: str
    features: tuple[str, ...] = ()


def alternates(font: Font, sample: str, language: str = "") -> tuple[Alternate, ...]:
    """The plain form of a sample, then every form that looks different; equal ones are one."""
    seen: dict[object, int] = {}
    found: list[Alternate] = []
    for code, tag, feature in _ways(font, sample, language):
        glyphs = _set(font, sample, language, feature)
        known = seen.setdefault(glyphs, len(found))
        if known == len(found):
            codes, features = ((code,), (feature,)) if code else ((), ())
            found.append(Alternate(codes, _title(font, tag, feature), sample, features))
        elif known:
            found[known] = _also(found[known], code, font, tag)
    return tuple(found)


def not_shown(font: Font, shown: Sequence[Alternate]) -> tuple[str, ...]:
    """The features of a font that change nothing in what is shown, or were not tried."""
    used = {code.lstrip("-")[:4] for each in shown for code in each.codes}
    return tuple(tag for tag in choices(font) if tag not in used)


def letters_changed(font: Font) -> tuple[Alternate, ...]:
    """For each feature the letters, figures and pairs that it changes, as far as it changes some."""
    found: list[Alternate] = []
    seen: dict[object, int] = {}
    for tag in _to_show(font):
        off = tag in _USUALLY_ON
        feature = f"{tag}={int(not off)}"
        changed = [
            text
            for text in (*LETTERS, *LIGATURES, *(c for name in SCRIPTS for c in ALPHABETS[name]))
            if not font.lacks(text) and _set(font, text, "", feature) != _set(font, text, "", "")
        ]
        if changed:
            code = f"-{tag}" if off else tag
            text = " ".join(changed[:: max(1, len(changed) // MOST_LETTERS)][:MOST_LETTERS])
            glyphs = text, _set(font, text, "", feature)
            known = seen.setdefault(glyphs, len(found))
            if known == len(found):
                found.append(Alternate((code,), _title(font, tag, feature), text, (feature,)))
            else:
                found[known] = _also(found[known], code, font, tag)
    return tuple(found)


def _also(one: Alternate, code: str, font: Font, tag: str) -> Alternate:
    """The same form under one more code; a name that the font itself gives it is preferred."""
    title = named(font, tag) if tag in _own_names(font) and ":" not in one.title else one.title
    return replace(one, codes=(*one.codes, code), title=title)


def _title(font: Font, tag: str, feature: str) -> str:
    if not tag:
        return "as it is"
    return f"without {named(font, tag)}" if feature.endswith("=0") else named(font, tag)


def named(font: Font, tag: str) -> str:
    """What a feature does: the font's own name for it where it has one, else ours."""
    own = _own_names(font).get(tag, "")
    return f"{title_of(tag)}: {own}" if own else title_of(tag)


def _to_show(font: Font) -> list[str]:
    return [tag for tag in choices(font) if tag not in NOT_SHOWN]


def _ways(font: Font, sample: str, language: str) -> list[tuple[str, str, str]]:
    """Code, tag and feature of everything to try, the plain way first."""
    ways = [("", "", "")]
    for tag in _to_show(font):
        if tag in _USUALLY_ON:
            ways.append((f"-{tag}", tag, f"{tag}=0"))
            continue
        before = None
        for value in range(1, MOST_VALUES + 1):
            glyphs = _set(font, sample, language, f"{tag}={value}")
            if glyphs in (before, _set(font, sample, language, "")):
                break
            before = glyphs
            ways.append((tag if value == 1 else f"{tag}={value}", tag, f"{tag}={value}"))
    return ways


def _set(font: Font, text: str, language: str, feature: str) -> tuple[object, ...]:
    """What is seen of a text: outlines and their places."""
    features = (feature,) if feature else ()
    run = shape(font, prepare(text, font.covered), font_key="", language=language, features=features).run
    return tuple((_outline(font, gid), x, y) for gid, x, y in zip(run.gids, run.xs, run.ys, strict=True))


@lru_cache(maxsize=4096)
def _outline(font: Font, gid: int) -> tuple[bytes, ...]:
    """The outline of a glyph as it is drawn, to tell whether two are the same."""
    return tuple(contour.points.tobytes() for contour in _reader(font).contours(gid))


@lru_cache(maxsize=4)
def _reader(font: Font) -> GlyphReader:
    return GlyphReader(font.data)


@lru_cache(maxsize=8)
def _own_names(font: Font) -> dict[str, str]:
    """The names that a font gives its stylistic sets and variants (OpenType 1.9, features ssXX and cvXX)."""
    from fontTools.ttLib import TTFont, TTLibError

    names: dict[str, str] = {}
    try:
        with TTFont(io.BytesIO(font.data), lazy=True) as file:
            for record in file["GSUB"].table.FeatureList.FeatureRecord:
                params = record.Feature.FeatureParams
                number = getattr(params, "UINameID", None) or getattr(params, "FeatUILabelNameID", None)
                name = file["name"].getDebugName(number) if number else None
                if name and name.strip() != record.FeatureTag:
                    names.setdefault(record.FeatureTag, " ".join(name.split()))
    except (TTLibError, KeyError, AttributeError):  # a font without names has none
        return {}
    return names
