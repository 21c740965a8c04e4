"""What a workbook says of its cells beside their values: formulas, errors, number formats, hidden rows.

A workbook keeps values, not what was seen: a cell shown as 007 holds the number 7, a formula may hold
nothing at all. This looks into the file's XML (ECMA-376 for XLSX, OpenDocument 1.3 for ODS) for what the
values do not tell.
"""

from __future__ import annotations

import itertools
import posixpath
import re
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from io import BytesIO
from typing import IO, Any, Final

_MAIN: Final = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
_RELATION: Final = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"
_OFFICE: Final = "{urn:oasis:names:tc:opendocument:xmlns:office:1.0}"
_TABLE: Final = "{urn:oasis:names:tc:opendocument:xmlns:table:1.0}"
_TEXT: Final = "{urn:oasis:names:tc:opendocument:xmlns:text:1.0}"

# ECMA-376 part 1, 18.8.30: formats that have a number and no code of their own; the plain ones are absent.
_BUILT_IN: Final = {2: "0.00", 3: "#,##0", 4: "#,##0.00", 9: "0%", 10: "0.00%", 11: "0.00E+00", 12: "# ?/?"}
OdsRow = tuple[int, list[tuple[int, Any]], bool]
_MOST_HIDDEN: Final = 100_000
_ZEROS = re.compile(r"0+\Z")
_REFERENCE = re.compile(r"([A-Z]+)(\d+)\Z")


@dataclass(frozen=True, slots=True)
class Facts:
    """What is known of a sheet beside its values; places are (row, column), counted from 0.

    Attributes:
        formulas: cells with a formula.
        errors: what cells in error show, such as ``#N/A``.
        formats: number formats that change how a number looks.
        shown: the text that cells are known to show.
        hidden: hidden rows.
    """

    formulas: set[tuple[int, int]] = field(default_factory=set)
    errors: dict[tuple[int, int], str] = field(default_factory=dict)
    formats: dict[tuple[int, int], str] = field(default_factory=dict)
    shown: dict[tuple[int, int], str] = field(default_factory=dict)
    hidden: set[int] = field(default_factory=set)


def xlsx_facts(data: bytes, sheet: str) -> Facts:
    """The facts of one sheet of an XLSX workbook.

    Raises:
        KeyError, ValueError, zipfile.BadZipFile, lxml.etree.XMLSyntaxError: the workbook is not well made.
    """
    facts = Facts()
    with zipfile.ZipFile(BytesIO(data)) as archive:
        formats = _xlsx_formats(archive)
        with archive.open(_xlsx_part(archive, sheet)) as part:
            row = column = -1
            for event, element in _elements(part, (f"{_MAIN}row", f"{_MAIN}c")):
                if element.tag == f"{_MAIN}row":
                    if event == "start":
                        row, column = int(element.get("r", row + 2)) - 1, -1
                        if element.get("hidden") in ("1", "true"):
                            facts.hidden.add(row)
                    else:
                        element.clear()
                elif event == "end":
                    column = _column(element.get("r"), column + 1)
                    _xlsx_cell(facts, (row, column), element, formats)
    return facts


def _elements(part: IO[bytes], tags: tuple[str, ...]) -> Iterator[tuple[str, Any]]:
    from lxml import etree

    yield from etree.iterparse(
        part, events=("start", "end"), tag=tags, resolve_entities=False, no_network=True
    )


def _tree(data: bytes) -> Any:
    from lxml import etree

    return etree.fromstring(data, etree.XMLParser(resolve_entities=False, no_network=True))


def column_number(letters: str) -> int:
    """The number of a column from 1: A is 1, AA is 27."""
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - ord("A") + 1
    return number


def _column(reference: str | None, otherwise: int) -> int:
    match = _REFERENCE.match(reference or "")
    return column_number(match[1]) - 1 if match else otherwise


