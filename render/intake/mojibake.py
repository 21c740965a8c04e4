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
_SIGNS: Final = frozenset("‘’“”„–—…€·•«»¡¿©®°\u00a0")


def unscramble(text: str) -> str:
    """The text as it was before it was misread, however often; the text itself if it was not.

    Only sequences of characters that form valid UTF-8 in one of :data:`PAGES` are turned, and only into
    letters of the script of their surroundings or everyday signs.
    """
    for _ in range(_MOST_ROUNDS):
        turned = next((after for page in PAGES if (after := _turn(text, page)) != text), text)
        if turned == text:
            break
        text = turned
    return unicodedata.normalize("NFC", text)


def _turn(text: str, page: str) -> str:
    if text.isascii():
        return text
    table, pattern = _sequences(page)
    letters = [match[0] for match in pattern.finditer(text)]
    if not letters:
        return text
    found = [
        "".join(chr(table[c]) for c in match).encode("latin-1").decode("utf-8", "replace")
        for match in letters
    ]
    if not _likely(text, found, pattern):
        return text
    parts = iter(found)
    return pattern.sub(lambda _: next(parts), text)


def _likely(text: str, found: list[str], pattern: re.Pattern[str]) -> bool:
    """Whether what comes out is more like a name than what went in."""
    if any("\ufffd" in part for part in found):
        return False
    around = {script for script in map(script_of, pattern.sub("", text)) if script}
    came = set(_scripts("".join(found)))
    if "" in came or len(came | around) > 1:
        return False
    return came <= {"LATIN"} or len(found) > 1


def _scripts(text: str) -> Iterator[str]:
    """The script of each letter; empty for what does not belong in a name; everyday signs have none."""
    for char in text:
        if script := script_of(char):
            yield script
        elif char not in _SIGNS and not unicodedata.combining(char) and unicodedata.category(char) != "Cc":
            yield ""


@cache
def _sequences(page: str) -> tuple[dict[str, int], re.Pattern[str]]:
    """The page's upper half by character, and a pattern for what may be a UTF-8 sequence read in it.

    Bytes that the page leaves undefined are often read as the control character of the same number.
    """
    table: dict[str, int] = {}
    for byte in range(0x80, 0x100):
        try:
            table[bytes([byte]).decode(page)] = byte
        except UnicodeDecodeError:
            table[chr(byte)] = byte
    more = _class(table, range(0x80, 0xC0))
    leads = ((range(0xC2, 0xE0), 1), (range(0xE0, 0xF0), 2), (range(0xF0, 0xF5), 3))
    return table, re.compile("|".join(f"{_class(table, lead)}{more}{{{n}}}" for lead, n in leads))


def _class(table: dict[str, int], bytes_: range) -> str:
    return "[" + "".join(re.escape(char) for char, byte in table.items() if byte in bytes_) + "]"
