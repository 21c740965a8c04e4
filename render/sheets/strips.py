"""Irregular shapes on a strip as short as can be, in so many steps or within a time: an adapter to spyrrow.

Counted in steps the same shapes always give the same strip. By the clock what is found depends on how fast
the machine is, so who wants the same sheet twice keeps the result. The search runs in a process of its own,
which is ended when its time is up: it overruns its own limit.
"""

from __future__ import annotations

import json
import queue
import subprocess
import sys
import threading
import time
from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import IO, Any, Final

from render.sheets import solver
from render.sheets.nesting import Laid, Nest, Room, Shape, reach, too_close

_COARSE: Final = 0.006
_COARSEST_MM: Final = 1.0
"""Shapes of many corners are drawn with fewer, within so much of their size and so many mm."""
_FEW_CORNERS: Final = 60
_HAIR_MM: Final = 0.004
"""A shape of few corners is widened by so little: for rounding its place."""


_Placed = list[tuple[str, float, float, float]]
"""Each shape by id, degrees, x and y."""


@dataclass(frozen=True, slots=True)
class Stepped:
    """What so many steps came to.

    Attributes:
        nest: None where nothing sound was found.
        cut_short: whether the clock ended it before its steps were done: another machine may find another.
    """

    nest: Nest | None
    cut_short: bool = False


def strip_in_steps(
    shapes: Sequence[Shape],
    room: Room,
    gap: float,
    steps: int,
    seconds: float,
    *,
    fits: bool = False,
    seed: int = 1,
) -> Stepped:
    """Lay shapes on one sheet as far left as can be found in so many steps of the search.

    As :func:`shorten_strip`, but always the same.

    Args:
        shapes: of one part each.
        room: without used-up regions; its height counts.
        gap: least distance, mm.
        steps: reports of the search, each a strip that it tried.
        seconds: after so many it is ended all the same.
        fits: whether it may end as soon as all fit on the sheet.
        seed: of the search.
    """
    drawn = _drawn(shapes, room, gap)
    if drawn is None:
        return Stepped(None)
    job, edge = drawn
    width = room.width - 2 * edge if fits else 0.0
    found: list[_Placed] = []
    ended = False
    for said in _search({**job, "steps": steps, "width": width, "seed": seed}, seconds):
        ended = isinstance(said, dict)
        found = said["end"] if isinstance(said, dict) else [said, *found[:3]]
        if ended:
            break
    for placed in found:
        sound = _sound(_as_nest(placed, edge), shapes, room, gap)
        if sound is not None:
            return Stepped(sound, not ended)
    return Stepped(None, not ended)


def shorten_strip(
    shapes: Sequence[Shape],
    room: Room,
    gap: float,
    seconds: float,
    *,
    enough: float = 0.0,
    workers: int = 2,
    seed: int = 1,
) -> Nest | None:
    """Lay shapes on one sheet as far left as can be found in `seconds`; None where nothing sound was found.

    Shapes are widened a little and drawn with fewer corners first. The result is measured by shapely before
    it is given out, and may reach further than the sheet: see :func:`render.sheets.nesting.reach`.

    Args:
        shapes: of one part each.
        room: without used-up regions; its height counts.
        gap: least distance, mm.
        seconds: for all of it.
        enough: mm from the left of the sheet; what reaches no further is taken at once.
        workers: threads.
        seed: of the search.
    """
    drawn = _drawn(shapes, room, gap)
    if drawn is None:
        return None
    job, edge = drawn
    best: Nest | None = None
    timed = {**job, "deadline": time.time() + seconds, "workers": workers, "seed": seed}
    for placed in _search(timed, seconds):
        found = _as_nest(placed, edge)
        if best is None or reach(found, shapes) < reach(best, shapes):
            best = _sound(found, shapes, room, gap) or best
            if best is not None and reach(best, shapes)[1] <= enough:
                break
    return best


def corners(shapes: Sequence[Shape]) -> float:
    """How many corners the shapes have as they are drawn for the search, on the mean."""
    few = (_simple(s.region) for s in shapes if s.region.geom_type == "Polygon")
    return sum(len(each.exterior.coords) for each in few) / max(len(shapes), 1)


