"""A search for a denser nest, within a time: pieces of the emptiest sheet find room on the others."""

from __future__ import annotations

import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from render.sheets.nesting import Laid, Nest, Room, Shape, nest, reach
from render.sheets.strips import shorten_strip

_TRIES: Final = 2
"""In how many other orders a sheet is filled before a search of its own begins."""
_SQUARES: Final = 150_000
_SHORTEST_S: Final = 6.0
_LONGEST_S: Final = 15.0
"""How long one search may take, at least and at most."""


@dataclass(slots=True)
class _Search:
    shapes: Mapping[str, Shape]
    room: Room
    gap: float
    deadline: float

    @property
    def left(self) -> float:
        return self.deadline - time.monotonic()

    def fits(self, ids: Sequence[str], seconds: float) -> tuple[Laid, ...] | None:
        """Some shapes on one sheet, if a way is found within the time."""
        some = [self.shapes[i] for i in ids]
        width, height = (side - 2 * self.room.margin for side in (self.room.width, self.room.height))
        if sum(s.region.area for s in some) > width * height:
            return None
        begin = time.monotonic()
        for tries in range(1, _TRIES + 1):
            found = nest(some, [self.room], self.gap, first_try=tries, most_sheets=1, squares=_SQUARES)
            if not found.left:
                return found.laid
            if time.monotonic() - begin > seconds / 2:
                break
        rest = min(seconds - (time.monotonic() - begin), self.left)
        if rest < _SHORTEST_S / 2:
            return None
        limit = self.room.width - self.room.margin
        strip = shorten_strip(some, self.room, self.gap, rest, enough=limit)
        return strip.laid if strip is not None and reach(strip, some)[1] <= limit else None


def denser(found: Nest, shapes: Sequence[Shape], rooms: Sequence[Room], gap: float, seconds: float) -> Nest:
    """The nest with fewer sheets, or its last sheet used less far, as far as the time suffices.

    Only sheets that may be had as often as needed take part; offcuts stay as they are. The result is sound
    wherever the time ends, and never worse than what it began with.

    Args:
        found: the nest to begin with.
        shapes: all of them.
        rooms: the sheets in the order of their use.
        gap: least distance, mm.
        seconds: for all of it.
    """
    search = _Search({s.id: s for s in shapes}, rooms[-1], gap, time.monotonic() + seconds)
    if rooms[-1].used:
        return found
    first = len(rooms) - 1
    numbers = sorted({p.sheet for p in found.laid if p.sheet >= first})
    sheets = [[p for p in found.laid if p.sheet == number] for number in numbers]
    while len(sheets) > 1 and search.left > _SHORTEST_S and _emptied(sheets, search):
        pass
    if sheets and search.left > 1:
        sheets[-1] = _shortened(sheets[-1], search)
    kept = tuple(p for p in found.laid if p.sheet < first)
    laid = (replace(p, sheet=first + n) for n, sheet in enumerate(sheets) for p in sheet)
    better = Nest((*kept, *laid), found.left, "searched")
    return better if reach(better, shapes) < reach(found, shapes) else found


def _area(sheet: Sequence[Laid], search: _Search) -> float:
    return float(sum(search.shapes[p.id].region.area for p in sheet))


def _emptied(sheets: list[list[Laid]], search: _Search) -> bool:
    """Move pieces of the emptiest sheet to others, one a sheet; whether any found room."""
    sheets.sort(key=lambda s: -_area(s, search))
    giver = sheets[-1]
    moved = False
    for number in range(len(sheets) - 2, -1, -1):
        if search.left < _SHORTEST_S or not giver:
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
    shorter = shorten_strip(some, search.room, search.gap, search.left)
    own = Nest(tuple(replace(p, sheet=0) for p in sheet))
    better = shorter is not None and reach(shorter, some) < reach(own, some)
    return list(shorter.laid) if shorter is not None and better else sheet
