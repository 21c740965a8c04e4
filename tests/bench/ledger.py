"""Seconds to take a long table into the ledger, to find that nothing is new, and to compare a corrected one.

Run it by hand, alone on the machine::

    python tests/bench/ledger.py [--rows 5000]

Reading and checking the table are counted, for a person waits for them as well. Medians of five runs.
"""

from __future__ import annotations

import argparse
import json
import statistics
import sys
import tempfile
from pathlib import Path
from time import perf_counter

sys.path[:0] = [str(Path(__file__).parents[2]), str(Path(__file__).parent)]

from invented import invented  # noqa: E402

from render.intake import read_table, take_order  # noqa: E402
from render.shop.ledger import Ledger, Taken, Terms  # noqa: E402

TERMS = Terms("place-card", "place-card", "diode")


def write_table(file: Path, names: list[str]) -> Path:
    """A table of names."""
    rows = "".join(f'"{name}",{n % 40}\n' for n, name in enumerate(names))
    file.write_text(f"Name,Table\n{rows}", encoding="utf-8")
    return file


def take(ledger: Ledger, file: Path, *, apply: bool = False) -> tuple[Taken, float]:
    """Read a table and take it in; what came of it, and the seconds."""
    begun = perf_counter()
    order = take_order(read_table(file))
    taken = ledger.take("long", TERMS, order.pieces, problems=order.problems, apply=apply)
    return taken, perf_counter() - begun


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rows", type=int, default=5000)
    rows = parser.parse_args().rows
    names = list(invented(rows))
    corrected = [f"{name}s" if n % 100 == 7 else name for n, name in enumerate(names) if n % 500 != 3]
    seconds: dict[str, list[float]] = {"new": [], "again": [], "corrected": []}
    with tempfile.TemporaryDirectory() as folder:
        first = write_table(Path(folder) / "first.csv", names)
        second = write_table(Path(folder) / "second.csv", corrected)
        take_order(read_table(first))  # what is loaded once
        for run in range(5):
            with Ledger.open(Path(folder) / f"{run}.sqlite", create=True) as ledger:
                for what, file, apply in (
                    ("new", first, False),
                    ("again", first, True),
                    ("corrected", second, True),
                ):
                    taken, spent = take(ledger, file, apply=apply)
                    seconds[what].append(spent)
                    assert taken.applied == (what != "again")
        size = (Path(folder) / "0.sqlite").stat().st_size
    found = {what: round(statistics.median(times), 3) for what, times in seconds.items()}
    print(json.dumps({"rows": rows, "seconds": found, "ledger_bytes": size}))


if __name__ == "__main__":
    main()
