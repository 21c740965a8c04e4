"""A page of the forms that a font's letters can take, each with its code."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from render.geometry import Affine, Path
from render.proof.canvas import Canvas
from render.proof.contact import draw_head
from render.proof.grid import GUTTER, MARGIN, PAGE_WIDTH
from render.proof.palette import INK, MUTED, PAPER, RULE
from render.proof.pieces import Letter
from render.proof.words import Type, lines_of, shortened

MOST_COLUMNS: Final = 4
CAPITALS: Final = 8.0
"""Capitals are shown at this height, mm, or smaller where a sample is too wide for the page."""

PEN: Final = 0.35
"""How wide single strokes are shown, mm."""

_CODE_SIZE, _NOTE_SIZE = 3.0, 2.5
_AIR: Final = 3.0


@dataclass(frozen=True, slots=True)
class Form:
    """One form: its code and name, and a sample in em (y down, baseline at 0).

    Attributes:
        cap_height: height of the capitals in em.
        line: whether the sample is a line to follow rather than an area.
    """

    code: str
    title: str
    sample: Path
    cap_height: float
    line: bool = False


def draw_forms(forms: Sequence[Form], letter: Letter, *, title: str, facts: Sequence[str]) -> bytes:
    """The forms side by side, all of one size, on one baseline a row, as SVG with outlines only."""
    canvas = Canvas()
    small = Type(letter, 2.9)
    told = [line for fact in facts if fact for line in lines_of(fact, small, PAGE_WIDTH - 2 * MARGIN, 3)]
    y = draw_head(canvas, letter, title, told, "")
    room = PAGE_WIDTH - 2 * MARGIN
    boxes = [form.sample.bounds() for form in forms if form.sample]
    widest = max((box.width for box in boxes), default=1.0)
    size = CAPITALS / max((form.cap_height for form in forms), default=1.0)
    columns = min(MOST_COLUMNS, max(1, int((room + GUTTER) // (widest * size + GUTTER))), len(forms) or 1)
    column = (room - GUTTER * (columns - 1)) / columns
    for begin in range(0, len(forms), columns):
        y = _draw_row(canvas, forms[begin : begin + columns], letter, y, column, size)
    return canvas.svg(PAGE_WIDTH, y + MARGIN / 2, PAPER)


def _draw_row(
    canvas: Canvas, row: Sequence[Form], letter: Letter, y: float, column: float, size: float
) -> float:
    """One row; returns where the next begins."""
    code, note = Type(letter, _CODE_SIZE, strong=True), Type(letter, _NOTE_SIZE)
    sizes = [min(size, column / form.sample.bounds().width) if form.sample else size for form in row]
    boxes = [form.sample.bounds() for form in row if form.sample]
    up = max((-box.y0 * s for box, s in zip(boxes, sizes, strict=False)), default=0.0)
    down = max((box.y1 * s for box, s in zip(boxes, sizes, strict=False)), default=0.0)
    baseline = y + _AIR + up
    foot = baseline + max(down, 0.0) + _AIR
    notes = [lines_of(form.title, note, column, 2) for form in row]
    for number, (form, s, said) in enumerate(zip(row, sizes, notes, strict=True)):
        x = MARGIN + number * (column + GUTTER)
        if form.sample:
            place = Affine(s, 0, 0, s, x - form.sample.bounds().x0 * s, baseline)
            look: dict[str, str | float] = {"fill": INK}
            if form.line:
                look = {"fill": "none", "stroke": INK, "stroke_width": PEN, "stroke_linecap": "round"}
            canvas.draw(form.sample.transformed(place), look)
        canvas.draw(code.placed(shortened(form.code, code, column), x, foot + 2.4), {"fill": INK})
        for at, text in enumerate(said, 1):
            canvas.draw(note.placed(text, x, foot + 2.4 + at * 3.4), {"fill": MUTED})
    end = foot + 5.4 + 3.4 * max(len(said) for said in notes)
    rule = Path.polyline((complex(MARGIN, end), complex(PAGE_WIDTH - MARGIN, end)))
    canvas.draw(rule, {"fill": "none", "stroke": RULE, "stroke_width": 0.15})
    return end
