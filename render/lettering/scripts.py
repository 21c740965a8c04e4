"""What a text asks of a font: its characters, its scripts and its directions.

Directions follow the Unicode bidirectional algorithm (Unicode Standard Annex #9) without explicit embeddings
and isolates and without the rule for paired brackets (N0): names hardly need them.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Collection
from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby
from operator import itemgetter
from typing import Final

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
}
"""Characters that many fonts lack, and those that look the same and may stand in for them."""

_RIGHT_TO_LEFT: Final = re.compile(
    "[\u0590-\u08ff\u200f\ufb1d-\ufdff\ufe70-\ufeff\U00010800-\U00010fff\U0001e800-\U0001efff]"
)
_MARKS: Final = re.compile("[\u0300-\u036f]")
_LETTER: Final = re.compile("[^\u0300-\u036f]([\u0300-\u036f]*)|([\u0300-\u036f]+)", re.DOTALL)
_COMMON: Final = ("Zyyy", "Zinh", "Zzzz")
_ISOLATES: Final = ("LRI", "RLI", "FSI", "PDI")
_REMOVED: Final = ("BN", "LRE", "RLE", "LRO", "RLO", "PDF")


@dataclass(frozen=True, slots=True)
class Stretch:
    """Characters `start` to `stop` of a text that are shaped together.

    `script` is an ISO 15924 code; `backward` says that it runs from right to left.
    """

    start: int
    stop: int
    script: str
    backward: bool = False


def prepare(text: str, covered: Collection[str]) -> str:
    """The text as it is shaped: in NFC, with stand-ins for what the font lacks."""
    if not text.isascii():
        text = unicodedata.normalize("NFC", text)
        for character, stand_in in STAND_INS.items():
            if character in text and character not in covered and stand_in in covered:
                text = text.replace(character, stand_in)
    return text


def has_marks(text: str) -> bool:
    """Whether marks stand in it that have not become one character with their letter."""
    return _MARKS.search(text) is not None


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


def stretches(text: str) -> tuple[Stretch, ...]:
    """The stretches of a text in the order in which they stand, left to right.

    Characters common to many scripts go with what precedes them (at the start: with what follows); a text of
    nothing else counts as Latin.
    """
    if text.isascii():
        return (Stretch(0, len(text), "Latn"),) if text else ()
    scripts = _scripts(text)
    if _RIGHT_TO_LEFT.search(text):
        levels = bidi_levels(text)
    elif len(set(scripts)) == 1:
        return (Stretch(0, len(text), scripts[0]),)
    else:
        levels = [0] * len(text)
    runs: list[tuple[int, Stretch]] = []
    position = 0
    for (level, script), group in groupby(zip(levels, scripts, strict=True)):
        length = len(tuple(group))
        runs.append((level, Stretch(position, position + length, script, bool(level % 2))))
        position += length
    return tuple(_visual_order(runs))


def _scripts(text: str) -> list[str]:
    """The script of each character, common characters resolved."""
    scripts = [script_of(c) for c in text]
    current = next((s for s in scripts if s not in _COMMON), "Latn")
    for index, script in enumerate(scripts):
        if script in _COMMON:
            scripts[index] = current
        else:
            current = script
    return scripts


def _visual_order(runs: list[tuple[int, Stretch]]) -> list[Stretch]:
    """Rule L2: from the highest level down to the lowest odd one, turn round what is at it or above."""
    highest = max((level for level, _ in runs), default=0)
    for threshold in range(highest, 0, -1):
        turned: list[tuple[int, Stretch]] = []
        marked = [(level >= threshold, (level, stretch)) for level, stretch in runs]
        for above, group in groupby(marked, itemgetter(0)):
            members = [run for _, run in group]
            turned += reversed(members) if above else members
        runs = turned
    return [stretch for _, stretch in runs]


# ---------------------------------------------------------------- direction


def bidi_levels(text: str, base: int | None = None) -> list[int]:
    """The embedding level of each character (odd runs from right to left), by the rules of UAX #9.

    Args:
        text: one paragraph.
        base: level of the paragraph, 0 or 1; found from the first strong character (P2, P3) if None.
    """
    original = [unicodedata.bidirectional(c) or "L" for c in text]
    if base is None:
        strong = next((c for c in original if c in ("L", "R", "AL")), "L")
        base = 0 if strong == "L" else 1
    kept = [k for k, c in enumerate(original) if c not in _REMOVED]
    classes = ["ON" if original[k] in _ISOLATES else original[k] for k in kept]
    _resolve_weak(classes, "R" if base else "L")
    _resolve_neutral(classes, "R" if base else "L")
    levels = [base] * len(text)
    for k, c in zip(kept, classes, strict=True):
        levels[k] = base + _RAISE[base][c]
    for k in range(len(text)):
        if original[k] in _REMOVED:
            levels[k] = levels[k - 1] if k else base
    _reset_spaces(original, levels, base)
    return levels


_RAISE: Final = ({"L": 0, "R": 1, "AN": 2, "EN": 2}, {"L": 1, "R": 0, "AN": 1, "EN": 1})
"""Rules I1 and I2: by how much a class raises an even and an odd level."""

_NEUTRAL: Final = frozenset(("B", "S", "WS", "ON"))


def _resolve_weak(classes: list[str], outside: str) -> None:
    """Rules W1 to W7, in place."""
    previous = outside
    for k, c in enumerate(classes):  # W1
        classes[k] = previous = previous if c == "NSM" else c
    strong = outside
    for k, c in enumerate(classes):  # W2
        if c in ("L", "R", "AL"):
            strong = c
        elif c == "EN" and strong == "AL":
            classes[k] = "AN"
    classes[:] = ["R" if c == "AL" else c for c in classes]  # W3
    for k in range(1, len(classes) - 1):  # W4
        left, here, right = classes[k - 1 : k + 2]
        if left == right and ((here == "ES" and left == "EN") or (here == "CS" and left in ("EN", "AN"))):
            classes[k] = left
    start = 0
    for c, group in groupby(tuple(classes)):  # W5
        stop = start + len(tuple(group))
        if c == "ET" and "EN" in (*classes[max(start - 1, 0) : start], *classes[stop : stop + 1]):
            classes[start:stop] = ["EN"] * (stop - start)
        start = stop
    classes[:] = ["ON" if c in ("ES", "ET", "CS") else c for c in classes]  # W6
    strong = outside
    for k, c in enumerate(classes):  # W7
        if c in ("L", "R"):
            strong = c
        elif c == "EN" and strong == "L":
            classes[k] = "L"


def _resolve_neutral(classes: list[str], outside: str) -> None:
    """Rules N1 and N2, in place: between two of one direction that one, else the direction outside."""
    start = 0
    for neutral, group in groupby(tuple(classes), lambda c: c in _NEUTRAL):
        stop = start + len(tuple(group))
        if neutral:
            left = _direction(classes[start - 1]) if start else outside
            right = _direction(classes[stop]) if stop < len(classes) else outside
            classes[start:stop] = [left if left == right else outside] * (stop - start)
        start = stop


def _direction(resolved: str) -> str:
    """Numbers count as right to left beside neutrals."""
    return "L" if resolved == "L" else "R"


def _reset_spaces(original: list[str], levels: list[int], base: int) -> None:
    """Rule L1: separators, and spaces before them or at the end, take the base level."""
    trailing = True
    for k in range(len(levels) - 1, -1, -1):
        if original[k] in ("B", "S"):
            trailing = True
        elif original[k] not in ("WS", *_ISOLATES, *_REMOVED):
            trailing = False
        if trailing:
            levels[k] = base
