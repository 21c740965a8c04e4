"""The contact sheet: every piece of an order on its blank, in tidy rows, with its caption."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from render.geometry import Affine
from render.geometry.shapes import rectangle
from render.model import Blank, Material
from render.proof.canvas import Canvas
from render.proof.grid import GUTTER, MARGIN, PAGE_WIDTH, ROW_GAP, Grid, grid_for
from render.proof.legend import draw_legend
from render.proof.notes import draw_notes, notes_of
from render.proof.palette import INK, MUTED, PAPER, RULE
from render.proof.pieces import Flag, Letter, ProofPiece
from render.proof.roundcells import Cells
from render.proof.signs import COLOUR, SIGN_ADVANCE, draw_sign
from render.proof.things import Thing
from render.proof.words import Type, lines_of, shortened
from render.units import format_mm

MOST_ON_A_PAGE: Final = 150
"""More pieces than this go on several pages."""

MOST_LINES: Final = 5
"""A caption's text, and its reason, run over at most so many lines."""
LEADING: Final = 1.28
ID_SPACE: Final = 0.65
"""Between an id and the sign after it, in em."""
_TITLE_SIZE: Final = 6.2
_LINE_SIZE: Final = 2.9


@dataclass(frozen=True, slots=True)
class Caption:
    """What stands under one piece: the text's lines, then the id's line, then the rest of the reason."""

    text: tuple[str, ...]
    reason: tuple[str, ...]

    @property
    def lines(self) -> int:
        """How many lines high it is."""
        return len(self.text) + max(1, len(self.reason))


def contact_sheet(
    pieces: Sequence[ProofPiece],
    blank: Blank,
    material: Material,
    letter: Letter,
    *,
    title: str,
    round_: Cells | None = None,
) -> tuple[bytes, ...]:
    """Draw the contact sheet of an order.

    Args:
        pieces: all of one order, in order; at least one.
        blank: the blank they are all made on.
        material: what it is made of.
        letter: sets the words.
        title: of the order.
        round_: how the pieces look on a round thing; None shows them from above, or unrolled.

    Returns:
        One SVG a page, 210 mm wide and as high as its pieces need, words as outlines; at most
        :data:`MOST_ON_A_PAGE` pieces on each.

    Raises:
        ValueError: there are no pieces, or the blank has no outline.
    """
    if not pieces:
        raise ValueError("a contact sheet of no pieces")
    box = blank.outline.bounds()
    size = (box.width, box.height) if round_ is None else round_.size
    pages = math.ceil(len(pieces) / MOST_ON_A_PAGE)
    share = math.ceil(len(pieces) / pages)
    grid = grid_for(share, *size)
    thing = Thing.of(blank, material, grid.scale)
    notes = notes_of(pieces)
    drawn = []
    for page in range(pages):
        canvas = Canvas()
        number = f"page {page + 1} of {pages}" if pages > 1 else ""
        y = draw_head(
            canvas, letter, title, _facts(pieces, blank, material, standing=round_ is not None), number
        )
        here = pieces[page * share : (page + 1) * share]
        y = _draw_rows(canvas, here, notes, round_ or thing, letter, grid, y)
        y = draw_notes(canvas, here, notes, letter, y)
        height = draw_legend(canvas, here, thing, letter, grid.scale, y, unrolled=round_ is None)
        drawn.append(canvas.svg(PAGE_WIDTH, height, PAPER))
    return tuple(drawn)


def _facts(pieces: Sequence[ProofPiece], blank: Blank, material: Material, *, standing: bool) -> list[str]:
    """The lines under the title: what the things are, and how many need a look."""
    box, name = blank.outline.bounds(), blank.title
    size = f"{format_mm(box.width, 1)} × {format_mm(box.height, 1)} mm"
    if standing and blank.body is not None:
        round_it, high = (format_mm(side, 1) for side in (blank.body.circumference, blank.body.height))
        name, size = name.removesuffix(", unrolled"), f"{round_it} mm round, {high} mm high"
    look = sum(piece.shown_flag is Flag.LOOK for piece in pieces)
    held = sum(piece.shown_flag is Flag.HELD for piece in pieces)
    counts = [f"{len(pieces)} piece{'s' if len(pieces) != 1 else ''}"]
    counts += [f"{look} to look at"] if look else []
    counts += [f"{held} held back"] if held else []
    return [f"{name}  ·  {material.title}  ·  {size}", "  ·  ".join(counts)]


