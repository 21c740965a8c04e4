"""Workbooks: what a person saw in a cell is what is read, or it is told."""

from __future__ import annotations

import datetime
from pathlib import Path

import openpyxl
import pytest
from odf.opendocument import OpenDocumentSpreadsheet
from odf.table import Table as OdsTable
from odf.table import TableCell, TableRow
from odf.text import P

from render.intake import Table, read_table, take_order
from render.model import Severity


def xlsx(tmp_path: Path, rows: list[list[object]], formats: dict[str, str] | None = None) -> Path:
    book = openpyxl.Workbook()
    sheet = book.worksheets[0]
    for row in rows:
        sheet.append(row)
    for cell, code in (formats or {}).items():
        sheet[cell].number_format = code
    book.save(tmp_path / "a.xlsx")
    return tmp_path / "a.xlsx"


def told(table: Table) -> list[tuple[str, int | None, str, str]]:
    return [(problem.code, problem.row, problem.column, problem.value) for problem in table.problems]


@pytest.mark.parametrize(
    ("value", "code", "text", "problem"),
    [
        (7, "General", "7", None),
        (7, "000", "007", None),
        (7, "00000", "00007", None),
        (1234, "000", "1234", None),
        (7.0, "0", "7", None),
        (2.5, "General", "2.5", None),
        ("007", "@", "007", None),
        (1234, "#,##0", "1234", "number-format"),
        (7, "0.00", "7", "number-format"),
        (0.5, "0%", "0.5", "number-format"),
        (10**16, "General", str(10**16), "long-number"),
        (True, "General", "TRUE", "cell-true-false"),
        (datetime.date(2026, 5, 4), "yyyy-mm-dd", "2026-05-04", "cell-date"),
        (datetime.datetime(2026, 5, 4, 9, 30), "yyyy-mm-dd hh:mm", "2026-05-04 09:30:00", "cell-date"),
        (datetime.time(9, 30), "hh:mm", "09:30:00", "cell-time"),
        ("Zoë  Olm ", "General", "Zoë  Olm ", None),
    ],
)
def test_a_cell_reads_as_it_was_seen_or_is_told(
    tmp_path: Path, value: object, code: str, text: str, problem: str | None
) -> None:
    table = read_table(xlsx(tmp_path, [["Name", "Badge"], ["Anna", value]], {"B2": code}))
    assert table.rows[0].cells == ("Anna", text)
    assert told(table) == ([(problem, 2, "Badge", text)] if problem else [])


def test_a_date_as_a_name_is_held_back_but_as_a_date_is_only_told(tmp_path: Path) -> None:
    day = datetime.date(2026, 3, 1)
    order = take_order(read_table(xlsx(tmp_path, [["Name", "Date"], ["Anna", day], [day, day]])))
    assert [piece.id for piece in order.pieces] == ["p002"]
    stops = [(p.code, p.row, p.column, p.piece) for p in order.problems if p.severity is Severity.STOP]
    assert stops == [("cell-date", 3, "Name", "p003")]


def test_formulas_and_errors_hold_their_row_back(tmp_path: Path) -> None:
    path = xlsx(tmp_path, [["Name", "Seat"], ["=B2", 1], ["Bo", "#N/A"], ["Cy", 3]])
    book = openpyxl.load_workbook(path)
    book.worksheets[0]["B3"].data_type = "e"
    book.save(path)
    order = take_order(read_table(path))
    assert [piece.fields["name"] for piece in order.pieces] == ["Cy"]
    codes = {(p.code, p.row, p.column) for p in order.problems if p.severity is Severity.STOP}
    assert codes == {
        ("formula-not-worked-out", 2, "Name"),
        ("empty-name", 2, "Name"),
        ("cell-error", 3, "Seat"),
    }


def test_hidden_rows_merged_cells_and_gaps_are_told(tmp_path: Path) -> None:
    path = xlsx(tmp_path, [[], ["Name", "Seat"], ["Anna", 1], [], ["Bo", 2], ["Cy", 3]])
    book = openpyxl.load_workbook(path)
    sheet = book.worksheets[0]
    sheet.row_dimensions[5].hidden = True
    sheet.merge_cells("A6:B6")
    book.save(path)
    table = read_table(path)
    assert table.heading_line == 2
    assert [row.line for row in table.rows] == [3, 5, 6]
    assert {(code, row) for code, row, _, _ in told(table)} == {
        ("blank-line", 4), ("hidden-row", 5), ("merged-cells", 6),
    }  # fmt: skip


def test_the_sheet_with_names_is_read_and_the_others_are_named(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    book.worksheets[0].title = "Menu"
    book.worksheets[0].append(["Dish", "Price"])
    book.create_sheet("Guests").append(["Guest"])
    book["Guests"].append(["Anna"])
    book.create_sheet("Old").append(["Guest"])
    book["Old"].sheet_state = "hidden"
    book.save(tmp_path / "a.xlsx")
    table = read_table(tmp_path / "a.xlsx")
    assert (table.sheet, table.other_sheets) == ("Guests", ("Menu", "Old"))
    assert table.problems[0].code == "other-sheets"
    assert "not read: Menu, Old" in table.problems[0].message


def ods(tmp_path: Path, rows: list[list[dict[str, str] | str]]) -> Path:
    document = OpenDocumentSpreadsheet()
    table = OdsTable(name="Guests")
    for cells in rows:
        row = TableRow()
        for cell in cells:
            given = {"valuetype": "string", "shown": cell} if isinstance(cell, str) else dict(cell)
            shown = given.pop("shown")
            element = TableCell(**given)
            element.addElement(P(text=shown))
            row.addElement(element)
        table.addElement(row)
    document.spreadsheet.addElement(table)
    document.save(str(tmp_path / "a.ods"))
    return tmp_path / "a.ods"


def test_an_ods_number_reads_as_shown_or_is_told(tmp_path: Path) -> None:
    path = ods(
        tmp_path,
        [
            ["Name", "Badge"],
            ["Anna", {"valuetype": "float", "value": "7", "shown": "007"}],
            ["Bo", {"valuetype": "float", "value": "7", "shown": "7"}],
            ["Cy", {"valuetype": "float", "value": "1234", "shown": "1,234"}],
            ["Zoë", {"valuetype": "boolean", "booleanvalue": "true", "shown": "TRUE"}],
            ["Null", "NA"],
        ],
    )
    table = read_table(path)
    assert [row.cells for row in table.rows] == [
        ("Anna", "007"), ("Bo", "7"), ("Cy", "1234"), ("Zoë", "TRUE"), ("Null", "NA"),
    ]  # fmt: skip
    assert told(table) == [("number-format", 4, "Badge", "1234"), ("cell-true-false", 5, "Badge", "TRUE")]
