"""Things longer than the bed: split where it hurts least, with marks to lay the next section by."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from render.errors import MonikerfError
from render.geometry import CLOSE, Path
from render.geometry.shapes import line
from render.model import Artwork, Machine, Mark, Operation, Placement, Problem, Severity, Sheet
from render.sheets.clipping import between, lines_between
from render.sheets.inside import flattened
from render.sheets.raster import cross_rows
from render.units import format_mm

Floats = NDArray[np.float64]

STEP_MM: Final = 0.5
MARK_OFF_MM: Final = 6.0
"""Middle of a registration mark from the piece's rim, in the scrap."""
MARK_ARM_MM: Final = 3.0
_SHORTEST_MM: Final = 20.0
_LINE_COSTS: Final = 2.0
_TOUCHES: Final = 20.0
"""What a split through ink costs at least, in mm of ink: two letters are parted before one is cut."""
_EASE: Final = 0.02
_AIM_MM: Final = 0.2


@dataclass(frozen=True, slots=True)
class SplitRule:
    """How to split.

    Attributes:
        overlap: how far lines that are followed go on beyond a split, so that cuts meet, mm.
        margin: what stays free at the ends of the bed, mm.
    """

    overlap: float = 1.0
    margin: float = 2.0


@dataclass(frozen=True, slots=True)
class Sections:
    """The loads of one long piece, from left to right.

    Attributes:
        splits: where it is split, mm from its left.
        ink: mm of engraved ink that each split runs through; 0 where it parts letters.
    """

    sheets: tuple[Sheet, ...]
    splits: tuple[float, ...]
    ink: tuple[float, ...]
    problems: tuple[Problem, ...] = ()


def beside(rule: SplitRule) -> float:
    """How much a section takes above a piece, and below it, for its marks, mm."""
    return MARK_OFF_MM + MARK_ARM_MM + rule.margin


def joined_error(length: float, marks_apart: float, aim: float = _AIM_MM) -> float:
    """By how much, mm, the far end of a section may miss its neighbour.

    Both marks are met within `aim` mm: the section is shifted by that at most, and turned by at most twice it
    over the distance of the marks (derived here, small angles).
    """
    return aim * (1 + 2 * length / marks_apart)


def in_sections(
    artworks: Sequence[Artwork], machine: Machine, rule: SplitRule = SplitRule(), first: int = 1
) -> Sections:
    """Split finished artworks, each wider than the bed, into loads that follow each other.

    Engraved areas are parted exactly at the split, lines that are followed go on beyond it by the overlap.
    Each joint has two crosses in the scrap, above and below the piece: the section before scores them, in the
    next they are guides to lay it by.

    Args:
        artworks: as :func:`render.sheets.burn.finished` gives them.
        machine: its bed is what a section must fit on; material passes through along x.
        rule: overlap and margin.
        first: number of the first sheet.

    Raises:
        MonikerfError: a piece, with its marks, is higher than the bed.
    """
    sheets: list[Sheet] = []
    splits: list[float] = []
    ink: list[float] = []
    problems: list[Problem] = []
    for artwork in artworks:
        burned = Path.joined(m.path for m in artwork.marks if m.operation is not Operation.GUIDE)
        box = burned.bounds()
        height = box.height + 2 * beside(rule)
        if height > machine.bed[1]:
            raise MonikerfError(
                f"Piece {artwork.piece} with its registration marks takes {format_mm(height, 1)} mm,"
                f" but the bed of {machine.title} is {format_mm(machine.bed[1])} mm deep.",
                hint="Take a machine with a deeper bed, or a smaller design.",
            )
        room = machine.bed[0] - 2 * (rule.overlap + rule.margin + MARK_ARM_MM)
        at, through = split_places(artwork, box.x0, box.x1, room)
        ends = (box.x0, *at, box.x1)
        for number, (low, high) in enumerate(pairwise(ends)):
            title = f"{artwork.title}, section {number + 1} of {len(ends) - 1}"
            part = _section(artwork, title, (low, high), (number == 0, number == len(ends) - 2), rule)
            sheets.append(
                _sheet(part, title, (low, high), (box.y0, height), rule, machine, first + len(sheets))
            )
        splits += at
        ink += through
        problems += _told(artwork, ends, through, box.height + 2 * MARK_OFF_MM)
    return Sections(tuple(sheets), tuple(splits), tuple(ink), tuple(problems))


