"""Lettering by several processes: the same result as by one, sooner for long orders."""

from __future__ import annotations

import multiprocessing
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from typing import TYPE_CHECKING

from render.geometry import Path
from render.model import SetLine

if TYPE_CHECKING:
    from render.lettering import Letterer
    from render.pipeline.workshop import Workshop

_letterer: Letterer | None = None


def outlines_by_workers(
    chunks: Sequence[Sequence[Sequence[SetLine]]], workshop: Workshop, workers: int
) -> Iterator[list[Path]]:
    """The paths of each chunk, in order.

    Processes are started afresh (not forked), so that it works alike on every system.
    """
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(workers, context, _begin, (workshop,)) as pool:
        yield from pool.map(_outlines, chunks, chunksize=4)


def _begin(workshop: Workshop) -> None:
    global _letterer
    _letterer = workshop.letterer()


def _outlines(chunk: Sequence[Sequence[SetLine]]) -> list[Path]:
    assert _letterer is not None  # noqa: S101 - set by _begin
    return _letterer.outlines(chunk)
