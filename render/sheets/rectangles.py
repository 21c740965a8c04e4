"""Rectangles of different sizes on sheets, turned or not.

They are laid by their skyline in many orders (:mod:`render.sheets.skyline`). Of few rectangles also several
ways and orders of rectpack are tried, and orders in which some have changed places: there they are often
shorter. Always the same ones are tried, and the best is kept.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product
from typing import Any, Final

from render.sheets.nesting import Laid, Nest, Room
from render.sheets.skyline import Plank, skylines

_UM: Final = 1000
_FEW: Final = 16
_HALVINGS: Final = 7
_SWAPS: Final = 240


@dataclass(frozen=True, slots=True)
class Plate:
    """A rectangle, mm, its top left corner at (0, 0), and whether it may be turned by a quarter."""

    id: str
    width: float
    height: float
    turns: bool = True


def pack(plates: Sequence[Plate], rooms: Sequence[Room], gap: float) -> Nest:
    """Lay rectangles on sheets, the last of which may be had as often as needed.

    Args:
        plates: with different ids.
        rooms: sheets without used-up regions, in the order of their use.
        gap: least distance between plates, mm.

    Raises:
        ValueError: a room has used-up regions; nest there.
    """
    if any(room.used for room in rooms):
        raise ValueError("rectangles are packed on whole sheets only")
    turns = all(plate.turns for plate in plates)
    sizes = {p.id: (math.ceil(p.width * _UM), math.ceil(p.height * _UM)) for p in plates}
    gap_um = math.ceil(gap * _UM)
    found = _by_skylines(plates, sizes, rooms, gap_um)
    if not 0 < len(plates) <= _FEW:
        return found
    best = _best(plates, sizes, rooms, gap_um, turns)  # rectpack turns all or none
    other = _narrowed(best, plates, sizes, rooms, gap_um, turns)
    return min((found, other), key=lambda n: (len(n.left), *_extent(n, sizes)))


def _by_skylines(
    plates: Sequence[Plate], sizes: dict[str, tuple[int, int]], rooms: Sequence[Room], gap: int
) -> Nest:
    """Each plate takes its gap along, and the sheet one more of it; only plates that may turn are turned."""
    margins = [math.ceil(room.margin * _UM) for room in rooms]
    planks = [Plank(sizes[p.id][0] + gap, sizes[p.id][1] + gap, p.turns) for p in plates]
    sheets = [
        (math.floor(room.width * _UM) - 2 * margin + gap, math.floor(room.height * _UM) - 2 * margin + gap)
        for room, margin in zip(rooms, margins, strict=True)
    ]
    puts = skylines(planks, sheets)
    laid = []
    for number, put in sorted(puts.items(), key=lambda each: (each[1].sheet, each[1].x, each[1].y)):
        plate, margin = plates[number], margins[min(put.sheet, len(rooms) - 1)]
        x, y = put.x + margin, put.y + margin
        # turned clockwise about its corner a plate lies left of it
        right = x + sizes[plate.id][1]
        laid.append(Laid(plate.id, put.sheet, 90.0 if put.turned else 0.0, right if put.turned else x, y))
    left = tuple(p.id for n, p in enumerate(plates) if n not in puts)
    return Nest(tuple(laid), left, "packed")


def _best(
    plates: Sequence[Plate],
    sizes: dict[str, tuple[int, int]],
    rooms: Sequence[Room],
    gap: int,
    turns: bool,
) -> Nest:
    """The best of all packers."""
    found = [_packed(packer, plates, sizes, rooms, gap) for packer in _packers(turns)]
    return min(found, key=lambda n: (len(n.left), *_extent(n, sizes)))


def _narrowed(
    best: Nest,
    plates: Sequence[Plate],
    sizes: dict[str, tuple[int, int]],
    rooms: Sequence[Room],
    gap: int,
    turns: bool,
) -> Nest:
    """The last sheet packed anew on narrower ones, halving the doubt: packers fill, they do not hold back."""
    sheets, right = _extent(best, sizes)
    last = {p.id for p in best.laid if p.sheet == sheets - 1}
    some = [p for p in plates if p.id in last]
    room = rooms[min(sheets, len(rooms)) - 1]
    margin = math.ceil(room.margin * _UM)
    area = sum(sizes[p.id][0] * sizes[p.id][1] for p in some)
    low, high = int(area / max(room.height * _UM - 2 * margin, 1)), right - margin
    for _ in range(_HALVINGS):
        if not some or low >= high:
            break
        width = (low + high) // 2
        narrow = replace(room, width=(width + 2 * margin) / _UM)
        found = _best(some, sizes, [narrow], gap, turns)
        if found.left or _extent(found, sizes)[0] > 1:
            low = width + 1
            continue
        high = min(width, _extent(found, sizes)[1] - margin)
        best = _with_last(best, found, sheets - 1)
    if len(some) > 1:
        for found in _swapped(some, sizes, room, gap, turns, _extent(best, sizes)[1] - margin):
            best = _with_last(best, found, sheets - 1)
    return best


def _with_last(best: Nest, found: Nest, last: int) -> Nest:
    """The nest with its last sheet as found."""
    rest = tuple(p for p in best.laid if p.sheet < last)
    return Nest((*rest, *(replace(p, sheet=last) for p in found.laid)), best.left, best.how)


def _swapped(
    some: Sequence[Plate], sizes: dict[str, tuple[int, int]], room: Room, gap: int, turns: bool, width: int
) -> Iterator[Nest]:
    """Ever shorter ways of packing one sheet, from orders in which some change places, always the same."""
    import rectpack

    chance = random.Random(len(some))  # noqa: S311 - seeded: always the same
    ways = (rectpack.MaxRectsBssf, rectpack.MaxRectsBl, rectpack.SkylineBlWm)
    margin = math.ceil(room.margin * _UM)
    order = sorted(some, key=lambda p: (-p.width * p.height, p.id))
    for number in range(_SWAPS):
        trial = list(order)
        for _ in range(chance.randint(1, 3)):
            i, j = chance.randrange(len(some)), chance.randrange(len(some))
            trial[i], trial[j] = trial[j], trial[i]
        packer = rectpack.newPacker(
            mode=rectpack.PackingMode.Offline,
            bin_algo=rectpack.PackingBin.BFF,
            pack_algo=ways[number % len(ways)],
            sort_algo=rectpack.SORT_NONE,
            rotation=turns,
        )
        narrow = replace(room, width=(width - 1 + 2 * margin) / _UM)
        found = _packed(packer, trial, sizes, [narrow], gap, in_order=True)
        if not found.left and _extent(found, sizes)[0] == 1:
            width, order = _extent(found, sizes)[1] - margin, trial
            yield found


def _packers(turns: bool) -> Iterator[Any]:
    import rectpack

    ways = (
        rectpack.MaxRectsBl,
        rectpack.MaxRectsBssf,
        rectpack.MaxRectsBaf,
        rectpack.SkylineMwfl,
        rectpack.SkylineBlWm,
        rectpack.GuillotineBssfSas,
        rectpack.GuillotineBafLlas,
    )
    orders = (rectpack.SORT_AREA, rectpack.SORT_LSIDE, rectpack.SORT_SSIDE, rectpack.SORT_PERI)
    for way, order in product(ways, orders):
        yield rectpack.newPacker(
            mode=rectpack.PackingMode.Offline,
            bin_algo=rectpack.PackingBin.BFF,
            pack_algo=way,
            sort_algo=order,
            rotation=turns,
        )


def _packed(
    packer: Any,
    plates: Sequence[Plate],
    sizes: dict[str, tuple[int, int]],
    rooms: Sequence[Room],
    gap: int,
    in_order: bool = False,
) -> Nest:
    """What one packer makes of it; each plate takes its gap along, and the sheet one more of it."""
    for plate in plates if in_order else sorted(plates, key=lambda p: p.id):
        width, height = sizes[plate.id]
        packer.add_rect(width + gap, height + gap, rid=plate.id)
    for number, room in enumerate(rooms):
        sides = [
            math.floor(side * _UM) - 2 * math.ceil(room.margin * _UM) + gap
            for side in (room.width, room.height)
        ]
        if min(sides) > 0:
            count = len(plates) if number == len(rooms) - 1 else 1
            packer.add_bin(*sides, count=count, bid=number)
    packer.pack()
    laid = []
    for sheet, holder in enumerate(packer):
        margin = math.ceil(rooms[holder.bid].margin * _UM)
        for rect in holder:
            width, height = sizes[rect.rid]
            turned = (rect.width, rect.height) != (width + gap, height + gap)
            x, y = rect.x + margin, rect.y + margin
            # turned clockwise about its corner a plate lies left of it
            laid.append(Laid(rect.rid, sheet, 90.0 if turned else 0.0, x + height if turned else x, y))
    there = {p.id for p in laid}
    return Nest(tuple(laid), tuple(p.id for p in plates if p.id not in there), "packed")


def _extent(found: Nest, sizes: dict[str, tuple[int, int]]) -> tuple[int, int]:
    """How many sheets, and how far right the last of them is used, µm."""
    sheets = 1 + max((p.sheet for p in found.laid), default=-1)
    ends = [p.x_um if p.angle else p.x_um + sizes[p.id][0] for p in found.laid if p.sheet == sheets - 1]
    return sheets, max(ends, default=0)