def _xlsx_cell(facts: Facts, place: tuple[int, int], cell: Any, formats: list[str]) -> None:
    if cell.find(f"{_MAIN}f") is not None:
        facts.formulas.add(place)
    kind, value = cell.get("t", "n"), cell.findtext(f"{_MAIN}v") or ""
    if kind == "e":
        facts.errors[place] = value
    style = int(cell.get("s", "0"))
    code = formats[style] if style < len(formats) else ""
    if kind != "n" or not value or not code:
        return
    if _ZEROS.match(code) and value.isdigit():
        facts.shown[place] = value.zfill(len(code))
    elif code not in ("0", "General", "@"):
        facts.formats[place] = code


def _xlsx_formats(archive: zipfile.ZipFile) -> list[str]:
    """The number format of each cell style."""
    if "xl/styles.xml" not in archive.namelist():
        return []
    root = _tree(archive.read("xl/styles.xml"))
    own = {int(item.get("numFmtId")): item.get("formatCode") for item in root.iter(f"{_MAIN}numFmt")}
    styles = root.find(f"{_MAIN}cellXfs")
    numbers = [] if styles is None else [int(item.get("numFmtId", "0")) for item in styles]
    return [own.get(number, _BUILT_IN.get(number, "")) for number in numbers]


def _xlsx_part(archive: zipfile.ZipFile, sheet: str) -> str:
    """The name of the part that holds the sheet."""
    root = _tree(archive.read("xl/workbook.xml"))
    relations = _tree(archive.read("xl/_rels/workbook.xml.rels"))
    targets = {item.get("Id"): item.get("Target") for item in relations}
    ids = {item.get("name"): item.get(_RELATION) for item in root.iter(f"{_MAIN}sheet")}
    return posixpath.normpath(posixpath.join("/xl", targets[ids[sheet]])).lstrip("/")


def ods_rows(data: bytes) -> Iterator[tuple[str, Iterator[OdsRow]]]:
    """Each sheet of an ODS workbook: its name and its rows.

    A row is how often it is repeated, its cells, each with the number of columns up to its end, and whether
    it is hidden.

    Raises:
        KeyError, ValueError, zipfile.BadZipFile, lxml.etree.XMLSyntaxError: the workbook is not well made.
    """
    with zipfile.ZipFile(BytesIO(data)) as archive:
        root = _tree(archive.read("content.xml"))
    for table in root.iter(f"{_TABLE}table"):
        yield table.get(f"{_TABLE}name", ""), map(_ods_row, table.iter(f"{_TABLE}table-row"))


def _ods_row(row: Any) -> OdsRow:
    ends = itertools.accumulate(int(cell.get(f"{_TABLE}number-columns-repeated", "1")) for cell in row)
    hidden = row.get(f"{_TABLE}visibility") in ("collapse", "filter")
    return int(row.get(f"{_TABLE}number-rows-repeated", "1")), list(zip(ends, row, strict=True)), hidden


def ods_facts(data: bytes, sheet: str) -> Facts:
    """The facts of one sheet of an ODS workbook, which also keeps what each cell shows.

    Raises:
        KeyError, ValueError, zipfile.BadZipFile, lxml.etree.XMLSyntaxError: the workbook is not well made.
    """
    facts = Facts()
    row = 0
    for repeated, cells, hidden in dict(ods_rows(data))[sheet]:
        column = 0
        for end, cell in cells:
            if len(cell) or cell.get(f"{_TABLE}formula") is not None:
                places = itertools.product(range(row, row + repeated), range(column, end))
                for place in places:
                    _ods_cell(facts, place, cell)
            column = end
        if hidden and repeated < _MOST_HIDDEN:
            facts.hidden.update(range(row, row + repeated))
        row += repeated
    return facts


def _ods_cell(facts: Facts, place: tuple[int, int], cell: Any) -> None:
    shown = "\n".join("".join(part.itertext()) for part in cell.findall(f"{_TEXT}p"))
    formula = cell.get(f"{_TABLE}formula")
    if formula is not None:
        facts.formulas.add(place)
        if shown.startswith(("#", "Err:")):
            facts.errors[place] = shown
    value = cell.get(f"{_OFFICE}value")
    if value is None or cell.get(f"{_OFFICE}value-type") != "float" or not shown or shown == value:
        return
    if shown.isdigit() and value.isdigit() and int(shown) == int(value):
        facts.shown[place] = shown
    else:
        facts.formats[place] = shown
