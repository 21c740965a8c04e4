"""The way in: a file becomes a table, and a table is described for people."""

from __future__ import annotations

from pathlib import Path

from render.errors import TableError
from render.intake.delimited import DELIMITERS, parse_delimited
from render.intake.encodings import decode
from render.intake.files import kind_of, load
from render.intake.orders import IntakeOptions, columns_of
from render.intake.table import Table
from render.intake.workbooks import parse_workbook


def read_table(
    path: Path, *, encoding: str | None = None, delimiter: str | None = None, sheet: str | None = None
) -> Table:
    """Read a table of text: CSV and its kin, XLSX, ODS or XLS, told apart by content.

    Args:
        path: the file.
        encoding: how its bytes are letters; None: found out, or asked about.
        delimiter: what parts its columns (the mark, or comma, semicolon, tab, bar); None: found out.
        sheet: which sheet of a workbook; None: the only one, or the only one with a heading for names.

    Raises:
        TableError: it is no table, cannot be read, or cannot be read with certainty. Options for the other
            kind of file are errors too.
    """
    place = str(path)
    data = load(path)
    kind = kind_of(data, place)
    if kind == "text":
        if sheet is not None:
            raise TableError("A text file has no sheets.", hint="Leave --table-sheet out.", place=place)
        return parse_delimited(decode(data, place, encoding), place, delimiter)
    for option, value in (("--encoding", encoding), ("--delimiter", delimiter)):
        if value is not None:
            raise TableError(f"A workbook needs no {option}.", hint=f"Leave {option} out.", place=place)
    return parse_workbook(data, kind, place, sheet)


def describe(table: Table, options: IntakeOptions | None = None) -> tuple[tuple[str, str], ...]:
    """What was found out about the table, as pairs of label and text, to be shown to a person.

    Raises:
        TableError: it is not certain which columns hold which fields.
    """
    columns = columns_of(table, options or IntakeOptions())
    facts = [
        ("encoding", table.encoding),
        ("parted by", DELIMITERS.get(table.delimiter, table.delimiter)),
        ("sheet", table.sheet),
        ("sheets not read", ", ".join(table.other_sheets)),
        ("rows", str(len(table.rows))),
    ]
    for name, number in columns.fields.items():
        facts.append((f"field {name}", table.headings[number]))
    if "name" not in columns.fields:
        facts.append(("field name", f"{columns.matched['given']} + {columns.matched['surname']}"))
    return tuple((label, text) for label, text in facts if text)
