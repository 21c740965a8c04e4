"""Lettering that is in its place, in mm, and may meet there: lines of one text, clusters on a curve."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

import numpy as np

from render.geometry import CLOSE, MOVE, Path
from render.geometry.path import POINTS_PER_COMMAND
from render.lettering.batch import flip_y
from render.lettering.contours import Contour, closed_contour, outline
from render.lettering.meeting import interact
from render.lettering.pool import Glyph, Pool
from render.lettering.union import Way, unite

UNITS_PER_EM = 1000
"""Lettering in its place is united in this part of its size."""


def unite_placed(parts: Sequence[Path], size: float) -> tuple[Path, list[Way]]:
    """Parts as one path in which no two overlap.

    Args:
        parts: closed paths, mm, each without overlaps of its own.
        size: mm to the em: sets how finely what meets is united.

    Returns:
        The path, and for each union that it took how it was come by. Parts that meet no other stay exactly as
        they are.
    """
    drawn = [part for part in parts if part]
    boxes = [part.bounds() for part in drawn]
    near = [(i, j) for i, j in combinations(range(len(drawn)), 2) if boxes[i].overlaps(boxes[j])]
    if not near:
        return Path.joined(drawn), []
    scratch, unit = Pool(), size / UNITS_PER_EM
    centre = complex(boxes[0].centre)
    glyphs = {k: Glyph.of(contours_of(drawn[k], centre, unit), scratch) for k in sorted({*sum(near, ())})}
    heads = list(range(len(drawn)))
    for i, j in near:
        if heads[i] != heads[j] and interact(glyphs[i], glyphs[j]):
            old, new = max(heads[i], heads[j]), min(heads[i], heads[j])
            heads = [new if head == old else head for head in heads]
    paths, ways = [], []
    for head in sorted(set(heads)):
        members = [k for k, other in enumerate(heads) if other == head]
        if len(members) == 1:
            paths.append(drawn[head])
        else:
            outcome = unite([contour for k in members for contour in glyphs[k].contours])
            paths.append(_path(outcome.contours, centre, unit))
            ways.append(outcome.way)
    return Path.joined(paths), ways


def contours_of(path: Path, centre: complex, unit: float) -> list[Contour]:
    """A closed path in mm as contours in fine units, y up, about a centre."""
    units = flip_y((path.points - centre) / unit)
    found = []
    moves = np.flatnonzero(path.commands == MOVE)
    first = path.first_points()
    ends = np.append(moves[1:], path.commands.size)
    for begin, end in zip(moves.tolist(), ends.tolist(), strict=True):
        codes = path.commands[begin + 1 : end]
        codes = codes[codes != CLOSE]
        start = int(first[begin])
        found.append(closed_contour(codes, units[start : start + 1 + int(POINTS_PER_COMMAND[codes].sum())]))
    return [contour for contour in found if contour is not None]


def _path(contours: Sequence[Contour], centre: complex, unit: float) -> Path:
    """Contours in fine units, y up, about a centre, as a path in mm."""
    united = outline(contours)
    return Path(united.commands, flip_y(united.points) * unit + centre)
