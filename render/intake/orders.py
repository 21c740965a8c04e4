"""From a table to an order: which column is which, what is odd about each row, and the pieces to be made."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import PurePath
from types import MappingProxyType
from typing import Final

from render.intake.customs import NAME_CHECKS, NOTE_CHECKS
from render.intake.doubles import Doubles
from render.intake.headings import HELD, Columns, match_columns
from render.intake.hygiene import PLAIN, TEXT_CHECKS, Finding, examine
from render.intake.table import Row, Table
from render.model import Order, Piece, Problem, Severity

MOST_COPIES: Final = 500
"""The largest quantity of one row that is believed."""

_WHOLE = re.compile(r"[0-9]+\Z")


@dataclass(frozen=True, slots=True)
class IntakeOptions:
    """How a table becomes an order.

    Attributes:
        columns: heading by field name, where the user decided (``{"name": "Guest"}``).
        quantity_column: heading of the column with quantities; None: found by its heading, if there is one.
        quantity_default: pieces of a row without a quantity.
        mend: apply the mends that are proposed; otherwise they are only told.
        name: the order's name; empty: the file's name without its ending.
    """

    columns: Mapping[str, str] = field(default_factory=dict)
    quantity_column: str | None = None
    quantity_default: int = 1
    mend: bool = False
    name: str = ""


@dataclass(frozen=True, slots=True)
class _Taken:
    """A row after its checks: its fields, its quantity (0: none is made) and its problems."""

    row: Row
    fields: Mapping[str, str]
    quantity: int
    problems: tuple[Problem, ...]


def take_order(table: Table, options: IntakeOptions | None = None) -> Order:
    """The order in a table.

    Every row becomes its pieces, or has a problem of severity STOP that says why not, or is blank and
    noted as such. Every column becomes a field. Texts are put into Unicode's composed form (NFC) and
    otherwise stay as they are, unless ``options.mend`` asks for the mends; then each is told as before →
    after.

    Raises:
        TableError: it is not certain which columns hold the names (or another field twice over).
    """
    options = options or IntakeOptions()
    columns = columns_of(table, options)
    problems = _raised(table, columns)
    stopped = {problem.row for problem in problems if problem.severity is Severity.STOP}
    pieces: list[Piece] = []
    seen = Doubles()
    for row in table.rows:
        if not any(cell.strip() for cell in row.cells) and row.line not in stopped:
            problems.append(
                Problem(Severity.NOTE, "blank-row", "All fields of this row are blank.", row=row.line)
            )
            continue
        taken = _take_row(row, columns, options)
        problems += taken.problems
        problems += _duplicates(taken, seen, columns)
        if row.line not in stopped and all(
            problem.severity is not Severity.STOP for problem in taken.problems
        ):
            pieces += _pieces(taken)
    problems.sort(key=lambda problem: problem.row or 0)
    return Order(options.name or PurePath(table.source).stem, tuple(pieces), tuple(problems))


def columns_of(table: Table, options: IntakeOptions) -> Columns:
    """Which column of the table holds which field.

    Raises:
        TableError: it is not certain.
    """
    wanted = dict(options.columns)
    if options.quantity_column is not None:
        wanted["quantity"] = options.quantity_column
    return match_columns(table.headings, wanted, table.source)


def _raised(table: Table, columns: Columns) -> list[Problem]:
    """The table's problems; a date or a time where a name should be now holds the row back."""
    held = {columns.matched[name] for name in HELD if name in columns.matched}
    lines = {row.line for row in table.rows}
    problems = []
    for problem in table.problems:
        if problem.code in ("cell-date", "cell-time") and problem.column in held:
            problem = replace(problem, severity=Severity.STOP)
        if problem.row is not None and problem.row in lines:
            problem = replace(problem, piece=_piece_id(problem.row, 1))
        problems.append(problem)
    return problems


def _take_row(row: Row, columns: Columns, options: IntakeOptions) -> _Taken:
    problems: list[Problem] = []
    fields: dict[str, str] = {}
    for name, number in columns.fields.items():
        raw = row.cells[number]
        heading = columns.headings[name]
        fields[name], found = _take_text(raw, name, options.mend)
        problems += [_tell(finding, row.line, heading, raw, options.mend) for finding in found]
    whole = _whole_name(fields, columns)
    if not whole.strip():
        problems.append(_nameless(row.line, columns))
    fields["name"] = whole
    quantity, problem = _quantity(row, columns, options)
    if problem is not None:
        problems.append(problem)
    told = tuple(replace(p, piece=_piece_id(row.line, 1)) for p in problems)
    return _Taken(row, fields, quantity, told)


