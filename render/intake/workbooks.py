"""Workbooks (XLSX, ODS, XLS): every cell as the text a person saw, or a problem on that cell."""

from __future__ import annotations

import datetime
import zipfile
from collections.abc import Callable
from io import BytesIO
from pathlib import PurePath
from typing import TYPE_CHECKING, Any, Final, TypeVar

from render.errors import TableError
from render.intake.cells import Facts, ods_facts, xlsx_facts
from render.intake.delimited import build_table
from render.intake.files import damaged, locked
from render.intake.headings import names_someone
from render.intake.reach import refuse_corner, refuse_far_cells
from render.intake.table import Row, Table
from render.model import Problem, Severity

if TYPE_CHECKING:
    from python_calamine import CalamineSheet, CalamineWorkbook

_FACTS: Final[dict[str, Callable[[bytes, str], Facts]]] = {"xlsx": xlsx_facts, "ods": ods_facts}
_T = TypeVar("_T")
_EXACT: Final = 10**15
"""Whole numbers up to fifteen digits are kept exactly by workbooks (binary64); longer ones lose digits."""


def parse_workbook(data: bytes, kind: str, place: str, wanted: str | None = None) -> Table:
    """The table on one sheet of a workbook.

    Args:
        data: the file's content.
        kind: ``xlsx``, ``ods`` or ``xls``.
        place: the file, for messages.
        wanted: the sheet the user named; None: the only one, or the only one with a heading for names.

    Raises:
        TableError: it is damaged or locked, the sheet is unknown or not certain, or the headings are not
        in order.
    """
    _well_made(lambda: refuse_far_cells(data, kind, place) if kind in _FACTS else None, place)
    book = _open(data, place)
    sheet, others = _choose(book, place, wanted)
    facts = _well_made(lambda: _FACTS[kind](data, sheet.name) if kind in _FACTS else Facts(), place)
    rows, cell_problems = _rows(sheet, facts, place)
    if not rows:
        raise TableError(
            f"The sheet {sheet.name!r} is empty.", hint="Choose another with --table-sheet.", place=place
        )
    head = rows[0]
    table = build_table(head, rows[1:], place)
    named = [_with_heading(problem, table.headings) for problem in cell_problems]
    notes = _sheet_notes(sheet, others, kind, head.line)
    return Table(
        PurePath(place).name,
        table.headings,
        table.rows,
        table.heading_line,
        sheet=sheet.name,
        other_sheets=others,
        problems=(*notes, *sorted((*table.problems, *named), key=lambda problem: problem.row or 0)),
    )


def _open(data: bytes, place: str) -> CalamineWorkbook:
    from python_calamine import CalamineError, CalamineWorkbook

    try:
        return CalamineWorkbook.from_filelike(BytesIO(data))
    except CalamineError as error:
        raise (locked(place) if "assword" in str(error) else damaged(place)) from error


def _choose(book: CalamineWorkbook, place: str, wanted: str | None) -> tuple[CalamineSheet, tuple[str, ...]]:
    from python_calamine import CalamineError, SheetTypeEnum, SheetVisibleEnum

    names = [sheet.name for sheet in book.sheets_metadata if sheet.typ == SheetTypeEnum.WorkSheet]
    try:
        if wanted is not None:
            found = [name for name in names if name.casefold() == wanted.strip().casefold()]
            if not found:
                hint = f"Its sheets are: {', '.join(names)}."
                raise TableError(f"There is no sheet called {wanted!r}.", hint=hint, place=place)
            return book.get_sheet_by_name(found[0]), tuple(name for name in names if name != found[0])
        seen = {sheet.name for sheet in book.sheets_metadata if sheet.visible == SheetVisibleEnum.Visible}
        full = [sheet for sheet in map(book.get_sheet_by_name, names) if sheet.name in seen and sheet.height]
    except CalamineError as error:
        raise damaged(place) from error
    if not full:
        raise TableError("The workbook is empty.", hint="Save the table again, then retry.", place=place)
    likely = [sheet for sheet in full if names_someone(map(str, next(iter(sheet.iter_rows()), [])))]
    choice = full if len(full) == 1 else likely
    if len(choice) != 1:
        raise TableError(
            "The workbook has several sheets with something on them: "
            f"{', '.join(sheet.name for sheet in full)}.",
            hint=f'Add --table-sheet "{(choice or full)[0].name}" or another.',
            place=place,
        )
    return choice[0], tuple(name for name in names if name != choice[0].name)


