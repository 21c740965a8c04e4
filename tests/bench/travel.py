"""The head's way: how near to the best known it comes, and how long the ordering takes.

Run it by hand, alone on the machine::

    python tests/bench/travel.py [FILE.tsp ...]

Files are instances of TSPLIB (G. Reinelt, 1991) with Euclidean distances: ``pcb442`` travels in the source
package of tsplib95 on PyPI (tests/data), ``d493`` in Debian's package r-cran-tsp (examples). Without any,
only what is derived here is run. All of it is one thread's work: the seconds told are the processor's, which
on a quiet machine are the clock's.
"""

from __future__ import annotations

import math
import random
import sys
from pathlib import Path
from time import process_time

sys.path[:0] = [str(Path(__file__).parents[2])]

import numpy as np  # noqa: E402
from numpy.typing import NDArray  # noqa: E402

from render.geometry.shapes import circle, line, rectangle  # noqa: E402
from render.model import Artwork, Mark, Operation, Placement, Sheet  # noqa: E402
from render.sheets.errands import shorten_sheet  # noqa: E402
from render.sheets.tour import round_length, short_round  # noqa: E402
from render.sheets.travel import shortened  # noqa: E402

Points = NDArray[np.complex128]

OPTIMA = {"pcb442": 50778, "d493": 35002, "berlin52": 7542, "pr1002": 259045, "pcb3038": 137694}
"""Lengths of the shortest rounds, each distance rounded to whole numbers (TSPLIB; from memory)."""


def instance(file: Path) -> tuple[str, Points]:
    """Name and points of an instance.

    Raises:
        SystemExit: its distances are not Euclidean ones of the plane.
    """
    text = file.read_text()
    if "EUC_2D" not in text:
        raise SystemExit(f"{file.name} is not an instance of the plane (EUC_2D)")
    body = text[text.index("NODE_COORD_SECTION") :].splitlines()[1:]
    rows = [row.split() for row in body if len(row.split()) == 3]
    return file.stem, np.array([complex(float(x), float(y)) for _, x, y in rows])


def whole_length(points: Points, order: NDArray[np.int64]) -> int:
    """Length of a round with every distance rounded, as TSPLIB counts."""
    there = points[order]
    return int(np.floor(np.abs(there - np.roll(there, 1)) + 0.5).sum())


def told(title: str, count: int, share: str, seconds: float) -> None:
    print(f"{title:44} {count:6} {share:>9} {seconds:8.2f}", flush=True)


def rounds(files: list[Path]) -> None:
    """Single points: a lattice, whose optimum is known, and the files."""
    lattice = np.array([complex(x, y) for x in range(100) for y in range(50)])
    lattice = lattice[np.random.default_rng(5).permutation(lattice.size)]
    begin = process_time()
    length = round_length(lattice, short_round(lattice))
    told("lattice 100 × 50 (optimum 5000: derived)", 5000, above(length, 5000), process_time() - begin)
    for file in files:
        name, points = instance(file)
        begin = process_time()
        order = short_round(points)
        took = process_time() - begin
        assert sorted(order.tolist()) == list(range(points.size))
        told(f"{name} (TSPLIB)", points.size, above(whole_length(points, order), OPTIMA[name]), took)


def above(length: float, best: float) -> str:
    return f"+{100 * (length / best - 1):.2f} %"


def paths(count: int) -> None:
    """Paths of some size, entered where it suits: how much shorter than as they come."""
    rng = random.Random(7)
    some = []
    for _ in range(count):
        at = complex(rng.uniform(5, 595), rng.uniform(5, 395))
        open_ = line(at, at + 3 * complex(math.cos(at.real), math.sin(at.real)))
        some.append(rng.choice((circle(at, 1.5), rectangle(at.real, at.imag, 3, 2, 0.4), open_)))
    begin = process_time()
    route = shortened(some)
    told(
        f"{count} paths, anywhere", count, f"{100 * route.after / route.before:.2f} %", process_time() - begin
    )


def pieces(across: int, down: int) -> None:
    """A sheet full of small tags, each with two holes and two lines."""
    placements = []
    marks = (
        *(Mark(Operation.SCORE, line(complex(2, y), complex(6, y))) for y in (2.0, 3.0)),
        *(Mark(Operation.CUT, circle(complex(x, 2.5), 0.5)) for x in (1.0, 7.0)),
        Mark(Operation.CUT, rectangle(0, 0, 8, 5, 1)),
    )
    for number in range(across * down):
        x, y = number % across * 10 + 5, number // across * 7 + 5
        art = Artwork(f"p{number}", "", marks)
        placements.append(Placement(art, number + 1, x * 1000, y * 1000))
    sheet = Sheet(1, "bench", (across * 10 + 10, down * 7 + 10), 2, tuple(placements))
    begin = process_time()
    _, before, after = shorten_sheet(sheet)
    title = f"a sheet of {across * down} tags with {5 * across * down} paths"
    told(title, 5 * across * down, f"{100 * after / before:.2f} %", process_time() - begin)


def main() -> None:
    print(f"{'':44} {'count':>6} {'length':>9} {'CPU s':>8}")
    rounds([Path(name) for name in sys.argv[1:]])
    paths(5000)
    pieces(40, 25)


if __name__ == "__main__":
    main()
