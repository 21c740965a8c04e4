"""Choosing sizes: the largest at which something holds, and the one size of a set."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Final

SIZE_STEP_MM: Final = 0.01
"""Sizes are whole steps of this many mm (the limits of a rule excepted), so that a report's figure is what
was made."""

EXCEPTIONS: Final = 0.05
"""Greatest share of the distinct texts of a set that may be left to remedies."""

NEARLY: Final = 0.95
"""A text that would have to be smaller than its set, but not smaller than this share, is not worth an
exception: the whole set takes its size."""

WORTH: Final = 0.9
"""Exceptions are made only as far as they buy: a set keeps the fewest with which it reaches this share of the
size that all allowed exceptions together would give."""

Count = Callable[[float], int]
"""Tells how many texts fit at a size."""

SMALL_SETS: Final = ((3, 1), (12, 2))
"""From so many distinct texts on, so many exceptions are allowed even where EXCEPTIONS would give fewer."""


def exceptions_allowed(distinct: int) -> int:
    """How many distinct texts of a set may be left to remedies.

    None of one or two (a pair is made as a pair), one of three to eleven, two of twelve to 59, beyond that
    EXCEPTIONS of them.
    """
    least = max((allowed for size, allowed in SMALL_SETS if distinct >= size), default=0)
    return max(least, int(distinct * EXCEPTIONS + 1e-9))


def largest_size(
    holds: Callable[[float], bool],
    low: float,
    high: float,
    step: float = SIZE_STEP_MM,
    guess: float = 0.0,
) -> float | None:
    """The largest size in [low, high] at which something holds, or None if it does not even at `low`.

    The sizes tried are `low`, `high` and the whole steps between, by bisection: what holds at a size is taken
    to hold at smaller ones. A good `guess` saves most of the trials.
    """
    if holds(high):
        return high
    near = math.floor(guess / step + 1e-9)
    if low < near * step < high - step and holds(round(near * step, 9)):
        if not holds(round((near + 1) * step, 9)):
            return round(near * step, 9)
        low = near * step
    if high <= low or not holds(low):
        return None
    good, bad = math.ceil(low / step - 1e-9) - 1, math.floor(high / step + 1e-9) + 1
    while bad - good > 1:
        middle = (good + bad) // 2
        if holds(round(middle * step, 9)):
            good = middle
        else:
            bad = middle
    return max(low, round(good * step, 9))


def set_size(
    plain: Sequence[Count],
    distinct: int,
    low: float,
    high: float,
    tightened: Sequence[Count] = (),
) -> float | None:
    """The one size for a set, or None if too few texts fit even at `low`.

    The rule: with e exceptions allowed (:func:`exceptions_allowed`), let s be the largest size at which all
    but e of the distinct texts fit plainly. Of those e, the ones that fit with the least tightening the rule
    allows are hardly seen, and stay. Of the rest, those that would fit at WORTH × s are kept in: the set's
    size is the largest up to s at which as many fit, plainly or tightened, as do at WORTH × s. So one endless
    name never makes the whole order small, no name is made an exception for a hair's breadth, and at most e
    texts need any remedy. How often a text occurs, and in which row, does not matter.

    Args:
        plain: each tells how many of the distinct texts fit plainly at a size, for one common baseline that
            may be chosen; the best counts.
        distinct: number of distinct texts.
        low: the smallest size, mm.
        high: the largest size, mm.
        tightened: like `plain`, for the texts set as tightly as the rule allows; without it nothing is.
    """
    need = distinct - exceptions_allowed(distinct)
    reach = largest_size(lambda size: _most(plain, size) >= need, low, high)
    if reach is None:
        return None
    either = (*plain, *tightened)
    keep = _most(either, max(low, WORTH * reach))
    return largest_size(lambda size: _most(either, size) >= keep, low, reach)


def _most(counts: Sequence[Count], size: float) -> int:
    return max(count(size) for count in counts)