def named_sheets(data: bytes, place: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Names of the visible sheets that have a heading for names, and of those with something else on them.

    Raises:
        TableError: the workbook is damaged or locked.
    """
    from python_calamine import CalamineError, SheetTypeEnum, SheetVisibleEnum

    book = _open(data, place)
    named: list[str] = []
    others: list[str] = []
    try:
        for meta in book.sheets_metadata:
            if meta.typ != SheetTypeEnum.WorkSheet or meta.visible != SheetVisibleEnum.Visible:
                continue
            sheet = book.get_sheet_by_name(meta.name)
            if sheet.height:
                head = map(str, next(iter(sheet.iter_rows()), []))
                (named if names_someone(head) else others).append(meta.name)
    except CalamineError as error:
        raise damaged(place) from error
    return tuple(named), tuple(others)


def _well_made(look: Callable[[], _T], place: str) -> _T:
    """What a look into the workbook's XML finds; if the XML is not well made, the workbook is damaged."""
    from lxml.etree import XMLSyntaxError

    try:
        return look()
    except (KeyError, ValueError, IndexError, zipfile.BadZipFile, XMLSyntaxError, OSError) as error:
        raise damaged(place) from error


def _rows(sheet: CalamineSheet, facts: Facts, place: str) -> tuple[list[Row], list[Problem]]:
    """The rows that are not blank, and their problems, whose `column` is still the column's number."""
    height, width = (sheet.end[0] + 1, sheet.end[1] + 1) if sheet.end else (0, 0)
    refuse_corner(height, width, place)
    rows: list[Row] = []
    problems: list[Problem] = []
    blank: list[int] = []
    for index, values in enumerate(sheet.to_python(skip_empty_area=False)):
        cells = []
        for column, value in enumerate(values):
            text, problem = _cell(value, (index, column), facts)
            cells.append(text)
            if problem is not None:
                problems.append(problem)
        held = any(cells) or any((index, column) in facts.formulas for column in range(width))
        if held:
            problems += [
                Problem(Severity.NOTE, "blank-line", "This row is blank.", row=n) for n in blank if rows
            ]
            blank.clear()
            rows.append(Row(index + 1, tuple(cells)))
        else:
            blank.append(index + 1)
        if held and index in facts.hidden:
            problems.append(_HIDDEN(index + 1))
    return rows, problems


def _HIDDEN(line: int) -> Problem:  # noqa: N802
    return Problem(
        Severity.LOOK,
        "hidden-row",
        "This row is hidden or filtered out in the workbook, but it was read.",
        "Delete it in the table if it is not wanted.",
        row=line,
    )


# What a cell of each type is called; booleans and dates were likely typed as something else.
_TURNED: Final[tuple[tuple[type, str, str], ...]] = (
    (bool, "cell-true-false", "The workbook holds a truth value, not text"),
    (datetime.date, "cell-date", "The workbook holds a date, not text"),
    (datetime.time, "cell-time", "The workbook holds a time of day, not text"),
    (datetime.timedelta, "cell-time", "The workbook holds a length of time, not text"),
)


def _cell(value: Any, at: tuple[int, int], facts: Facts) -> tuple[str, Problem | None]:
    """The cell's text, and what should be known about it."""
    if at in facts.errors:
        shown = facts.errors[at]
        return shown, _problem(
            at, Severity.STOP, "cell-error", f"The cell shows the error {shown}.", "Mend the formula.", shown
        )
    if value == "" and at in facts.formulas:
        return "", _problem(
            at,
            Severity.STOP,
            "formula-not-worked-out",
            "The cell has a formula whose result is not in the file.",
            "Open the workbook in a spreadsheet program, save it, and retry.",
        )
    if isinstance(value, str):
        note = at in facts.formulas
        return value, _problem(
            at, Severity.NOTE, "formula-result", "The text is the result of a formula.", "", value
        ) if note else None
    for kind, code, message in _TURNED:
        if isinstance(value, kind):
            text = _plain(value)
            return text, _problem(
                at,
                Severity.LOOK,
                code,
                f"{message}; it was read as {text}.",
                "If it was meant as text, format the cell as text and type it again.",
                text,
            )
    return _number(value, at, facts)


def _plain(value: Any) -> str:
    if isinstance(value, bool):
        return str(value).upper()
    if isinstance(value, datetime.datetime):
        return value.date().isoformat() if value.time() == datetime.time() else value.isoformat(" ")
    return str(value)


def _number(value: float, at: tuple[int, int], facts: Facts) -> tuple[str, Problem | None]:
    text = facts.shown.get(at) or (str(int(value)) if float(value).is_integer() else repr(float(value)))
    if abs(value) >= _EXACT:
        return text, _problem(
            at,
            Severity.LOOK,
            "long-number",
            f"A number this long has lost its last digits; it was read as {text}.",
            "Format the cell as text and type it again.",
            text,
        )
    if at in facts.formats:
        return text, _problem(
            at,
            Severity.LOOK,
            "number-format",
            f"The number is shown in another way ({facts.formats[at]}); it was read as {text}.",
            "If it should read as shown, format the cell as text and type it again.",
            text,
        )
    return text, None


def _problem(
    at: tuple[int, int], severity: Severity, code: str, message: str, hint: str = "", value: str = ""
) -> Problem:
    return Problem(severity, code, message, hint, row=at[0] + 1, column=str(at[1]), value=value)


def _with_heading(problem: Problem, headings: tuple[str, ...]) -> Problem:
    from dataclasses import replace

    if not problem.column:
        return problem
    number = int(problem.column)
    return replace(problem, column=headings[number] if number < len(headings) else "")


def _sheet_notes(sheet: CalamineSheet, others: tuple[str, ...], kind: str, head: int) -> list[Problem]:
    notes = []
    if others:
        notes.append(
            Problem(
                Severity.LOOK,
                "other-sheets",
                f"Only the sheet {sheet.name!r} was read; not read: {', '.join(others)}.",
                "Choose another with --table-sheet.",
            )
        )
    if kind not in _FACTS:
        notes.append(
            Problem(
                Severity.LOOK,
                "formats-not-seen",
                "In this kind of workbook it cannot be seen how numbers look: 007 would be read as 7.",
                "Save it as XLSX if it holds such numbers.",
            )
        )
    for (top, left), (bottom, right) in sheet.merged_cell_ranges or []:
        if bottom + 1 > head:
            notes.append(
                Problem(
                    Severity.LOOK,
                    "merged-cells",
                    f"Cells of columns {left + 1} to {right + 1}, rows {top + 1} to {bottom + 1} are merged: "
                    "only the first has the text, the others are empty.",
                    "Split the merged cells.",
                    row=max(top + 1, head),
                )
            )
    return notes
