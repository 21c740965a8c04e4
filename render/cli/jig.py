"""`monikerf jig` and `monikerf jig-fit`: holding ready-made blanks, and where a measured jig lies."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from render.cli.options import AsJson, Shop
from render.cli.tell import console, print_json


def jig(
    blank: Annotated[str, typer.Argument(metavar="BLANK", help="Id of the thing that it is to hold.")],
    out: Annotated[Path, typer.Option("--out", "-o", metavar="FOLDER", help="Where the drawing goes.")],
    machine: Annotated[
        str | None, typer.Option(metavar="ID", help="The machine; else the first that can hold the thing.")
    ] = None,
    material: Annotated[str, typer.Option(metavar="ID", help="What the jig is cut from.")] = "plywood",
    columns: Annotated[int, typer.Option(min=0, help="Places across; 0 for as many as the bed takes.")] = 0,
    rows: Annotated[int, typer.Option(min=0, help="Places down; 0 for as many as the bed takes.")] = 0,
    play: Annotated[float, typer.Option(metavar="MM", help="Air round each blank.")] = 0.2,
    kerf: Annotated[
        float, typer.Option(metavar="MM", help="Width that the beam takes away, as you measured it.")
    ] = 0.0,
    between: Annotated[float, typer.Option(metavar="MM", help="Least material between pockets.")] = 7.0,
    margin: Annotated[float, typer.Option(metavar="MM", help="From the edge to the first pocket.")] = 14.0,
    inset: Annotated[float, typer.Option(metavar="MM", help="From the bed's corner to the jig's.")] = 5.0,
    thumb: Annotated[
        float | None, typer.Option(metavar="MM", help="Radius of the thumb notches; 0 for none.")
    ] = None,
    shop: Shop = None,
    as_json: AsJson = False,
) -> None:
    """Make the file to cut a jig for a thing, and the jig's entry for the library.

    The entry goes to your shop's library if there is a shop, and else beside the drawing.
    """
    from render.pipeline import Workshop
    from render.pipeline.jigging import make_jig
    from render.sheets.jigs import JigPlan

    plan = JigPlan(columns, rows, play, between, margin, inset, thumb, kerf)
    made = make_jig(Workshop.open(shop), blank, machine, material, plan, out)
    if as_json:
        print_json({**made.values, "cautions": list(made.cautions)})
        return
    say = console()
    say.print("\n".join(made.lines), markup=False)
    say.print(f"written: {', '.join(map(str, made.files))}", markup=False)
    say.print("Before anything burns:")
    say.print("\n".join(f"* {caution}" for caution in made.cautions), markup=False)


def jig_fit(
    jig: Annotated[str, typer.Argument(metavar="JIG", help="Id of the jig.")],
    pin: Annotated[
        list[str],
        typer.Option(metavar="X,Y=X,Y", help="A point as drawn and as measured on the bed; three or more."),
    ],
    allow: Annotated[
        float, typer.Option(metavar="MM", min=0.0, help="By how much a piece's corner may still be off.")
    ] = 0.3,
    shop: Shop = None,
    as_json: AsJson = False,
) -> None:
    """Fit a jig to where it really lies, by least squares, and keep that in your shop's library.

    x goes to the right and y down from the bed's top left corner. Exit code 1: it is off by too much.
    """
    from render.pipeline import Workshop
    from render.pipeline.jigging import fit_jig, pin_of

    fitted = fit_jig(Workshop.open(shop), jig, [pin_of(text) for text in pin], allow)
    if as_json:
        print_json(fitted.values)
    else:
        say = console()
        say.print("\n".join(fitted.lines), markup=False)
        kept = "not kept: name your shop with --shop" if fitted.file is None else f"kept in {fitted.file}"
        say.print(kept if fitted.good else "", markup=False)
    if not fitted.good:
        raise typer.Exit(1)
