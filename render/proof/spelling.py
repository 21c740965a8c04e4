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
    if unicodedata.category(before[-1]) == "Cc":
        return before == "\r" and character == "\n"
    if unicodedata.category(character)[0] == "M" or character in _JOINERS or character in _AM:
        return True
    code = ord(character)
    if 0x1F3FB <= code <= 0x1F3FF or 0xE0020 <= code <= 0xE007F:  # skin tones, tags
        return True
    if _is_flag(code):
        return len(before) == 1 and _is_flag(ord(before))
    if before[-1] == "\u200d":
        return len(before) > 1 and unicodedata.category(before[0]) == "So" and not _is_flag(ord(before[0]))
    return _jamo(code) in _AFTER_JAMO.get(_jamo(ord(before[-1])), "")


def _is_flag(code: int) -> bool:
    """Whether it is a regional indicator; two of them make a flag."""
    return 0x1F1E6 <= code <= 0x1F1FF


_AFTER_JAMO: Final = {"L": "LVSY", "V": "VT", "S": "VT", "T": "T", "Y": "T"}
"""What stays together in Hangul: rules GB6 to GB8, S a syllable without and Y one with a final."""


def _jamo(code: int) -> str:
    """A Hangul letter's kind: L, V, T as in the standard, S and Y for its LV and LVT; else ``-``."""
    if 0xAC00 <= code <= 0xD7A3:
        return "Y" if (code - 0xAC00) % 28 else "S"
    kinds = ((0x1100, 0x115F, "L"), (0x1160, 0x11A7, "V"), (0x11A8, 0x11FF, "T"))
    return next((kind for first, last, kind in kinds if first <= code <= last), "-")


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