def split_places(
    artwork: Artwork, low: float, high: float, room: float
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Where to split between `low` and `high` so that no section is longer than `room`, and the ink there.

    As few sections as can be; among those the places that run through least ink and fewest lines, as far as
    can be from ink (dynamic programming over places half a millimetre apart).
    """
    if high - low <= room:
        return (), ()
    places = np.append(np.arange(low, high - 1e-6, STEP_MM), high)  # no step is longer
    ink, lines = _ink_at(artwork, places), _lines_at(artwork, places)
    inner = ink[(places > low + _SHORTEST_MM) & (places < high - _SHORTEST_MM)]
    clear = _clearance(ink > (inner.min() if inner.size else 0) + STEP_MM)  # a border all along is no letter
    cost = np.where(ink > 0, ink + _TOUCHES, 0) + _LINE_COSTS * lines - _EASE * np.minimum(clear, 10)
    reach = int(room / STEP_MM + 1e-9)
    count = math.ceil((places.size - 1) / reach)
    least = min(int(_SHORTEST_MM / STEP_MM), reach)
    best = np.where(np.arange(places.size) == 0, 0.0, np.inf)
    back: list[NDArray[np.int64]] = []
    for section in range(count):
        total, previous = np.full(places.size, np.inf), np.zeros(places.size, np.int64)
        for i in range(least, places.size):
            window = best[max(0, i - reach) : i - least + 1]
            j = int(window.argmin())
            if window[j] < np.inf:
                total[i] = window[j] + (cost[i] if section < count - 1 else 0.0)
                previous[i] = max(0, i - reach) + j
        best = total
        back.append(previous)
    i = places.size - 1
    found = []
    for previous in reversed(back):
        i = int(previous[i])
        found.append(i)
    chosen = found[-2::-1]
    return tuple(float(places[i]) for i in chosen), tuple(float(ink[i]) for i in chosen)


def _ink_at(artwork: Artwork, places: Floats) -> Floats:
    """Mm of engraved ink on the upright line at each place, by the non-zero rule."""
    path = artwork.burned(Operation.ENGRAVE)
    if not path:
        return np.zeros(places.size)
    box = path.bounds()
    fine = STEP_MM / 2
    rows = max(1, math.ceil(box.height / fine))
    step = np.zeros((rows + 1, places.size), np.int32)
    for contour in path.contours():
        ring = flattened(contour)
        ring = np.append(ring, ring[0])
        across, along = (ring.imag - box.y0) / fine, (ring.real - places[0]) / STEP_MM
        cross_rows(step, np.stack((across, along), axis=1))
    return np.asarray((np.cumsum(step[:-1], axis=0) != 0).sum(axis=0) * fine)


def _lines_at(artwork: Artwork, places: Floats) -> NDArray[np.int64]:
    """How many scored and cut lines cross the upright line at each place."""
    found = np.zeros(places.size, np.int64)
    for operation in (Operation.SCORE, Operation.CUT):
        for contour in artwork.burned(operation).contours():
            ring = flattened(contour)
            ring = np.append(ring, ring[0]) if contour.commands[-1] == CLOSE else ring
            ends = np.searchsorted(places, ring.real)
            low, high = np.minimum(ends[:-1], ends[1:]), np.maximum(ends[:-1], ends[1:])
            change = np.zeros(places.size + 1, np.int64)
            np.add.at(change, low, 1)
            np.add.at(change, high, -1)
            found += np.cumsum(change)[:-1]
    return found


def _clearance(ink: NDArray[np.bool_]) -> Floats:
    """Mm from each place to the nearest that has ink."""
    at = np.flatnonzero(ink)
    if not at.size:
        return np.full(ink.size, 1e3)
    index = np.arange(ink.size)
    right = at[np.minimum(np.searchsorted(at, index), at.size - 1)]
    left = at[np.maximum(np.searchsorted(at, index, "right") - 1, 0)]
    return np.asarray(np.minimum(np.abs(right - index), np.abs(index - left)) * STEP_MM)


def _section(
    artwork: Artwork, title: str, ends: tuple[float, float], outer: tuple[bool, bool], rule: SplitRule
) -> Artwork:
    """The marks between two splits, in the piece's own place, and the crosses of both joints."""
    low, high = ends
    open_low, open_high = (-math.inf if outer[0] else low), (math.inf if outer[1] else high)
    marks = []
    box = Path.joined(m.path for m in artwork.marks if m.operation is not Operation.GUIDE).bounds()
    for mark in artwork.marks:
        if mark.operation is Operation.GUIDE:
            continue
        if mark.operation is Operation.ENGRAVE:
            path = between(mark.path, max(open_low, box.x0 - 1), min(open_high, box.x1 + 1))
        else:
            begin, end = max(open_low - rule.overlap, box.x0 - 1), min(open_high + rule.overlap, box.x1 + 1)
            path = lines_between(mark.path, begin, end)
        if path:
            marks.append(Mark(mark.operation, path))
    crosses = [(low, Operation.GUIDE)] * (not outer[0]) + [(high, Operation.SCORE)] * (not outer[1])
    for x, operation in crosses:
        both = [_cross(complex(x, y)) for y in (box.y0 - MARK_OFF_MM, box.y1 + MARK_OFF_MM)]
        marks.append(Mark(operation, Path.joined(both)))
    order = (Operation.GUIDE, Operation.ENGRAVE, Operation.SCORE, Operation.CUT)
    return Artwork(artwork.piece, title, tuple(sorted(marks, key=lambda m: order.index(m.operation))))


def _cross(at: complex) -> Path:
    arms = (MARK_ARM_MM, MARK_ARM_MM * 1j)
    return Path.joined(line(at - arm, at + arm) for arm in arms)


def _sheet(
    part: Artwork,
    title: str,
    ends: tuple[float, float],
    down: tuple[float, float],
    rule: SplitRule,
    machine: Machine,
    number: int,
) -> Sheet:
    """A load with one section; its left split lies at the same place on every sheet."""
    left = rule.margin + rule.overlap + MARK_ARM_MM
    top = rule.margin + MARK_OFF_MM + MARK_ARM_MM
    x_um, y_um = round((left - ends[0]) * 1000), round((top - down[0]) * 1000)
    width = math.ceil((ends[1] - ends[0] + 2 * left) * 1000) / 1000
    size = (width, math.ceil(down[1] * 1000) / 1000)
    return Sheet(number, title, size, 0.0, (Placement(part, 1, x_um, y_um),), machine.colours)


def _told(artwork: Artwork, ends: Sequence[float], through: Sequence[float], apart: float) -> list[Problem]:
    if len(ends) == 2:
        return []
    longest = max(b - a for a, b in pairwise(ends))
    off = joined_error(longest, apart)
    at = ", ".join(format_mm(x, 1) for x in ends[1:-1])
    text = (
        f"Piece {artwork.piece} is longer than the bed and split into {len(ends) - 1} sections, at {at} mm"
        f" from its left. If each mark is met within {format_mm(_AIM_MM)} mm, the joints are within"
        f" {format_mm(off, 1)} mm at the far end of a section."
    )
    hint = "After each section pass the material on until its crosses lie under those of the next."
    told = [Problem(Severity.LOOK, "in-sections", text, hint, piece=artwork.piece)]
    cut = [format_mm(x, 1) for x, ink in zip(ends[1:-1], through, strict=True) if ink > 0]
    if cut:
        text = f"Piece {artwork.piece} is split through ink at {', '.join(cut)} mm: no gap lies within reach."
        hint = "Set its letters wider apart, or use a longer bed."
        told.append(Problem(Severity.LOOK, "split-through-ink", text, hint, piece=artwork.piece))
    return told
