"""From rows to pieces."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from render.intake import MOST_COPIES, IntakeOptions, describe, read_table, take_order
from render.intake.table import Row, Table
from render.model import Severity


def table(headings: tuple[str, ...], *rows: tuple[str, ...]) -> Table:
    return Table("guests.csv", headings, tuple(Row(line, cells) for line, cells in enumerate(rows, 2)))


def test_copies_have_ids_of_their_own_and_fields_cannot_be_changed() -> None:
    taken = take_order(table(("Name", "Qty"), ("Anna", "3"), ("Bo", "1")))
    assert [piece.id for piece in taken.pieces] == ["p002", "p002-2", "p002-3", "p003"]
    assert [piece.row for piece in taken.pieces] == [2, 2, 2, 3]
    with pytest.raises(TypeError):
        taken.pieces[0].fields["name"] = "Eve"  # type: ignore[index]


def test_ids_grow_past_three_digits() -> None:
    rows = Table("a.csv", ("Name",), (Row(1234, ("Anna",)),))
    assert take_order(rows).pieces[0].id == "p1234"


def test_all_columns_are_kept() -> None:
    (piece,) = take_order(table(("Guest", "Tisch", "Shirt size"), ("Anna", "4", "M"))).pieces
    assert dict(piece.fields) == {"name": "Anna", "table": "4", "shirt_size": "M"}


def test_a_name_is_put_together_from_its_halves() -> None:
    taken = take_order(table(("Surname", "Given name"), ("Olm", "Ada"), ("Quill", ""), ("", "Bo"), ("", " ")))
    assert [piece.fields["name"] for piece in taken.pieces] == ["Ada Olm", "Quill", "Bo"]
    assert taken.pieces[0].fields["surname"] == "Olm"
    assert [(problem.code, problem.row) for problem in taken.problems] == [("blank-row", 5)]
    (problem,) = take_order(table(("Given name", "Surname", "Seat"), ("", "", "4"))).problems
    assert (problem.code, problem.severity, problem.column) == ("empty-name", Severity.STOP, "Given name")


def test_halves_are_mended_before_they_are_put_together() -> None:
    rows = table(("Given name", "Surname"), (" Ada", "OlmÃ©"), ("Ada", "Olmé"))
    mended = take_order(rows, IntakeOptions(mend=True))
    assert [piece.fields["name"] for piece in mended.pieces] == ["Ada Olmé", "Ada Olmé"]
    assert [problem.code for problem in mended.problems if problem.row == 3] == ["same-name"]


def test_the_quantity_is_never_guessed() -> None:
    rows = table(
        ("Name", "Qty", "Note"),
        ("Anna", "two", ""),
        ("Bo", "", "2x please"),
        ("Cy", str(MOST_COPIES + 1), ""),
    )
    taken = take_order(rows, IntakeOptions(quantity_default=1))
    assert [piece.id for piece in taken.pieces] == ["p003"]
    assert {(p.code, p.row, p.column) for p in taken.problems} == {
        ("quantity-not-a-number", 2, "Qty"), ("no-quantity", 3, "Qty"),
        ("quantity-in-words", 3, "Note"), ("quantity-too-large", 4, "Qty"),
    }  # fmt: skip


def test_the_quantity_may_be_in_any_column_or_have_another_default() -> None:
    rows = table(("Name", "Mugs"), ("Anna", "2"), ("Bo", ""))
    taken = take_order(rows, IntakeOptions(quantity_column="Mugs", quantity_default=4))
    assert [piece.id for piece in taken.pieces].count("p002-2") == 1
    assert len(taken.pieces) == 6
    assert len(take_order(rows, IntakeOptions(quantity_default=2)).pieces) == 4


def test_problems_carry_row_column_value_piece_and_hint() -> None:
    (problem,) = take_order(table(("Guest",), ("ZoÃ« Olm",))).problems
    assert (problem.row, problem.column, problem.value, problem.piece) == (2, "Guest", "ZoÃ« Olm", "p002")
    assert problem.hint == "--mend would make it “Zoë Olm”."
    (problem,) = take_order(table(("Guest",), ("Zo\u200bë Olm",)), IntakeOptions(mend=True)).problems
    assert problem.severity is Severity.NOTE
    assert problem.message.endswith(r"Mended: “Zo\u200bë Olm” → “Zoë Olm”.")


def test_a_broken_letter_in_a_column_that_is_no_name_is_told_but_does_not_hold_back() -> None:
    taken = take_order(table(("Name", "Menu"), ("Anna", "S\ufffdup")))
    assert len(taken.pieces) == 1
    assert [(p.severity, p.code, p.column) for p in taken.problems] == [
        (Severity.LOOK, "lost-letter", "Menu")
    ]


def test_names_are_composed_always() -> None:
    (piece,) = take_order(table(("Name",), ("Zoe\u0308",))).pieces
    assert piece.fields["name"] == "Zoë"


def test_the_order_is_named_after_the_file_or_as_told() -> None:
    assert take_order(table(("Name",), ("A",))).name == "guests"
    assert take_order(table(("Name",), ("A",)), IntakeOptions(name="Olm wedding")).name == "Olm wedding"


def test_a_description_says_what_was_found_out(tmp_path: Path) -> None:
    path = tmp_path / "t.csv"
    path.write_bytes("Vorname;Nachname;Tisch;Farbe\nJürgen;Groß;1;rot\n".encode("cp1252"))
    assert describe(read_table(path)) == (
        ("encoding", "cp1252"),
        ("parted by", "semicolon"),
        ("rows", "1"),
        ("field given", "Vorname"),
        ("field surname", "Nachname"),
        ("field table", "Tisch"),
        ("field farbe", "Farbe"),
        ("field name", "Vorname + Nachname"),
    )


def test_taking_in_a_csv_loads_no_heavy_library(tmp_path: Path) -> None:
    (tmp_path / "t.csv").write_text("Name\nAnna\n", encoding="utf-8")
    code = (
        "import sys, pathlib; from render.intake import read_table, take_order;"
        f"take_order(read_table(pathlib.Path({str(tmp_path / 't.csv')!r})));"
        "print(sorted({'pandas', 'python_calamine', 'lxml', 'shapely'} & set(sys.modules)))"
    )
    root = Path(__file__).parents[2]
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=root, check=True)
    assert run.stdout.strip() == "[]"
