"""The search of spyrrow, as a program of its own: it overruns its time and must be ended from outside.

It imports nothing of Monikerf: it takes one JSON line, what is to be laid, and answers with a JSON line for
each feasible strip that it comes to, a list of [id, angle, x, y].

The engine knows limits of time only. But as long as it explores, no clock has a say in what it does: by one
thread and from one seed its reports come always in the same order (measured: 608 reports of two runs beside
different other work were equal to the last digit). So where steps are counted it is given endless time, and
every report is a step. After so many, or when it first gives a length up, the last line tells the best.
"""

from __future__ import annotations

import json
import os
import sys
import threading
import time
from collections.abc import Iterator
from typing import Any, Final

_POLL_S: Final = 0.1
_POLL_STEPS_S: Final = 0.02
_EXPLORE: Final = 0.72
_COMPRESS: Final = 0.18
"""Shares of the time: the rest is for what it overruns, so that its last word is heard."""
_ENDLESS_S: Final = 1_000_000
_EXPLORED: Final = 0
_ON_ITS_WAY: Final = 2
_FEASIBLE: Final = (0, 3, 4)
"""Kinds of reports: a strip is feasible, while exploring; one gets better; all kinds that are feasible."""
_PATIENCE: Final = 48
"""After so many steps without a shorter strip it is over, as when a length is given up: they get slow."""
_LAST: Final = 4
"""How many of the best strips are told in the end: one is taken if those before it are not sound."""


def solve(job: dict[str, Any]) -> None:
    """Search, and answer on standard output."""
    import spyrrow

    steps = job["steps"]
    left = job["deadline"] - time.time()
    items = [spyrrow.Item(id_, [tuple(c) for c in ring], 1, angles) for id_, ring, angles in job["items"]]
    instance = spyrrow.StripPackingInstance("strip", job["height"], items)
    config = spyrrow.StripPackingConfig(
        early_termination=True,
        total_computation_time=None,
        exploration_time=_ENDLESS_S if steps else max(1, round(_EXPLORE * left)),
        compression_time=1 if steps else max(1, int(_COMPRESS * left)),
        num_workers=1 if steps else job["workers"],
        seed=job["seed"],
        min_items_separation=job["gap"] or None,
    )
    queue = spyrrow.ProgressQueue()
    thread = threading.Thread(target=instance.solve, args=(config, queue), daemon=True)
    thread.start()
    if steps:
        _in_steps(_reports(queue, thread, _POLL_STEPS_S), steps, job["width"])
        return
    for reports in _reports(queue, thread, _POLL_S):
        good = [solution for kind, solution in reports if int(kind) in _FEASIBLE]
        if good:
            _say(_placed(good[-1]))


def _reports(queue: Any, thread: threading.Thread, poll: float) -> Iterator[list[tuple[int, Any]]]:
    """What has been reported since last time, as long as the search runs and once more."""
    running = True
    while running:
        running = thread.is_alive()
        yield queue.drain()
        time.sleep(poll)


def _in_steps(reports: Iterator[list[tuple[int, Any]]], steps: int, width: float) -> None:
    """Follow the search for so many steps, or until a strip is no longer than the width."""
    best: list[Any] = []
    count = since = 0
    for some in reports:
        for kind, solution in some:
            count, since = count + 1, since + 1
            over = count > steps or since > _PATIENCE
            if over or int(kind) not in (_EXPLORED, _ON_ITS_WAY):
                _say({"end": [_placed(s) for s in reversed(best)]})
                return
            if int(kind) == _EXPLORED:
                since = 0
                best = [*best, solution][-_LAST:]
                if solution.width <= width:
                    _say({"end": [_placed(s) for s in reversed(best)]})
                    return
        if some and best:
            _say(_placed(best[-1]))
    _say({"end": [_placed(s) for s in reversed(best)]})


def _placed(solution: Any) -> list[Any]:
    return [(p.id, p.rotation, *p.translation) for p in solution.placed_items]


def _say(what: Any) -> None:
    sys.stdout.write(json.dumps(what) + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    solve(json.loads(sys.stdin.readline()))
    os._exit(0)  # the search may still run, and would stumble over an interpreter that is closing
