"""How long a sheet takes on a machine, from its real geometry.

Nothing here knows what a material needs: speeds come from the shop's own recipes. Where there is none,
lengths and areas are told, and the least time that the machine's own limits of motion allow.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from render.geometry import MOVE, Path
from render.model import BURN_ORDER, Machine, Motion, Operation, Recipe, Sheet
from render.sheets.chords import chain, contour_areas
from render.sheets.motion import seconds_along, seconds_of_moves
from render.sheets.scan import runs, sweep
from render.units import from_um

Ints = NDArray[np.int64]

_NO_RECIPES: Final[Mapping[Operation, Recipe]] = {}


@dataclass(frozen=True, slots=True)
class OperationTime:
    """One operation of one sheet.

    Attributes:
        length: mm of the path that is followed once (SCORE, CUT), or of all stretches burned once (ENGRAVE
            with a recipe; else 0).
        area: mm² that are filled, outlines less their counters (ENGRAVE; else 0).
        contours: how many.
        passes: how often it is run.
        seconds: with all passes and the moves between contours; None where no recipe says how fast.
        least: one pass of SCORE or CUT at the machine's limits of motion: it cannot be quicker; None for
            ENGRAVE, and where the machine's motion is unknown.
        recipe: id of the recipe assumed; empty where there is none.
        run_up: mm beyond both ends of a scan line (ENGRAVE with a recipe; else 0).
    """

    operation: Operation
    length: float
    area: float
    contours: int
    passes: int = 1
    seconds: float | None = None
    least: float | None = None
    recipe: str = ""
    run_up: float = 0.0


@dataclass(frozen=True, slots=True)
class JobTime:
    """One load of a machine.

    Attributes:
        parts: by operation, in burn order, those that there are.
        computed: seconds by geometry, limits and recipes, with the way out and home; None where an operation
            has no recipe or the machine's motion is unknown.
        expected: `computed` as timed jobs corrected it (the machine's `timing`); None as before.
        error: by what share `expected` may be wrong, as timed jobs showed; None where too few were timed.
        least: seconds that following SCORE and CUT and all moves between need at the limits of motion; None
            where those are unknown.
        missing: operations without a recipe; empty also where the machine's motion is unknown.
    """

    parts: tuple[OperationTime, ...]
    computed: float | None
    expected: float | None
    error: float | None
    least: float | None
    missing: tuple[Operation, ...]


def sheet_time(
    sheet: Sheet,
    machine: Machine,
    recipes: Mapping[Operation, Recipe] = _NO_RECIPES,
    *,
    rotary: bool = False,
) -> JobTime:
    """How long a sheet takes.

    Operations are run in burn order, each with all its pieces in the order of their places and all its
    passes; the head starts and ends at (0, 0). Contours are driven from rest to rest; the beam's own delays
    are left to the correction by timed jobs.

    Args:
        sheet: the load, in the machine's mm.
        machine: its motion, rotary and timing.
        recipes: what is known of each operation on this material.
        rotary: whether the load turns in the machine's rotary, whose limits then hold for the axis it
            replaces.
    """
    motion = motion_of(machine, rotary=rotary)
    parts: list[OperationTime] = []
    head, moves = 0j, 0.0
    for operation in BURN_ORDER:
        what = _gathered(sheet, operation)
        if not what.path:
            continue
        part, first, last = _STEPS[operation](what, operation, motion, recipes.get(operation))
        parts.append(part)
        if motion is not None:
            moves += _move(first - head, motion) + _move(last - first, motion) * (part.passes - 1)
        head = last
    if motion is not None:
        moves += _move(-head, motion)
    return _summed(tuple(parts), moves, machine, motion)


def motion_of(machine: Machine, *, rotary: bool) -> Motion | None:
    """The machine's limits of motion; in a rotary run the rotary's own on its axis, where they are lower."""
    motion, device = machine.motion, machine.rotary
    if motion is None or device is None or not rotary:
        return motion
    axis = 0 if device.axis == "x" else 1
    fastest, acceleration = list(motion.fastest), list(motion.acceleration)
    if device.fastest > 0:
        fastest[axis] = min(fastest[axis], device.fastest)
    if device.acceleration > 0:
        acceleration[axis] = min(acceleration[axis], device.acceleration)
    return replace(motion, fastest=(fastest[0], fastest[1]), acceleration=(acceleration[0], acceleration[1]))


@dataclass(frozen=True, slots=True)
class _Gathered:
    """All paths of an operation on a sheet; the contours of each mark, and the piece of each mark."""

    path: Path
    contours: tuple[int, ...]
    pieces: tuple[int, ...]


_Step = tuple[OperationTime, complex, complex]
"""What an operation takes, and where the head is before and after it."""


def _gathered(sheet: Sheet, operation: Operation) -> _Gathered:
    paths, counts, pieces = [], [], []
    for number, placement in enumerate(sheet.placements):
        for mark in placement.artwork.marks:
            if mark.operation is operation and mark.path:
                paths.append(Path(mark.path.commands, from_um(placement.path_um(mark.path))))
                counts.append(int((mark.path.commands == MOVE).sum()))
                pieces.append(number)
    return _Gathered(Path.joined(paths), tuple(counts), tuple(pieces))


def _followed(what: _Gathered, operation: Operation, motion: Motion | None, recipe: Recipe | None) -> _Step:
    """SCORE and CUT: contour after contour, with the moves between them."""
    lines = chain(what.path)
    begins = np.flatnonzero(np.diff(lines.contour, prepend=-1))
    ends = np.append(begins[1:], lines.contour.size) - 1
    passes = recipe.passes if recipe else 1
    part = OperationTime(operation, float(lines.lengths().sum()), 0.0, sum(what.contours), passes)
    if not begins.size:
        return part, 0j, 0j
    first, last = complex(lines.start[begins[0]]), complex(lines.end[ends[-1]])
    if motion is None:
        return part, first, last
    between = float(seconds_of_moves(lines.start[begins[1:]] - lines.end[ends[:-1]], motion).sum())
    part = replace(part, least=between + float(seconds_along(lines, motion, np.inf).sum()))
    if recipe is not None:
        once = between + float(seconds_along(lines, motion, recipe.speed).sum())
        part = replace(part, seconds=once * passes, recipe=recipe.id)
    return part, first, last


def _engraved(what: _Gathered, operation: Operation, motion: Motion | None, recipe: Recipe | None) -> _Step:
    """ENGRAVE: scan lines, where a recipe tells their interval; else only the area."""
    part_of = np.repeat(np.arange(len(what.contours)), what.contours)
    area = float(np.abs(np.bincount(part_of, contour_areas(what.path))).sum())
    part = OperationTime(operation, 0.0, area, sum(what.contours), recipe.passes if recipe else 1)
    start = complex(what.path.points[0])
    if motion is None or recipe is None:
        return part, start, start
    lines = chain(what.path)
    group = np.zeros(part_of.max() + 1, np.int64) if motion.together else np.array(what.pieces)
    stretches = runs(lines, part_of, group, recipe.interval)
    swept = sweep(stretches, recipe.interval, recipe.speed, motion, both_ways=recipe.both_ways)
    part = replace(part, length=stretches.burned(), seconds=0.0, recipe=recipe.id)
    if swept is None:
        return part, start, start
    return replace(part, seconds=swept.seconds * part.passes, run_up=swept.run_up), swept.first, swept.last


def _move(vector: complex, motion: Motion) -> float:
    return float(seconds_of_moves(np.array([vector]), motion)[0])


def _summed(
    parts: tuple[OperationTime, ...], moves: float, machine: Machine, motion: Motion | None
) -> JobTime:
    missing = tuple(part.operation for part in parts if not part.recipe and part.seconds is None)
    known = [part.seconds for part in parts if part.seconds is not None]
    computed = moves + sum(known) if motion is not None and len(known) == len(parts) else None
    timing = machine.timing
    expected = None if computed is None else timing.start + timing.factor * computed
    least = None if motion is None else moves + sum(part.least or 0.0 for part in parts)
    return JobTime(parts, computed, expected, timing.error, least, missing if motion else ())


_STEPS: Final = {Operation.ENGRAVE: _engraved, Operation.SCORE: _followed, Operation.CUT: _followed}