def _drawn(shapes: Sequence[Shape], room: Room, gap: float) -> tuple[dict[str, Any], float] | None:
    """What the search is told of shapes and sheet, and what it must keep off the sheet's edges, mm.

    None where it cannot be asked: for shapes of several parts, or a sheet that is part used.
    """
    if room.used or not shapes or any(s.region.geom_type != "Polygon" for s in shapes):
        return None
    drawn = [_simple(s.region) for s in shapes]
    off = min(float(wide.exterior.distance(s.region)) for wide, s in zip(drawn, shapes, strict=True))
    items = [(s.id, _ring(wide), list(s.angles)) for wide, s in zip(drawn, shapes, strict=True)]
    least = max(gap - 2 * off, 0.0)
    # the search keeps half of the gap from the edges of its strip, and what is drawn holds the shape
    edge = room.margin - least / 2 - off
    job = {
        "items": items,
        "height": room.height - 2 * edge,
        "gap": least,
        "steps": 0,
        "width": 0.0,
        "deadline": 0.0,
        "workers": 1,
    }
    return job, edge


def _as_nest(placed: _Placed, edge: float) -> Nest:
    return Nest(
        tuple(
            Laid(id_, 0, angle % 360, round((x + edge) * 1000), round((y + edge) * 1000))
            for id_, angle, x, y in placed
        ),
        (),
        "searched",
    )


def _sound(found: Nest, shapes: Sequence[Shape], room: Room, gap: float) -> Nest | None:
    """The nest moved left, if shapely finds nothing wrong with it on a sheet of any width."""
    endless = Room(1e9, room.height, room.margin)
    pulled = _pulled(found, shapes, room)
    return None if too_close(pulled, shapes, [endless], gap) else pulled


def _pulled(found: Nest, shapes: Sequence[Shape], room: Room) -> Nest:
    """The nest moved left as far as the margin lets it."""
    from render.sheets.nesting import lying

    regions = {s.id: s.region for s in shapes}
    left = min(lying(p, regions[p.id]).bounds[0] for p in found.laid)
    by = int((left - room.margin) * 1000)
    return Nest(tuple(Laid(p.id, p.sheet, p.angle, p.x_um - by, p.y_um) for p in found.laid), (), found.how)


def _simple(region: Any) -> Any:
    """A region that holds this one and has few corners."""
    if len(region.exterior.coords) <= _FEW_CORNERS:
        few = region.buffer(_HAIR_MM, join_style="mitre")
        if few.geom_type == "Polygon":
            return few
    import shapely

    x0, y0, x1, y1 = region.bounds
    coarse = min(_COARSEST_MM, _COARSE * max(x1 - x0, y1 - y0))
    grown = shapely.Polygon(region.buffer(1.1 * coarse, quad_segs=2).exterior)
    wide = grown.simplify(coarse)
    good = wide.geom_type == "Polygon" and wide.is_valid and wide.contains(region)
    return wide if good else grown


def _ring(region: Any) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in region.exterior.coords[:-1]]


def _search(job: dict[str, Any], seconds: float) -> Iterator[Any]:
    """The feasible results as they are reported in time, the last one last."""
    deadline = time.monotonic() + seconds
    process = subprocess.Popen(
        [sys.executable, "-P", "-W", "ignore", solver.__file__],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        encoding="ascii",
    )
    lines: queue.Queue[str] = queue.Queue()
    reader = threading.Thread(target=_read_into, args=(lines, process.stdout), daemon=True)
    reader.start()
    try:
        _tell(process.stdin, job)
        while (left := deadline - time.monotonic()) > 0:
            line = lines.get(timeout=left)
            if not line:
                break
            yield json.loads(line)
    except (queue.Empty, OSError):
        pass
    finally:
        process.kill()
        process.wait()
        reader.join()
        for pipe in (process.stdin, process.stdout):
            if pipe is not None:
                with suppress(OSError):
                    pipe.close()


def _tell(pipe: IO[str] | None, job: dict[str, Any]) -> None:
    if pipe is not None:
        pipe.write(json.dumps(job) + "\n")
        pipe.flush()


def _read_into(lines: queue.Queue[str], pipe: IO[str] | None) -> None:
    """Pass lines on as they come, and an empty one at the end."""
    for line in pipe or ():
        lines.put(line)
    lines.put("")
