"""What may be odd about a name as a name: empty words, capitals, order, titles, numbers, signs."""

from __future__ import annotations

import re
import unicodedata
from typing import Final

from render.intake.hygiene import Check, Finding
from render.intake.letters import is_emoji, script_of
from render.model import Severity

_NOTE, _LOOK, _STOP = Severity.NOTE, Severity.LOOK, Severity.STOP


def _words(text: str) -> frozenset[str]:
    return frozenset(text.split())


_EMPTY_WORDS: Final = _words("null na n/a none nan nil true false undefined void inf")
_PLACEHOLDERS: Final = _words(
    "tbc tbd tba guest unknown test example gast invité unbekannt x xx xxx name n.n. anonymous "
    "plus-one plusone"
) | {"plus one", "+1", "to be confirmed", "guest of honour"}
_SHEET_ERRORS: Final = _words("#N/A #REF! #NAME? #VALUE! #DIV/0! #NULL! #NUM! #SPILL! #CALC!")
_TITLES: Final = _words(
    "mr mrs ms miss mx dr prof sir dame lady lord rev fr herr frau hr fru mme mlle m monsieur madame "
    "don doña sr sra "
    "srta sig sigra dott dottssa dhr mevr ing dipl mag pan pani pán paní bay bayan κος κα г-н г-жа"
)
_SUFFIXES: Final = _words("jr sr ii iii iv phd md esq dds rn mba msc bsc ba ma obe mbe")
_DEGREE = re.compile(r"(?:[^\W\d_]{1,4}\.)+[^\W\d_]{0,4}\Z")
_CASED: Final = frozenset(("LATIN", "GREEK", "CYRILLIC", "ARMENIAN"))
_FORMULA = re.compile(r"=|[+@-](?=[A-Za-z]+\()")
_COUNT = re.compile(
    r"(?<![\w.])\d{1,3}\s?[x×]\b|[x×]\s?\d{1,3}\b|\(\s*\d{1,3}\s*\)|\+\s?\d{1,2}\b|\b\d{1,3}\s(?:pieces|pcs|copies|stück|stk)\b",
    re.IGNORECASE,
)
_COUNT_WORD = re.compile(
    r"\b(?:two|three|four|five|six|twice|zweimal|zwei|drei|deux|trois|twee|drie)\b",
    re.IGNORECASE,
)
_SIGNS: Final = frozenset("@#_<>[]{}|\\*=%:;!")
_SYMBOLS: Final = frozenset(("So", "Sm", "Sc"))


def empty_words(text: str) -> Finding | None:
    """Words that programs write for "nothing", and words that people write for "not known yet"."""
    plain = text.strip().casefold()
    if text.strip().upper() in _SHEET_ERRORS:
        return Finding(
            _STOP,
            "sheet-error",
            "This is an error message of a spreadsheet, not a name.",
            "Mend the formula.",
        )
    if plain in _EMPTY_WORDS:
        return Finding(
            _LOOK,
            "empty-word",
            "This may be a name or a program's word for nothing; it was kept as it is.",
            _SURE,
        )
    if plain in _PLACEHOLDERS:
        return Finding(_LOOK, "placeholder", "This may stand for a name that is not known yet.", _SURE)
    return None


_SURE: Final = "Ask if you are not sure."


def letterless(text: str) -> Finding | None:
    """Nothing in it that could be lettered as a name."""
    if not text.strip() or any(char.isalnum() or is_emoji(char) for char in text):
        return None
    if unicodedata.category(text.strip()[0]) in ("Mn", "Co", "Cn", "Cs"):
        return None
    return Finding(
        _STOP, "no-letters", "There is no letter in it.", "Put the name in the table, or delete the row."
    )


def capitals(text: str) -> Finding | None:
    """A name all in capitals or without any; which form is meant only its bearer knows."""
    cased = [c for c in text if (c.isupper() or c.islower()) and script_of(c) in _CASED]
    words = [word for word in re.split(r"[\W\d_]+", text) if len(word) > 1]
    if len(cased) < 3 or not words:
        return None
    if all(char.isupper() for char in cased):
        return Finding(
            _LOOK, "all-capitals", "The name is all in capitals.", "Type it as it should be lettered."
        )
    if all(char.islower() for char in cased):
        return Finding(
            _LOOK, "no-capitals", "The name has no capital letter.", "Type it as it should be lettered."
        )
    return None


def reversed_order(text: str) -> Finding | None:
    """``Surname, Given``; a suffix such as Jr. after the comma is not that."""
    parts = [part.strip() for part in text.split(",")]
    if len(parts) < 2:
        return None
    if len(parts) == 2 and (parts[1].rstrip(".").casefold() in _SUFFIXES or _DEGREE.match(parts[1])):
        return None
    if len(parts) > 2 or not all(parts):
        return Finding(
            _LOOK,
            "comma",
            "There is a comma in the name.",
            "Is it one name? Type it as it should be lettered.",
        )
    message = "The surname seems to stand first; or these are two people."
    return Finding(_LOOK, "surname-first", message, "", f"{parts[1]} {parts[0]}")


def titles(text: str) -> Finding | None:
    """A form of address that will be lettered as part of the name."""
    first, _, rest = text.strip().partition(" ")
    if not rest or first.rstrip(".").casefold() not in _TITLES:
        return None
    return Finding(
        _NOTE,
        "title",
        f"{first} is a form of address and will be lettered.",
        "Delete it if it is not wanted.",
    )


def formula(text: str) -> Finding | None:
    """Something that a spreadsheet would take for a formula; here it is text."""
    if not _FORMULA.match(text.lstrip()):
        return None
    return Finding(
        _LOOK, "formula-like", "It looks like a formula; it was kept as text.", "Put the name in its place."
    )


def counts(text: str) -> Finding | None:
    """A number of pieces written among words; nobody guesses at it."""
    match = _COUNT.search(text) or _COUNT_WORD.search(text)
    if match is None:
        return None
    return Finding(
        _LOOK,
        "quantity-in-words",
        f"{match[0].strip()!r} may be a number of pieces; it was not counted.",
        "Put the number in a column of its own, headed Quantity.",
    )


def digits(text: str) -> Finding | None:
    """A digit in a name."""
    if not any(char.isdigit() for char in text):
        return None
    return Finding(_LOOK, "digits", "There is a digit in the name.", _SURE)


def signs(text: str) -> Finding | None:
    """Emoji, symbols and signs that are unusual in a name and rare in fonts."""
    found = [c for c in text if c != "\ufffd" and (c in _SIGNS or unicodedata.category(c) in _SYMBOLS)]
    found = [c for c in found if c != "+"]
    if not found:
        return None
    emoji = any(is_emoji(char) for char in found)
    seen = " ".join(dict.fromkeys(found))
    return Finding(
        _LOOK,
        "emoji" if emoji else "sign",
        f"There is {seen} in the name; fonts may not have it.",
        "Delete it if it is not wanted.",
    )


NAME_CHECKS: Final[tuple[Check, ...]] = (
    empty_words,
    letterless,
    formula,
    reversed_order,
    capitals,
    titles,
    counts,
    digits,
    signs,
)
"""The checks for names, after the checks for every text."""

NOTE_CHECKS: Final[tuple[Check, ...]] = (counts,)
"""The checks for notes."""
