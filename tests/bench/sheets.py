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
from invented import invented  # noqa: E402

from render.model import Artwork, Order, Piece, Stock  # noqa: E402
from render.pipeline.artworks import letter_order  # noqa: E402
from render.pipeline.workshop import Workshop  # noqa: E402
from render.sheets.burn import finished  # noqa: E402
from render.sheets.layout import Arrange, LayoutOptions, layout  # noqa: E402
from render.sheets.nesting import Room, Shape, nest, reach, too_close  # noqa: E402

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


BENCHES: dict[str, Callable[[argparse.Namespace], None]] = {
    "toppers": bench_toppers,
}


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("bench", choices=BENCHES)
    parser.add_argument("names", nargs="*", help="of instances; without any all that are known")
    parser.add_argument("--pieces", type=int, default=120)
    parser.add_argument("--seconds", type=float, default=60.0)
    asked = parser.parse_args()
    BENCHES[asked.bench](asked)


if __name__ == "__main__":
    main()
