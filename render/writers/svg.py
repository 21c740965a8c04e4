"""A sheet as SVG: plain SVG 1.1 paths in absolute millimetres, and nothing else.

Top-level groups hold the operations in the order of burning, guides first; in each, a group a piece with a
title. There are no transforms, texts, fonts, clips or style sheets, so that every program that reads SVG at
all reads the same geometry, and ``width`` and ``height`` in mm make it open at true size.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

import numpy as np
from numpy.typing import NDArray

from render.geometry import MOVE, Path
from render.model import BURN_ORDER, Operation, Placement, Sheet
from render.units import format_mm
from render.writers.plainpath import path_data

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
    parts = [
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width="{width}mm" height="{height}mm"'
        f' viewBox="0 0 {width} {height}">\n<title>{xml_text(sheet.title)}</title>\n'
    ]
    for operation in DRAW_ORDER:
        pieces = [p for p in sheet.placements if any(m.operation is operation for m in p.artwork.marks)]
        if pieces:
            parts.append(f'<g id="{operation}" {_look(operation, sheet)}>\n')
            for placement in pieces:
                parts.extend(_piece(placement, operation))
            parts.append("</g>\n")
    parts.append("</svg>\n")
    return "".join(parts).encode()


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


def _piece(placement: Placement, operation: Operation) -> Iterator[str]:
    """The group of one piece in one operation."""
    artwork = placement.artwork
    title = xml_text(f"{artwork.piece}: {artwork.title}" if artwork.title else artwork.piece)
    yield f'<g id="{piece_id(artwork.piece, operation)}">\n<title>{title}</title>\n'
    for mark in artwork.marks:
        if mark.operation is operation and mark.path:
            um = placement.path_um(mark.path)
            pieces = [(mark.path.commands, um)]
            if operation is not Operation.ENGRAVE:
                pieces = _contours(mark.path, um)
            for commands, points in pieces:
                yield f'<path d="{path_data(commands, points)}"/>\n'
    yield "</g>\n"


def _contours(path: Path, um: NDArray[np.int64]) -> list[tuple[NDArray[np.uint8], NDArray[np.int64]]]:
    """A path cut at its moves: commands and points of each contour."""
    moves = np.flatnonzero(path.commands == MOVE)[1:]
    return list(
        zip(
            np.split(path.commands, moves),
            np.split(um, path.first_points()[moves]),
            strict=True,
        )
    )
