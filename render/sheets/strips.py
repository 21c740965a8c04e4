"""Irregular shapes on a strip as short as can be, within a time: an adapter to spyrrow.

What is found depends on how fast the machine is, so who wants the same sheet twice keeps the result.
The search runs in a process of its own, which is ended when its time is up: it overruns its own limit.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from multiprocessing import get_context
from typing import Any, Final

from render.sheets.nesting import Laid, Nest, Room, Shape, reach, too_close

_COARSE_MM: Final = 0.4
_FEW_CORNERS: Final = 60
_HAIR_MM: Final = 0.004
"""A shape of few corners is widened by so little: for rounding its place."""
_POLL_S: Final = 0.1
_EXPLORE: Final = 0.72
_COMPRESS: Final = 0.2
"""Shares of the time: the rest is for what it overruns, so that its last word is heard."""


def shorten_strip(
    shapes: Sequence[Shape], room: Room, gap: float, seconds: float, *, workers: int = 2, seed: int = 1
) -> Nest | None:
    """Lay shapes on one sheet as far left as can be found in `seconds`; None where nothing sound was found.

    Shapes are widened a little and drawn with fewer corners first. The result is measured by shapely before
    it is given out, and may reach further than the sheet: see :func:`render.sheets.nesting.reach`.

    Args:
        shapes: of one part each.
        room: without used-up regions; its height counts.
        gap: least distance, mm.
        seconds: for all of it.
        workers: threads.
        seed: of the search.
    """
    if room.used or not shapes or any(s.region.geom_type != "Polygon" for s in shapes):
        return None
    coarse = min(_COARSE_MM, room.height / 1000)
    items = [(s.id, _simple(s.region, coarse), list(s.angles)) for s in shapes]
    job = (items, room.height - 2 * room.margin + gap, gap, time.time() + seconds, workers, seed)
    best: Nest | None = None
    for placed in _search(job, seconds):
        # the search keeps half the gap from the edges of its strip
        shift = (room.margin - gap / 2, room.margin - gap / 2)
        laid = tuple(
            Laid(id_, 0, angle % 360, round((x + shift[0]) * 1000), round((y + shift[1]) * 1000))
            for id_, angle, x, y in placed
        )
        found = Nest(laid, (), "searched")
        if best is None or reach(found, shapes) < reach(best, shapes):
            endless = Room(1e9, room.height, room.margin)
            pulled = _pulled(found, shapes, room)
            if not too_close(pulled, shapes, [endless], gap):
                best = pulled
    return best


def _pulled(found: Nest, shapes: Sequence[Shape], room: Room) -> Nest:
    """The nest moved left as far as the margin lets it."""
    from render.sheets.nesting import lying

    regions = {s.id: s.region for s in shapes}
    left = min(lying(p, regions[p.id]).bounds[0] for p in found.laid)
    by = int((left - room.margin) * 1000)
    return Nest(tuple(Laid(p.id, p.sheet, p.angle, p.x_um - by, p.y_um) for p in found.laid), (), found.how)


def _simple(region: Any, coarse: float) -> list[tuple[float, float]]:
    """Corners of a region that holds this one and has few."""
    if len(region.exterior.coords) <= _FEW_CORNERS:
        few = region.buffer(_HAIR_MM, join_style="mitre")
        if few.geom_type == "Polygon":
            return _ring(few)
    wide = region.buffer(coarse, quad_segs=2).simplify(coarse * 0.95)
    if wide.geom_type != "Polygon" or not wide.contains(region):
        wide = region.buffer(coarse, quad_segs=2)
    return _ring(wide)


def _ring(region: Any) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in region.exterior.coords[:-1]]


def _search(job: Any, seconds: float) -> list[list[tuple[str, float, float, float]]]:
    """All feasible results reported in time, the last one last."""
    context = get_context("spawn")
    receive, send = context.Pipe(duplex=False)
    process = context.Process(target=_solve, args=(send, job), daemon=True)
    process.start()
    send.close()
    deadline = time.monotonic() + seconds
    found: list[Any] = []
    try:
        while (left := deadline - time.monotonic()) > 0:
            if receive.poll(left):
                message = receive.recv()
                if message is None:
                    break
                found.append(message)
    except EOFError:
        pass
    finally:
        process.terminate()
        process.join()
        receive.close()
    return found


def _solve(send: Any, job: Any) -> None:  # pragma: no cover - runs in a process of its own
    import threading

    import spyrrow

    items, height, gap, deadline, workers, seed = job
    left = deadline - time.time()
    instance = spyrrow.StripPackingInstance(
        "strip", height, [spyrrow.Item(id_, corners, 1, angles) for id_, corners, angles in items]
    )
    config = spyrrow.StripPackingConfig(
        early_termination=True,
        exploration_time=max(1, round(_EXPLORE * left)),
        compression_time=max(1, int(_COMPRESS * left)),
        num_workers=workers,
        seed=seed,
        min_items_separation=gap or None,
    )
    queue = spyrrow.ProgressQueue()
    thread = threading.Thread(target=instance.solve, args=(config, queue), daemon=True)
    thread.start()
    feasible = (0, 3, 4)
    while True:
        running = thread.is_alive()
        reports = [solution for kind, solution in queue.drain() if int(kind) in feasible]
        if reports:
            send.send([(p.id, p.rotation, *p.translation) for p in reports[-1].placed_items])
        if not running:
            send.send(None)
            return
        time.sleep(_POLL_S)
