"""`monikerf calibrate-time`: timed loads teach how long things really take."""

from __future__ import annotations

from typing import Annotated

import typer

from render.cli.options import AsJson, Shop
from render.cli.tell import console, print_json


def calibrate_time(
    machine: Annotated[str, typer.Argument(metavar="MACHINE", help="Id of the machine.")],
    timed: Annotated[
        list[str],
        typer.Option(
            "--timed",
            metavar="FOLDER/SHEET.svg=MIN:S",
            help="A load and the time it took. Repeatable.",
        ),
    ],
    date: Annotated[str, typer.Option(metavar="YYYY-MM-DD", help="Of the timing; else today.")] = "",
    shop: Shop = None,
    as_json: AsJson = False,
) -> None:
    """Compare loads that you timed with what was computed for them, and correct all later times by it.

    Two or three different loads are best. The report then says by how much a load that was not used for the
    fit was wrong at most.
    """
    import datetime
    from dataclasses import asdict

    from render.pipeline import Workshop
    from render.pipeline.calibrating import calibrate
    from render.pipeline.times import spoken

    day = date or datetime.date.today().isoformat()
    timing, jobs, path = calibrate(machine, timed, day, Workshop.open(shop))
    if as_json:
        values = [asdict(job) for job in jobs]
        print_json({"machine": machine, "timing": asdict(timing), "jobs": values, "file": str(path)})
        return
    say = console()
    for job in jobs:
        say.print(f"{job.name}: computed {spoken(job.computed)}, took {spoken(job.actual)}", markup=False)
    say.print(f"From now on: {timing.start:.0f} s + {timing.factor:.2f} × what is computed.")
    if timing.error is None:
        say.print("One load cannot show how far that is to be trusted; time another.")
    else:
        say.print(f"Each load predicted from the others was off by up to {100 * timing.error:.0f} %.")
    say.print(f"kept: {path}", markup=False)
