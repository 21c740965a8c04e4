"""`monikerf batch`: a table in, verified sheets, their proof and a report out."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from render.cli.cutwords import Apart, Kerf, LeadIn, Tabs, cut_options
from render.cli.filewords import Formats, RunList, SplitBy, file_options
from render.cli.laywords import ArrangeWord, ByField, Seconds, StockIds, TurnWord, layout_options
from render.cli.options import (
    AllSheets,
    AsJson,
    Columns,
    Delimiter,
    Encoding,
    Mend,
    Quantity,
    SheetName,
    Shop,
    TablePath,
    order_from,
)
from render.cli.tell import console, print_json, progress_bar, tell_problems

if TYPE_CHECKING:
    from render.pipeline import Outcome


def batch(
    table: TablePath,
    template: Annotated[str, typer.Option("--template", "-t", metavar="ID", help="The design to make.")],
    out: Annotated[Path, typer.Option("--out", "-o", metavar="FOLDER", help="Where the files go.")],
    machine: Annotated[
        str | None, typer.Option(metavar="ID", help="The machine; else the first that can hold the thing.")
    ] = None,
    blank: Annotated[
        str | None, typer.Option(metavar="ID", help="The thing to mark; else the template's own.")
    ] = None,
    font: Annotated[str | None, typer.Option(metavar="ID", help="The font; else the template's own.")] = None,
    column: Columns = None,
    quantity: Quantity = 1,
    mend: Mend = False,
    encoding: Encoding = None,
    delimiter: Delimiter = None,
    table_sheet: SheetName = None,
    all_sheets: AllSheets = False,
    formats: Formats = "svg",
    split: SplitBy = None,
    first_place: Annotated[
        int,
        typer.Option(
            "--first-place", min=1, metavar="N", help="Begin the first sheet or jig at its Nth place."
        ),
    ] = 1,
    run_list: RunList = False,
    arrange: ArrangeWord = "auto",
    turn: TurnWord = "auto",
    seconds: Seconds = 0.0,
    stock: StockIds = None,
    by: ByField = "",
    kerf: Kerf = None,
    tabs: Tabs = None,
    lead_in: LeadIn = None,
    apart: Apart = None,
    workers: Annotated[
        int, typer.Option(min=0, max=64, help="Processes to letter with; 0 chooses by the order's size.")
    ] = 0,
    shop: Shop = None,
    dry_run: Annotated[
        bool, typer.Option("--dry-run", help="Do everything but write; say what would be written.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Letter every name of a table and lay the pieces out, ready to burn.

    Writes sheet-1.svg (one file a load), proof.png, report.json and summary.txt into the folder. Each sheet
    is read back and verified before it gets its name.
    """
    from render import pipeline
    from render.pipeline.laying import refuse_idle
    from render.pipeline.leftovers import loads_of, on_stock

    layout = layout_options(arrange, turn, seconds, first_place)
    files = file_options(formats, split, run_list, layout, by)
    cutting = cut_options(kerf, tabs, lead_in, apart)
    with progress_bar(shown=not as_json) as progress:
        order = order_from(
            table, column, mend, table_sheet, all_sheets,
            quantity=quantity, encoding=encoding, delimiter=delimiter,
        )  # fmt: skip
        workshop = pipeline.Workshop.open(shop)
        job = workshop.job(template, blank=blank, machine=machine, font=font)
        job = on_stock(job, stock, workshop, loads_of(shop)) if stock else job
        refuse_idle(job, layout)
        folder = None if dry_run else out
        outcome = pipeline.run(order, job, workshop, folder, workers, progress, files, cutting)
    if as_json:
        print_json(outcome.report)
    else:
        _tell(outcome, out, dry_run=dry_run)
    if outcome.held_back:
        raise typer.Exit(1)


def _tell(outcome: Outcome, out: Path, *, dry_run: bool) -> None:
    tell_problems(outcome.problems)
    say = console()
    say.print("\n".join(outcome.headlines), markup=False)
    sheets = [name for name in outcome.files if name.startswith("sheet-")]
    rest = [name for name in outcome.files if name not in sheets]
    told = f"{len(sheets)} files from {sheets[0]} on" if len(sheets) > 2 else ", ".join(sheets)
    verb = "would be written" if dry_run else "written"
    say.print(f"{verb} to {out}: " + ", ".join([told] * bool(told) + rest), markup=False)
    about = ", ".join(line.partition(":")[0].lower() for line in outcome.report["cautions"][:-1])
    if sheets:
        say.print(f"Before anything burns, read the head of summary.txt: {about}.", markup=False)
