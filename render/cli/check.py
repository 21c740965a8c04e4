"""`monikerf check`: read a table and say what was found, without making anything."""

from __future__ import annotations

import typer

from render.cli.options import (
    AsJson,
    Columns,
    Delimiter,
    Encoding,
    Mend,
    Quantity,
    SheetName,
    TablePath,
    intake_options,
)
from render.cli.tell import console, count_by_severity, print_json, tell_problems


def check(
    table: TablePath,
    column: Columns = None,
    quantity: Quantity = 1,
    mend: Mend = False,
    encoding: Encoding = None,
    delimiter: Delimiter = None,
    table_sheet: SheetName = None,
    as_json: AsJson = False,
) -> None:
    """Read a table and report what was understood and what needs a look; make nothing."""
    from render.intake import describe, read_table, take_order
    from render.model import Severity

    read = read_table(table, encoding=encoding, delimiter=delimiter, sheet=table_sheet)
    options = intake_options(column, quantity, mend, table.stem)
    order = take_order(read, options)
    facts = dict(describe(read, options))
    if as_json:
        from render.pipeline.report import problem_values

        pieces = [{"id": p.id, "row": p.row, "fields": dict(p.fields)} for p in order.pieces]
        found = [problem_values(p) for p in order.problems]
        print_json({"table": str(table), "read_as": facts, "pieces": pieces, "problems": found})
    else:
        say = console()
        say.print("\n".join(f"{label}: {text}" for label, text in facts.items()), markup=False)
        tell_problems(order.problems)
        counts = count_by_severity(order.problems)
        say.print(f"{len(order.pieces)} pieces" + (f": {counts}" if counts else ", nothing to mend"))
    if any(p.severity is Severity.STOP for p in order.problems):
        raise typer.Exit(1)
