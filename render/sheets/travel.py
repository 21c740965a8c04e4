"""The way of the head between paths: order, entries and directions free; and kept apart where heat gathers.

Nothing is known here of sheets and pieces, nor of what lies inside what; see :mod:`render.sheets.errands`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from render.geometry import CLOSE, LINE, MOVE, Path
from render.geometry.path import POINTS_PER_COMMAND
from render.sheets.tour import short_round

Points = NDArray[np.complex128]
Ints = NDArray[np.int64]

_ENTRIES: Final = 12
_ROUNDS: Final = 2
_RECENT: Final = 2


@dataclass(frozen=True, slots=True)
class Route:
    """In which order paths are followed, and where each is entered.

    Attributes:
        order: indices of the paths.
        nodes: for each path, in that order, the node to begin at (see :func:`begun_at`).
        before, after: mm of travel from home through all paths and home again, as given and as ordered.
    """

    order: tuple[int, ...]
    nodes: tuple[int, ...]
    before: float
    after: float


def nodes_of(path: Path) -> Points:
    """Where one contour can be entered: a closed one at each of its nodes, an open one at its two ends."""
    if path.commands[-1] != CLOSE:
        return np.asarray(path.points[[0, -1]])
    ends = (np.cumsum(POINTS_PER_COMMAND[path.commands]) - 1)[path.commands != CLOSE]
    nodes = path.points[ends]
    return np.asarray(nodes[:-1] if nodes.size > 1 and abs(nodes[-1] - nodes[0]) < 1e-9 else nodes)


def begun_at(path: Path, node: int) -> Path:
    """One contour begun at another node, still going round the same way; an open one turned round for 1."""
    if node == 0:
        return path
    if path.commands[-1] != CLOSE:
        return _reversed(path)
    codes, points = path.commands[1:-1], path.points
    if abs(points[-1] - points[0]) >= 1e-9:  # CLOSE draws a line home: from now on it is written out
        codes, points = np.append(codes, LINE).astype(np.uint8), np.append(points, points[0])
    counts = POINTS_PER_COMMAND[codes]
    at = int(counts[:node].sum())
    body = np.concatenate((points[1 + at :], points[1 : 1 + at]))
    turned = np.concatenate(([MOVE], codes[node:], codes[:node], [CLOSE])).astype(np.uint8)
    whole = np.concatenate((points[at : at + 1], body))
    if turned[-2] == LINE:
        turned, whole = np.delete(turned, -2), whole[:-1]
    return Path(turned, whole)


def _reversed(path: Path) -> Path:
    codes = path.commands[1:]
    order = codes[::-1]
    return Path(np.concatenate(([MOVE], order)).astype(np.uint8), path.points[::-1].copy())


def shortened(paths: Sequence[Path], home: complex = 0j) -> Route:
    """A short way through single contours from `home` and back: order, entries and directions free.

    The order by :func:`render.sheets.tour.short_round`, then the entries exactly best for that order, and
    both once more.
    """
    if not paths:
        return Route((), (), 0.0, 0.0)
    entries = [some(nodes_of(path)) for path in paths]
    at = np.array(
        [nodes[0] if p.commands[-1] == CLOSE else nodes.mean() for p, (_, nodes) in _with(paths, entries)]
    )
    exits = [nodes if p.commands[-1] == CLOSE else nodes[::-1] for p, (_, nodes) in _with(paths, entries)]
    starts = [nodes for _, nodes in entries]
    given = np.arange(len(paths))
    before = _length([n[0] for n in starts], [n[0] for n in exits], given, home)
    best: tuple[float, Ints, Ints] = (before, given, np.zeros(len(paths), np.int64))
    round_: Ints | None = None
    for _ in range(_ROUNDS):
        round_ = short_round(np.concatenate(([home], at)), round_)
        order = round_[1:] - 1
        length, chosen = entered(starts, exits, order, home)
        if length < best[0]:
            best = (length, order, chosen)
        at = at.copy()
        for path, choice in zip(order.tolist(), chosen.tolist(), strict=True):
            if paths[path].commands[-1] == CLOSE:
                at[path] = starts[path][choice]
    length, order, chosen = best
    nodes = tuple(int(entries[i][0][c]) for i, c in zip(order.tolist(), chosen.tolist(), strict=True))
    return Route(tuple(order.tolist()), nodes, before, length)


def _with(
    paths: Sequence[Path], entries: Sequence[tuple[Ints, Points]]
) -> list[tuple[Path, tuple[Ints, Points]]]:
    return list(zip(paths, entries, strict=True))


def some(nodes: Points) -> tuple[Ints, Points]:
    """At most so many nodes, spread evenly, with their numbers; always the first."""
    which = np.unique(np.linspace(0, nodes.size - 1, min(nodes.size, _ENTRIES)).astype(np.int64))
    return which, nodes[which]


def _length(starts: Sequence[complex], exits: Sequence[complex], order: Ints, home: complex) -> float:
    into = np.array([*(starts[i] for i in order), home])
    out = np.array([home, *(exits[i] for i in order)])
    return float(np.abs(into - out).sum())


def entered(
    starts: Sequence[Points], exits: Sequence[Points], order: Ints, home: complex
) -> tuple[float, Ints]:
    """The best entry of each path for an order, by dynamic programming along it."""
    cost = np.zeros(1)
    out = np.array([home])
    back: list[Ints] = []
    for path in order.tolist():
        total = cost[:, None] + np.abs(out[:, None] - starts[path][None, :])
        back.append(total.argmin(axis=0))
        cost, out = total.min(axis=0), exits[path]
    last = cost + np.abs(out - home)
    choice = int(last.argmin())
    length = float(last[choice])
    chosen = np.empty(len(order), np.int64)
    for step in range(len(order) - 1, -1, -1):
        chosen[step] = choice
        choice = int(back[step][choice])
    return length, chosen


def kept_apart(at: Points, order: Sequence[int], distance: float) -> tuple[int, ...]:
    """An order in which each place lies at least `distance` from the two before it, where that can be.

    From the given order always the first that is far enough is taken, else the farthest; on thin stock heat
    then has time to go (common practice, no source).
    """
    left = list(order)
    done: list[int] = []
    while left:
        recent = at[done[-_RECENT:]]
        away = np.abs(at[left][:, None] - recent[None, :]).min(axis=1) if done else np.full(len(left), np.inf)
        far = np.flatnonzero(away >= distance)
        done.append(left.pop(int(far[0]) if far.size else int(away.argmax())))
    return tuple(done)
