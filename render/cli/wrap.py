"""`monikerf wrap` and `monikerf calibrate-rotary`: round things before there is an order."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from render.cli.options import AsJson, Shop
from render.cli.tell import console, print_json, tell_problems
from render.errors import MonikerfError


def wrap(
    blank: Annotated[str, typer.Argument(metavar="BLANK", help="Id of the round thing.")],
    machine: Annotated[
        str | None, typer.Option(metavar="ID", help="The machine; else the first that can hold the thing.")
    ] = None,
    out: Annotated[
        Path | None, typer.Option("--out", "-o", metavar="FILE.svg", help="Write the check marks there.")
    ] = None,
    picture: Annotated[
        Path | None,
        typer.Option(metavar="FILE.png", help="Draw a design on the thing, from its sides and unrolled."),
    ] = None,
    template: Annotated[
        str,
        typer.Option("--template", "-t", metavar="ID", help="The design to draw; else one for the thing."),
    ] = "",
    name: Annotated[str, typer.Option(metavar="NAME", help="The name to draw; else a sample.")] = "",
    shop: Shop = None,
    as_json: AsJson = False,
) -> None:
    """Tell what to set for a round thing, and make check marks to burn before the first name.

    Check marks stand at every quarter of a turn; burn them on masking tape or scrap, measure between them by
    tape, and tell monikerf calibrate-rotary what you found.
    """
    from render.pipeline import Workshop
    from render.pipeline.roundcheck import round_check
    from render.pipeline.roundviews import draw_round

    workshop = Workshop.open(shop)
    found = round_check(workshop, blank, machine, out)
    if picture is not None:
        draw_round(workshop, blank, machine, template, name, picture)
    if as_json:
        print_json({**found.values, "cautions": list(found.cautions)})
        return
    tell_problems(found.problems)
    say = console()
    say.print("\n".join(found.lines), markup=False)
    for mark in found.values["check_marks"]:
        say.print(
            f"  {mark['degrees']:5.0f}°  {mark['surface_mm']:8.2f} mm round it   "
            f"x {mark['machine_x']:8.2f}   y {mark['machine_y']:8.2f}",
            markup=False,
        )
    say.print("Before anything burns:")
    say.print("\n".join(f"* {caution}" for caution in found.cautions), markup=False)


def _pairs(texts: list[str] | None, option: str, form: str) -> list[tuple[float, float]]:
    """Two numbers of each text, such as ``180=178.6``."""
    found = []
    for text in texts or ():
        left, equals, right = text.partition("=")
        try:
            if not equals:
                raise ValueError
            found.append((float(left), float(right)))
        except ValueError:
            raise MonikerfError(f"{option} {text!r} is not understood.", hint=f"write {form}") from None
    return found


def calibrate_rotary(
    machine: Annotated[str, typer.Argument(metavar="MACHINE", help="Id of the machine.")],
    marks: Annotated[
        list[str] | None,
        typer.Option(
            "--marks",
            metavar="COMMANDED=MEASURED",
            help="Two marks: mm round the surface as commanded, and as measured by tape. Repeatable.",
        ),
    ] = None,
    turn: Annotated[
        list[str] | None,
        typer.Option(
            "--turn",
            metavar="CIRCUMFERENCE=MISSED",
            help="A full turn: mm round the thing, and mm by which it went beyond its start (negative: "
            "short of it). Repeatable.",
        ),
    ] = None,
    date: Annotated[str, typer.Option(metavar="YYYY-MM-DD", help="Of the measurement; else today.")] = "",
    shop: Shop = None,
    as_json: AsJson = False,
) -> None:
    """Correct a rotary by what you measured on it, and keep the correction in your shop's machine file.

    Measure with the correction in force that the file holds now. Several marks tell more than one.
    """
    import datetime
    from dataclasses import asdict

    from render.pipeline import Workshop
    from render.pipeline.roundcheck import calibrate_rotary as calibrate

    day = date or datetime.date.today().isoformat()
    pairs = _pairs(marks, "--marks", "--marks 180=178.6")
    turns = _pairs(turn, "--turn", "--turn 250=-1.5")
    solved, path = calibrate(Workshop.open(shop), machine, pairs, turns, day)
    if as_json:
        print_json({"machine": machine, "calibration": asdict(solved), "file": str(path)})
        return
    say = console()
    say.print(f"From now on the axis is sent {solved.factor:.4f} times what it would be.")
    say.print(
        f"In 95 % of cases true within {100 * solved.error:.2f} %: {solved.error * 100:.2f} mm in 100 mm "
        f"({solved.marks} measurement{'s' if solved.marks > 1 else ''})."
    )
    say.print(f"kept: {path}", markup=False)
