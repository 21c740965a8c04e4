"""`monikerf check`: read a table and say what was found, without making anything."""

from __future__ import annotations

import typer

from render.cli.options import (
    AllSheets,
    AsJson,
    Columns,
    Delimiter,
    Encoding,
    Mend,
    Quantity,
    SheetName,
    TablePath,
    intake_options,
    order_and_tables,
)
from render.cli.tell import console, count_by_severity, print_json, tell_problems
from render.errors import counted


def check(
    table: TablePath,
    column: Columns = None,
    quantity: Quantity = 1,
    mend: Mend = False,
    encoding: Encoding = None,
    delimiter: Delimiter = None,
    table_sheet: SheetName = None,
    all_sheets: AllSheets = False,
    as_json: AsJson = False,
) -> None:
    """Read a table and report what was understood and what needs a look; make nothing."""
    from render.intake import describe
    from render.model import Severity

    order, read = order_and_tables(
        table, column, mend, table_sheet, all_sheets,
        quantity=quantity, encoding=encoding, delimiter=delimiter,
    )  # fmt: skip
    options = intake_options(column, quantity, mend, table.stem)
    facts = [dict(describe(one, options)) for one in read]
    if as_json:
        from render.pipeline.report import problem_values

        pieces = [{"id": p.id, "row": p.row, "fields": dict(p.fields)} for p in order.pieces]
        found = [problem_values(p) for p in order.problems]
        read_as = facts if all_sheets else facts[0]
        print_json({"table": str(table), "read_as": read_as, "pieces": pieces, "problems": found})
    else:
        say = console()
        for one in facts:
            say.print("\n".join(f"{label}: {text}" for label, text in one.items()), markup=False)
        tell_problems(order.problems)
        counts = count_by_severity(order.problems)
        say.print(counted(len(order.pieces), "piece") + (f": {counts}" if counts else ", nothing to mend"))
    if any(p.severity is Severity.STOP for p in order.problems):
        raise typer.Exit(1)
