"""One clear message for each file or table that cannot be used: what is wrong, where, and what to do."""

from __future__ import annotations

import zipfile
from io import BytesIO
from pathlib import Path

import openpyxl
import pytest

from render.errors import TableError
from render.intake import IntakeOptions, files, read_table, take_order


def refused(path: Path, **options: str) -> TableError:
    with pytest.raises(TableError) as caught:
        read_table(path, **options)  # type: ignore[arg-type]
    error = caught.value
    assert error.message
    assert error.hint
    assert str(path) in error.place
    assert "\n" not in str(error)
    return error


def file(tmp_path: Path, content: bytes | str, name: str = "guests.csv") -> Path:
    path = tmp_path / name
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return path


def zipped(**parts: bytes) -> bytes:
    buffer = BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        for name, data in parts.items():
            archive.writestr(name.replace("__", "/").replace("_dot_", "."), data)
    return buffer.getvalue()


def test_missing_file(tmp_path: Path) -> None:
    file(tmp_path, "Name\nA\n", "guests.csv")
    error = refused(tmp_path / "gusts.csv")
    assert error.message == "There is no such file."
    assert error.hint == "Did you mean guests.csv?"
    file(tmp_path, "Name\nA\n", "answers.csv")
    (tmp_path / "guests2.png").write_bytes(b"")
    assert refused(tmp_path / "nosuch.csv").hint == "Check the name and the folder."
    assert refused(tmp_path / "Guests.xlsx").hint == "Did you mean guests.csv?"
    assert "does not exist either" in refused(tmp_path / "nowhere" / "guests.csv").hint


def test_folder(tmp_path: Path) -> None:
    assert refused(tmp_path).message == "This is a folder, not a table."


@pytest.mark.parametrize("content", ["", "\ufeff", "\n\n", " \r\n\t"])
def test_empty_file(tmp_path: Path, content: str) -> None:
    assert refused(file(tmp_path, content)).message == "The file is empty."


def test_unreadable_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def locked(_: Path) -> bytes:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "read_bytes", locked)
    assert "Permission denied" in refused(file(tmp_path, "Name\nA\n")).message


def test_too_large_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(files, "LARGEST_FILE", 2**20)
    path = file(tmp_path, b"Name\n" + b"A\n" * 2**20)
    assert refused(path).message == "The file has 2 MB; tables up to 1 MB are read."


@pytest.mark.parametrize(
    ("content", "kind"),
    [
        (b"%PDF-1.7\n", "a PDF document"),
        (b"\x89PNG\r\n\x1a\n\0\0\0", "a PNG picture"),
        (b"\xff\xd8\xff\xe0", "a JPEG picture"),
        (b"\n<!DOCTYPE html><table>", "a web page"),
        (b"<?xml version='1.0'?><a/>", "an XML file"),
        (b"<svg xmlns='x'/>", "an SVG drawing"),
        (b"{\\rtf1}", "a rich text document"),
        (bytes(range(256)) * 8, "a binary file"),
        (b"\0" * 99 + b"x" * 99, "a binary file"),
        (zipped(word__document_dot_xml=b"<x/>"), "a text document"),
        (zipped(a_dot_txt=b"x"), "a packed file"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600, "an old office document"),
    ],
)
def test_not_a_table(tmp_path: Path, content: bytes, kind: str) -> None:
    error = refused(file(tmp_path, content))
    assert error.message == f"This is {kind}, not a table."
    assert "CSV" in error.hint


def test_workbook_locked_by_a_password(tmp_path: Path) -> None:
    """[MS-OFFCRYPTO] 2.3.4.4: the encrypted package is a stream of a compound file; ODF 1.3 part 2, 3.4.1."""
    wrapped = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600 + "EncryptedPackage".encode("utf-16-le")
    assert refused(file(tmp_path, wrapped, "a.xlsx")).message == "The workbook is locked with a password."
    manifest = b"<manifest:encryption-data/>"
    parts = {"mimetype": b"application/vnd.oasis.opendocument.spreadsheet", "content_dot_xml": b"?"}
    ods = zipped(**parts, **{"META-INF__manifest_dot_xml": manifest})
    assert refused(file(tmp_path, ods, "a.ods")).message == "The workbook is locked with a password."


