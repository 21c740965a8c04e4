"""What may be wrong with a text, character by character: found and explained, with a mend where there is one.

Each check looks at one thing and says what it found as a :class:`Finding`. The checks run in the order of
:data:`TEXT_CHECKS`, each on what the mends before it would give, so that a proposal is always the whole of
it.
"""

from __future__ import annotations

import html
import re
import unicodedata
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Final

from render.intake.letters import (
    BIDI_CONTROLS,
    JOINERS,
    JOINING,
    UNSEEN,
    describe_char,
    in_one_script,
    is_emoji,
)
from render.intake.mojibake import unscramble
from render.model import Severity


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing found in a text.

    Attributes:
        mended: the whole text with this put right, or None where only a person can tell.
    """

    severity: Severity
    code: str
    message: str
    hint: str = ""
    mended: str | None = None


Check = Callable[[str], Finding | None]

_NOTE, _LOOK, _STOP = Severity.NOTE, Severity.LOOK, Severity.STOP
_SPACES = re.compile(r"\s+")
_ENTITY = re.compile(r"&(?:#\d{2,6}|#x[0-9a-fA-F]{2,5}|[A-Za-z]{2,8}\d?);")
_LOST = re.compile(r"(?<=[^\W\d_])\?+(?=[^\W\d_])")
_STYLES: Final = frozenset(
    ("<font", "<wide", "<narrow", "<circle", "<square", "<initial", "<medial", "<final", "<isolated")
)
_DEBRIS: Final = frozenset("˜¨ˆ¸˙˚˝˛¯´`^~¤¦§¶†‡‰¬")


def examine(text: str, checks: Iterable[Check]) -> tuple[str, list[Finding]]:
    """What the checks find, and the text with everything mended that can be."""
    findings = []
    for check in checks:
        finding = check(text)
        if finding is not None:
            findings.append(finding)
            text = text if finding.mended is None else finding.mended
    return text, findings


def _named(chars: Iterable[str]) -> str:
    return ", ".join(describe_char(char) for char in dict.fromkeys(chars))


def scrambled(text: str) -> Finding | None:
    """Letters misread in another encoding."""
    found = unscramble(text)
    if not found:
        return None
    message = "The letters were misread in another encoding on their way here."
    if len(found) > 1:
        return Finding(_LOOK, "mojibake", message, f"It may have been {' or '.join(found)}. {_ASK}")
    return Finding(_LOOK, "mojibake", message, "", found[0])


def entities(text: str) -> Finding | None:
    """Characters written the way web pages write them."""
    found = [match for match in _ENTITY.findall(text) if html.unescape(match) != match]
    if not found:
        return None
    mended = unicodedata.normalize("NFC", _ENTITY.sub(lambda match: html.unescape(match[0]), text))
    return Finding(
        _LOOK, "web-code", f"{', '.join(found)} stands for a character, as in web pages.", "", mended
    )


def controls(text: str) -> Finding | None:
    """Control characters, NUL among them; a tab or line end between words becomes a space."""
    found = [char for char in text if unicodedata.category(char) == "Cc"]
    if not found:
        return None
    spaced = "".join(" " if char in "\t\n\r\v\f\x85" else char for char in text)
    mended = "".join(char for char in spaced if unicodedata.category(char) != "Cc")
    mended = re.sub(r" {2,}", " ", mended).strip(" ") if spaced != text else mended
    return Finding(_LOOK, "control-character", f"There is {_named(found)} in it.", "", mended)


def unseen(text: str) -> Finding | None:
    """Characters that show nothing; joiners belong to the spelling of some scripts and of pictographs."""
    found = [number for number, char in enumerate(text) if char in UNSEEN or _stray_joiner(text, number)]
    if not found:
        return None
    mended = "".join(char for number, char in enumerate(text) if number not in set(found))
    return Finding(
        _LOOK, "invisible-character", f"There is {_named(text[i] for i in found)} in it.", "", mended
    )


def _stray_joiner(text: str, number: int) -> bool:
    if text[number] not in JOINERS:
        return False
    before = next((c for c in reversed(text[:number]) if not unicodedata.category(c).startswith("M")), "")
    after = text[number + 1 : number + 2]
    joins = bool(before) and (unicodedata.name(before, "").split(" ")[0] in JOINING)
    return not (joins or (before and after and is_emoji(before) and is_emoji(after)))


def bidi(text: str) -> Finding | None:
    """Characters that turn the direction of writing and may hide what is really there."""
    found = [char for char in text if char in BIDI_CONTROLS]
    if not found:
        return None
    mended = "".join(char for char in text if char not in BIDI_CONTROLS)
    message = (
        f"{_named(found)} changes the direction of writing; the letters may not be in the order they seem."
    )
    return Finding(_LOOK, "direction-character", message, "", mended)


def spaces(text: str) -> Finding | None:
    """Spaces at the ends, doubled, or of a kind other than the plain one."""
    mended = _SPACES.sub(" ", text).strip()
    if mended == text:
        return None
    kinds = (
        ("before it", text[:1].isspace()),
        ("after it", text[-1:].isspace()),
        ("doubled", re.search(r"\S\s{2,}\S", text) is not None),
        ("of an unusual kind", any(char.isspace() and char != " " for char in text)),
    )
    where = ", ".join(kind for kind, so in kinds if so)
    return Finding(_LOOK, "spaces", f"There are spaces that do not belong: {where}.", "", mended)


def styled(text: str) -> Finding | None:
    """Letters in fancy dress: ligatures, wide, mathematical or circled letters instead of plain ones."""
    found = [char for char in text if _is_styled(char)]
    if not found:
        return None
    mended = "".join(unicodedata.normalize("NFKC", char) if _is_styled(char) else char for char in text)
    mended = unicodedata.normalize("NFC", mended)
    return Finding(
        _LOOK, "styled-letters", f"{_named(found)} is a styled letter that few fonts have.", "", mended
    )


def _is_styled(char: str) -> bool:
    """By its compatibility decomposition (Unicode Standard Annex 44, table 14), or a Latin ligature."""
    kind = unicodedata.decomposition(char).partition(">")[0]
    return (kind in _STYLES and unicodedata.normalize("NFKC", char).isalpha()) or "\ufb00" <= char <= "\ufb06"


def lookalikes(text: str) -> Finding | None:
    """Letters of another script that look like the right ones."""
    mended, odd = in_one_script(text)
    if not odd:
        return None
    message = f"{_named(odd)} is of another script than the letters round it."
    if mended == text:
        return Finding(_LOOK, "mixed-scripts", message, "Ask which letters are meant.")
    return Finding(_LOOK, "look-alike", message, "", mended)


def lost(text: str) -> Finding | None:
    """Letters that were lost on the way and stand as a replacement character or a question mark."""
    if "\ufffd" in text:
        return Finding(
            _STOP, "lost-letter", "A letter was lost on its way here (U+FFFD stands in its place).", _ASK
        )
    if _LOST.search(text):
        return Finding(
            _STOP, "lost-letter", "A question mark inside a word often stands for a lost letter.", _ASK
        )
    return None


_ASK: Final = "Ask for the right spelling and put it in the table."


def debris(text: str) -> Finding | None:
    """Signs at letters, left over from broken accents; a lone accent may be meant as an apostrophe."""
    found = [number for number, char in enumerate(text) if char in _DEBRIS and _touches_letter(text, number)]
    if not found:
        return None
    if all(text[number] in "´`" and text[number + 1 : number + 2].isalpha() for number in found):
        mended = "".join("'" if number in found else char for number, char in enumerate(text))
        return Finding(
            _LOOK, "accent-for-apostrophe", "An accent stands where an apostrophe is meant.", "", mended
        )
    return Finding(
        _STOP, "broken-accent", f"{_named(text[i] for i in found)} is left of a broken letter.", _ASK
    )


def _touches_letter(text: str, number: int) -> bool:
    return text[max(number - 1, 0) : number].isalpha() or text[number + 1 : number + 2].isalpha()


def lone_marks(text: str) -> Finding | None:
    """Accents with no letter under them, or heaped up."""
    run = 0
    before = " "
    for char in text:
        mark = unicodedata.category(char) in ("Mn", "Mc", "Me") and not "\ufe00" <= char <= "\ufe0f"
        if mark and before.isspace():
            return Finding(_STOP, "lone-accent", f"{describe_char(char)} stands without a letter.", _ASK)
        run = run + 1 if mark else 0
        if run > 4:
            return Finding(_STOP, "heaped-accents", "More than four accents are heaped on one letter.", _ASK)
        before = before if mark else char
    return None


def unusable(text: str) -> Finding | None:
    """Characters that are not characters: unassigned, private, half of a pair."""
    found = [char for char in text if unicodedata.category(char) in ("Cn", "Co", "Cs")]
    if not found:
        return None
    return Finding(
        _STOP, "no-such-character", f"{_named(found)} has no meaning that a font could know.", _ASK
    )


TEXT_CHECKS: Final[tuple[Check, ...]] = (
    scrambled,
    entities,
    controls,
    unseen,
    bidi,
    spaces,
    styled,
    lookalikes,
    lost,
    debris,
    lone_marks,
    unusable,
)
"""The checks for every text, in order: each sees what the ones before it would leave."""

PLAIN: Final = re.compile(r"(?:[A-Za-z0-9.,'()/:+-]+(?: [A-Za-z0-9.,'()/:+-]+)*)?\Z")
"""Texts in which none of the checks can find anything; most texts are such, so they need not be run."""