def _take_text(raw: str, name: str, mend: bool) -> tuple[str, list[Finding]]:
    """The text of a field in composed form, mended if so wished, and what was found."""
    text = unicodedata.normalize("NFC", raw)
    clean, findings = (text, []) if PLAIN.match(text) else examine(text, TEXT_CHECKS)
    if name in HELD:
        clean, more = examine(clean, NAME_CHECKS)
        findings += more
    elif name == "note":
        findings += examine(clean, NOTE_CHECKS)[1]
    if name not in HELD:
        findings = [replace(f, severity=min(f.severity, Severity.LOOK, key=_WEIGHT.index)) for f in findings]
    return (clean if mend else text), findings


_WEIGHT: Final = (Severity.NOTE, Severity.LOOK, Severity.STOP)


def _tell(finding: Finding, line: int, heading: str, raw: str, mend: bool) -> Problem:
    severity, hint, message = finding.severity, finding.hint, finding.message
    if finding.mended is not None:
        after = visible(finding.mended)
        if mend:
            severity, message = Severity.NOTE, f"{message} Mended: {visible(raw)} → {after}."
        else:
            hint = f"--mend would make it {after}.{' ' + hint if hint else ''}"
    return Problem(severity, finding.code, message, hint, row=line, column=heading, value=raw)


def visible(text: str) -> str:
    """A text in quotation marks, with what cannot be seen written as its code."""
    return (
        "“"
        + "".join(c if c.isprintable() else c.encode("unicode_escape").decode("ascii") for c in text)
        + "”"
    )


def _whole_name(fields: Mapping[str, str], columns: Columns) -> str:
    if "name" in columns.matched:
        return fields["name"]
    return " ".join(part for part in (fields["given"], fields["surname"]) if part.strip())


def _nameless(line: int, columns: Columns) -> Problem:
    heading = columns.matched[columns.named[0]]
    return Problem(
        Severity.STOP,
        "empty-name",
        "There is no name in this row.",
        "Fill it in, or delete the row.",
        row=line,
        column=heading,
    )


def _quantity(row: Row, columns: Columns, options: IntakeOptions) -> tuple[int, Problem | None]:
    """How many pieces; 0 with a problem where that is not certain."""
    if "quantity" not in columns.fields:
        return options.quantity_default, None
    raw, heading = row.cells[columns.fields["quantity"]], columns.headings["quantity"]
    text = raw.strip()
    if not text:
        message = f"There is no quantity; {options.quantity_default} will be made."
        return options.quantity_default, Problem(
            Severity.NOTE, "no-quantity", message, row=row.line, column=heading, value=raw
        )
    count = int(text) if _WHOLE.match(text) and len(text) < 10 else None
    if count is not None and 0 < count <= MOST_COPIES:
        return count, None
    code, message = (
        ("quantity-not-a-number", "The quantity is not a whole number.")
        if not _WHOLE.match(text)
        else ("quantity-zero", "The quantity is zero.")
        if count == 0
        else ("quantity-too-large", f"The quantity is larger than {MOST_COPIES}.")
    )
    hint = f"Type a whole number from 1 to {MOST_COPIES}, or delete the row."
    return 0, Problem(Severity.STOP, code, message, hint, row=row.line, column=heading, value=raw)


def _duplicates(taken: _Taken, seen: Doubles, columns: Columns) -> Iterator[Problem]:
    """A name that was there before, or nearly; a guest's guest is often entered so."""
    name = taken.fields["name"]
    double = seen.of(taken.row.line, name)
    if double is None:
        return
    code, message = "same-name", f"The same name stands in row {double.row}."
    hint = "Is it meant twice? If not, delete one."
    if not double.same:
        code = "nearly-same-name"
        message = f"Nearly the same name stands in row {double.row}: {visible(double.name)}."
        hint = "Is it one person, spelt in two ways? If so, keep the right spelling and delete the other."
    yield Problem(
        Severity.LOOK,
        code,
        message,
        hint,
        row=taken.row.line,
        column=columns.matched[columns.named[-1]],
        value=name,
        piece=_piece_id(taken.row.line, 1),
    )


def _pieces(taken: _Taken) -> Iterator[Piece]:
    fields = MappingProxyType(dict(taken.fields))
    for copy in range(1, taken.quantity + 1):
        yield Piece(_piece_id(taken.row.line, copy), taken.row.line, fields)


def _piece_id(line: int, copy: int) -> str:
    return f"p{line:03d}" + (f"-{copy}" if copy > 1 else "")
