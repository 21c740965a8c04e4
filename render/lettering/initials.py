"""Initials by the conventions of Unicode CLDR: which parts of a name give one, in which order and case."""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from render.lettering.people import Person
from render.text.casing import upper
from render.text.letters import graphemes


class Length(StrEnum):
    """How many initials, in CLDR's words."""

    LONG = "long"
    MEDIUM = "medium"
    SHORT = "short"


@dataclass(frozen=True, slots=True)
class Custom:
    """What one language does.

    Attributes:
        formal, informal: parts by length: g given, i what the person is called, h further given names,
            s surname with its particle, p the particle, c the surname without it, t second surname.
        capitals: whether initials become capitals.
    """

    formal: tuple[str, str, str] = ("ghs", "s", "s")
    informal: tuple[str, str, str] = ("is", "i", "i")
    capitals: bool = True


_PLAIN: Final = Custom()
_ALWAYS_ALL: Final = Custom(("ghs", "ghs", "ghs"), ("ghs", "ghs", "ghs"))
CUSTOMS: Final = {
    **dict.fromkeys(("da", "sv", "el", "et"), _ALWAYS_ALL),
    **dict.fromkeys(("fi", "id"), Custom(informal=("ihs", "i", "i"))),
    **dict.fromkeys(("hu", "zh"), Custom(formal=("sgh", "s", "s"), informal=("si", "i", "i"))),
    **dict.fromkeys(("ja", "ko"), Custom(("g", "g", "g"), ("i", "i", "i"))),
    "ca": Custom(formal=("ghs", "s", "c")),
    "cs": Custom(("ghc", "gc", "c"), ("ic", "ic", "i"), capitals=False),
    "es": Custom(formal=("gst", "s", "s"), informal=("ist", "i", "i")),
    "fr": Custom(formal=("ghs", "is", "s"), informal=("is", "is", "i")),
    "nl": Custom(formal=("ghpc", "pc", "pc"), informal=("ipc", "i", "i"), capitals=True),
    "tr": Custom(formal=("ghs", "ghs", "ghs"), informal=("is", "is", "is")),
    "uk": Custom(formal=("ghst", "ghst", "s"), informal=("is", "ist", "i")),
    "vi": Custom(formal=("shg", "s", "s"), informal=("si", "i", "i")),
}
"""Customs that differ from English, by language: Unicode CLDR 42, ``personNames``, usage monogram, as
ICU4J 72 sets them. Polish dots, which CLDR puts after each initial, are left to whoever sets the letters."""

_SURNAME_FIRST: Final = {"ghs": "sgh", "ghst": "sgh", "gst": "sgh", "is": "si", "ist": "si", "ihs": "sih"}
"""The order of parts where a name is written with its surname first (CLDR, ``surnameFirst``)."""


def initials(
    person: Person, language: str = "", length: Length = Length.LONG, *, formal: bool = True
) -> tuple[str, ...]:
    """The initials of one person in the order in which the language sets them.

    The rules are those of Unicode CLDR's person names for the usage *monogram* (UTS 35, part 8; CLDR 42).
    One thing is ours: a Dutch IJ is one letter (common practice, no source).

    >>> initials(Person("Mary Sue", given2="Hamish", core="Watson"), "en")
    ('M', 'H', 'W')
    """
    tag = language.partition("-")[0].lower()
    custom = CUSTOMS.get(tag, _PLAIN)
    pattern = (custom.formal if formal else custom.informal)[list(Length).index(length)]
    if person.surname_first:
        pattern = _SURNAME_FIRST.get(pattern, pattern)
    if pattern in ("s", "pc", "c") and not (person.core or person.prefix):
        pattern = "g"
    parts = {
        "g": person.given or person.informal,
        "i": person.informal or person.given,
        "h": person.given2,
        "s": person.prefix or person.core,
        "p": person.prefix,
        "c": person.core,
        "t": person.surname2,
    }
    letters = [first_letter(parts[part], tag, capital=custom.capitals and part != "p") for part in pattern]
    return tuple(letter for letter in letters if letter)


def first_letter(text: str, language: str = "", *, capital: bool = True) -> str:
    """The first letter of a text with all that belongs to it (a grapheme cluster, Unicode UAX 29).

    Upper case follows the language: Turkish and Azeri i has its dot, a Dutch ij is one letter, and a Greek
    capital at the head of a word stands without its accent.
    """
    text = unicodedata.normalize("NFC", text)
    letters = graphemes(text)
    start = next((k for k, letter in enumerate(letters) if letter[0].isalpha()), None)
    if start is None:
        return ""
    dutch = language == "nl" and "".join(letters[start : start + 2]).lower() == "ij"
    letter = "".join(letters[start : start + (2 if dutch else 1)])
    return upper(letter, language) if capital else letter


def given_outright(text: str) -> tuple[str, ...]:
    """The letters of a monogram that was given outright, one by one, as they are to stand.

    Spaces, dots, hyphens, bullets and ampersands between them do not count.

    >>> given_outright("M. H. T."), given_outright("A & B")
    (('M', 'H', 'T'), ('A', 'B'))
    """
    return tuple(letter for letter in graphemes(unicodedata.normalize("NFC", text)) if letter[0].isalnum())
