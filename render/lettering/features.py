"""What a font offers of OpenType features, and what of a text's wishes it cannot fulfil."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Final

from render.lettering.font import Font
from render.lettering.shaping import parse_feature
from render.lettering.single_stroke import HANDS
from render.model import Problem, Setting, Severity

if TYPE_CHECKING:
    from render.lettering.shelf import Shelf

SMALL_CAPS: Final = ("smcp", "c2sc", "pcap", "c2pc")
"""The features that set small or petite capitals."""

FEATURE_NAMES: Final = {
    "afrc": "fractions, one above the other",
    "c2pc": "petite capitals for capitals",
    "c2sc": "small capitals for capitals",
    "calt": "letters that suit their neighbours",
    "case": "signs at the height of capitals",
    "dlig": "ornamental ligatures",
    "fina": "forms for the end of a word",
    "frac": "fractions",
    "hist": "historical forms",
    "hlig": "historical ligatures",
    "init": "forms for the beginning of a word",
    "liga": "ligatures",
    "lnum": "figures as tall as capitals",
    "onum": "figures that rise and fall like small letters",
    "ordn": "ordinals",
    "pcap": "petite capitals",
    "pnum": "figures of their own widths",
    "salt": "alternate forms",
    "smcp": "small capitals",
    "subs": "lowered",
    "sups": "raised",
    "swsh": "swashes",
    "titl": "forms for titles",
    "tnum": "figures of one width",
    "unic": "capitals and small letters of one height",
    "zero": "zero with a stroke",
}
"""What the features that a person may ask for do (OpenType 1.9, "Registered features"), in our words."""

_NUMBERED: Final = re.compile(r"(ss|cv)(\d\d)")
_KINDS: Final = {"ss": "stylistic set", "cv": "character variant"}


def is_choice(tag: str) -> bool:
    """Whether a feature is one that a person may ask for; the others are the font's own affair."""
    return tag in FEATURE_NAMES or _NUMBERED.fullmatch(tag) is not None


def title_of(tag: str) -> str:
    """What a feature does, in words."""
    match = _NUMBERED.fullmatch(tag)
    return f"{_KINDS[match[1]]} {int(match[2])}" if match else FEATURE_NAMES.get(tag, tag)


def choices(font: Font) -> tuple[str, ...]:
    """The features of a font that a person may ask for, sorted."""
    return tuple(tag for tag in font.features if is_choice(tag))


def lacking(font: Font, features: Iterable[str]) -> tuple[str, ...]:
    """The tags that are asked for, switched on, and not in the font, each once."""
    wanted = (parse_feature(feature) for feature in features)
    has = (*font.features, *_placing(font.shaper.face))
    return tuple(dict.fromkeys(tag for tag, _, _, value in wanted if value and tag not in has))


@lru_cache(maxsize=64)
def _placing(face: Any) -> frozenset[str]:
    """The tags of a font's features that place glyphs (GPOS)."""
    tags: set[str] = set()
    for at, _ in enumerate(face.get_table_script_tags("GPOS")):
        languages = range(len(face.get_script_language_tags("GPOS", at)))
        for language in (0xFFFF, *languages):  # 0xFFFF: the script's own, by HarfBuzz's convention
            tags.update(face.get_language_feature_tags("GPOS", at, language))
    return frozenset(tags)


def without_small_capital(font: Font, text: str, features: Iterable[str]) -> tuple[str, ...]:
    """The small letters of a text for which the font has no small capital, though it has them for others."""
    asked = {tag: True for tag, _, _, value in map(parse_feature, features) if value and tag in SMALL_CAPS}
    if not {"smcp", "pcap"} & asked.keys():
        return ()
    small = dict.fromkeys(c for c in text if c.islower() and c in font.covered)
    return tuple(c for c in small if _glyphs(font, c, asked) == _glyphs(font, c, {}))


def _glyphs(font: Font, character: str, features: dict[str, bool]) -> list[int]:
    import uharfbuzz as hb

    buffer = hb.Buffer()
    buffer.add_str(character)
    buffer.guess_segment_properties()
    hb.shape(font.shaper, buffer, features)
    return [info.codepoint for info in buffer.glyph_infos]


# ---------------------------------------------------------------- told

_NAMED_FONTS: Final = 4
_USUAL_LETTERS: Final = "abcdefghijklmnopqrstuvwxyz"


def unfulfilled(shelf: Shelf, setting: Setting) -> list[Problem]:
    """What a setting asks of its font that the font does not have: one problem a feature (LOOK).

    Raises:
        FontError: there is no such font.
        ValueError: a feature is none.
    """
    if not setting.features:
        return []
    if setting.font in HANDS:
        has: tuple[str, ...] = ()
        tags = tuple(dict.fromkeys(tag for tag, _, _, value in map(parse_feature, setting.features) if value))
    else:
        font = shelf.find(setting.font)
        has, tags = choices(font), lacking(font, setting.features)
    told = [_told(shelf, setting.font, tag, has) for tag in tags]
    return [*told, *_ornaments(shelf, setting)]


def _ornaments(shelf: Shelf, setting: Setting) -> Iterator[Problem]:
    """Features that put ornaments in the place of letters, where they are asked for (LOOK)."""
    if setting.font in HANDS:
        return
    for tag in shelf.entry(setting.font).ornaments:
        if any(name == tag and value for name, _, _, value in map(parse_feature, setting.features)):
            message = f"In {setting.font} the feature {tag} puts ornaments in the place of letters."
            hint = (
                f"Nobody can read the name then; `monikerf show font {setting.font}` draws its other forms."
            )
            yield Problem(Severity.LOOK, "ornaments", message, hint)


def _told(shelf: Shelf, font: str, tag: str, has: tuple[str, ...]) -> Problem:
    listed = f"It has {', '.join(has)}." if has else "It has no forms to choose from."
    if tag not in SMALL_CAPS:
        message = f"The font {font} has no {tag} ({title_of(tag)}), so the text is set without."
        hint = f"{listed} `monikerf show font {font}` draws them."
        return Problem(Severity.LOOK, "no-such-feature", message, hint)
    others = [other for other in shelf.ids() if other != font and _draws(shelf, other, tag)]
    more = f" and {len(others) - _NAMED_FONTS} more" if len(others) > _NAMED_FONTS else ""
    who = f"Fonts that have them: {', '.join(others[:_NAMED_FONTS])}{more}." if others else listed
    message = (
        f"The font {font} has no {title_of(tag)} ({tag}); ordinary letters are set, never shrunken ones."
    )
    return Problem(Severity.LOOK, "no-small-capitals", message, who)


def _draws(shelf: Shelf, name: str, tag: str) -> bool:
    """Whether a font draws small capitals by a feature: some fonts have it for a few letters only."""
    from render.errors import FontError

    try:
        font = shelf.find(name)
    except FontError:  # told when it is asked for by name
        return False
    return tag in font.features and not without_small_capital(font, _USUAL_LETTERS, (f"{tag}=1",))


def incomplete(shelf: Shelf, text: str, setting: Setting) -> Problem | None:
    """The problem that small capitals are asked for and some letters of a text have none (LOOK)."""
    if not setting.features or setting.font in HANDS:
        return None
    font = shelf.find(setting.font)
    if lacking(font, setting.features):
        return None
    missing = without_small_capital(font, text, setting.features)
    if not missing:
        return None
    message = (
        f"The font {setting.font} has no small capital for {', '.join(missing)}, which stay small letters."
    )
    hint = "Set the text in capitals or in small letters, or choose another font with small capitals."
    return Problem(Severity.LOOK, "no-small-capital", message, hint, value=text)
