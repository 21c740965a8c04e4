"""A wedding's 120 place cards: the whole command, and the contact sheet alone.

Run it by hand, alone on the machine::

    python tests/bench/batch.py [--runs 5]

The command runs in a fresh process each time, with verification and proof: *first* with nothing kept, *again*
with the united outlines of an earlier run. The contact sheet is drawn in this process, from finished artworks
to the bytes of its PNG. Medians of several runs.
"""

from __future__ import annotations

import argparse
import os
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path
from time import perf_counter

TOP = Path(__file__).parents[2]
sys.path[:0] = [str(TOP)]

from render.intake import read_table, take_order  # noqa: E402
from render.pipeline import Workshop  # noqa: E402
from render.pipeline.artworks import letter_order  # noqa: E402
from render.pipeline.files import PROOF_WIDTH_PX  # noqa: E402
from render.pipeline.proofs import proof_pages  # noqa: E402
from render.writers.png import render_png  # noqa: E402

GUESTS = TOP / "demo" / "wedding" / "guests.csv"


def command(out: Path, cache: str) -> float:
    """Seconds of one `monikerf batch`."""
    words = ["batch", str(GUESTS), "-t", "place-card", "-o", str(out)]
    begin = perf_counter()
    subprocess.run(
        [sys.executable, "-m", "render.cli", *words],
        check=True, cwd=TOP, stdout=subprocess.DEVNULL, env={**os.environ, "MONIKERF_CACHE": cache},
    )  # fmt: skip
    return perf_counter() - begin


def contact_sheet() -> float:
    """Seconds from artworks to the PNG."""
    workshop, order = Workshop.open(), take_order(read_table(GUESTS))
    job, letterer = workshop.job("place-card"), workshop.letterer()
    lettered = letter_order(order, job, letterer, workshop, 1, lambda *_: None)
    begin = perf_counter()
    for page in proof_pages(order, lettered.artworks, lettered.problems, job, letterer):
        render_png(page, width_px=PROOF_WIDTH_PX)
    return perf_counter() - begin


def main() -> None:
    """Print the medians."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--runs", type=int, default=5)
    runs = range(parser.parse_args().runs)
    with tempfile.TemporaryDirectory() as folder:
        out, kept = Path(folder) / "out", str(Path(folder) / "kept")
        command(out, kept)
        figures = {
            "batch, first": [command(out, "") for _ in runs],
            "batch, again": [command(out, kept) for _ in runs],
            "contact sheet": [contact_sheet() for _ in runs],
        }
    for name, seconds in figures.items():
        print(f"{name:15} {statistics.median(seconds):5.2f} s  ({min(seconds):.2f} to {max(seconds):.2f})")


if __name__ == "__main__":
    main()
