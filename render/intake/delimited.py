"""Delimited text (CSV, TSV and their kin) parsed strictly, with true line numbers and nothing shifted.

The standard library's parser does the work in its strict mode (quoting as in RFC 4180). What parts the
fields is found out by trying: the one delimiter that splits the heading line and fits the rows; if two do,
that is an error.
"""

from __future__ import annotations

import csv
import io
import re
from dataclasses import dataclass
from pathlib import PurePath
from typing import Final

from render.errors import TableError
from render.intake.encodings import Decoded
from render.intake.table import Row, Table
from render.model import Problem, Severity

DELIMITERS: Final = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar"}
"""What may part fields, and what it is called."""

_SPELT: Final = {name: mark for mark, name in DELIMITERS.items()} | {"\\t": "\t", "pipe": "|"}
_SEP_LINE = re.compile(r"\A\ufeff?sep=(.)\r?\n", re.IGNORECASE)
_SHOWN_LENGTH: Final = 60


@dataclass(frozen=True, slots=True)
class _Parse:
    """The text parted by one delimiter: every record, also the bad ones, or the reason why it cannot be."""

    delimiter: str
    records: tuple[Row, ...] = ()
    blank_lines: tuple[int, ...] = ()
    failed_at: int = 0
    endless: bool = False

    @property
    def width(self) -> int:
        return len(self.records[0].cells) if self.records else 0

    @property
    def even(self) -> bool:
        return all(len(row.cells) == self.width for row in self.records)


def parse_delimited(decoded: Decoded, place: str, wanted: str | None = None) -> Table:
    """The table in delimited text.

    Args:
        decoded: the text and its encoding.
        place: the file, for messages.
        wanted: the delimiter the user named (the mark itself, or comma, semicolon, tab, bar); None: find out.

    Raises:
        TableError: it cannot be parsed, the delimiter is not certain or not the right one, or the headings
            are missing or twice the same.
    """
    text, skipped, said = _without_sep_line(decoded.text)
    mark = _mark(wanted, place) if wanted is not None else said
    parse = _parse(text, mark, skipped) if mark else _find_delimiter(text, skipped, place)
    if parse.failed_at:
        raise _broken_quotes(parse, place)
    if not parse.records:
        raise TableError("The file is empty.", hint="Save the table again, then retry.", place=place)
    if parse.width == 1:
        _refuse_hidden_columns(parse, place)
    head, *rest = parse.records
    table = build_table(head, rest, place)
    blank = (Problem(Severity.NOTE, "blank-line", "This line is blank.", row=n) for n in parse.blank_lines)
    return Table(
        table.source,
        table.headings,
        table.rows,
        table.heading_line,
        encoding=decoded.encoding,
        delimiter=parse.delimiter,
        problems=(
            *decoded.problems,
            *sorted((*table.problems, *blank), key=lambda problem: problem.row or 0),
        ),
    )


def _mark(wanted: str, place: str) -> str:
    mark = _SPELT.get(wanted.lower(), wanted)
    if len(mark) != 1 or mark in '"\r\n\0':
        raise TableError(
            f"{wanted!r} cannot part fields.",
            hint=f"Type --delimiter with one of: {', '.join(DELIMITERS.values())}.",
            place=place,
        )
    return mark


def _without_sep_line(text: str) -> tuple[str, int, str]:
    """The text without a first line such as ``sep=;``, how many lines that takes, and what it says."""
    match = _SEP_LINE.match(text)
    return (text[match.end() :], 1, match[1]) if match else (text, 0, "")


def _parse(text: str, delimiter: str, skipped: int) -> _Parse:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    records: list[Row] = []
    blank: list[int] = []
    line = 1
    try:
        for cells in reader:
            (records.append(Row(line + skipped, tuple(cells))) if cells else blank.append(line + skipped))
            line = reader.line_num + 1
    except csv.Error as error:
        endless = "field limit" in str(error)
        return _Parse(delimiter, tuple(records), failed_at=line + skipped, endless=endless)
    last = records[-1].line if records else 0
    return _Parse(delimiter, tuple(records), tuple(number for number in blank if number < last))


def _find_delimiter(text: str, skipped: int, place: str) -> _Parse:
    parses = [_parse(text, mark, skipped) for mark in DELIMITERS]
    splitting = [parse for parse in parses if parse.width > 1]
    whole = [parse for parse in splitting if not parse.failed_at]
    even = [parse for parse in whole if parse.even]
    for choice in (even, whole, splitting):
        if len(choice) == 1:
            return choice[0]
        if choice:
            raise _ambiguous(choice, place)
    return next((parse for parse in parses if not parse.failed_at), parses[0])


