"""Pictures drawn beside the other work: by a process of its own where it pays, else at once."""

from __future__ import annotations

import multiprocessing
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from typing import Final

from render.writers.png import Picture, render_png, usual_engine

PAYS_FROM: Final = 30
"""From so many pieces on a process of its own is worth its start."""

Draw = Callable[[bytes, int], Callable[[], Picture]]
"""Begins a picture of an SVG at a width in px; what it returns waits for the picture."""


@contextmanager
def painter(pieces: int) -> Iterator[Draw]:
    """Draws one picture after the other while the caller goes on.

    Begin early: the process loads its libraries meanwhile. If it cannot be started or dies, the picture is
    drawn here.
    """
    if pieces < PAYS_FROM:
        yield _at_once
        return
    with ProcessPoolExecutor(1, multiprocessing.get_context("spawn")) as pool:
        pool.submit(usual_engine)

        def draw(svg: bytes, width: int) -> Callable[[], Picture]:
            future = pool.submit(_render, svg, width)

            def wait() -> Picture:
                try:
                    return future.result()
                except (BrokenProcessPool, OSError):
                    return _render(svg, width)

            return wait

        yield draw


def _render(svg: bytes, width: int) -> Picture:
    return render_png(svg, width_px=width)


def _at_once(svg: bytes, width: int) -> Callable[[], Picture]:
    picture = _render(svg, width)
    return lambda: picture
