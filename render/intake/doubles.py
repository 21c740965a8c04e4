"""Names that stand twice in a table, also in two spellings.

Spellings of one name are told by what gets lost on the way into a table: accents, spaces, hyphens and
apostrophes, letters of another script that look alike, ä typed as ae, and two letters that changed places. A
letter more or less does not count: Ana and Anna, Jan and Jana are different people. (Common practice, no
source; `tests/intake/test_doubles.py` holds it against lists of real names.)
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass, field
from typing import Final

from render.intake.letters import LOOKALIKES

SWAPPED_FROM: Final = 6
"""Letters that a name has at least for two of them to have changed places: short names are too much alike."""

_MARKS: Final = re.compile("[\u0300-\u036f\u0591-\u05c7\u064b-\u0652]")
"""Accents, Hebrew points and Arabic vowel signs, which are left out in writing; other marks are letters."""

_PLAIN: Final = str.maketrans(
    {"ø": "o", "ł": "l", "đ": "d", "ð": "d", "ı": "i", "æ": "a", "œ": "o", "þ": "th", "ə": "e", "ŋ": "n"}
)
"""Letters that do not come apart into one of the alphabet and an accent, and how they are typed without."""

_TYPED: Final = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue", "ø": "oe", "æ": "ae", "å": "aa"})
"""How some of them are typed where the keys are missing (German, Danish, Norwegian)."""

_ALPHABET: Final = re.compile(r"[a-zα-ωа-я]+")


@dataclass(frozen=True, slots=True)
class Double:
    """A name that was there before.

    Attributes:
        row: where it stands first.
        name: how it is spelt there.
        same: whether it is the same, letter by letter, capitals aside.
    """

    row: int
    name: str
    same: bool


@dataclass(slots=True)
class Doubles:
    """The names of a table so far."""

    _same: dict[str, Double] = field(default_factory=dict)
    _near: dict[str, Double] = field(default_factory=dict)
    _swapped: dict[str, dict[str, Double]] = field(default_factory=dict)

    def of(self, row: int, name: str) -> Double | None:
        """The first of the names before that this is the same as, or else nearly; and it is kept."""
        key = " ".join(unicodedata.normalize("NFC", name.casefold()).split())
        if not key:
            return None
        if key in self._same:
            return self._same[key]
        self._same[key] = Double(row, name, same=True)
        mine = Double(row, name, same=False)
        spelt = plain(key)
        if not _telling(spelt):
            return None
        found = self._near.setdefault(spelt, mine)
        typed = plain(key.translate(_TYPED))
        if typed != spelt:
            other = self._near.setdefault(typed, mine)
            found = other if found is mine else found
        letters = "".join(sorted(spelt)) if _swappable(spelt) else ""
        if letters:
            alike = self._swapped.setdefault(letters, {})
            if found is mine:
                found = next((alike[other] for other in alike if is_swapped(spelt, other)), mine)
            alike.setdefault(spelt, mine)
        return found if found is not mine else None


def plain(name: str) -> str:
    """A name without all that gets lost: two names that are alike in this are spellings of one.

    >>> plain("Zoë O’Neill-Ruiz"), plain("zoe oneill ruiz")
    ('zoeoneillruiz', 'zoeoneillruiz')
    """
    text = unicodedata.normalize("NFD", name.casefold())
    text = unicodedata.normalize("NFC", _MARKS.sub("", text)).translate(_PLAIN)
    text = "".join(LOOKALIKES["LATIN"].get(c, c) for c in text)
    return "".join(c for c in text if unicodedata.category(c)[0] not in "CPSZ")


def is_swapped(one: str, other: str) -> bool:
    """Whether two texts of one length differ by two neighbours that changed places.

    >>> is_swapped("margeurite", "marguerite"), is_swapped("maria", "amira")
    (True, False)
    """
    if len(one) != len(other) or one == other:
        return False
    at = next(k for k, (a, b) in enumerate(zip(one, other, strict=True)) if a != b)
    return one[at : at + 2] == other[at : at + 2][::-1] and one[at + 2 :] == other[at + 2 :]


def _telling(spelt: str) -> bool:
    """Whether a name says enough to be held against others: no number, and no two letters such as NA."""
    numbered = any(c.isdigit() for c in spelt)
    return bool(spelt) and not numbered and (len(spelt) > 2 or not _ALPHABET.fullmatch(spelt))


def _swappable(spelt: str) -> bool:
    return len(spelt) >= SWAPPED_FROM and _ALPHABET.fullmatch(spelt) is not None
