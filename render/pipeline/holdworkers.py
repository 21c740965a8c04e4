"""Keeping pieces together by several processes: the same result as by one, sooner for long orders."""

from __future__ import annotations

import multiprocessing
import os
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from typing import TYPE_CHECKING, Final

from render.pipeline.holding import Held, hold

if TYPE_CHECKING:
    from render.design import Drawing
    from render.geometry import Path
    from render.lettering import Letterer
    from render.model import Fitted
    from render.pipeline.workshop import Job, Workshop

Todo = tuple[str, "Drawing", "Sequence[tuple[Fitted, Path]]"]
"""A piece's id, its drawing, its lettering with outlines."""

MANY: Final = 60
"""From so many pieces on, further processes pay for their start."""

MOST: Final = 4
"""More processes than this are started only if asked for."""

_worker: tuple[Job, Letterer] | None = None


def hold_all(
    todo: Sequence[Todo], job: Job, letterer: Letterer, workshop: Workshop, workers: int
) -> Iterator[Held]:
    """Each piece kept together (see :func:`render.pipeline.holding.hold`), in order.

    Args:
        todo: the pieces.
        job: design, thing, material, machine.
        letterer: draws single letters where they are brought together.
        workshop: where further processes find their fonts.
        workers: how many processes; 0 chooses.
    """
    if workers == 0:
        workers = min(os.cpu_count() or 1, MOST) if len(todo) >= MANY else 1
    if workers == 1 or len(todo) < 2:
        yield from (hold(piece, drawing, lettering, job, letterer) for piece, drawing, lettering in todo)
        return
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(workers, context, _begin, (job, workshop)) as pool:
        yield from pool.map(_hold, todo, chunksize=4)


def _begin(job: Job, workshop: Workshop) -> None:
    global _worker
    _worker = (job, workshop.letterer())


def _hold(todo: Todo) -> Held:
    assert _worker is not None  # noqa: S101 - set by _begin
    return hold(*todo, *_worker)
