"""Capitals and small letters, as each language makes them.

Sources: Unicode Character Database, SpecialCasing.txt (15.0) for Turkish, Azeri and Lithuanian, the final
sigma and ß, as Python has them where they hold everywhere; Unicode CLDR, transform *Greek-Upper*, for Greek
capitals without accents; ICU's *TitlecaseTransform* for the Dutch IJ; and, each where it is used, what is
from elsewhere.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable
from typing import Final

_TURKIC: Final = frozenset(("tr", "az", "crh", "gag", "tt"))
"""Languages that tell i from ı: SpecialCasing.txt names the first two, the others have the same letters."""

_UP: Final = str.maketrans({"i": "İ", "ı": "I"})
_DOWN: Final = str.maketrans({"İ": "i", "I": "ı"})

_DOT_KEPT: Final = re.compile("([ij]\u0328?)\u0307")
"""Lithuanian: i and j with the dot that they keep below an accent; a capital has none."""

_ACCENTED_I: Final = re.compile("([IJ]\u0328?)(?=[\u0300\u0301\u0303])")
_GREEK_MARKED: Final = re.compile("[\u0370-\u03ff][\u0300-\u036f]+")
_GREEK_ACCENTS: Final = dict.fromkeys(map(ord, "\u0300\u0301\u0304\u0306\u0313\u0314\u0342"))
_GREEK_HIATUS: Final = re.compile(
    "([αεηιουωΑΕΗΙΟΥΩ][\u0313\u0314]?[\u0300\u0301\u0342])([ιυΙΥ])(?![\u0300-\u036f])"
)
"""A vowel with an accent before ι or υ: the accent told that they are two, and two dots must tell it then."""

_GREEK_OR: Final = re.compile("(?<![^\\W_])η\u0301(?![\\w\u0300-\u036f])")
"""The word *or*, which keeps its accent, since the article is written the same."""

_WORD_START: Final = re.compile(r"(?<![^\s\-])\w")
_DUTCH_IJ: Final = re.compile(r"(?<![^\s\-])(?:[iI][jJ]|ĳ)(?=\w|\b)")


def primary(language: str) -> str:
    """The language of a BCP 47 tag alone, in lower case.

    >>> primary("tr-TR")
    'tr'
    """
    return language.partition("-")[0].lower()


def upper(text: str, language: str = "") -> str:
    """The text in capitals.

    Greek capitals lose their accents but keep their dots. Where the language is German, ß becomes ẞ, which
    keeps Strauß and Strauss apart (Council for German Orthography, 2017: allowed beside SS); else SS.

    >>> upper("Iris Jiří", "tr"), upper("Άννα Μαΐου", "el"), upper("Groß", "de"), upper("Groß")
    ('IRİS JİŘÍ', 'ΑΝΝΑ ΜΑΪΟΥ', 'GROẞ', 'GROSS')
    """
    change = _UPPER.get(primary(language))
    return change(text) if change else text.upper()


def lower(text: str, language: str = "") -> str:
    """The text in small letters.

    >>> lower("IŞIK", "az"), lower("ΓΙΩΡΓΟΣ", "el")
    ('ışık', 'γιωργος')
    """
    change = _LOWER.get(primary(language))
    return change(text) if change else text.lower()


def title(text: str, language: str = "") -> str:
    """The first letter of each word made a capital; the rest is left, so McGee and O’Neil survive.

    A Dutch IJ is one letter; a Greek capital at the head of a word keeps its accent.

    >>> title("ijsbrand mcGee", "nl"), title("άννα", "el"), title("iris", "tr"), title("ǆana")
    ('IJsbrand McGee', 'Άννα', 'İris', 'ǅana')
    """
    tag = primary(language)
    if tag == "nl":
        text = _DUTCH_IJ.sub(lambda match: "Ĳ" if match[0] == "ĳ" else "IJ", text)
    if tag in _TURKIC:
        return _WORD_START.sub(lambda match: upper(match[0], tag), text)
    return _WORD_START.sub(lambda match: match[0].title(), text)


def _turkic_lower(text: str) -> str:
    """Without the dot that stands by itself after an I (After_I)."""
    return text.replace("I\u0307", "i").translate(_DOWN).lower()


def _lithuanian_upper(text: str) -> str:
    parts = unicodedata.normalize("NFD", text)
    return unicodedata.normalize("NFC", _DOT_KEPT.sub(r"\1", parts).upper())


def _lithuanian_lower(text: str) -> str:
    parts = unicodedata.normalize("NFD", text)
    return unicodedata.normalize("NFC", _ACCENTED_I.sub("\\1\u0307", parts).lower())


def _greek_upper(text: str) -> str:
    parts = _GREEK_HIATUS.sub("\\1\\2\u0308", unicodedata.normalize("NFD", text))
    kept = {match.start() for match in _GREEK_OR.finditer(parts)}
    bare = _GREEK_MARKED.sub(
        lambda match: match[0] if match.start() in kept else match[0].translate(_GREEK_ACCENTS), parts
    )
    return unicodedata.normalize("NFC", unicodedata.normalize("NFC", bare).upper())


_UPPER: Final[dict[str, Callable[[str], str]]] = {
    **dict.fromkeys(_TURKIC, lambda text: text.translate(_UP).upper()),
    "lt": _lithuanian_upper,
    "el": _greek_upper,
    "de": lambda text: text.replace("ß", "ẞ").upper(),
    "hy": lambda text: text.replace("և", "ԵՎ").upper(),  # ICU; elsewhere ԵՒ, the older spelling
}
"""What makes capitals, where the language matters."""

_LOWER: Final[dict[str, Callable[[str], str]]] = {
    **dict.fromkeys(_TURKIC, _turkic_lower),
    "lt": _lithuanian_lower,
}
"""What makes small letters, where the language matters."""
