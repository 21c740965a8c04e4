"""How far the sheets of a workbook reach, found before they are read.

One stray cell in the last corner makes a reader set aside room for seventeen thousand million cells, so the
corner is looked for in the file's XML first.
"""

from __future__ import annotations

import re
import zipfile
from collections.abc import Iterator
from io import BytesIO
from typing import Final

from render.errors import TableError
from render.intake.cells import column_number, ods_rows

MOST_CELLS: Final = 5_000_000
"""Cells of the largest sheet that is read, up to its last row and column."""

_CELL = re.compile(rb'<(?:\w+:)?c\s(?:[^<>]*\s)?r="([A-Z]{1,3})(\d{1,7})"')


def refuse_far_cells(data: bytes, kind: str, place: str) -> None:
    """Refuse a workbook with a sheet that reaches too far.

    Raises:
        TableError: a sheet's last row times its last column is more than :data:`MOST_CELLS`.
        KeyError, ValueError, zipfile.BadZipFile, lxml.etree.XMLSyntaxError: the workbook is not well made.
    """
    for rows, columns in _corners(data) if kind == "xlsx" else _ods_corners(data):
        refuse_corner(rows, columns, place)


def refuse_corner(rows: int, columns: int, place: str) -> None:
    """Refuse a sheet with so many rows and columns.

    Raises:
        TableError: they make more than :data:`MOST_CELLS`.
    """
    if rows * columns > MOST_CELLS:
        raise TableError(
            f"A sheet reaches to row {rows}, column {columns}: far more than any order.",
            hint="Something lies far outside the table; copy the table alone to a new sheet.",
            place=place,
        )


def _corners(data: bytes) -> Iterator[tuple[int, int]]:
    with zipfile.ZipFile(BytesIO(data)) as archive:
        for name in archive.namelist():
            if name.startswith("xl/worksheets/") and name.endswith(".xml"):
                places = set(_CELL.findall(archive.read(name)))
                columns = {letters for letters, _ in places}
                yield (
                    max((int(row) for _, row in places), default=0),
                    max((column_number(letters.decode()) for letters in columns), default=0),
                )


def _ods_corners(data: bytes) -> Iterator[tuple[int, int]]:
    for _, rows in ods_rows(data):
        height = width = row = 0
        for repeated, cells, _ in rows:
            row += repeated
            filled = [end for end, cell in cells if len(cell)]
            if filled:
                height, width = row, max(width, filled[-1])
        yield height, width
