"""Rectangles laid into the lowest gap of those that lie already, the best fitting first; many orders tried.

What has been laid ends in a skyline, seen from the left of the sheet. The gap nearest to the left is filled
by the rectangle that fits it exactly, along it or level with its neighbours; of equals by the first in the
order (after S. C. H. Leung and D. Zhang, A fast layer-based heuristic for non-guillotine strip packing, 2011;
from memory). Orders are sorted ones, then such as have some changed places, seeded: always the same ones.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

ALIKE_UM: Final = 20
"""Lengths that differ by no more fit exactly."""

_WORK: Final = 2_000_000
_MOST: Final = 2_500
_FEWEST: Final = 12
"""Orders tried: so many that their number times that of the rectangles squared is bounded; most, fewest."""


@dataclass(frozen=True, slots=True)
class Plank:
    """A rectangle with its gap, µm; whether it may be turned by a quarter."""

    width: int
    height: int
    turns: bool


@dataclass(frozen=True, slots=True)
class Put:
    """Where one lies: number of the sheet, its top left corner, whether it is turned."""

    sheet: int
    x: int
    y: int
    turned: bool


Puts = dict[int, Put]
_Gap = list[int]  # from left, y, length

_ORDERS: Final[tuple[Callable[[Plank], tuple[int, ...]], ...]] = (
    lambda p: (-p.width * p.height,),
    lambda p: (-max(p.width, p.height), -min(p.width, p.height)),
    lambda p: (-min(p.width, p.height), -max(p.width, p.height)),
    lambda p: (-p.width - p.height,),
    lambda p: (-p.height, -p.width),
    lambda p: (-p.width, -p.height),
    lambda p: (-abs(p.width - p.height),),
    lambda p: (-1000 * max(p.width, p.height) // max(min(p.width, p.height), 1),),
)


def skylines(planks: Sequence[Plank], sheets: Sequence[tuple[int, int]]) -> Puts:
    """The best of all orders: most rectangles, fewest sheets, the last used least far.

    Args:
        planks: what is to be laid.
        sheets: width and height of each, µm; the last may be had as often as needed.

    Returns:
        By number of the rectangle where it lies; what fits nowhere is missing.
    """
    chance = random.Random(len(planks))  # noqa: S311 - seeded: always the same
    best: Puts = {}
    order: list[int] = []
    reached: tuple[int, int, int] | None = None
    for key in _ORDERS:
        trial = sorted(range(len(planks)), key=lambda n: (*key(planks[n]), n))
        found, now = _laid(planks, trial, sheets)
        if reached is None or now < reached:
            best, reached, order = found, now, trial
    trials = max(_FEWEST, min(_MOST, _WORK // max(len(planks), 1) ** 2))
    for _ in range(trials if len(planks) > 1 else 0):
        trial = list(order)
        for _ in range(chance.randint(1, 3)):
            one, other = chance.randrange(len(trial)), chance.randrange(len(trial))
            trial[one], trial[other] = trial[other], trial[one]
        found, now = _laid(planks, trial, sheets)
        if reached is None or now <= reached:
            best, reached, order = found, now, trial
    return best


def _laid(
    planks: Sequence[Plank], order: Sequence[int], sheets: Sequence[tuple[int, int]]
) -> tuple[Puts, tuple[int, int, int]]:
    """One order on as many sheets as it takes; how many are left, the sheets, how far the last is used."""
    puts: Puts = {}
    left = list(order)
    number, used, far = 0, 0, 0
    while left:
        size = sheets[min(number, len(sheets) - 1)]
        there = _filled(planks, left, size)
        if not there and number >= len(sheets) - 1:
            break
        for n, (x, y, turned) in there.items():
            puts[n] = Put(number, x, y, turned)
        if there:
            used = number + 1
            far = max(x + (planks[n].height if t else planks[n].width) for n, (x, _, t) in there.items())
            left = [n for n in left if n not in there]
        number += 1
    return puts, (len(left), used, far)


def _filled(
    planks: Sequence[Plank], order: Sequence[int], size: tuple[int, int]
) -> dict[int, tuple[int, int, bool]]:
    """What of an order one sheet takes."""
    width, height = size
    left = [
        (n, along, across, turned)
        for n in order
        for along, across, turned in _ways(planks[n])
        if across <= width and along <= height
    ]
    gaps: list[_Gap] = [[0, 0, height]]
    there: dict[int, tuple[int, int, bool]] = {}
    while left:
        at = min(range(len(gaps)), key=lambda i: gaps[i][0])
        x, y, length = gaps[at]
        if x >= width:
            break
        before = gaps[at - 1][0] - x if at else width - x
        after = gaps[at + 1][0] - x if at + 1 < len(gaps) else width - x
        chosen = _fitting(left, length, width - x, before, after)
        if chosen is None:
            gaps[at][0] += min(before, after)
            _level(gaps)
            continue
        n, along, across, turned = chosen
        down = before < after  # beside the neighbour that reaches further
        there[n] = (x, y + length - along if down else y, turned)
        parts = [[x + across, y, along], [x, y + along, length - along]]
        if down:
            parts = [[x, y, length - along], [x + across, y + length - along, along]]
        gaps[at : at + 1] = [part for part in parts if part[2]]
        _level(gaps)
        left = [each for each in left if each[0] != n]
    return there


def _ways(plank: Plank) -> list[tuple[int, int, bool]]:
    """Length along the gap and away from it, upright and turned."""
    ways = [(plank.height, plank.width, False)]
    if plank.turns and plank.width != plank.height:
        ways.append((plank.width, plank.height, True))
    return ways


def _fitting(
    left: Sequence[tuple[int, int, int, bool]], length: int, room: int, before: int, after: int
) -> tuple[int, int, int, bool] | None:
    """The first of those that fit a gap best."""
    best, most = None, -1
    for each in left:
        along, across = each[1], each[2]
        if along > length or across > room:
            continue
        score = 0
        if length - along <= ALIKE_UM:
            score = 2
        if abs(across - before) <= ALIKE_UM:
            score += 1
        if abs(across - after) <= ALIKE_UM:
            score += 1
        if score > most:
            best, most = each, score
            if score == 4:
                break
    return best


def _level(gaps: list[_Gap]) -> None:
    """Gaps beside each other that are as far from the left made one."""
    at = 1
    while at < len(gaps):
        if gaps[at][0] == gaps[at - 1][0]:
            gaps[at - 1][2] += gaps.pop(at)[2]
        else:
            at += 1
