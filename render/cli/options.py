"""Options that several commands share, and how their text is read."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Final

import typer

from render.errors import MonikerfError

if TYPE_CHECKING:
    from render.intake import IntakeOptions, Table
    from render.model import Order

TablePath = Annotated[Path, typer.Argument(metavar="TABLE", help="The customer's table: CSV, XLSX or ODS.")]
TABLE: Final = "The table"
"""Heading over these options in the help."""

Columns = Annotated[
    list[str] | None,
    typer.Option(
        "--column",
        metavar="FIELD=HEADING",
        help='Which column holds what, such as name="Guest". Repeatable.',
        rich_help_panel=TABLE,
    ),
]
Quantity = Annotated[
    int,
    typer.Option(
        min=1, max=10_000, help="Copies of each row that does not say how many.", rich_help_panel=TABLE
    ),
]
Mend = Annotated[
    bool,
    typer.Option("--mend", help="Apply the proposed mends of names, and list them.", rich_help_panel=TABLE),
]
Encoding = Annotated[
    str | None,
    typer.Option(
        metavar="NAME", help="The table's character encoding, such as utf-8 or cp1252.", rich_help_panel=TABLE
    ),
]
Delimiter = Annotated[
    str | None,
    typer.Option(
        metavar="CHARACTER", help="What separates the table's columns; tab for a tab.", rich_help_panel=TABLE
    ),
]
SheetName = Annotated[
    str | None,
    typer.Option(
        "--table-sheet", metavar="NAME", help="Which sheet of a workbook to read.", rich_help_panel=TABLE
    ),
]
AllSheets = Annotated[
    bool,
    typer.Option(
        "--all-sheets",
        help="Read every sheet of a workbook that has names, as one order.",
        rich_help_panel=TABLE,
    ),
]


def _shop_here(shop: Path | None) -> Path | None:
    """The shop folder that was named, else the current folder if it is one."""
    return Path.cwd() if shop is None and Path("shop.toml").is_file() else shop


Shop = Annotated[
    Path | None,
    typer.Option(
        envvar="MONIKERF_SHOP",
        callback=_shop_here,
        help="Your shop folder, whose templates, fonts and library come first; else this one, if it is one.",
    ),
]
AsJson = Annotated[bool, typer.Option("--json", help="Answer in JSON on standard output.")]


def intake_options(columns: Sequence[str] | None, quantity: int, mend: bool, name: str) -> IntakeOptions:
    """The options of intake from what was typed.

    Raises:
        MonikerfError: a `--column` is not FIELD=HEADING.
    """
    from render.intake import IntakeOptions

    chosen: dict[str, str] = {}
    for text in columns or ():
        field, equals, heading = text.partition("=")
        if not (equals and field.strip() and heading.strip()):
            raise MonikerfError(
                f"--column {text!r} does not say which column is meant.",
                hint='Write FIELD=HEADING, such as --column name="Guest name".',
            )
        chosen[field.strip()] = heading.strip()
    return IntakeOptions(columns=chosen, quantity_default=quantity, mend=mend, name=name)


def order_and_tables(
    table: Path,
    columns: Sequence[str] | None,
    mend: bool,
    sheet: str | None,
    all_sheets: bool,
    *,
    quantity: int = 1,
    encoding: str | None = None,
    delimiter: str | None = None,
    name: str = "",
) -> tuple[Order, tuple[Table, ...]]:
    """The order of a table, or of all sheets of a workbook that have names; called `name`, else as the file.

    Returns:
        The order, and the sheets that it was read from.

    Raises:
        MonikerfError: the table cannot be read with certainty, or the options do not go together.
    """
    from render.intake import read_sheets, read_table, take_order, take_orders

    options = intake_options(columns, quantity, mend, name or table.stem)
    if not all_sheets:
        read = read_table(table, encoding=encoding, delimiter=delimiter, sheet=sheet)
        return take_order(read, options), (read,)
    for option, value in (("--table-sheet", sheet), ("--encoding", encoding), ("--delimiter", delimiter)):
        if value is not None:
            raise MonikerfError(f"{option} does not go with --all-sheets", hint="leave one of them out")
    every = read_sheets(table)
    return take_orders(every, options), every


def order_from(
    table: Path,
    columns: Sequence[str] | None,
    mend: bool,
    sheet: str | None,
    all_sheets: bool,
    **how: Any,
) -> Order:
    """The order alone; see :func:`order_and_tables`."""
    return order_and_tables(table, columns, mend, sheet, all_sheets, **how)[0]
