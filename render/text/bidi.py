"""The direction of each character: the Unicode bidirectional algorithm, complete.

Rules by their names in Unicode Standard Annex #9 (version 15). Classes of characters are those of Python's
own Unicode data; the paired brackets are those of the Unicode Character Database, BidiBrackets.txt (15.0).
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Sequence
from itertools import groupby
from operator import itemgetter
from typing import Final

MOST_DEEP: Final = 125
"""The deepest level of explicit embedding (BD2, max_depth)."""

_PAIRS: Final = (
    "()[]{}༺༻༼༽᚛᚜⁅⁆⁽⁾₍₎⌈⌉⌊⌋〈〉❨❩❪❫❬❭❮❯❰❱❲❳❴❵⟅⟆⟦⟧⟨⟩⟪⟫⟬⟭⟮⟯⦃⦄⦅⦆⦇⦈⦉⦊⦋⦌⦍⦐⦏⦎⦑⦒⦓⦔⦕⦖⦗⦘⧘⧙⧚⧛⧼⧽⸢⸣⸤⸥⸦⸧⸨⸩"
    "\u2e55\u2e56\u2e57\u2e58\u2e59\u2e5a\u2e5b\u2e5c\u3008\u3009《》「」『』【】〔〕〖〗〘〙〚〛﹙﹚﹛﹜﹝﹞（）［］｛｝｟｠｢｣"
)
"""Opening and closing brackets by turns."""

_SAME: Final = {"\u2329": "\u3008", "\u232a": "\u3009"}
"""Brackets that are canonically equivalent to others (BD14, BD15)."""

_OPENS: Final = {_SAME.get(a, a): _SAME.get(b, b) for a, b in zip(_PAIRS[::2], _PAIRS[1::2], strict=True)}
_CLOSES: Final = frozenset(_OPENS.values())
_MOST_OPEN: Final = 63
"""Brackets that may be open at once (BD16)."""

_EMBEDDINGS: Final = {"RLE": (1, ""), "LRE": (0, ""), "RLO": (1, "R"), "LRO": (0, "L")}
"""By class of an explicit embedding: whether its level is odd, and the direction it forces."""

_ISOLATES: Final = {"RLI": 1, "LRI": 0}
_STARTS: Final = frozenset(("LRI", "RLI", "FSI"))
_REMOVED: Final = frozenset(("BN", "LRE", "RLE", "LRO", "RLO", "PDF"))
_STRONG: Final = {"L": "L", "R": "R", "AL": "R"}
_NEUTRAL: Final = frozenset(("B", "S", "WS", "ON", "LRI", "RLI", "FSI", "PDI"))
_TOWARDS: Final = {"L": "L", "R": "R", "EN": "R", "AN": "R"}
"""Numbers count as right to left beside neutrals and in brackets."""

_RAISE: Final = ({"L": 0, "R": 1, "AN": 2, "EN": 2}, {"L": 1, "R": 0, "AN": 1, "EN": 1})
"""Rules I1 and I2: by how much a class raises an even and an odd level."""


_BACKWARD: Final = re.compile(
    "[\u0590-\u08ff\u200f\u202a-\u202e\u2066-\u2069\ufb1d-\ufdff\ufe70-\ufeff"
    "\U00010800-\U00010fff\U0001e800-\U0001efff]"
)
"""Characters for which directions must be found out: letters from right to left, and direction controls."""


def runs_backward(text: str) -> bool:
    """Whether directions must be found out for a text: some of it runs from right to left, or is made to."""
    return not text.isascii() and _BACKWARD.search(text) is not None


def bidi_levels(text: str, base: int | None = None) -> list[int]:
    """The embedding level of each character (odd runs from right to left); a line is a paragraph.

    Characters that rule X9 removes get the level of what precedes them, so that they break no stretch.

    Args:
        text: one or several paragraphs, each ending with its separator (P1).
        base: level of the paragraphs, 0 or 1; found from their first strong characters (P2, P3) if None.
    """
    classes = [unicodedata.bidirectional(c) or "L" for c in text]
    levels: list[int] = []
    while len(levels) < len(text):
        start = len(levels)
        stop = next((k + 1 for k in range(start, len(text)) if classes[k] == "B"), len(text))
        levels += _paragraph(text[start:stop], classes[start:stop], base)
    return levels


def line_levels(line: str, before: str = "", after: str = "", base: int | None = None) -> list[int]:
    """The levels of a line that is broken out of a paragraph.

    They are those that the whole paragraph gives its characters, save that spaces at the end of the line take
    the paragraph's level (L1).

    Args:
        line: its characters.
        before: what precedes it in the paragraph.
        after: what follows it.
        base: level of the paragraph; found from its first strong character if None.
    """
    whole, start = before + line + after, len(before)
    classes = [unicodedata.bidirectional(c) or "L" for c in line]
    if base is None:
        base = base_level(whole)
    levels = bidi_levels(whole, base)[start : start + len(line)]
    _reset_spaces(classes, levels, base)
    return levels


def base_level(text: str) -> int:
    """The level of a paragraph by its first strong character: 0 or 1, and 0 where it has none (P2, P3)."""
    classes = [unicodedata.bidirectional(c) or "L" for c in text]
    return _first_strong(classes, _matching(classes), 0, len(classes)) or 0


def visual_order(levels: Sequence[int]) -> list[int]:
    """Rule L2: indices in the order in which they stand, left to right.

    From the highest level down to the lowest odd one, what is at it or above is turned round.
    """
    order = list(range(len(levels)))
    for threshold in range(max(levels, default=0), 0, -1):
        turned: list[int] = []
        marked = [(levels[k] >= threshold, k) for k in order]
        for above, group in groupby(marked, itemgetter(0)):
            members = [k for _, k in group]
            turned += reversed(members) if above else members
        order = turned
    return order


def _paragraph(text: str, original: list[str], base: int | None) -> list[int]:
    """The levels of one paragraph."""
    ends = _matching(original)
    if base is None:
        base = _first_strong(original, ends, 0, len(original)) or 0
    levels, classes = _explicit(original, ends, base)
    kept = [k for k, c in enumerate(original) if c not in _REMOVED]
    for sequence in _sequences(kept, levels, original, ends):
        _resolve(text, classes, original, levels, sequence, kept, base)
    previous = base
    for k, c in enumerate(original):
        if c in _REMOVED:
            levels[k] = previous
        else:
            levels[k] += _RAISE[levels[k] % 2].get(classes[k], 0)
            previous = levels[k]
    _reset_spaces(original, levels, base)
    return levels


# ---------------------------------------------------------------- paragraph and explicit levels


def _matching(classes: Sequence[str]) -> dict[int, int]:
    """By the place of each isolate initiator that of its PDI (BD9); those without one end with the text."""
    ends: dict[int, int] = {}
    open_: list[int] = []
    for k, c in enumerate(classes):
        if c in _STARTS:
            open_.append(k)
        elif c == "PDI" and open_:
            ends[open_.pop()] = k
    return ends | dict.fromkeys(open_, len(classes))


def _first_strong(classes: Sequence[str], ends: dict[int, int], start: int, stop: int) -> int | None:
    """Rules P2 and P3 between two places, isolates passed over: 0, 1, or None without a strong character."""
    k = start
    while k < stop:
        c = classes[k]
        if c in _STRONG:
            return int(c != "L")
        k = ends[k] + 1 if c in _STARTS else k + 1
    return None


def _explicit(original: Sequence[str], ends: dict[int, int], base: int) -> tuple[list[int], list[str]]:
    """Rules X1 to X8: levels, and classes as overrides change them."""
    levels, classes = [base] * len(original), list(original)
    stack: list[tuple[int, str, bool]] = [(base, "", False)]
    too_many_isolates = too_many_embeddings = valid = 0
    for k, c in enumerate(original):
        level, override, _ = stack[-1]
        if c in _EMBEDDINGS:  # X2 to X5
            odd, forced = _EMBEDDINGS[c]
            deeper = _next_level(level, odd)
            if deeper <= MOST_DEEP and not too_many_isolates and not too_many_embeddings:
                stack.append((deeper, forced, False))
            elif not too_many_isolates:
                too_many_embeddings += 1
        elif c in _STARTS:  # X5a to X5c
            odd = _ISOLATES[c] if c in _ISOLATES else _first_strong(original, ends, k + 1, ends[k]) or 0
            levels[k], classes[k] = level, override or c
            deeper = _next_level(level, odd)
            if deeper <= MOST_DEEP and not too_many_isolates and not too_many_embeddings:
                valid += 1
                stack.append((deeper, "", True))
            else:
                too_many_isolates += 1
        elif c == "PDI":  # X6a
            if too_many_isolates:
                too_many_isolates -= 1
            elif valid:
                too_many_embeddings = 0
                while not stack[-1][2]:
                    stack.pop()
                stack.pop()
                valid -= 1
            levels[k], classes[k] = stack[-1][0], stack[-1][1] or c
        elif c == "PDF":  # X7
            if too_many_isolates:
                continue
            if too_many_embeddings:
                too_many_embeddings -= 1
            elif not stack[-1][2] and len(stack) > 1:
                stack.pop()
        elif c == "B":  # X8
            levels[k] = base
        elif c != "BN":  # X6
            levels[k], classes[k] = level, override or c
    return levels, classes


def _next_level(level: int, odd: int) -> int:
    """The least level above that is odd, or even."""
    return level + 1 if (level + 1) % 2 == odd else level + 2


def _sequences(
    kept: Sequence[int], levels: Sequence[int], original: Sequence[str], ends: dict[int, int]
) -> Iterator[list[int]]:
    """Isolating run sequences (BD13, X10)."""
    runs = [list(group) for _, group in groupby(kept, lambda k: levels[k])]
    begins = {run[0]: run for run in runs}
    closing = set(ends.values())
    for run in runs:
        if original[run[0]] == "PDI" and run[0] in closing:
            continue
        sequence = list(run)
        while original[sequence[-1]] in _STARTS and ends[sequence[-1]] in begins:
            sequence += begins[ends[sequence[-1]]]
        yield sequence


# ---------------------------------------------------------------- implicit levels


def _resolve(
    text: str,
    classes: list[str],
    original: Sequence[str],
    levels: Sequence[int],
    sequence: Sequence[int],
    kept: Sequence[int],
    base: int,
) -> None:
    """Rules W, N0 to N2 on one isolating run sequence, whose classes are changed in place."""
    level = levels[sequence[0]]
    at = kept.index(sequence[0])
    before = levels[kept[at - 1]] if at else base
    last = sequence[-1]
    following = kept.index(last) + 1
    after = base if original[last] in _STARTS or following == len(kept) else levels[kept[following]]
    outside = ["RL"[max(level, edge) % 2 == 0] for edge in (before, after)]
    mine = [classes[k] for k in sequence]
    marks = [original[k] == "NSM" for k in sequence]
    _resolve_weak(mine, outside[0])
    _resolve_brackets([text[k] for k in sequence], mine, marks, "RL"[level % 2 == 0], outside[0])
    _resolve_neutral(mine, "RL"[level % 2 == 0], outside)
    for k, c in zip(sequence, mine, strict=True):
        classes[k] = c


def _resolve_weak(classes: list[str], outside: str) -> None:
    """Rules W1 to W7, in place."""
    previous = outside
    for k, c in enumerate(classes):  # W1
        classes[k] = previous = previous if c == "NSM" else c
        if c in _STARTS or c == "PDI":
            previous = "ON"
    strong = outside
    for k, c in enumerate(classes):  # W2
        if c in _STRONG:
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


def _resolve_brackets(
    text: Sequence[str], classes: list[str], marks: Sequence[bool], embedding: str, outside: str
) -> None:
    """Rule N0, in place: a pair of brackets goes with what is in it, and with what came before."""
    for opening, closing in _bracket_pairs(text, classes):
        inside = {_TOWARDS[c] for c in classes[opening + 1 : closing] if c in _TOWARDS}
        if not inside:
            continue
        to = embedding
        if embedding not in inside:
            earlier = (c for c in reversed(classes[:opening]) if c in _TOWARDS)
            context = _TOWARDS[next(earlier, outside)]
            to = context if context != embedding else embedding
        for k in (opening, closing):
            classes[k] = to
            for following in range(k + 1, len(classes)):
                if not marks[following]:
                    break
                classes[following] = to


def _bracket_pairs(text: Sequence[str], classes: Sequence[str]) -> list[tuple[int, int]]:
    """Places of paired brackets (BD16), by those of the opening ones."""
    pairs: list[tuple[int, int]] = []
    open_: list[tuple[str, int]] = []
    for k, (character, c) in enumerate(zip(text, classes, strict=True)):
        if c != "ON":
            continue
        bracket = _SAME.get(character, character)
        if bracket in _OPENS:
            if len(open_) == _MOST_OPEN:
                return []
            open_.append((_OPENS[bracket], k))
        elif bracket in _CLOSES:
            depth = next((d for d in range(len(open_) - 1, -1, -1) if open_[d][0] == bracket), None)
            if depth is not None:
                pairs.append((open_[depth][1], k))
                del open_[depth:]
    return sorted(pairs)


def _resolve_neutral(classes: list[str], embedding: str, outside: Sequence[str]) -> None:
    """Rules N1 and N2, in place: between two of one direction that one, else the embedding's."""
    start = 0
    for neutral, group in groupby(tuple(classes), lambda c: c in _NEUTRAL):
        stop = start + len(tuple(group))
        if neutral:
            left = _TOWARDS[classes[start - 1]] if start else outside[0]
            right = _TOWARDS[classes[stop]] if stop < len(classes) else outside[1]
            classes[start:stop] = [left if left == right else embedding] * (stop - start)
        start = stop


def _reset_spaces(original: Sequence[str], levels: list[int], base: int) -> None:
    """Rule L1: separators, and spaces before them or at the end, take the base level."""
    trailing = True
    for k in range(len(levels) - 1, -1, -1):
        if original[k] in ("B", "S"):
            trailing = True
        elif original[k] not in ("WS", "PDI", *_STARTS, *_REMOVED):
            trailing = False
        if trailing:
            levels[k] = base