@pytest.mark.parametrize("cut", [40, 400, -40])
def test_damaged_workbook(tmp_path: Path, cut: int) -> None:
    path = tmp_path / "a.xlsx"
    openpyxl.Workbook().save(path)
    error = refused(file(tmp_path, path.read_bytes()[:cut], "a.xlsx"))
    assert error.message == "The workbook is damaged: it cannot be unpacked."


def test_workbook_with_a_part_that_is_not_xml(tmp_path: Path) -> None:
    path = tmp_path / "a.xlsx"
    workbook({"A": [["Name"], ["x"]]}).save(path)
    with zipfile.ZipFile(path) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    parts["xl/styles.xml"] = b"<not"
    with zipfile.ZipFile(path, "w") as archive:
        for name, data in parts.items():
            archive.writestr(name, data)
    assert refused(path).message == "The workbook is damaged: it cannot be unpacked."


def test_workbook_that_unpacks_to_too_much(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(files, "LARGEST_UNPACKED", 1000)
    path = tmp_path / "a.xlsx"
    openpyxl.Workbook().save(path)
    assert "Unpacked" in refused(path).message


def test_unknown_or_unfitting_encoding(tmp_path: Path) -> None:
    path = file(tmp_path, "Name\nZoë\n".encode("cp1252"))
    assert refused(path, encoding="klingon").message == "There is no encoding called klingon."
    assert refused(path, encoding="zlib").hint
    error = refused(path, encoding="utf-8")
    assert error.message == "The file cannot be read as utf-8. Near line 2, byte 8 (eb 0a) does not fit."


def test_mark_of_one_encoding_but_not_in_it(tmp_path: Path) -> None:
    error = refused(file(tmp_path, b"\xef\xbb\xbfName\nZo\xeb\n"))
    assert error.message.startswith("The file says it is utf-8-sig but is not so throughout. Near line 2")


def test_uncertain_delimiter(tmp_path: Path) -> None:
    error = refused(file(tmp_path, "Name;Seat,Note\nA;1,x\n"))
    assert error.message == (
        "It is not certain what parts the columns: comma would give Name;Seat · Note; "
        "semicolon would give Name · Seat,Note."
    )
    assert error.hint == "Choose the right one and add --delimiter comma or --delimiter semicolon."


def test_delimiter_that_cannot_be_one(tmp_path: Path) -> None:
    assert refused(file(tmp_path, "Name\nA\n"), delimiter="and").message == "'and' cannot part fields."


def test_one_column_because_of_the_wrong_delimiter(tmp_path: Path) -> None:
    error = refused(file(tmp_path, "Name;Table\nA;1\n"), delimiter=",")
    assert error.message == "Parted by comma there is only one column, 'Name;Table'."
    assert "--delimiter semicolon" in error.hint


def test_quotation_mark_never_closed(tmp_path: Path) -> None:
    error = refused(file(tmp_path, 'Name,Table\nA,1\n"Bo,2\nC,3\n'))
    assert "quotation mark" in error.message
    assert error.place.endswith("row 3")


def test_headings_twice_the_same_or_missing(tmp_path: Path) -> None:
    error = refused(file(tmp_path, "Name,Table,Name\nA,1,B\n"))
    assert error.message == "Two columns have the heading 'Name'."
    error = refused(file(tmp_path, "Name,,Table\nA,1,B\n"))
    assert error.message == "Column 2 has no heading, but there is something in row 2."
    assert refused(file(tmp_path, "Name,Table\n")).message == "There are headings but no rows."


def workbook(sheets: dict[str, list[list[object]]]) -> openpyxl.Workbook:
    book = openpyxl.Workbook()
    book.remove(book.worksheets[0])
    for title, rows in sheets.items():
        sheet = book.create_sheet(title)
        for row in rows:
            sheet.append(row)
    return book


def test_sheets_unknown_uncertain_or_empty(tmp_path: Path) -> None:
    path = tmp_path / "a.xlsx"
    workbook({"Friday": [["Name"], ["A"]], "Saturday": [["Name"], ["B"]]}).save(path)
    error = refused(path)
    assert error.message == "The workbook has several sheets with something on them: Friday, Saturday."
    assert error.hint == 'Add --table-sheet "Friday" or another.'
    assert refused(path, sheet="Sunday").hint == "Its sheets are: Friday, Saturday."
    assert read_table(path, sheet="saturday").rows[0].cells == ("B",)
    workbook({"Empty": []}).save(path)
    assert refused(path).message == "The workbook is empty."
    assert refused(path, sheet="Empty").message == "The sheet 'Empty' is empty."


def test_something_far_outside_the_table(tmp_path: Path) -> None:
    path = tmp_path / "a.xlsx"
    book = workbook({"A": [["Name"], ["x"]]})
    book.worksheets[0]["XFD1048576"] = "stray"
    book.save(path)
    assert "reaches to row 1048576, column 16384" in refused(path).message
    cell = '<table:table-cell table:number-columns-repeated="16384"><text:p>x</text:p></table:table-cell>'
    content = (
        '<office:document-content xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0" '
        'xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0" '
        'xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0"><table:table table:name="A">'
        f'<table:table-row table:number-rows-repeated="1048576">{cell}</table:table-row>'
        "</table:table></office:document-content>"
    )
    mimetype = b"application/vnd.oasis.opendocument.spreadsheet"
    parts = {"META-INF__manifest_dot_xml": b"<m/>", "content_dot_xml": content.encode()}
    ods = file(tmp_path, zipped(mimetype=mimetype, **parts), "a.ods")
    assert "reaches to row 1048576, column 16384" in refused(ods).message


def test_options_of_the_other_kind_of_file(tmp_path: Path) -> None:
    assert refused(file(tmp_path, "Name\nA\n"), sheet="A").message == "A text file has no sheets."
    path = tmp_path / "a.xlsx"
    workbook({"A": [["Name"], ["x"]]}).save(path)
    assert refused(path, encoding="utf-8").message == "A workbook needs no --encoding."
    assert refused(path, delimiter=";").message == "A workbook needs no --delimiter."


def unmatched(tmp_path: Path, headings: str, **columns: str) -> TableError:
    width = headings.count(",") + 1
    table = read_table(file(tmp_path, f"{headings}\n{','.join('x' * width)}\n"))
    with pytest.raises(TableError) as caught:
        take_order(table, IntakeOptions(columns=columns))
    assert caught.value.place == "guests.csv"
    return caught.value


def test_no_column_for_names(tmp_path: Path) -> None:
    error = unmatched(tmp_path, "Whom,Seat")
    assert error.message == "No column is known to hold the names; the headings are: Whom, Seat."
    assert '--column name="Whom"' in error.hint


def test_half_a_name(tmp_path: Path) -> None:
    error = unmatched(tmp_path, "First name,Seat")
    assert "Only the given name has a column ('First name')" in error.message
    assert '--column name="First name"' in error.hint
    error = unmatched(tmp_path, "Name,Vorname")
    assert error.hint == 'Say which: --column name="Name" or --column surname="Name".'


def test_two_columns_for_one_field(tmp_path: Path) -> None:
    error = unmatched(tmp_path, "Guest,Full name,Table")
    assert error.message == "More than one column may hold the name: Guest, Full name."
    assert error.hint == 'Say which one: --column name="Guest" or --column name="Full name".'


def test_column_that_is_not_there(tmp_path: Path) -> None:
    error = unmatched(tmp_path, "Guest,Table", name="Gast")
    assert error.message == "There is no column with the heading 'Gast'."
    assert "The headings are: Guest, Table." in error.hint
    assert (
        "cannot be the name of a field" in unmatched(tmp_path, "Guest,Table", **{"my name": "Guest"}).message
    )