def draw_head(canvas: Canvas, letter: Letter, title: str, facts: list[str], number: str) -> float:
    """Draw the head of a page; return where the rows may begin."""
    big, small = Type(letter, _TITLE_SIZE, strong=True), Type(letter, _LINE_SIZE)
    width = PAGE_WIDTH - 2 * MARGIN
    y = MARGIN + _TITLE_SIZE * 0.75
    number_width = small.width(number) + GUTTER if number else 0.0
    if number:
        canvas.draw(small.placed(number, MARGIN + width - number_width + GUTTER, y), {"fill": MUTED})
    for line in lines_of(title, big, width - number_width, 3) or [""]:
        canvas.draw(big.placed(line, MARGIN, y), {"fill": INK})
        y += _TITLE_SIZE * LEADING
    y += 1.5 - _TITLE_SIZE * LEADING
    for fact in facts:
        y += _LINE_SIZE * 1.45
        canvas.draw(small.placed(shortened(fact, small, width), MARGIN, y), {"fill": MUTED})
    y += 4.2
    canvas.draw(rectangle(MARGIN, y, width, 0.15), {"fill": RULE})
    return y + 5.5


def _draw_rows(
    canvas: Canvas,
    pieces: Sequence[ProofPiece],
    notes: Mapping[str, str],
    thing: Thing | Cells,
    letter: Letter,
    grid: Grid,
    y: float,
) -> float:
    """Draw the pieces in rows; return where the last row ends."""
    height = thing.size[1] if isinstance(thing, Cells) else thing.blank.outline.bounds().height
    kind = Type(letter, grid.type_size, strong=True)
    for begin in range(0, len(pieces), grid.columns):
        row = pieces[begin : begin + grid.columns]
        captions = [_caption(piece, notes, letter, grid) for piece in row]
        below = y + height * grid.scale
        for index, (piece, caption) in enumerate(zip(row, captions, strict=True)):
            x = grid.x(index)
            if isinstance(thing, Cells):
                thing.draw(canvas, x, y, grid.scale, piece.id)
            else:
                box, scale = thing.blank.outline.bounds(), grid.scale
                to_page = Affine(scale, 0, 0, scale, x - box.x0 * scale, y - box.y0 * scale)
                thing.draw(canvas, to_page, piece.artwork)
            _draw_caption(canvas, piece, caption, kind, x, below)
        most = max(caption.lines for caption in captions)
        y = below + grid.type_size * (1.7 + (most - 1) * LEADING + ROW_GAP)
    return y - grid.type_size * ROW_GAP


def _caption(piece: ProofPiece, notes: Mapping[str, str], letter: Letter, grid: Grid) -> Caption:
    """Break a caption's text and reason into lines."""
    strong, plain = Type(letter, grid.type_size, strong=True), Type(letter, grid.type_size * 0.92)
    text = lines_of(piece.text, strong, grid.column, MOST_LINES)
    flag = piece.shown_flag
    if flag is Flag.NONE:
        return Caption(tuple(text), ())
    reason = notes.get(piece.reason, piece.reason)
    words = f"{flag}: {reason}" if reason else str(flag)
    lead = plain.width(piece.id) + plain.size * (ID_SPACE + SIGN_ADVANCE)
    first = lines_of(words, plain, grid.column - lead, len(words))[0]
    rest = words[len(first) :].strip()
    return Caption(tuple(text), (first, *lines_of(rest, plain, grid.column, MOST_LINES)))


def _draw_caption(
    canvas: Canvas, piece: ProofPiece, caption: Caption, strong: Type, x: float, below: float
) -> None:
    """Draw a caption whose piece ends at `below`."""
    plain = Type(strong.letter, strong.size * 0.92)
    y = below + strong.size * 1.55
    for text in caption.text:
        canvas.draw(strong.placed(text, x, y), {"fill": INK})
        y += strong.size * LEADING
    canvas.draw(plain.placed(piece.id, x, y), {"fill": MUTED})
    if caption.reason:
        flag = piece.shown_flag
        at = x + plain.width(piece.id) + plain.size * ID_SPACE
        draw_sign(canvas, flag, at, y, plain.size)
        at += plain.size * SIGN_ADVANCE
        for line in caption.reason:
            canvas.draw(plain.placed(line, at, y), {"fill": COLOUR[flag]})
            at = x
            y += strong.size * LEADING
