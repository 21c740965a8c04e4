"""Labels: for each piece a small card with its name, its bag, its code in letters and as a QR code."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from render.geometry import Path
from render.geometry.shapes import rectangle
from render.proof.canvas import Canvas
from render.proof.palette import INK, MUTED, RULE
from render.proof.pieces import Letter
from render.proof.sheetpaper import HEIGHT, WHITE, WIDTH
from render.proof.words import Type, lines_of, shortened

COLUMNS, ROWS = 3, 8
"""Labels to a page of A4, without margins: 70 × 37 mm, a size that sheets of labels are sold in (common
practice, no source)."""

LABEL: Final = (WIDTH / COLUMNS, 37.0)
_TOP: Final = (HEIGHT - ROWS * LABEL[1]) / 2
_INSET: Final = 5.0
_QR: Final = 21.0
"""Side of a QR code with its quiet zone, mm."""
QUIET: Final = 4
"""Modules of white that a QR code needs around it (ISO/IEC 18004)."""


@dataclass(frozen=True, slots=True)
class Label:
    """One label: what is on the piece, its bag, its code, and that as rows of dark modules."""

    text: str
    bag: str
    code: str
    modules: tuple[tuple[bool, ...], ...]


def draw_labels(labels: Sequence[Label], letter: Letter) -> tuple[bytes, ...]:
    """The labels as pages of SVG, row by row, thin lines between them for the scissors."""
    each = COLUMNS * ROWS
    return tuple(_page(labels[at : at + each], letter) for at in range(0, len(labels), each))


def _page(labels: Sequence[Label], letter: Letter) -> bytes:
    canvas = Canvas()
    width, height = LABEL
    for index, label in enumerate(labels):
        row, column = divmod(index, COLUMNS)
        x, y = column * width, _TOP + row * height
        look: dict[str, str | float] = {"fill": "none", "stroke": RULE, "stroke_width": 0.15}
        canvas.draw(rectangle(x, y, width, height), look)
        _draw(canvas, label, letter, x + _INSET, y + _INSET)
    return canvas.svg(WIDTH, HEIGHT, WHITE)


def _draw(canvas: Canvas, label: Label, letter: Letter, x: float, y: float) -> None:
    room = LABEL[0] - 2 * _INSET - _QR - 1.5
    name, bag, code = Type(letter, 4.2, strong=True), Type(letter, 3.3), Type(letter, 2.7)
    line = y + 4.0
    for text in lines_of(label.text, name, room, 3):
        canvas.draw(name.placed(text, x, line), {"fill": INK})
        line += 5.2
    canvas.draw(bag.placed(shortened(label.bag, bag, room), x, line), {"fill": INK})
    foot = y + LABEL[1] - 2 * _INSET
    canvas.draw(code.placed(shortened(label.code, code, LABEL[0] - 2 * _INSET), x, foot), {"fill": MUTED})
    canvas.draw(qr_path(label.modules, x + room + 1.5, y - 1.5, _QR), {"fill": "#000000"})


def qr_path(modules: Sequence[Sequence[bool]], x: float, y: float, side: float) -> Path:
    """The dark modules of a QR code as rectangles in mm; `side` has its quiet zone, (x, y) is its corner."""
    step = side / (len(modules) + 2 * QUIET)
    bars = []
    for row, cells in enumerate(modules):
        begin = None
        for column, dark in enumerate((*cells, False)):
            if dark and begin is None:
                begin = column
            elif not dark and begin is not None:
                left, top = x + (begin + QUIET) * step, y + (row + QUIET) * step
                bars.append(rectangle(left, top, (column - begin) * step, step))
                begin = None
    return Path.joined(bars)
