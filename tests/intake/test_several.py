"""Several sheets of a workbook as one order."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest

from render.errors import TableError
from render.intake import IntakeOptions, read_sheets, take_orders
from render.model import Severity


def workbook(path: Path, **sheets: list[list[str]]) -> Path:
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(row)
    book.save(path)
    return path


@pytest.fixture
def company(tmp_path: Path) -> Path:
    return workbook(
        tmp_path / "company.xlsx",
        Stores=[["First name", "Surname"], ["Ana", "Morel"], ["Bo", ""]],
        Dispatch=[["Name", "Quantity"], ["Zoë Ode", "2"], ["", "1"]],
        Notes=[["Deliver on Friday"]],
    )


def test_every_sheet_with_names_is_read_and_the_others_are_named(company: Path) -> None:
    tables = read_sheets(company)
    assert [table.sheet for table in tables] == ["Stores", "Dispatch"]
    codes = [(p.code, p.severity) for table in tables for p in table.problems]
    assert codes == [("other-sheets", Severity.LOOK)]
    assert "Notes" in tables[0].problems[0].message


def test_pieces_of_all_sheets_have_ids_of_their_own_and_know_their_sheet(company: Path) -> None:
    order = take_orders(read_sheets(company), IntakeOptions(name="company"))
    told = [(p.id, p.row, p.fields["name"], p.fields["sheet"]) for p in order.pieces]
    assert told == [
        ("s1p002", 2, "Ana Morel", "Stores"),
        ("s1p003", 3, "Bo", "Stores"),
        ("s2p002", 2, "Zoë Ode", "Dispatch"),
        ("s2p002-2", 2, "Zoë Ode", "Dispatch"),
    ]
    (unread,) = [p.message for p in order.problems if p.code == "other-sheets"]
    assert unread == "Not read: “Notes” has no heading for names."
    stop = [p for p in order.problems if p.severity is Severity.STOP]
    assert [(p.row, p.piece, p.code) for p in stop] == [(3, "s2p003", "empty-name")]
    assert stop[0].message.startswith("Sheet Dispatch: ")


def test_the_sheet_can_stand_for_a_field(company: Path) -> None:
    order = take_orders(read_sheets(company), IntakeOptions(columns={"line2": "Sheet"}))
    assert [p.fields["line2"] for p in order.pieces] == ["Stores", "Stores", "Dispatch", "Dispatch"]


def test_a_column_called_sheet_is_left_alone(tmp_path: Path) -> None:
    path = workbook(tmp_path / "b.xlsx", One=[["Name", "Sheet"], ["Ana", "A4"]])
    assert take_orders(read_sheets(path), IntakeOptions()).pieces[0].fields["sheet"] == "A4"


def test_no_workbook_or_no_names_is_told(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_text("Name\nAna\n", "utf-8")
    with pytest.raises(TableError, match="no sheets"):
        read_sheets(tmp_path / "a.csv")
    with pytest.raises(TableError, match="No sheet of this workbook"):
        read_sheets(workbook(tmp_path / "b.xlsx", One=[["Colour"], ["blue"]]))


def test_hidden_sheets_are_not_read(company: Path) -> None:
    book = openpyxl.load_workbook(company)
    book["Stores"].sheet_state = "hidden"
    book.save(company)
    assert [table.sheet for table in read_sheets(company)] == ["Dispatch"]
