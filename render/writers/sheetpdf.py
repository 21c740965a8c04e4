"""A sheet as one page of PDF at true size: paths only, in layers named by operation."""

from __future__ import annotations

import zlib
from itertools import groupby
from typing import Final

import numpy as np

from render.geometry.path import CUBIC, LINE, MOVE, QUAD, Path
from render.model import Operation, Sheet
from render.units import MM_PER_INCH, format_mm
from render.writers.contours import Contour, sheet_contours
from render.writers.svg import DEFAULT_COLOURS, DRAW_ORDER, LINE_WIDTH_MM

_POINTS_PER_MM: Final = 72 / MM_PER_INCH
"""PDF's unit is 1/72 inch (ISO 32000-1, 8.3.2.3)."""


def sheet_pdf(sheet: Sheet) -> bytes:
    """The sheet as a PDF file; the same sheet gives the same bytes.

    One matrix takes mm with y down to PDF's points with y up; the numbers within are the sheet's own mm.
    Lines are thin strokes, engraved marks are filled by the non-zero rule; quadratics are raised to cubics.

    Raises:
        ValueError: a coordinate is not finite.
    """
    content = zlib.compress(_content(sheet), 9)
    first = 6
    layers = b"".join(f"{first + n} 0 R ".encode() for n in range(len(DRAW_ORDER)))
    names = b"".join(f"/{op} {first + n} 0 R ".encode() for n, op in enumerate(DRAW_ORDER))
    box = " ".join(_number(side * _POINTS_PER_MM) for side in sheet.size)
    objects = [
        b"<< /Type /Catalog /Pages 2 0 R /OCProperties << /OCGs [ %s] /D << /Order [ %s] >> >> >>"
        % (layers, layers),
        b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
        b"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 %s] /Contents 4 0 R "
        b"/Resources << /Properties << %s>> >> >>" % (box.encode(), names),
        b"<< /Length %d /Filter /FlateDecode >>\nstream\n%s\nendstream" % (len(content), content),
        b"<< /Title %s%s /Producer (Monikerf) >>"
        % (_text(sheet.title), b" /Subject " + _text(sheet.settings) if sheet.settings else b""),
        *(b"<< /Type /OCG /Name (%s) >>" % operation.encode() for operation in DRAW_ORDER),
    ]
    return _file(objects)


def _file(objects: list[bytes]) -> bytes:
    """The objects, their table and the trailer (ISO 32000-1, 7.5)."""
    out = bytearray(b"%PDF-1.5\n%\xe2\xe3\xcf\xd3\n")
    table = [b"0000000000 65535 f \n"]
    for number, content in enumerate(objects, 1):
        table.append(b"%010d 00000 n \n" % len(out))
        out += b"%d 0 obj\n%s\nendobj\n" % (number, content)
    start = len(out)
    out += b"xref\n0 %d\n" % len(table) + b"".join(table)
    out += b"trailer\n<< /Size %d /Root 1 0 R /Info 5 0 R >>\n" % len(table)
    return bytes(out + b"startxref\n%d\n%%%%EOF\n" % start)


def _content(sheet: Sheet) -> bytes:
    scale = _number(_POINTS_PER_MM)
    lines = [f"{scale} 0 0 -{scale} 0 {_number(sheet.size[1] * _POINTS_PER_MM)} cm"]
    lines.append(f"{format_mm(LINE_WIDTH_MM)} w")
    for operation, contours in groupby(sheet_contours(sheet), key=lambda c: c.operation):
        lines.append(f"/OC /{operation} BDC")
        lines += _operation(operation, list(contours), sheet)
        lines.append("EMC")
    return "\n".join(lines).encode() + b"\n"


def _operation(operation: Operation, contours: list[Contour], sheet: Sheet) -> list[str]:
    colour = sheet.colours.get(operation, DEFAULT_COLOURS[operation]).removeprefix("#")
    rgb = " ".join(_number(int(colour[n : n + 2], 16) / 255) for n in (0, 2, 4))
    fills = operation is Operation.ENGRAVE
    lines = [f"{rgb} {'rg' if fills else 'RG'}"]
    for _, parts in groupby(contours, key=lambda c: c.mark):
        lines += [_data(c.path) + (" h" if c.closed else "") + ("" if fills else " S") for c in parts]
        if fills:
            lines.append("f")
    return lines


def _data(path: Path) -> str:
    """Path construction operators (ISO 32000-1, table 59)."""
    words, at, pen = [], 0, 0j
    for command in path.commands.tolist():
        count = {MOVE: 1, LINE: 1, QUAD: 2, CUBIC: 3}[command]
        points = path.points[at : at + count].tolist()
        if command == QUAD:
            control, end = points
            points = [pen + (control - pen) * 2 / 3, end + (control - end) * 2 / 3, end]
        words += [f"{format_mm(p.real, 5)} {format_mm(p.imag, 5)}" for p in points]
        words.append({MOVE: "m", LINE: "l"}.get(command, "c"))
        at, pen = at + count, points[-1]
    return " ".join(words)


def _number(value: float) -> str:
    return np.format_float_positional(value, precision=9, trim="-")


def _text(text: str) -> bytes:
    """A text string in UTF-16BE, as hexadecimal (ISO 32000-1, 7.9.2.2)."""
    return b"<FEFF%s>" % text.encode("utf-16-be", "replace").hex().upper().encode()
