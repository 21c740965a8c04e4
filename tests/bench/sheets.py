"""Sheets: how close pieces lie, how long laying them takes, how far the head travels.

Run it by hand, alone on the machine::

    python tests/bench/sheets.py toppers [--pieces 120] [--seconds 60]
    python tests/bench/sheets.py strips [--seconds 60] [swim albano ...]
    python tests/bench/sheets.py rectangles [--seconds 60]

`strips` reads instances of the ESICUP literature from the folder that MONIKERF_OUTSIDE names.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import sys
from collections.abc import Callable
from pathlib import Path
from time import perf_counter
from typing import Any

sys.path[:0] = [str(Path(__file__).parents[2]), str(Path(__file__).parent)]

import shapely  # noqa: E402
import shapely.affinity  # noqa: E402
from invented import invented  # noqa: E402

from render.model import Artwork, Order, Piece, Stock  # noqa: E402
from render.pipeline.artworks import letter_order  # noqa: E402
from render.pipeline.workshop import Workshop  # noqa: E402
from render.sheets.burn import finished  # noqa: E402
from render.sheets.layout import Arrange, LayoutOptions, layout  # noqa: E402
from render.sheets.nesting import Room, Shape, nest, reach, too_close  # noqa: E402
from render.sheets.plans import STEPS  # noqa: E402
from render.sheets.rectangles import Plate, pack  # noqa: E402
from render.sheets.search import denser  # noqa: E402
from render.sheets.strips import shorten_strip  # noqa: E402

BEST_KNOWN = {
    "swim": 79.826,
    "albano": 89.821,
    "shapes0": 69.978,
    "fu": 92.396,
    "trousers": 92.615,
    "shirts": 90.920,
    "dagli": 90.172,
}
"""Density in per cent of the best nests in the literature, by instance (github.com/JeroenGar/sparrow)."""


# ---------------------------------------------------------------- toppers


def toppers(count: int) -> tuple[tuple[Artwork, ...], Any]:
    """So many cake toppers with different names, finished, and their job."""
    workshop = Workshop.open()
    job = workshop.job("cake-topper")
    names = [name.split()[0] for name in invented(4 * count)]
    pieces = tuple(
        Piece(f"p{n:03}", n, {"name": name}) for n, name in enumerate(list(dict.fromkeys(names))[:count], 2)
    )
    lettered = letter_order(Order("bench", pieces), job, workshop.letterer(), workshop, 1, lambda *_: None)
    return finished(lettered.artworks, job.blank), job


def bench_toppers(asked: argparse.Namespace) -> None:
    """Cake toppers on plywood: in a grid, as rectangles, by their shapes, searched for some time."""
    art, job = toppers(asked.pieces)
    stock = Stock(600, 300, 5, 2)
    print(f"{len(art)} toppers on 600 × 300 mm                 sheets  waste %  seconds")
    ways = {
        "grid": LayoutOptions(),
        "nested, filled at once": LayoutOptions(arrange=Arrange.NESTED, steps=0),
        "nested": LayoutOptions(arrange=Arrange.NESTED),
        f"nested, {asked.seconds:g} s search": LayoutOptions(arrange=Arrange.NESTED, seconds=asked.seconds),
    }
    area = 0.0
    for title, options in ways.items():
        begin = perf_counter()
        laid = layout(art, job.blank, job.machine, stock=stock, options=options)
        took = perf_counter() - begin
        area = sum(t.pieces for t in laid.taken) or area
        sheets = len(laid.sheets)
        used = area or float("nan")
        waste = 100 * (1 - used / (sheets * stock.width * stock.height))
        print(f"{title:45} {sheets:6} {waste:8.1f} {took:8.1f}", flush=True)


# ---------------------------------------------------------------- strips of the literature

STRIP_MM = 300.0
"""Every instance is scaled to a strip so high; densities do not change by that."""


def instance(name: str) -> list[Shape]:
    """The shapes of an instance, each as often as it is demanded."""
    folder = os.environ.get("MONIKERF_OUTSIDE")
    if not folder:
        raise SystemExit("set MONIKERF_OUTSIDE to the folder with nesting/")
    table = json.loads((Path(folder) / "nesting" / f"{name}.json").read_text())
    scale = STRIP_MM / table["strip_height"]
    shapes = []
    for item in table["items"]:
        region = shapely.affinity.scale(shapely.Polygon(item["shape"]["data"]), scale, scale, origin=(0, 0))
        turns = tuple(float(angle) for angle in item["allowed_orientations"])
        shapes += [Shape(f"{item['id']}-{copy}", region, turns) for copy in range(item["demand"])]
    return shapes


def plain(shapes: list[Shape], seconds: float) -> float:
    """Length of the strip by spyrrow alone."""
    import spyrrow

    items = [spyrrow.Item(s.id, list(s.region.exterior.coords)[:-1], 1, list(s.angles)) for s in shapes]
    config = spyrrow.StripPackingConfig(
        early_termination=True, total_computation_time=round(seconds), num_workers=2, seed=1
    )
    return spyrrow.StripPackingInstance("strip", STRIP_MM, items).solve(config).width


def in_boxes(shapes: list[Shape]) -> float:
    """Length of the strip in the best grid, all places as large as the largest piece upright or turned."""
    sides = [r[2:] for r in ((0, 0, *_size(s.region)) for s in shapes)]
    wide, high = (max(side[k] for side in sides) for k in (0, 1))
    ways = [(wide, high)] + ([(high, wide)] if all({90.0, 270.0} & {*s.angles} for s in shapes) else [])
    return min(-(-len(shapes) // int(STRIP_MM // h)) * w for w, h in ways if h <= STRIP_MM)


def _size(region: Any) -> tuple[float, float]:
    x0, y0, x1, y1 = region.bounds
    return x1 - x0, y1 - y0


def bench_strips(asked: argparse.Namespace) -> None:
    """Densities on a strip: grid, filled at once, by steps, by the clock, by spyrrow alone, best known."""
    print("density in %     grid  filled (s)   by steps (s)   searched  spyrrow  best known  seconds")
    for name in asked.names or [*BEST_KNOWN]:
        shapes = instance(name)
        area = sum(s.region.area for s in shapes)
        begin = perf_counter()
        rooms = [Room(area / STRIP_MM / 0.4, STRIP_MM)]
        filled = nest(shapes, rooms, 0.0)
        took = perf_counter() - begin
        begin = perf_counter()
        stepped = denser(filled, shapes, rooms, 0.0, steps=STEPS)
        stepping = perf_counter() - begin
        right = [in_boxes(shapes), reach(filled, shapes)[1], reach(stepped, shapes)[1]]
        begin = perf_counter()
        alone = plain(shapes, asked.seconds)
        seconds = perf_counter() - begin  # it overruns its time: ours gets as much
        searched = shorten_strip(shapes, rooms[0], 0.0, seconds)
        right.append(min(right[1], reach(searched, shapes)[1] if searched else right[1]))
        if searched:
            assert not too_close(searched, shapes, [Room(1e6, STRIP_MM)], 0.0)
        right.append(alone)
        grid, once, steps, ours, theirs = (100 * area / STRIP_MM / r for r in right)
        print(
            f"{name:12} {grid:8.2f} {once:7.2f} ({took:3.0f}) {steps:9.2f} ({stepping:4.1f}) {ours:9.2f}"
            f" {theirs:8.2f} {BEST_KNOWN.get(name, float('nan')):10.2f} {seconds:8.1f}",
            flush=True,
        )


# ---------------------------------------------------------------- rectangles


def guillotined(count: int, seed: int, width: float, height: float) -> list[Plate]:
    """A sheet cut into rectangles from edge to edge: the optimum is the sheet itself."""
    rng = random.Random(seed)
    parts = [(width, height)]
    while len(parts) < count:
        parts.sort(key=lambda p: -p[0] * p[1])
        w, h = parts.pop(0)
        cut = round(rng.randint(30, 70) / 100 * max(w, h))  # at whole mm: none is rounded up later
        parts += [(cut, h), (w - cut, h)] if w > h else [(w, cut), (w, h - cut)]
    rng.shuffle(parts)
    return [Plate(str(n), w, h) for n, (w, h) in enumerate(parts)]


def bench_rectangles(_: argparse.Namespace) -> None:
    """Rectangles cut from one sheet, packed again: how much longer a strip than the sheet they need."""
    print("rectangles  instances  longer by % (least, mean, most)  seconds each")
    for count in (10, 20, 40, 80, 120, 160):
        longer, begin = [], perf_counter()
        for seed in range(10):
            plates = guillotined(count, seed, 400.0, 240.0)
            found = pack(plates, [Room(1200, 240)], 0.0)
            shapes = [Shape(p.id, shapely.box(0, 0, p.width, p.height)) for p in plates]
            longer.append(100 * (reach(found, shapes)[1] / 400 - 1))
        took = (perf_counter() - begin) / len(longer)
        least, mean, most = min(longer), sum(longer) / len(longer), max(longer)
        print(f"{count:10} {len(longer):10} {least:12.1f} {mean:8.1f} {most:8.1f} {took:14.2f}", flush=True)


BENCHES: dict[str, Callable[[argparse.Namespace], None]] = {
    "toppers": bench_toppers,
    "strips": bench_strips,
    "rectangles": bench_rectangles,
}


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("bench", choices=BENCHES)
    parser.add_argument("names", nargs="*", help="of instances; without any all that are known")
    parser.add_argument("--pieces", type=int, default=120)
    parser.add_argument("--seconds", type=float, default=60.0)
    asked = parser.parse_intermixed_args()
    BENCHES[asked.bench](asked)


if __name__ == "__main__":
    main()
