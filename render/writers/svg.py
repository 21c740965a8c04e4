"""A sheet as SVG: plain SVG 1.1 paths in absolute millimetres, and nothing else.

Top-level groups hold the operations in the order of burning, guides first; in each, a group a piece with a
title. What a person sets at the machine stands in the root's ``desc``. There are no transforms, texts,
fonts, clips or style sheets, so that every program that reads SVG at all reads the same geometry, and
``width`` and ``height`` in mm make it open at true size.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from render.geometry.path import MOVE, POINTS_PER_COMMAND
from render.geometry.pathformat import path_data
from render.model import BURN_ORDER, Operation, Placement, Sheet
from render.units import format_mm

DRAW_ORDER: Final = (Operation.GUIDE, *BURN_ORDER)
"""The order of the groups in a file: guides lie beneath everything, then as the beam goes."""

DEFAULT_COLOURS: Final = {
    Operation.ENGRAVE: "#0072B2",
    Operation.SCORE: "#009E73",
    Operation.CUT: "#D55E00",
    Operation.GUIDE: "#CC79A7",
}
"""For sheets that name no colours: from Okabe and Ito's palette (M. Okabe, K. Ito, "Color Universal Design",
2008), which colour-blind people can tell apart."""

LINE_WIDTH_MM: Final = 0.1
"""Drawn width of lines to follow. It is only for the eye: the beam follows the middle of the line."""

_AT_ONCE: Final = 24
"""Pieces formatted together: enough for numpy, little enough for the processor's cache."""

_Drawn = tuple[NDArray[np.uint8], NDArray[np.int64]]
"""A path on the sheet: its commands, and its points in whole micrometres."""

_ILLEGAL = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""What XML 1.0 (fifth edition, production 2) does not allow in a document, even escaped."""

_COLOUR = re.compile(r"#[0-9A-Fa-f]{6}\Z")
_NOT_IN_ID = re.compile(r"[^A-Za-z0-9_.-]")


def sheet_svg(sheet: Sheet) -> bytes:
    """The sheet as an SVG file, UTF-8; the same sheet gives the same bytes.

    Engraved marks are one filled path each (non-zero rule); scores, cuts and guides one path a contour, in
    thin lines.

    Raises:
        ValueError: a piece lies on the sheet twice, a colour is not ``#rrggbb``, or a coordinate is not
            finite.
    """
    _check_ids(sheet)
    width, height = (format_mm(side) for side in sheet.size)
    head = (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width="{width}mm" height="{height}mm"'
        f' viewBox="0 0 {width} {height}">\n<title>{xml_text(sheet.title)}</title>\n'
    )
    if sheet.settings:
        head += f"<desc>{xml_text(sheet.settings)}</desc>\n"
    parts = [head.encode()]
    for operation in DRAW_ORDER:
        pieces = [
            placement
            for placement in sheet.placements
            if any(mark.operation is operation and mark.path for mark in placement.artwork.marks)
        ]
        if pieces:
            parts.append(f'<g id="{operation}" {_look(operation, sheet)}>\n'.encode())
            begins = range(0, len(pieces), _AT_ONCE)
            parts += [_group(pieces[begin : begin + _AT_ONCE], operation) for begin in begins]
            parts.append(b"</g>\n")
    parts.append(b"</svg>\n")
    return b"".join(parts)


def piece_id(piece: str, operation: Operation) -> str:
    """The id in the file of one piece's group in one operation: an XML name (ASCII part of production 5)."""
    safe = _NOT_IN_ID.sub("_", piece)
    start = "" if safe[:1].isalpha() or safe[:1] == "_" else "_"
    return f"{start}{safe}-{operation}"


def xml_text(text: str) -> str:
    """Text for an element or an attribute: escaped, and what XML cannot carry replaced by U+FFFD."""
    legal = _ILLEGAL.sub("\ufffd", text)
    return legal.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;").replace('"', "&quot;")


def _check_ids(sheet: Sheet) -> None:
    """Ids in a file must be unique, or no piece could be found by its own."""
    seen: set[str] = set()
    for placement in sheet.placements:
        name = piece_id(placement.artwork.piece, Operation.CUT)
        if name in seen:
            raise ValueError(f"piece {placement.artwork.piece} lies twice on sheet {sheet.number}")
        seen.add(name)


def _look(operation: Operation, sheet: Sheet) -> str:
    """Presentation attributes of an operation's group."""
    colour = sheet.colours.get(operation, DEFAULT_COLOURS[operation])
    if not _COLOUR.match(colour):
        raise ValueError(f"the colour {colour!r} of {operation} is not of the form #rrggbb")
    if operation is Operation.ENGRAVE:
        return f'fill="{colour}" fill-rule="nonzero" stroke="none"'
    return f'fill="none" stroke="{colour}" stroke-width="{format_mm(LINE_WIDTH_MM)}"'


def _group(placements: Sequence[Placement], operation: Operation) -> bytes:
    """The groups of some pieces in one operation; their coordinates are formatted all at once."""
    paths: list[_Drawn] = []
    ends = []
    for placement in placements:
        for mark in placement.artwork.marks:
            if mark.operation is operation and mark.path:
                drawn = (mark.path.commands, placement.path_um(mark.path))
                paths.extend((drawn,) if operation is Operation.ENGRAVE else _contours(*drawn))
        ends.append(len(paths))
    data = path_data(paths)
    lines = []
    for placement, start, end in zip(placements, [0, *ends], ends, strict=False):
        lines.append(_opening(placement, operation))
        lines += [f'<path d="{each}"/>\n' for each in data[start:end]]
        lines.append("</g>\n")
    return "".join(lines).encode()


def _opening(placement: Placement, operation: Operation) -> str:
    """The first lines of a piece's group."""
    piece, title = placement.artwork.piece, placement.artwork.title
    label = xml_text(f"{piece}: {title}" if title else piece)
    return f'<g id="{piece_id(piece, operation)}">\n<title>{label}</title>\n'


def _contours(commands: NDArray[np.uint8], um: NDArray[np.int64]) -> Iterator[_Drawn]:
    """Commands and points cut before each move."""
    moves = np.flatnonzero(commands == MOVE)
    if moves.size == 1:
        yield commands, um
        return
    first = np.cumsum(POINTS_PER_COMMAND[commands]) - 1
    begins, starts = moves.tolist(), first[moves].tolist()
    ends, stops = [*begins[1:], commands.size], [*starts[1:], len(um)]
    for begin, end, start, stop in zip(begins, ends, starts, stops, strict=True):
        yield commands[begin:end], um[start:stop]
