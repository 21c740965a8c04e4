"""A search for a denser nest: the emptiest sheet is emptied onto the others, the last is used less far.

By steps it is always the same, by the clock it goes on for as long as it is let. By steps, shapes of many
corners are laid in other orders instead: with letters that are cut out, a step may take half a minute.
"""

from __future__ import annotations

import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from render.sheets.nesting import Laid, Nest, Room, Shape, nest, reach
from render.sheets.plans import BY_THE_CLOCK, CUT_SHORT, NET_S, SEARCHED
from render.sheets.strips import corners, shorten_strip, strip_in_steps

_TRIES: Final = 2
"""In how many other orders a sheet is filled before a search of its own begins."""
_SQUARES: Final = 150_000
_SHORTEST_S: Final = 6.0
_LONGEST_S: Final = 15.0
"""How long one search by the clock may take, at least and at most."""
_FITS: Final = 6
_SHARE: Final = 3
"""By steps so many sheets at most are searched for room for one piece more, each in a third of the steps."""
_MOST_CORNERS: Final = 40.0
_ORDERS: Final = 24
_SQUARES_OF_ORDERS: Final = (80_000, 150_000)
"""By steps shapes of more corners, on the mean, are laid in so many other orders, on so many squares."""
_USUAL: Final = 48
"""More shapes than this take more steps, as many times as there are more."""
_DENSER: Final = 1.15
"""By steps a sheet is given up only where the others need not get denser than this."""


