"""Facts about characters: their script, their look-alikes in other scripts, what cannot be seen."""

from __future__ import annotations

import unicodedata
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
