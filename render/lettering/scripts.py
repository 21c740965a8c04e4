"""What a text asks of a font: its characters, its scripts and its directions.

Directions follow the Unicode bidirectional algorithm, as :mod:`render.text.bidi` does it.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Collection, Container, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby, repeat
from typing import Final

from render.model import Paragraph
from render.text.bidi import bidi_levels, line_levels, runs_backward, visual_order
from render.text.casing import primary

JOINED_SCRIPTS: Final = frozenset(("Arab", "Syrc", "Mong", "Nkoo", "Adlm", "Rohg", "Deva", "Beng", "Guru"))
"""Scripts whose letters join or hang from one headline: space between letters tears them."""

STAND_INS: Final = {
    "\u2010": "-",
    "\u2011": "-",
    "\u02bb": "\u2018",
    "\u02bc": "\u2019",
    "\u00a0": " ",
    "\u2009": " ",
    "\u202f": " ",
    "ẞ": "SS",
}
"""Characters that many fonts lack, and what looks or is spelt the same and may stand in for them."""

LOCAL: Final = dict.fromkeys(("ro", "mo"), str.maketrans("ŞşŢţ", "ȘșȚț"))
"""Letters that are typed for others: Romanian has commas below where old keyboards had cedillas (The Unicode
Standard, 7.1, "Latin Extended-B")."""

_MARKS: Final = re.compile("[\u0300-\u036f]")
_LETTER: Final = re.compile("[^\u0300-\u036f]([\u0300-\u036f]*)|([\u0300-\u036f]+)", re.DOTALL)
COMMON: Final = ("Zyyy", "Zinh", "Zzzz")
"""What characters of no script, or of that before them, have for a script."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """Characters `start` to `stop` of a text that are shaped together.

    `script` is an ISO 15924 code; `backward` says that it runs from right to left.
    """

    start: int
    stop: int
    script: str
    backward: bool = False


def prepare(text: str, covered: Container[str], language: str = "") -> str:
    """The text as it is shaped: in NFC, in its language's letters, with stand-ins for what the font lacks."""
    if not text.isascii():
        text = unicodedata.normalize("NFC", text)
        if language and (local := LOCAL.get(primary(language))):
            proper = text.translate(local)
            text = proper if all(c in covered for c in proper) else text
        for character, stand_in in STAND_INS.items():
            if character in text and character not in covered and all(c in covered for c in stand_in):
                text = text.replace(character, stand_in)
    return text


def has_marks(text: str) -> bool:
    """Whether marks stand in it that have not become one character with their letter."""
    return _MARKS.search(text) is not None


def has_joined(text: str) -> bool:
    """Whether it has letters that join, so that space between letters would tear them."""
    return not text.isascii() and any(script_of(c) in JOINED_SCRIPTS for c in text)


def uncovered(
    text: str,
    covered: Collection[str],
    *,
    wrong: Collection[str] = (),
    places: Callable[[str], bool] = lambda _letter: True,
) -> tuple[str, ...]:
    """The characters of a prepared text that a font cannot draw, each once, in order.

    Characters that are never drawn (joiners, direction marks, variation selectors) do not count.

    Args:
        text: as :func:`prepare` made it.
        covered: what the font has drawings of.
        wrong: what it draws wrongly; HarfBuzz would take that drawing rather than put the letter together.
        places: whether the font puts a letter with marks together well.
    """
    missing: dict[str, None] = {}
    for match in _LETTER.finditer(text):
        letter, marks = match[0], match[1] or ""
        lacking = [c for c in letter if c not in covered and not _ignorable(c)]
        if not marks and not lacking:
            continue
        parts = unicodedata.normalize("NFD", letter)
        whole = len(parts) > 1 and not any(c in wrong for c in letter) and all(c in covered for c in parts)
        if not (whole and places(letter)):
            missing |= dict.fromkeys(lacking or marks)
    return tuple(missing)


def _ignorable(character: str) -> bool:
    """Whether it shapes as nothing (the common part of Unicode's Default_Ignorable_Code_Point)."""
    return (
        unicodedata.category(character) == "Cf"
        or "\ufe00" <= character <= "\ufe0f"
        or "\U000e0100" <= character <= "\U000e01ef"
        or character == "\u034f"
    )


@lru_cache(maxsize=4096)
def script_of(character: str) -> str:
    """ISO 15924 code of a character's script (Unicode Standard Annex #24)."""
    from fontTools import unicodedata as properties

    return str(properties.script(character))


TOGETHER: Final = dict.fromkeys(("Hira", "Kana", "Hang", "Bopo"), "Hani")
"""Scripts that are written together with Han, in one word and in one font."""


def writing_of(character: str) -> str:
    """The script of a character, those that are written together with Han counted as Han; empty for signs."""
    script = script_of(character)
    return "" if script in COMMON else TOGETHER.get(script, script)


def stretches(
    text: str, fonts: Sequence[str] = (), paragraph: Paragraph | None = None
) -> tuple[Stretch, ...]:
    """The stretches of a text in the order in which they stand, left to right.

    Characters common to many scripts go with what precedes them (at the start: with what follows); a text of
    nothing else counts as Latin. A change among `fonts`, one for each character, ends a stretch besides.
    A `paragraph` that is given decides on directions (Unicode Standard Annex #9).
    """
    if text.isascii() and not fonts and paragraph is None:
        return (Stretch(0, len(text), "Latn"),) if text else ()
    scripts = _scripts(text)
    if paragraph is not None:
        levels = line_levels(text, paragraph.before, paragraph.after, paragraph.base)
    elif runs_backward(text):
        levels = bidi_levels(text)
    elif len(set(scripts)) == 1 and not fonts:
        return (Stretch(0, len(text), scripts[0]),)
    else:
        levels = [0] * len(text)
    runs: list[Stretch] = []
    depths: list[int] = []
    position = 0
    for (level, script, _), group in groupby(zip(levels, scripts, fonts or repeat(""), strict=False)):
        length = len(tuple(group))
        runs.append(Stretch(position, position + length, script, bool(level % 2)))
        depths.append(level)
        position += length
    return tuple(runs[k] for k in visual_order(depths))


def _scripts(text: str) -> list[str]:
    """The script of each character, common characters resolved."""
    scripts = [script_of(c) for c in text]
    current = next((s for s in scripts if s not in COMMON), "Latn")
    for index, script in enumerate(scripts):
        if script in COMMON:
            scripts[index] = current
        else:
            current = script
    return scripts