@dataclass(slots=True)
class _Search:
    shapes: Mapping[str, Shape]
    room: Room
    gap: float
    deadline: float
    steps: int = 0
    cut_short: bool = False
    fitted: int = 0

    @property
    def left(self) -> float:
        return self.deadline - time.monotonic()

    @property
    def goes_on(self) -> bool:
        """Whether there is time, or are steps, for one more search for room."""
        if not self.steps:
            return self.left > _SHORTEST_S
        self.cut_short = self.cut_short or self.left <= 0
        return self.fitted < _FITS and not self.cut_short

    def fits(self, ids: Sequence[str], seconds: float) -> tuple[Laid, ...] | None:
        """Some shapes on one sheet, if a way is found within the time, or in a share of the steps."""
        some = [self.shapes[i] for i in ids]
        width, height = (side - 2 * self.room.margin for side in (self.room.width, self.room.height))
        if sum(s.region.area for s in some) > width * height:
            return None
        begin = time.monotonic()
        self.fitted += 1
        for tries in range(1, _TRIES + 1):
            found = nest(some, [self.room], self.gap, first_try=tries, most_sheets=1, squares=_SQUARES)
            if not found.left:
                return found.laid
            if not self.steps and time.monotonic() - begin > seconds / 2:
                break
        strip = self._strip(some, seconds - (time.monotonic() - begin))
        limit = self.room.width - self.room.margin
        return strip.laid if strip is not None and reach(strip, some)[1] <= limit else None

    def _strip(self, some: Sequence[Shape], seconds: float) -> Nest | None:
        """The shapes on a strip that should be no longer than the sheet."""
        if self.steps and corners(some) > _MOST_CORNERS:
            return None
        if self.steps:
            steps = max(1, self.steps // _SHARE)
            done = strip_in_steps(some, self.room, self.gap, steps, max(self.left, 0.0), fits=True)
            self.cut_short = self.cut_short or done.cut_short
            return done.nest
        rest = min(seconds, self.left)
        if rest < _SHORTEST_S / 2:
            return None
        return shorten_strip(some, self.room, self.gap, rest, enough=self.room.width - self.room.margin)

    def shortest(self, some: Sequence[Shape]) -> Nest | None:
        """The shapes on a strip as short as all that is left of time, or all steps, can make it."""
        if not self.steps:
            return shorten_strip(some, self.room, self.gap, self.left) if self.left > 1 else None
        if corners(some) > _MOST_CORNERS:
            found = (
                nest(some, [self.room], self.gap, tries=_ORDERS, most_sheets=1, squares=squares)
                for squares in _SQUARES_OF_ORDERS
            )
            return min((f for f in found if not f.left), key=lambda found: reach(found, some), default=None)
        steps = round(self.steps * max(1.0, len(some) / _USUAL))
        done = strip_in_steps(some, self.room, self.gap, steps, max(self.left, 0.0))
        self.cut_short = self.cut_short or done.cut_short
        return done.nest


def denser(
    found: Nest,
    shapes: Sequence[Shape],
    rooms: Sequence[Room],
    gap: float,
    *,
    steps: int = 0,
    seconds: float = 0.0,
) -> Nest:
    """The nest with fewer sheets, or its last sheet used less far; `how` tells whether a clock had a say.

    Only sheets that may be had as often as needed take part; offcuts stay as they are. The result is sound
    wherever the search ends, and never worse than what it began with.

    Args:
        found: the nest to begin with.
        shapes: all of them.
        rooms: the sheets in the order of their use.
        gap: least distance, mm.
        steps: of each search for a shorter strip; pieces then change sheets only where that saves one.
        seconds: for all of it, instead of steps: what is found depends on the machine's speed.
    """
    if rooms[-1].used:
        return found
    deadline = time.monotonic() + (seconds or NET_S)
    search = _Search({s.id: s for s in shapes}, rooms[-1], gap, deadline, 0 if seconds else steps)
    first = len(rooms) - 1
    numbers = sorted({p.sheet for p in found.laid if p.sheet >= first})
    sheets = [[p for p in found.laid if p.sheet == number] for number in numbers]
    sheets = _fewer(sheets, search)
    if sheets:
        sheets[-1] = _shortened(sheets[-1], search)
    kept = tuple(p for p in found.laid if p.sheet < first)
    laid = (replace(p, sheet=first + n) for n, sheet in enumerate(sheets) for p in sheet)
    how = BY_THE_CLOCK if seconds else CUT_SHORT if search.cut_short else SEARCHED
    better = Nest((*kept, *laid), found.left, how)
    return better if reach(better, shapes) < reach(found, shapes) else replace(found, how=how)


def _fewer(sheets: list[list[Laid]], search: _Search) -> list[list[Laid]]:
    """The sheets without those that could be emptied; by steps as they were if none could be."""
    now = [list(sheet) for sheet in sheets]
    while len(now) > 1 and search.goes_on and _worth(now, search) and _emptied(now, search):
        pass
    return now if len(now) < len(sheets) or not search.steps else sheets


def _worth(sheets: Sequence[Sequence[Laid]], search: _Search) -> bool:
    """By steps: whether the others could take what lies on the emptiest without getting much denser."""
    areas = sorted(_area(sheet, search) for sheet in sheets)
    return not search.steps or sum(areas) <= _DENSER * sum(areas[1:])


def _area(sheet: Sequence[Laid], search: _Search) -> float:
    return float(sum(search.shapes[p.id].region.area for p in sheet))


def _emptied(sheets: list[list[Laid]], search: _Search) -> bool:
    """Move pieces of the emptiest sheet to others, one a sheet; whether any found room."""
    sheets.sort(key=lambda s: -_area(s, search))
    giver = sheets[-1]
    moved = False
    for number in range(len(sheets) - 2, -1, -1):
        if not search.goes_on or not giver:
            break
        piece = min(giver, key=lambda p: (search.shapes[p.id].region.area, p.id))
        seconds = min(max(search.left / (number + 2), _SHORTEST_S), _LONGEST_S)
        laid = search.fits([*(p.id for p in sheets[number]), piece.id], seconds)
        if laid is not None:
            sheets[number] = list(laid)
            giver.remove(piece)
            moved = True
    if not giver:
        sheets.pop()
    return moved


def _shortened(sheet: list[Laid], search: _Search) -> list[Laid]:
    """One sheet used less far, if the search finds how."""
    some = [search.shapes[p.id] for p in sheet]
    shorter = search.shortest(some)
    own = Nest(tuple(replace(p, sheet=0) for p in sheet))
    better = shorter is not None and reach(shorter, some) < reach(own, some)
    return list(shorter.laid) if shorter is not None and better else sheet
