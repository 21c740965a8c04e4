"""Pieces and points a second wrapped round things, and the 60 tumblers of the demo from end to end.

Run it by hand, alone on the machine::

    python tests/bench/wrap.py [--pieces 400] [--cpu]

Each piece bears a name of its own on the front and one of four departments on the back, lettered once
beforehand. *Pieces* counts whole pieces through everything that wrapping does: laying, subdividing, seams,
checks, figures; *nothing remembered* is the same where the design and the departments are laid anew for
each piece. *Points* counts only the map from the drawing to the machine, for arrays as long as those of
some hundred pieces. With ``--cpu`` the time of the processor is counted instead of the clock's, for a
machine that has other work.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import tempfile
from pathlib import Path
from time import perf_counter, process_time

TOP = Path(__file__).parents[2]
sys.path[:0] = [str(TOP), str(Path(__file__).parent)]

import numpy as np  # noqa: E402
from invented import invented  # noqa: E402

from render.model import Artwork, Lay, Order, Piece  # noqa: E402
from render.pipeline import Workshop  # noqa: E402
from render.pipeline.artworks import letter_order  # noqa: E402
from render.pipeline.rounding import wrapper_for  # noqa: E402
from render.wrap import Wrapper  # noqa: E402

now = process_time if "--cpu" in sys.argv else perf_counter
PARTS = ("Field service", "Accounts", "Dispatch", "Workshop")
THINGS = ("tumbler-band", "tumbler-two-sides", "tumbler-all-round", "wine-glass")


def lettered(template: str, pieces: int) -> tuple[Wrapper, tuple[Artwork, ...]]:
    """A wrapper, and artworks to wrap with it."""
    workshop = Workshop.open(None)
    job = workshop.job(template, machine="co2")
    fields = [{"name": name, "line2": PARTS[n % 4]} for n, name in enumerate(invented(pieces))]
    order = Order("bench", tuple(Piece(f"p{n}", n, each) for n, each in enumerate(fields)))
    done = letter_order(order, job, workshop.letterer(), workshop, 1, lambda *_: None)
    wrapper = wrapper_for(job.blank, job.machine, job.light)
    assert isinstance(wrapper, Wrapper)
    return wrapper, done.artworks


def pieces_a_second(wrapper: Wrapper, artworks: tuple[Artwork, ...], repeats: int = 3) -> dict[str, float]:
    """The best of several runs over all artworks."""
    points = sum(mark.path.points.size for artwork in artworks for mark in artwork.marks)
    best, anew, sent = float("inf"), float("inf"), 0
    for _ in range(repeats):
        wrapper.known.clear()
        begin = now()
        wrapped = [wrapper.wrap(artwork) for artwork in artworks]
        best = min(best, now() - begin)
        sent = sum(mark.path.points.size for each in wrapped for mark in each.artwork.marks)
        begin = now()
        for artwork in artworks:
            wrapper.known.clear()
            wrapper.wrap(artwork)
        anew = min(anew, now() - begin)
    count = len(artworks)
    return {
        "pieces_a_second": round(count / best),
        "nothing_remembered": round(count / anew),
        "points_drawn_a_piece": round(points / count),
        "points_sent_a_piece": round(sent / count),
        "points_sent_a_second": round(sent / best),
    }


def points_a_second(wrapper: Wrapper, repeats: int = 5) -> dict[str, int]:
    """The map alone, by lay."""
    body, found = wrapper.body, {}
    share = np.random.default_rng(5).random((2, 200_000))
    points = share[0] * body.circumference + 1j * share[1] * body.height
    for lay in Lay:
        if lay is Lay.LABEL and wrapper.profile.s.size != 2:
            continue
        from dataclasses import replace

        plain = Wrapper.of(replace(body, lay=lay, places=()), wrapper.rotary)
        _, drawn = plain.map_at(None)
        best = float("inf")
        for _ in range(repeats):
            begin = now()
            plain.turning.to_machine(drawn.to_surface(points))
            best = min(best, now() - begin)
        found[str(lay)] = round(points.size / best)
    return found


def end_to_end() -> dict[str, float]:
    """The demo's 60 tumblers, a fresh process, everything written and verified."""
    with tempfile.TemporaryDirectory() as out:
        words = ["batch", "demo/staff/staff.xlsx", "-t", "tumbler-two-sides", "--column", "line2=Department"]
        begin = perf_counter()
        subprocess.run(
            [sys.executable, "-m", "render.cli", *words, "-o", out, "--json"],
            cwd=TOP, check=True, capture_output=True,
        )  # fmt: skip
        return {"seconds": round(perf_counter() - begin, 2)}


def main() -> None:
    """Measure and print as JSON."""
    arguments = argparse.ArgumentParser()
    arguments.add_argument("--pieces", type=int, default=400)
    arguments.add_argument("--cpu", action="store_true")
    pieces = arguments.parse_args().pieces
    figures: dict[str, object] = {}
    for template in THINGS:
        wrapper, artworks = lettered(template, pieces)
        figures[template] = {
            **pieces_a_second(wrapper, artworks),
            "points_mapped_a_second": points_a_second(wrapper),
        }
    figures["60 tumblers, end to end"] = end_to_end()
    print(json.dumps(figures, indent=1))


if __name__ == "__main__":
    main()
