"""Bars that hold letters which must not touch: one below each run of them, as words are underlined."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import groupby
from statistics import median_high
from typing import Final

import shapely

from render.fitting.habits import Habit, Keeping, habit_of
from render.fitting.solids import Memory, Region, regions_of_paths, together
from render.geometry import Box, Path
from render.geometry.shapes import rectangle

THICK_EM: Final = 0.055
"""How thick a bar is at least, em: lighter than the letters, so that it is not read as part of them."""

STOUT: Final = 1.1
"""How thick it is at least, in necks."""

INTO: Final = 0.15
"""How far it reaches into the feet of the letters, parts of its thickness."""

MIDWAY: Final = 0.22
"""How high above the baseline unjoined letters of a script that joins are tied, em."""

BEYOND: Final = 0.6
"""How far it goes on beyond the first and last letter, parts of its thickness."""

HELD: Final = 0.8
"""A design's own bar holds a run if it lies under so much of its length."""


def bars(
    clusters: Sequence[Path],
    scripts: Sequence[str],
    baseline: float,
    size: float,
    neck: float,
    lowest: float,
    solids: Sequence[Path] = (),
) -> list[Path]:
    """The bars of a line of letters, mm; none under letters that may touch or that the design itself holds.

    Args:
        clusters: outlines from left to right, in place, mm.
        scripts: of each cluster (ISO 15924).
        baseline: its y, mm.
        size: mm to the em.
        neck: narrowest neck allowed, mm.
        lowest: y below which no bar goes.
        solids: shapes of the design that are one with the letters.
    """
    thick = max(THICK_EM * size, STOUT * neck)
    foot = min(baseline + (1 - INTO) * thick, lowest)
    found = []
    for letters in _runs(clusters, scripts, lambda habit: habit.keeping is Keeping.APART):
        run = Box.union(letters)
        left, right = run.x0 - BEYOND * thick, run.x1 + BEYOND * thick
        bar = rectangle(left, foot - thick, right - left, thick, thick / 2)
        if not solids or _held(bar, solids) < HELD:
            found.append(bar)
    return found


def tied_aloft(clusters: Sequence[Path], scripts: Sequence[str], baseline: float, size: float) -> list[Box]:
    """The boxes of the runs of letters that ties join at the top of the box, mm.

    That is the middle one of the letters' tops, so that a yod is tied where its neighbours have their roofs;
    where the font joins letters it is MIDWAY above the baseline: there they neither join nor branch.

    Args:
        clusters: outlines from left to right, in place, mm.
        scripts: of each cluster (ISO 15924).
        baseline: its y, mm.
        size: mm to the em.
    """
    found = []
    for run in _runs(clusters, scripts, lambda habit: habit.aloft and habit.keeping is Keeping.APART):
        whole = Box.union(run)
        found.append(Box(whole.x0, median_high([box.y0 for box in run]), whole.x1, whole.y1))
    for run in _runs(clusters, scripts, lambda habit: habit.aloft and habit.keeping is Keeping.SHAPED):
        whole = Box.union(run)
        level = baseline - MIDWAY * size
        found.append(Box(whole.x0, level, whole.x1, max(whole.y1, baseline)))
    return found


def _runs(
    clusters: Sequence[Path], scripts: Sequence[str], which: Callable[[Habit], bool]
) -> Iterator[list[Box]]:
    """The boxes of the letters of each run of those whose script has some habit; spaces break none."""
    inked = [(path, habit_of(script)) for path, script in zip(clusters, scripts, strict=True) if path]
    for mine, group in groupby(inked, lambda one: which(one[1])):
        if mine:
            yield [path.bounds() for path, _ in group]


def _held(bar: Path, solids: Sequence[Path]) -> float:
    """The share of a bar that lies in the shapes of a design."""
    memory = Memory(remembers=False)
    mine: Region = together(regions_of_paths([bar], memory))
    theirs: Region = together(regions_of_paths(solids, memory))
    return float(shapely.intersection(mine, theirs).area / mine.area)
