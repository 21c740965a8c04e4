"""The head's errands on a sheet: pieces one after another, in each the inner cuts first, with little travel.

A file holds a group an operation and in it a group a piece, so a piece's lines stay together: what is free is
the order of the pieces (one for all operations), within a piece the order of the lines of one level, where
each line is entered, and which way an open one is followed. What is engraved goes piece by piece, area by
area; its sweeping is the machine's own and no travel of ours.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from render.geometry import CLOSE, MOVE, Path
from render.geometry.path import POINTS_PER_COMMAND
from render.model import Artwork, Mark, Operation, Placement, Sheet
from render.sheets.inside import depths
from render.sheets.tour import short_round
from render.sheets.travel import begun_at, entered, kept_apart, nodes_of, shortened, some

Points = NDArray[np.complex128]
Ints = NDArray[np.int64]
Levels = Callable[[Path], Sequence[int]]
"""For the cut lines of a piece, contour by contour, in how many cuts each lies."""

FOLLOWED: Final = (Operation.SCORE, Operation.CUT)
MOST_LINES: Final = 20_000
"""Sheets with more lines to follow than this keep the order that they have: it would take minutes."""


@lru_cache(maxsize=512)
def levels_of(cuts: Path) -> tuple[int, ...]:
    """The levels of cut lines: in how many of the others each lies.

    An open line counts as if it were closed by its chord: what lies in the bight of a part of an outline, as
    where it is split, is cut before it.
    """
    return tuple(depths([_closed(contour) for contour in cuts.contours()]).tolist())


def _closed(contour: Path) -> Path:
    if contour.commands[-1] == CLOSE:
        return contour
    return Path(np.append(contour.commands, CLOSE).astype(np.uint8), contour.points)


def sheet_travel(sheet: Sheet) -> float:
    """Mm that the head travels between scores and cuts in the order of the file, from the top left and back.

    Engraving is swept by area and not counted here.
    """
    into, out = [np.zeros(0, np.complex128)], [np.zeros(1, np.complex128)]
    for operation in FOLLOWED:
        for placement in sheet.placements:
            path = placement.artwork.burned(operation)
            if path:
                starts, ends = _ends(path)
                turn, shift = _placing(placement)
                into.append(starts * turn + shift)
                out.append(ends * turn + shift)
    into.append(np.zeros(1, np.complex128))
    return float(np.abs(np.concatenate(into) - np.concatenate(out)).sum())


def _ends(path: Path) -> tuple[Points, Points]:
    """Where the head comes down and where it lifts, contour by contour."""
    moves = np.flatnonzero(path.commands == MOVE)
    last = np.append(moves[1:], path.commands.size) - 1
    first = path.points[path.first_points()[moves]]
    stop = path.points[(np.cumsum(POINTS_PER_COMMAND[path.commands]) - 1)[last]]
    return first, np.where(path.commands[last] == CLOSE, first, stop)


def _placing(placement: Placement) -> tuple[complex, complex]:
    """A point z of the piece lies on the sheet at z × turn + shift."""
    return 1j ** (placement.quarters % 4), complex(placement.x_um, placement.y_um) / 1000


def shorten_sheet(sheet: Sheet, apart: float = 0.0, levels: Levels = levels_of) -> tuple[Sheet, float, float]:
    """The sheet with its pieces, and the scores and cuts of each, in an order that takes less travel.

    Pieces stay whole and keep their places; within each the deepest nested cuts still come first. The places'
    numbers stay as they are. Where `apart` (mm) is given, pieces follow that lie so far from each other.

    Args:
        sheet: whose scores and cuts are marks of one contour each or more.
        apart: least distance of pieces that are cut one after another, mm; 0 does not care.
        levels: of cut lines that are not closed contours any more, what lies in what.

    Returns:
        The sheet, and its travel before and after in mm: without `apart` never more than before.
    """
    before = sheet_travel(sheet)
    followed = [p for p in sheet.placements if any(p.artwork.burned(o) for o in FOLLOWED)]
    count = sum(int((m.path.commands == MOVE).sum()) for p in followed for m in p.artwork.marks)
    if not followed or (count > MOST_LINES and not apart):
        return sheet, before, before
    middles = np.round(np.array([_middle(p) for p in followed]), 3)
    order = list(_order(middles.tobytes()))
    if apart > 0:
        order = list(kept_apart(middles, order, apart))
    rest = [p for p in sheet.placements if not any(p.artwork.burned(o) for o in FOLLOWED)]
    placements = [*_entered([followed[i] for i in order], levels), *rest]
    found = replace(sheet, placements=tuple(placements))
    after = sheet_travel(found)
    return (found, before, after) if apart > 0 or after <= before else (sheet, before, before)


@lru_cache(maxsize=64)
def _order(middles: bytes) -> tuple[int, ...]:
    """The order of a short round from the top left; remembered, since most sheets of an order are alike."""
    points = np.concatenate(([0j], np.frombuffer(middles, np.complex128)))
    return tuple(int(i) - 1 for i in short_round(points)[1:])


def _middle(placement: Placement) -> complex:
    turn, shift = _placing(placement)
    points = Path.joined(placement.artwork.burned(operation) for operation in FOLLOWED).points
    low, high = points.real.min(), points.real.max()
    return complex((low + high) / 2, (points.imag.min() + points.imag.max()) / 2) * turn + shift


@dataclass(frozen=True, slots=True, eq=False)
class _Line:
    """A contour, the nodes where it may be entered, by number and place, and where each way ends."""

    path: Path
    numbers: Ints
    starts: Points
    exits: Points


@lru_cache(maxsize=1024)
def _groups(path: Path, levels: tuple[int, ...]) -> tuple[tuple[_Line, ...], ...]:
    """The lines of one operation of one piece, by falling level; remembered, many pieces being alike."""
    found: dict[int, list[_Line]] = {}
    for contour, level in zip(path.contours(), levels, strict=True):
        numbers, nodes = some(nodes_of(contour))
        exits = nodes if contour.commands[-1] == CLOSE else nodes[::-1]
        found.setdefault(level, []).append(_Line(contour, numbers, nodes, exits))
    return tuple(tuple(found[level]) for level in sorted(found, reverse=True))


def _entered(placements: Sequence[Placement], levels: Levels) -> list[Placement]:
    """The pieces, in this order, each line entered where that is best for the whole way."""
    marks: list[list[Mark]] = [
        [m for m in p.artwork.marks if m.operation not in FOLLOWED] for p in placements
    ]
    for operation in FOLLOWED:
        lines: list[_Line] = []
        owners: list[int] = []
        here = 0j
        for owner, placement in enumerate(placements):
            path = placement.artwork.burned(operation)
            if path:
                depth = tuple(levels(path)) if operation is Operation.CUT else (0,) * len(_ends(path)[0])
                ordered, here = _ordered(_groups(path, depth), here, *_placing(placement))
                lines += ordered
                owners += [owner] * len(ordered)
        if lines:
            turned = [_placing(placements[owner]) for owner in owners]
            starts = [line.starts * turn + shift for line, (turn, shift) in zip(lines, turned, strict=True)]
            exits = [line.exits * turn + shift for line, (turn, shift) in zip(lines, turned, strict=True)]
            _, chosen = entered(starts, exits, np.arange(len(lines)), 0j)
            for line, owner, choice in zip(lines, owners, chosen.tolist(), strict=True):
                marks[owner].append(Mark(operation, begun_at(line.path, int(line.numbers[choice]))))
    return [
        replace(p, artwork=Artwork(p.artwork.piece, p.artwork.title, tuple(m)))
        for p, m in zip(placements, marks, strict=True)
    ]


def _ordered(
    groups: Sequence[Sequence[_Line]], here: complex, turn: complex, shift: complex
) -> tuple[list[_Line], complex]:
    """A piece's lines, level by level, each level in a short order from where the head comes from."""
    done: list[_Line] = []
    here = (here - shift) / turn
    for group in groups:
        if len(group) == 1:
            done += group
        else:
            route = shortened([line.path for line in group], here)
            done += [group[i] for i in route.order]
        last = done[-1]
        here = complex(last.exits[np.abs(last.starts - here).argmin()])
    return done, here * turn + shift