def _ambiguous(parses: list[_Parse], place: str) -> TableError:
    shown = "; ".join(
        f"{DELIMITERS[parse.delimiter]} would give {_listed(parse.records[0].cells)}" for parse in parses
    )
    return TableError(
        f"It is not certain what parts the columns: {shown}.",
        hint="Choose the right one and add "
        + " or ".join(f"--delimiter {DELIMITERS[parse.delimiter]}" for parse in parses)
        + ".",
        place=place,
    )


def _broken_quotes(parse: _Parse, place: str) -> TableError:
    if parse.endless:
        return TableError(
            f"A cell holds more than {csv.field_size_limit() // 1000} thousand characters.",
            hint="Shorten it; or is a quotation mark opened there that is never closed?",
            place=f"{place}, row {parse.failed_at}",
        )
    return TableError(
        "A quotation mark is opened or closed in the wrong place, so that columns cannot be told apart.",
        hint='Quote a whole field and double the marks inside it: "Anna ""Nan"" Berg".',
        place=f"{place}, row {parse.failed_at}",
    )


def _refuse_hidden_columns(parse: _Parse, place: str) -> None:
    heading = parse.records[0].cells[0]
    for mark, name in DELIMITERS.items():
        if mark in heading:
            raise TableError(
                f"Parted by {DELIMITERS.get(parse.delimiter, parse.delimiter)} there is only one "
                f"column, {heading!r}.",
                hint=f"The columns look as if parted by {name}: add --delimiter {name}.",
                place=place,
            )


def build_table(head: Row, rows: list[Row], place: str) -> Table:
    """A table of a heading row and rows; what does not fit the headings is a problem and never shifted.

    Raises:
        TableError: headings are missing or twice the same, or there is no row under them.
    """
    headings, problems = _headings(head, rows, place)
    width = len(headings)
    kept: list[Row] = []
    for row in rows:
        extra = row.cells[width:]
        fitting = len(row.cells) == len(head.cells) and not any(extra)
        if fitting:
            kept.append(Row(row.line, row.cells[:width]))
        elif not any(cell.strip() for cell in row.cells):
            problems.append(Problem(Severity.NOTE, "blank-line", "This line is blank.", row=row.line))
        else:
            problems.append(_misfit(row, len(head.cells)))
    if not rows:
        raise TableError("There are headings but no rows.", hint="Add a row for each piece.", place=place)
    return Table(PurePath(place).name, headings, tuple(kept), head.line, problems=tuple(problems))


def _headings(head: Row, rows: list[Row], place: str) -> tuple[tuple[str, ...], list[Problem]]:
    """The headings, trimmed; wholly empty columns at the right end are left out and noted."""
    names = [cell.strip().lstrip("\ufeff") for cell in head.cells]
    used = len(names)
    while used > 1 and not names[used - 1] and not any(any(row.cells[used - 1 : used]) for row in rows):
        used -= 1
    where = f"{place}, row {head.line}"
    for number, name in enumerate(names[:used], 1):
        if not name:
            filled = next((row.line for row in rows if any(row.cells[number - 1 : number])), None)
            raise TableError(
                f"Column {number} has no heading"
                + (f", but there is something in row {filled}." if filled else "."),
                hint="Put a line of headings on top, one over every column, such as Name and Table.",
                place=where,
            )
        if name in names[: number - 1]:
            raise TableError(
                f"Two columns have the heading {name!r}.",
                hint="Rename one of them in the table.",
                place=where,
            )
    if used == len(names):
        return tuple(names), []
    note = Problem(
        Severity.NOTE,
        "empty-column",
        f"{len(names) - used} empty columns without heading were left out.",
        row=head.line,
    )
    return tuple(names[:used]), [note]


def _misfit(row: Row, width: int) -> Problem:
    count = len(row.cells)
    less = count < width
    fields = "1 field" if count == 1 else f"{count} fields"
    return Problem(
        Severity.STOP,
        "too-few-fields" if less else "too-many-fields",
        f"The row has {fields} under {width} headings, so it is not known which is which.",
        "Fill in the missing separators."
        if less
        else "Put quotation marks round a field that holds a separator.",
        row=row.line,
        value=_listed(row.cells),
    )


def _listed(cells: tuple[str, ...]) -> str:
    text = " · ".join(cells)
    return text if len(text) <= _SHOWN_LENGTH else text[: _SHOWN_LENGTH - 1] + "…"
