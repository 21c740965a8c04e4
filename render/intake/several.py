"""Several sheets of a workbook as one order: a company that keeps a sheet for each department."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Final

from render.errors import TableError
from render.intake.files import kind_of, load
from render.intake.orders import IntakeOptions, take_order
from render.intake.table import Row, Table
from render.intake.workbooks import named_sheets, parse_workbook
from render.model import Order, Piece, Problem, Severity

SHEET_HEADING: Final = "Sheet"
"""The column that is added to each table: its sheet's name, for those who keep one for each department."""
OTHERS: Final = "other-sheets"
"""The code of the problem that says which sheets were not read: it is of no one sheet."""


def read_sheets(path: Path) -> tuple[Table, ...]:
    """Every visible sheet of a workbook that has a heading for names, in the workbook's order.

    Each gets one more column, :data:`SHEET_HEADING`, with the name of the sheet, unless it has one so called.
    Sheets with something else on them are named in a problem of the first table; nothing is left out without
    a word.

    Raises:
        TableError: it is no workbook, is damaged, or has no such sheet.
    """
    place, data = str(path), load(path)
    kind = kind_of(data, place)
    if kind == "text":
        raise TableError("A text file has no sheets.", hint="Leave --all-sheets out.", place=place)
    named, others = named_sheets(data, place)
    if not named:
        raise TableError(
            "No sheet of this workbook has a heading for names.",
            hint="Name the column with --column and one sheet with --table-sheet.",
            place=place,
        )
    tables = [_alone(parse_workbook(data, kind, place, name)) for name in named]
    if others:
        one = len(others) == 1
        which = f"“{others[0]}” has" if one else f"{', '.join(f'“{name}”' for name in others)} have"
        message = f"Not read: {which} no heading for names."
        hint = f"Take {'it' if one else 'one'} by itself with --table-sheet if it is wanted."
        note = Problem(Severity.LOOK, OTHERS, message, hint)
        tables[0] = replace(tables[0], problems=(note, *tables[0].problems))
    return tuple(tables)


def _alone(table: Table) -> Table:
    """The table with its sheet's name in each row, and without the remark that other sheets were not read."""
    headings, rows = table.headings, table.rows
    if SHEET_HEADING.casefold() not in (heading.casefold() for heading in headings):
        headings = (*headings, SHEET_HEADING)
        rows = tuple(Row(row.line, (*row.cells, table.sheet)) for row in rows)
    problems = tuple(p for p in table.problems if p.code != OTHERS)
    return replace(table, headings=headings, rows=rows, other_sheets=(), problems=problems)


def take_orders(tables: Sequence[Table], options: IntakeOptions) -> Order:
    """One order of several sheets.

    The id of each piece begins with the number of its sheet (``s2p014``), since rows of different sheets
    share their numbers; each problem names its sheet.

    Raises:
        TableError: as for :func:`take_order`.
    """
    pieces: list[Piece] = []
    problems: list[Problem] = []
    for number, table in enumerate(tables, 1):
        order = take_order(table, options)
        pieces += [replace(piece, id=f"s{number}{piece.id}") for piece in order.pieces]
        problems += [p if p.code == OTHERS else _of_sheet(p, table.sheet, number) for p in order.problems]
    return Order(options.name, tuple(pieces), tuple(problems))


def _of_sheet(problem: Problem, sheet: str, number: int) -> Problem:
    """The problem of one sheet, which says so, with its piece as it is called in the whole order."""
    piece = f"s{number}{problem.piece}" if problem.piece else ""
    return replace(problem, message=f"Sheet {sheet}: {problem.message}", piece=piece)
