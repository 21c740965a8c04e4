"""The search of spyrrow, as a program of its own: it overruns its time and must be ended from outside.

It imports nothing of Monikerf: it takes one JSON line, what is to be laid, and answers with a JSON line for
each feasible strip that it comes to, a list of [id, angle, x, y].
"""

from __future__ import annotations

import json
import sys
import threading
import time
from typing import Any, Final

_POLL_S: Final = 0.1
_EXPLORE: Final = 0.72
_COMPRESS: Final = 0.18
"""Shares of the time: the rest is for what it overruns, so that its last word is heard."""
_FEASIBLE: Final = (0, 3, 4)
"""Kinds of reports whose strips are feasible."""


def solve(job: dict[str, Any]) -> None:
    """Search, and answer on standard output."""
    import spyrrow

    left = job["deadline"] - time.time()
    items = [spyrrow.Item(id_, [tuple(c) for c in ring], 1, angles) for id_, ring, angles in job["items"]]
    instance = spyrrow.StripPackingInstance("strip", job["height"], items)
    config = spyrrow.StripPackingConfig(
        early_termination=True,
        total_computation_time=None,
        exploration_time=max(1, round(_EXPLORE * left)),
        compression_time=max(1, int(_COMPRESS * left)),
        num_workers=job["workers"],
        seed=job["seed"],
        min_items_separation=job["gap"] or None,
    )
    queue = spyrrow.ProgressQueue()
    thread = threading.Thread(target=instance.solve, args=(config, queue), daemon=True)
    thread.start()
    running = True
    while running:
        running = thread.is_alive()
        reports = [solution for kind, solution in queue.drain() if int(kind) in _FEASIBLE]
        if reports:
            placed = [(p.id, p.rotation, *p.translation) for p in reports[-1].placed_items]
            sys.stdout.write(json.dumps(placed) + "\n")
            sys.stdout.flush()
        time.sleep(_POLL_S)


if __name__ == "__main__":
    solve(json.loads(sys.stdin.readline()))
