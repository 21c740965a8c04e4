"""Facts about characters: their script, their look-alikes in other scripts, what cannot be seen."""

from __future__ import annotations

import re
import unicodedata
from collections import Counter
from functools import cache
from typing import Final

# Letters drawn alike in most fonts, as the code charts of the Unicode Standard show: other script, Latin.
_ALIKE: Final = {
    "CYRILLIC": (
        "аеорсухіјѕһԁԛԝӏёїАВЕІЈКМНОРСТУХЅԚԜЁЇ",
        "aeopcyxijshdqwlëïABEIJKMHOPCTYXSQWËÏ",
    ),
    "GREEK": (
        "οανικρυόάίΑΒΕΖΗΙΚΜΝΟΡΤΥΧΪΫ",
        "oavikpuóáíABEZHIKMNOPTYXÏŸ",
    ),
}
LOOKALIKES: Final[dict[str, dict[str, str]]] = {
    "LATIN": {other: latin for pair in _ALIKE.values() for other, latin in zip(*pair, strict=True)},
    **{script: dict(zip(latin, other, strict=True)) for script, (other, latin) in _ALIKE.items()},
}
"""For each script, what letters of other scripts would be in it if they were mistaken for its own."""

_JOINING: Final = (
    "ARABIC SYRIAC MONGOLIAN DEVANAGARI BENGALI GURMUKHI GUJARATI ORIYA TAMIL TELUGU KANNADA MALAYALAM "
    "SINHALA "
    "TIBETAN MYANMAR KHMER"
)
JOINING: Final = frozenset(_JOINING.split())
"""Scripts in which the zero-width joiner and non-joiner are part of the spelling (Unicode Standard, 23.2)."""

JOINERS: Final = frozenset("\u200c\u200d")
BIDI_CONTROLS: Final = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
"""Characters with the property Bidi_Control (Unicode Standard Annex 9, table 1)."""

UNSEEN: Final = frozenset(
    "\u00ad\u034f\u115f\u1160\u17b4\u17b5\u180e\u200b\u2060\u2061\u2062\u2063\u2064\u3164\ufeff\uffa0"
)
"""Characters that show nothing and mean nothing in a name (most have Default_Ignorable_Code_Point)."""


_WORD = re.compile(r"[^\W\d_]+")


@cache
def script_of(char: str) -> str:
    """The script of a letter, after its Unicode name; empty for marks, digits and signs."""
    if not char.isalpha() or unicodedata.category(char) == "Lm":
        return ""
    words = unicodedata.name(char, "").replace("-", " ").split()
    if not words or words[0] in (
        "MODIFIER",
        "FEMININE",
        "MASCULINE",
        "MICRO",
        "FULLWIDTH",
        "HALFWIDTH",
        "MATHEMATICAL",
    ):
        return ""
    return {"HIRAGANA": "CJK", "KATAKANA": "CJK", "BOPOMOFO": "CJK"}.get(words[0], words[0])


def describe_char(char: str) -> str:
    """A character by code point and Unicode name, for messages: ``U+200B ZERO WIDTH SPACE``."""
    code = f"U+{ord(char):04X}"
    name = unicodedata.name(char, "")
    return (
        f"{code} {name}"
        if name
        else f"{code} (a control character)"
        if unicodedata.category(char) == "Cc"
        else code
    )


def is_emoji(char: str) -> bool:
    """Whether it is a pictograph, or what joins or colours pictographs."""
    if char == "\N{REPLACEMENT CHARACTER}":
        return False
    return unicodedata.category(char) == "So" or "\U0001f3fb" <= char <= "\U0001f3ff" or char == "\ufe0f"


def in_one_script(text: str) -> tuple[str, str]:
    """The text with look-alikes put into the script of their word, and the letters of another script.

    A word counts as mixed if its letters are of several scripts that have look-alikes, or if all of it could
    be look-alikes of the script in which most of the text is. A word that cannot be put into one stays.
    """
    most = Counter(filter(None, map(script_of, text))).most_common(1)
    mended, odd = text, ""
    for match in _WORD.finditer(text):
        scripts = Counter(filter(None, map(script_of, match[0])))
        if len(scripts) == 1 and most[0][0] not in scripts and most[0][1] > len(match[0]):
            fixed, strange = _into(match[0], most[0][0])
            strange = strange if fixed else ""
        elif len(scripts) > 1 and scripts.keys() <= LOOKALIKES.keys():
            fixed, strange = _mixed(match[0], [script for script, _ in scripts.most_common()])
        else:
            continue
        odd += strange
        mended = mended[: match.start()] + (fixed or match[0]) + mended[match.end() :]
    return mended, odd


def _mixed(word: str, scripts: list[str]) -> tuple[str, str]:
    for script in scripts:
        fixed, strange = _into(word, script)
        if fixed:
            return fixed, strange
    return "", _into(word, scripts[0])[1]


def _into(word: str, script: str) -> tuple[str, str]:
    """The word put into `script` (empty if that cannot be), and its letters of other scripts."""
    strange = "".join(char for char in word if script_of(char) not in ("", script))
    table = LOOKALIKES.get(script, {})
    if not all(char in table for char in strange):
        return "", strange
    return "".join(table[char] if script_of(char) not in ("", script) else char for char in word), strange
