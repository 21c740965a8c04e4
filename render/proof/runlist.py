"""The run list: what a person at the machine needs, safety first, then each load as a numbered picture."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from render.geometry import Affine, Path
from render.geometry.shapes import rectangle
from render.model import Operation, Placement, Sheet
from render.proof.palette import INK, MUTED, RULE
from render.proof.papers import Head
from render.proof.pieces import Letter
from render.proof.sheetpaper import (
    BIG,
    BOTTOM,
    INNER,
    LEADING,
    MARGIN,
    NORMAL,
    SMALL,
    WHITE,
    Page,
    draw_foot,
    draw_head,
    square,
)
from render.units import from_um

COLUMNS: Final = 4
_ROW: Final = 4.6
_HIGHEST: Final = 120.0
"""Height of the picture of a full load, mm; one of few pieces gets less."""
_LINE: Final = 0.12
_LABEL: Final = (1.7, 5.0)
"""Smallest and largest size of the numbers in the picture, mm to the em."""


@dataclass(frozen=True, slots=True)
class RunLoad:
    """A load, the name of its file, and what else stands in its heading, such as the waste."""

    sheet: Sheet
    file: str
    note: str = ""


def draw_run_list(
    head: Head, cautions: Sequence[str], loads: Sequence[RunLoad], letter: Letter
) -> tuple[bytes, ...]:
    """The pages of a run list, as SVG with outlines only.

    Args:
        head: whose and what it is.
        cautions: safety words, each one line beginning with what it is about.
        loads: in the order in which they are run.
        letter: sets the words.
    """
    pages = list(_pages(head, cautions, loads, letter))
    for number, page in enumerate(pages, 1):
        text = "Numbers count the places from 1; tick each piece when it comes off the bed whole."
        draw_foot(page, text, f"{number} / {len(pages)}")
    return tuple(page.svg() for page in pages)


def _pages(head: Head, cautions: Sequence[str], loads: Sequence[RunLoad], letter: Letter) -> Iterator[Page]:
    page = Page(letter)
    draw_head(page, head)
    page.put("Before anything burns", MARGIN, page.y, BIG, strong=True)
    page.y += BIG * 1.5
    for caution in cautions:
        if page.y > BOTTOM - 4 * SMALL * LEADING:
            yield page
            page = _fresh(letter)
        page.canvas.draw(square(MARGIN, page.y, SMALL), {"fill": "none", "stroke": INK, "stroke_width": 0.2})
        page.y = page.block(caution, MARGIN + 5, page.y, INNER - 5, SMALL, most=4) + 1
    page.y += 5
    for load in loads:
        picture, rows = _picture_height(load.sheet), math.ceil(len(load.sheet.placements) / COLUMNS)
        if page.y + picture + 14 + _ROW * min(rows, 6) > BOTTOM:
            yield page
            page = _fresh(letter)
        _draw_load(page, load, picture)
        ordered = sorted(load.sheet.placements, key=lambda p: p.place)
        while ordered:
            fit = max(1, int((BOTTOM - page.y) // _ROW)) * COLUMNS
            _draw_rows(page, ordered[:fit])
            ordered = ordered[fit:]
            if ordered:
                yield page
                page = _fresh(letter)
                page.put(f"{load.file}, continued", MARGIN, page.y, NORMAL, colour=MUTED)
                page.y += NORMAL * 2
    yield page


def _fresh(letter: Letter) -> Page:
    page = Page(letter)
    page.y += 6
    return page


def _picture_height(sheet: Sheet) -> float:
    width, height = sheet.size
    count = len(sheet.placements)
    highest = _HIGHEST if count > 12 else 85.0 if count > 1 else 45.0
    return min(highest, INNER * height / width)


def _draw_load(page: Page, load: RunLoad, high: float) -> None:
    """Heading and picture of one load."""
    sheet = load.sheet
    count = len(sheet.placements)
    words = f"{load.file}: {count} {'piece' if count == 1 else 'pieces'}"
    words += f", {load.note}" if load.note else ""
    page.put(words, MARGIN, page.y, NORMAL * 1.15, strong=True)
    page.y += 3
    scale = high / sheet.size[1]
    left = MARGIN + (INNER - sheet.size[0] * scale) / 2
    frame = rectangle(left, page.y, sheet.size[0] * scale, high)
    page.canvas.draw(frame, {"fill": WHITE, "stroke": RULE, "stroke_width": 0.25})
    to_page = Affine(scale, 0, 0, scale, left, page.y)
    for operation in (Operation.CUT, Operation.SCORE, Operation.ENGRAVE):
        paths = [_placed(p, operation).transformed(to_page) for p in sheet.placements]
        colour = sheet.colours.get(operation, INK)
        filled = operation is Operation.ENGRAVE
        look: dict[str, str | float] = {"fill": colour, "fill_opacity": 0.45} if filled else {"fill": "none"}
        if not filled:
            look |= {"stroke": colour, "stroke_width": _LINE}
        page.canvas.draw(Path.joined(paths), look)
    for placement in sheet.placements:
        _draw_number(page, placement, to_page)
    page.y += high + 6


def _placed(placement: Placement, operation: Operation | None = None) -> Path:
    """What is burned of a piece, in its place on the sheet."""
    marks = placement.artwork.marks
    path = Path.joined(
        m.path for m in marks if m.operation is not Operation.GUIDE and operation in (None, m.operation)
    )
    return Path(path.commands, from_um(placement.path_um(path)))


def _draw_number(page: Page, placement: Placement, to_page: Affine) -> None:
    """The number of a place at the top left of its piece, on white, so that it can be read."""
    box = _placed(placement).transformed(to_page).bounds()
    size = min(max(min(box.width, box.height) * 0.4, _LABEL[0]), _LABEL[1])
    kind = page.type(size, strong=True)
    text = str(placement.place)
    wide = kind.width(text)
    x, y = box.x0 + size * 0.2, box.y0 + size * 0.95
    ground = rectangle(x - size * 0.12, y - size * 0.82, wide + size * 0.24, size * 0.94, size * 0.15)
    page.canvas.draw(ground, {"fill": WHITE, "fill_opacity": 0.85})
    page.canvas.draw(kind.placed(text, x, y), {"fill": INK})


def _draw_rows(page: Page, placements: Sequence[Placement]) -> None:
    """Number, box and name of each piece, down the columns."""
    rows = math.ceil(len(placements) / COLUMNS)
    step = INNER / COLUMNS
    for n, placement in enumerate(placements):
        x, y = MARGIN + n // rows * step, page.y + n % rows * _ROW
        page.canvas.draw(square(x, y, 2.6), {"fill": "none", "stroke": INK, "stroke_width": 0.2})
        page.put(str(placement.place), x + 9.5, y, SMALL, strong=True, right=True)
        name = placement.artwork.title or placement.artwork.piece
        page.put(name, x + 11, y, SMALL, room=step - 13)
    page.y += rows * _ROW + 5
