"""Text that was written as UTF-8 and read as something else (``ZoÃ«``): found, and turned back."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from functools import cache
from typing import Final

from render.intake.letters import script_of

PAGES: Final = ("cp1252", "mac_roman", "cp850", "cp437", "cp1250", "cp1251")
"""The code pages in which UTF-8 is commonly misread."""

_MOST_ROUNDS: Final = 3
_ACCENTS: Final = frozenset("\u0300\u0301\u0302\u0303\u0304\u0306\u0307\u0308\u030a\u030b\u030c\u0327\u0328")
_USED: Final = frozenset("ƠơƯưȘșȚțǍǎƏəƁɓƊɗƘƙ")
_SIGNS: Final = frozenset("‘’“”„–—…€·•«»¡¿©®°\u00a0")


def unscramble(text: str) -> tuple[str, ...]:
    """What the text may have been before it was misread, however often; nothing if it was not misread.

    Only sequences of characters that form valid UTF-8 in one of :data:`PAGES` are turned, and only into
    letters of the script of their surroundings or everyday signs. Of several pages those count that leave the
    fewest odd signs; where they differ, each of their readings is returned.
    """
    found: tuple[str, ...] = ()
    for _ in range(_MOST_ROUNDS):
        turned = [after for page in PAGES if (after := _turn(text, page)) != text]
        if not turned:
            break
        least = min(map(_strangeness, turned))
        found = tuple(dict.fromkeys(_composed(after) for after in turned if _strangeness(after) == least))
        if len(found) > 1:
            break
        text = found[0]
    return found


def _strangeness(text: str) -> tuple[int, int]:
    """How many odd signs are left, and how many loose accents or letters that few languages use."""
    odd = sum(not char.isascii() and not script_of(char) and char not in _SIGNS for char in text)
    return odd, sum(char in _ACCENTS or ("\u0180" <= char <= "\u02af" and char not in _USED) for char in text)


def _composed(text: str) -> str:
    return unicodedata.normalize("NFC", text)


def _turn(text: str, page: str, rounds: int = _MOST_ROUNDS) -> str:
    """The text as it was before `page` misread it, perhaps several times; else the text itself."""
    if text.isascii() or not rounds:
        return text
    table, pattern = _sequences(page)
    parts = [match[0] for match in pattern.finditer(text)]
    found = [bytes(table[char] for char in part).decode("utf-8", "replace") for part in parts]
    if not found or any("\ufffd" in part for part in found):
        return text
    turned = iter(found)
    once = pattern.sub(lambda _: next(turned), text)
    if _likely(pattern.sub("", text), found):
        return once
    again = _turn(once, page, rounds - 1)
    return text if again == once else again


def _likely(rest: str, found: list[str]) -> bool:
    """Whether what comes out is of one script with the rest, and in Latin or more than a chance match."""
    around = {script for script in map(script_of, rest) if script}
    came = set(_scripts("".join(found)))
    if "" in came or len(came | around) > 1:
        return False
    return came <= {"LATIN"} or len(found) > 1


def _scripts(text: str) -> Iterator[str]:
    """The script of each letter and mark; empty for what does not belong in a name; signs have none."""
    for char in text:
        if script := script_of(char):
            yield script
        elif unicodedata.category(char) in ("Mn", "Mc"):
            if char not in _ACCENTS:
                yield unicodedata.name(char).partition(" ")[0]
        elif char not in _SIGNS and unicodedata.category(char) != "Cc":
            yield ""


@cache
def _sequences(page: str) -> tuple[dict[str, int], re.Pattern[str]]:
    """The page's upper half by character, and a pattern for what may be a UTF-8 sequence read in it.

    Bytes that the page leaves undefined, and in Latin-1 all of the first 32, are read as control characters.
    """
    table = {chr(byte): byte for byte in range(0x80, 0xA0)}
    for byte in range(0x80, 0x100):
        table[bytes([byte]).decode(page, "ignore") or chr(byte)] = byte
    more = _class(table, range(0x80, 0xC0))
    leads = ((range(0xC2, 0xE0), 1), (range(0xE0, 0xF0), 2), (range(0xF0, 0xF5), 3))
    return table, re.compile("|".join(f"{_class(table, lead)}{more}{{{n}}}" for lead, n in leads))


def _class(table: dict[str, int], span: range) -> str:
    return "[" + "".join(re.escape(char) for char, byte in table.items() if byte in span) + "]"
