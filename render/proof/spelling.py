"""How a name is spelled: its letters one by one, its direction and its language, for those who check it."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from render.text.bidi import base_level
from render.text.letters import graphemes

_SCRIPTS: Final = {
    "ARABIC": "Arab", "ARMENIAN": "Armn", "BENGALI": "Beng", "CJK": "Hani", "CYRILLIC": "Cyrl",
    "DEVANAGARI": "Deva", "ETHIOPIC": "Ethi", "GEORGIAN": "Geor", "GREEK": "Grek", "GUJARATI": "Gujr",
    "GURMUKHI": "Guru", "HANGUL": "Hang", "HEBREW": "Hebr", "HIRAGANA": "Jpan", "KANNADA": "Knda",
    "KATAKANA": "Jpan", "KHMER": "Khmr", "LAO": "Laoo", "LATIN": "Latn", "MALAYALAM": "Mlym",
    "MYANMAR": "Mymr", "SINHALA": "Sinh", "TAMIL": "Taml", "TELUGU": "Telu", "THAI": "Thai",
}  # fmt: skip
"""First word of a letter's Unicode name: its script in ISO 15924."""

SIGNS: Final = {
    " ": "space",
    "\N{NO-BREAK SPACE}": "fixed space",
    "'": "straight apostrophe",
    "\N{RIGHT SINGLE QUOTATION MARK}": "apostrophe",
    "\N{LEFT SINGLE QUOTATION MARK}": "turned comma",
    "\N{MODIFIER LETTER TURNED COMMA}": "okina",
    "-": "hyphen",
    "\N{NON-BREAKING HYPHEN}": "hyphen",
    "\N{EN DASH}": "dash",
    "\N{EM DASH}": "long dash",
    ".": "full stop",
    ",": "comma",
    "&": "and sign",
    "|": "upright stroke",
}
"""Signs that are easily taken for one another, and the words that tell them apart."""


@dataclass(frozen=True, slots=True)
class Sign:
    """One letter with its marks as a reader counts it; `name` only where it could be mistaken."""

    text: str
    name: str = ""


def signs(text: str) -> Iterator[Sign]:
    """The letters of a text, those named that could be mistaken for others."""
    for letter in graphemes(text):
        yield Sign(letter, SIGNS.get(letter, ""))


def direction(text: str) -> str:
    """``rtl`` or ``ltr``: that of the first strong letter (Unicode Standard Annex 9, rules P2 and P3)."""
    return "rtl" if base_level(text) else "ltr"


def language(text: str, known: str = "") -> str:
    """A BCP 47 tag for the text: the known one, else ``und`` with the script of its first letter."""
    if known:
        return known
    for character in text:
        if character.isalpha():
            word = unicodedata.name(character, "").replace("-", " ").split(" ")[0]
            if word in _SCRIPTS:
                return f"und-{_SCRIPTS[word]}"
    return "und"
