"""How a name is spelled: its letters one by one, its direction and its language, for those who check it."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

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

_JOINERS: Final = "\u200c\u200d"
_AM: Final = "\u0e33\u0eb3"
"""Thai and Lao AM, which never stand alone (Unicode Standard Annex 29, table 2: SpacingMark)."""


@dataclass(frozen=True, slots=True)
class Sign:
    """One letter with its marks as a reader counts it; `name` only where it could be mistaken."""

    text: str
    name: str = ""


def letters(text: str) -> tuple[str, ...]:
    """The text in letters as a reader counts them, each with its marks.

    The rules of Unicode Standard Annex 29 (extended grapheme clusters) that names need: a mark, a joiner or
    what follows a joiner stays with what it stands on; jamo of one syllable and pairs of regional indicators
    stay together.
    """
    found: list[str] = []
    for character in text:
        if found and _belongs(found[-1], character):
            found[-1] += character
        else:
            found.append(character)
    return tuple(found)


def _belongs(before: str, character: str) -> bool:
    """Whether a character is no letter of its own after the letter `before`."""
    if before in "\r\n":
        return before == "\r" and character == "\n"
    if unicodedata.category(character)[0] == "M" or character in _JOINERS or character in _AM:
        return True
    code, last = ord(character), ord(before[-1])
    if 0x1F3FB <= code <= 0x1F3FF or 0xE0020 <= code <= 0xE007F:  # skin tones, tags
        return True
    if before[-1] == "\u200d":
        return len(before) > 1 and unicodedata.category(before[0]) == "So"
    if 0x1F1E6 <= code <= 0x1F1FF:
        return len(before) == 1 and 0x1F1E6 <= last <= 0x1F1FF
    return (0x1160 <= code <= 0x11FF and 0x1100 <= last <= 0x11FF) or (
        0x1100 <= code <= 0x115F and 0x1100 <= last <= 0x115F
    )


def signs(text: str) -> Iterator[Sign]:
    """The letters of a text, those named that could be mistaken for others."""
    for letter in letters(text):
        yield Sign(letter, SIGNS.get(letter, ""))


def direction(text: str) -> str:
    """``rtl`` or ``ltr``: that of the first strong letter (Unicode Standard Annex 9, rules P2 and P3)."""
    for character in text:
        kind = unicodedata.bidirectional(character)
        if kind in ("L", "R", "AL"):
            return "ltr" if kind == "L" else "rtl"
    return "ltr"


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
