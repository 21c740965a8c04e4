"""Names of people: taken apart into given names, surname and its particle, as far as custom allows."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from typing import Final

PARTICLES: Final = frozenset(
    (
        *("af", "al", "am", "ap", "aus", "auf", "av", "ben", "bin", "bint", "da", "dal", "dalla", "das"),
        *("de", "dei", "del", "della", "delle", "degli", "den", "der", "des", "di", "do", "dos", "du"),
        *("el", "ibn", "la", "las", "le", "lo", "los", "op", "'t", "’t", "ten", "ter", "tot"),
        *("van", "vande", "vanden", "vander", "vom", "von", "zu", "zum", "zur"),
    )
)
"""Words that belong to the surname after them. Common practice, no source; only used to split names."""

TITLES: Final = frozenset(
    (
        *("dr", "fr", "frau", "herr", "hr", "lady", "lord", "miss", "mlle", "mme", "mr", "mrs", "ms", "mx"),
        *("prof", "professor", "rev", "sir", "sr", "sra", "srta", "dott", "ing", "mag", "capt", "sgt", "lt"),
    )
)
"""Words before a name that are no part of it. Common practice, no source."""

SUFFIXES: Final = frozenset(("jr", "jnr", "snr", "ii", "iii", "iv", "esq", "phd", "md", "msc", "bsc"))
"""Words after a name that are no part of it. Common practice, no source."""

SURNAME_FIRST: Final = frozenset(("hu", "ja", "ko", "vi", "yue", "zh"))
"""Languages whose names begin with the surname (Unicode CLDR 42, person names, ``nameOrderLocales``)."""

TWO_SURNAMES: Final = frozenset(("es", "ca", "gl", "eu"))
"""Languages in which people bear the surnames of both parents. Common practice, no source."""

_LINKS: Final = frozenset(("y", "i", "e"))
"""Words that may link two surnames of one person, as well as two people."""

_WORDS_FOR_AND: Final = {
    **dict.fromkeys(("de",), ("und",)),
    **dict.fromkeys(("fr",), ("et",)),
    **dict.fromkeys(("es",), ("y", "e")),
    **dict.fromkeys(("it", "pt"), ("e", "ed")),
    **dict.fromkeys(("nl",), ("en",)),
    **dict.fromkeys(("da", "nb", "nn", "no"), ("og",)),
    **dict.fromkeys(("sv",), ("och",)),
    **dict.fromkeys(("fi", "et"), ("ja",)),
    **dict.fromkeys(("pl", "hr", "ca", "sl"), ("i", "in")),
    **dict.fromkeys(("cs", "sk"), ("a",)),
    **dict.fromkeys(("tr",), ("ve",)),
    **dict.fromkeys(("hu",), ("és",)),
}
"""How languages write *and* between two people."""


@dataclass(frozen=True, slots=True)
class Person:
    """A name in its parts, as in Unicode CLDR's person names (UTS 35, part 8); each may be empty.

    Attributes:
        given: first given name or names.
        informal: what the person is called, where that differs.
        given2: further given names.
        prefix: particle of the surname, such as ``van``.
        core: surname without it.
        surname2: second surname.
        surname_first: whether the name is written with its surname first.
    """

    given: str = ""
    informal: str = ""
    given2: str = ""
    prefix: str = ""
    core: str = ""
    surname2: str = ""
    surname_first: bool = False


def couple(text: str, language: str = "") -> tuple[Person, ...]:
    """The people that a text names: one, or two joined by ``&``, ``+`` or the language's *and*.

    ``given & given surname`` shares the surname; a part after `` / `` is the surname for certain, as in
    ``Ida Lou / Vale`` or ``Ida & Otto / Vale``.

    >>> [person.core for person in couple("Ida & Otto Vale")]
    ['Vale', 'Vale']
    """
    text, _, surname = (part.strip() for part in f"{text} ".partition(" / "))
    tag = language.partition("-")[0].lower()
    parts = _people(text, _WORDS_FOR_AND.get(tag, ("and",)))
    if surname:
        return tuple(_with_surname(part, surname, tag) for part in parts[:2])
    people = [split_name(part, language) for part in parts[:2]]
    if len(people) == 2 and not people[0].core:
        first, second = people
        people[0] = Person(
            first.given, first.informal, first.given2, second.prefix, second.core, second.surname2,
            second.surname_first,
        )  # fmt: skip
    return tuple(people)


def _people(text: str, words: tuple[str, ...]) -> list[str]:
    """The texts of the people in a text; *y*, *e* and *i* may also link the two surnames of one."""
    for match in re.finditer(rf"\s*[&+]\s*|\s+(?:and|{'|'.join(words)})\s+", text):
        left, right = text[: match.start()].strip(), text[match.end() :].strip()
        sure = match[0].strip().lower() not in _LINKS
        if left and right and left.split()[-1].lower() not in PARTICLES and (sure or " " not in left):
            return [left, right]
    return [text.strip()]


def _with_surname(given: str, surname: str, tag: str) -> Person:
    """A person whose surname is known for certain."""
    words = _plain(given.split())
    prefix, core, second = _surname(surname.split(), tag)
    first, rest = (words[0], " ".join(words[1:])) if words else ("", "")
    return Person(first, "", rest, prefix, core, second, tag in SURNAME_FIRST)


def split_name(text: str, language: str = "") -> Person:
    """One person's whole name, split by custom: what cannot be known is guessed as most people are called.

    A comma sets the surname first (``van Rijn, Anna``). Without one the surname is the last word with the
    particles before it; in Hungarian, Vietnamese and East Asian languages the first word; in Spanish and
    Catalan the last two of three and more words. Titles and suffixes such as ``Dr`` and ``Jr`` are left out.

    >>> split_name("Anna Maria van der Berg").prefix, split_name("van Rijn, Anna").core
    ('van der', 'Rijn')
    """
    tag = language.partition("-")[0].lower()
    before, comma, after = text.partition(",")
    if comma and _plain(after.split()):
        words = _plain(after.split())
        tail = [word for word in words if word.lower() not in PARTICLES]
        stray = [word for word in words if word.lower() in PARTICLES] if len(tail) < len(words) else []
        prefix, core, second = _surname([*stray, *before.split()], tag)
        return Person(
            tail[0] if tail else "", "", " ".join(tail[1:]), prefix, core, second, tag in SURNAME_FIRST
        )
    words = _plain(before.split())
    if len(words) < 2:
        return Person(given=" ".join(words), surname_first=tag in SURNAME_FIRST)
    if tag in SURNAME_FIRST:
        return _surname_leads(words, tag)
    begin = _surname_begins(words, tag)
    prefix, core, second = _surname(words[begin:], tag)
    return Person(words[0], "", " ".join(words[1:begin]), prefix, core, second)


def _surname_leads(words: list[str], tag: str) -> Person:
    """The parts of a name that begins with its surname; in Vietnamese the given name is the last word."""
    if tag == "vi":
        return Person(words[-1], "", " ".join(words[1:-1]), "", words[0], "", True)
    return Person(words[1], "", " ".join(words[2:]), "", words[0], "", True)


def _surname_begins(words: list[str], tag: str) -> int:
    """The index of the first word of the surname."""
    last = len(words) - 1
    begin = last
    if tag in TWO_SURNAMES and last >= 2:
        linked = [k for k in range(2, last) if words[k].lower() in _LINKS]
        begin = linked[0] - 1 if linked else last - 1
    while begin > 1 and words[begin - 1].lower() in PARTICLES | {"und"}:
        begin -= 1
    lowered = next((k for k in range(1, begin) if words[k] in PARTICLES), begin)
    return min(begin, lowered)


def _surname(words: list[str], tag: str) -> tuple[str, str, str]:
    """Particle, core and second surname of the words of a surname."""
    head = 0
    while head < len(words) - 1 and words[head].lower() in PARTICLES | {"und"}:
        head += 1
    core = words[head:]
    second = ""
    if tag in TWO_SURNAMES and len(core) > 1:
        linked = [k for k, word in enumerate(core) if k and word.lower() in _LINKS]
        at = linked[0] if linked else 1
        while at < len(core) and core[at].lower() in PARTICLES | _LINKS:
            at += 1
        core, second = core[: linked[0] if linked else 1], " ".join(core[at:])
    return " ".join(words[:head]), " ".join(core), second


def _plain(words: list[str]) -> list[str]:
    """The words of a name without titles before it and suffixes after it."""

    def bare(word: str) -> str:
        return unicodedata.normalize("NFC", word).rstrip(".,").lower()

    while len(words) > 1 and bare(words[0]) in TITLES:
        words = words[1:]
    while len(words) > 1 and bare(words[-1]) in SUFFIXES | {"sr"}:
        words = words[:-1]
    return words
