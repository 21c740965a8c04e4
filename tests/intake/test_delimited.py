"""Delimited text: exactly what was written comes back, with true line numbers, or it is refused."""

from __future__ import annotations

import csv
import io
import re
from pathlib import Path

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from render.errors import TableError
from render.intake import read_table
from render.intake.delimited import parse_delimited
from render.intake.encodings import Decoded, decode

# Surrogates cannot be encoded; a lone carriage return is not quoted by the csv module's writer.
CELLS = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\r"), max_size=12)
NAMES = st.sampled_from(
    ["Anna", "Zoë", "Bo, jr", 'Ann "Nan" Olm', "a;b", "x|y", "two\nlines", "", " ", "Null", "\tT"]
)
ROWS = st.lists(st.tuples(CELLS | NAMES, CELLS | NAMES, CELLS | NAMES), min_size=1, max_size=8)
DELIMITERS = st.sampled_from([",", ";", "\t", "|"])
ENDS = st.sampled_from(["\n", "\r\n"])
HEADINGS = ("Name", "Table", "Note")


def written(
    rows: list[tuple[str, ...]], delimiter: str, end: str, headings: tuple[str, ...] = HEADINGS
) -> str:
    buffer = io.StringIO(newline="")
    csv.writer(buffer, delimiter=delimiter, lineterminator=end).writerows([headings, *rows])
    return buffer.getvalue()


def first_lines(rows: list[tuple[str, ...]]) -> list[int]:
    """Where each row starts: a line end inside a cell takes a line, whatever its kind."""
    lines, line = [], 2
    for row in rows:
        lines.append(line)
        line += 1 + sum(len(re.findall(r"\r\n|\r|\n", cell)) for cell in row)
    return lines


@given(ROWS, DELIMITERS, ENDS, st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "utf-32"]))
def test_any_rows_come_back_exactly_with_their_lines(
    rows: list[tuple[str, ...]], delimiter: str, end: str, encoding: str
) -> None:
    data = written(rows, delimiter, end).encode(encoding)
    table = parse_delimited(decode(data, "t.csv"), "t.csv")
    assert table.delimiter == delimiter
    assert table.headings == HEADINGS
    assert [row.cells for row in table.rows] == rows
    assert [row.line for row in table.rows] == first_lines(rows)
    assert table.problems == ()


@given(
    ROWS, DELIMITERS, st.sampled_from(["cp1252", "cp1250", "cp1251", "utf-16-le", "utf-16-be", "mac-roman"])
)
def test_any_rows_come_back_exactly_in_a_named_encoding(
    rows: list[tuple[str, ...]], delimiter: str, encoding: str
) -> None:
    try:
        data = written(rows, delimiter, "\n").encode(encoding)
    except UnicodeEncodeError:
        assume(False)
    table = parse_delimited(decode(data, "t.csv", encoding), "t.csv")
    assert [row.cells for row in table.rows] == rows


WESTERN = st.text("abcdeéèêëäöüßñçåøæÅÖÉŠšžŒ’-", min_size=1, max_size=9)


@given(st.lists(st.tuples(WESTERN, WESTERN, WESTERN), min_size=1, max_size=6))
def test_windows_1252_comes_back_exactly_or_is_asked_about(rows: list[tuple[str, ...]]) -> None:
    data = written(rows, ";", "\r\n").encode("cp1252")
    try:
        data.decode("utf-8")
        assume(all(cell.isascii() for row in rows for cell in row))  # else two encodings are equally right
    except UnicodeDecodeError:
        pass
    try:
        table = parse_delimited(decode(data, "t.csv"), "t.csv")
    except TableError as error:
        refused = error
    else:
        assert [row.cells for row in table.rows] == rows
        return
    assert "--encoding" in refused.hint
    assert "cp1252 would read: " in refused.message


@given(ROWS, DELIMITERS, st.tuples(CELLS, CELLS), st.data())
def test_a_row_of_another_length_is_a_problem_and_shifts_nothing(
    rows: list[tuple[str, ...]], delimiter: str, short: tuple[str, str], data: st.DataObject
) -> None:
    place = data.draw(st.integers(0, len(rows)))
    row = data.draw(st.sampled_from([short, (*short, "c", "d")]))
    ragged = [*rows[:place], row, *rows[place:]]
    table = parse_delimited(Decoded(written(ragged, delimiter, "\n"), "utf-8"), "t.csv", delimiter)
    assert [row.cells for row in table.rows] == rows
    (problem,) = table.problems
    blank = not any(cell.strip() for cell in row)
    assert problem.code == (
        "blank-line" if blank else "too-few-fields" if len(row) == 2 else "too-many-fields"
    )
    assert problem.row == first_lines(ragged)[place]


def test_the_frame_is_the_rows_and_takes_nothing_for_missing(tmp_path: Path) -> None:
    rows = [(word, "1", "") for word in ("Null", "NA", "None", "nan", "007", "1e5", "True", "")]
    path = tmp_path / "t.csv"
    path.write_text(written(rows, ",", "\n"), encoding="utf-8")
    frame = read_table(path).frame()
    assert [tuple(row) for row in frame.to_numpy()] == rows
    assert list(frame.index) == list(range(2, 10))
    assert not frame.isna().to_numpy().any()
    assert all(isinstance(value, str) for value in frame.to_numpy().ravel())


def test_blank_lines_keep_the_numbers_true_and_are_told() -> None:
    table = parse_delimited(Decoded("\n\nName,Table\n\nAnna,1\n\n\nBo,2\n\n\n", "utf-8"), "t.csv")
    assert [(row.line, row.cells[0]) for row in table.rows] == [(5, "Anna"), (8, "Bo")]
    assert table.heading_line == 3
    assert [problem.row for problem in table.problems] == [1, 2, 4, 6, 7]


def test_a_line_of_separators_only_is_blank_however_many_they_are() -> None:
    table = parse_delimited(Decoded("Name,Table\nAnna,1\n,,,\nBo\n", "utf-8"), "t.csv", ",")
    assert [(problem.code, problem.row) for problem in table.problems] == [
        ("blank-line", 3),
        ("too-few-fields", 4),
    ]
    assert table.problems[1].message.startswith("The row has 1 field under 2 headings")


def test_a_first_line_that_names_the_delimiter_is_obeyed() -> None:
    table = parse_delimited(Decoded("sep=;\r\nName;Table\r\nA,B;1\r\n", "utf-8"), "t.csv")
    assert (table.delimiter, table.rows[0].cells, table.rows[0].line) == (";", ("A,B", "1"), 3)


def test_a_list_of_names_alone_is_a_table_of_one_column() -> None:
    table = parse_delimited(Decoded("Name\nAnna Berg\nBo\nOlm, Ada\n", "utf-8"), "t.csv")
    assert [row.cells for row in table.rows] == [("Anna Berg",), ("Bo",)]
    assert [(problem.code, problem.row) for problem in table.problems] == [("too-many-fields", 4)]


def test_empty_columns_without_heading_are_left_out_and_told() -> None:
    table = parse_delimited(Decoded("Name,Table,,\nAnna,1,,\n", "utf-8"), "t.csv")
    assert table.headings == ("Name", "Table")
    assert table.rows[0].cells == ("Anna", "1")
    assert [problem.code for problem in table.problems] == ["empty-column"]


@pytest.mark.parametrize("spelt", ["semicolon", ";", "SEMICOLON"])
def test_the_delimiter_may_be_named(spelt: str) -> None:
    table = parse_delimited(Decoded("Name, first;Seat\nA,b;1\n", "utf-8"), "t.csv", spelt)
    assert table.rows[0].cells == ("A,b", "1")
