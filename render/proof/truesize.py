"""An order's pieces at true size, on sheets of paper that can be printed and held against the thing."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from render.geometry import Affine
from render.geometry.shapes import line
from render.proof.canvas import Canvas
from render.proof.palette import INK, MUTED, RULE
from render.proof.pieces import Letter
from render.proof.shown import Shown, ShownPiece
from render.proof.things import Look, Thing
from render.proof.watermark import draw_watermark
from render.proof.words import Type, lines_of, shortened
from render.units import format_mm

A4: Final = (210.0, 297.0)
"""ISO 216, mm."""
MARGIN: Final = 11.0
GAP: Final = 6.0
RULER: Final = 50.0
"""Length of the check ruler, mm."""

_HEAD, _FOOT, _CAPTION = 16.0, 14.0, 13.0
_WHITE: Final = "#FFFFFF"


@dataclass(frozen=True, slots=True)
class _Paper:
    """How pieces stand on a page of paper, mm."""

    size: tuple[float, float]
    columns: int
    rows: int
    step: tuple[float, float]

    @classmethod
    def to(cls, width: float, height: float) -> _Paper:
        """A4 upright if the piece fits, else on its side, else paper as large as it takes."""
        for size in (A4, A4[::-1]):
            across = int((size[0] - 2 * MARGIN + GAP) / (width + GAP))
            down = int((size[1] - 2 * MARGIN - _HEAD - _FOOT + GAP) / (height + _CAPTION + GAP))
            if across and down:
                return cls(size, across, down, (width + GAP, height + _CAPTION + GAP))
        size = (width + 2 * MARGIN, height + 2 * MARGIN + _HEAD + _FOOT + _CAPTION)
        return cls((max(size[0], A4[0]), size[1]), 1, 1, (width + GAP, height + _CAPTION + GAP))


def true_size_pages(shown: Shown, letter: Letter) -> tuple[bytes, ...]:
    """The pieces that can be shown, at true size, as one SVG a page; each page has a ruler to check it by.

    Round things are drawn unrolled, as they are burned.

    Raises:
        ValueError: no piece can be shown.
    """
    if not shown.drawn:
        raise ValueError("pages of no pieces")
    box = shown.blank.outline.bounds()
    paper = _Paper.to(box.width, box.height)
    share = paper.columns * paper.rows
    groups = [shown.drawn[i : i + share] for i in range(0, len(shown.drawn), share)]
    thing = Thing.of(shown.blank, shown.material, 1.0)
    return tuple(
        _page(shown, group, thing, paper, letter, f"{number} of {len(groups)}")
        for number, group in enumerate(groups, 1)
    )


def _page(
    shown: Shown, pieces: Sequence[ShownPiece], thing: Thing, paper: _Paper, letter: Letter, number: str
) -> bytes:
    canvas = Canvas()
    width, height = paper.size
    _draw_head(canvas, shown, paper, letter, number)
    box = shown.blank.outline.bounds()
    for piece, (x, y) in zip(pieces, _places(paper), strict=False):
        thing.draw(canvas, Affine.translation(x - box.x0, y - box.y0), piece.artwork)
        if shown.shop.watermark:
            draw_watermark(canvas, letter, shown.shop.watermark, (box.width, box.height), (x, y))
        _draw_caption(canvas, piece, letter, x, y + box.height, max(box.width, 24.0))
    _draw_ruler(canvas, letter, height - MARGIN - 4)
    return canvas.svg(width, height, _WHITE)


def _places(paper: _Paper) -> Iterator[tuple[float, float]]:
    for row in range(paper.rows):
        for column in range(paper.columns):
            yield MARGIN + column * paper.step[0], MARGIN + _HEAD + row * paper.step[1]


def _draw_head(canvas: Canvas, shown: Shown, paper: _Paper, letter: Letter, number: str) -> None:
    strong, plain = Type(letter, 4.6, strong=True), Type(letter, 2.8)
    room = paper.size[0] - 2 * MARGIN
    told = "  ·  ".join(filter(None, (shown.shop.name, shown.blank.title, shown.material.title)))
    until = f"  ·  please answer by {shown.shop.until}" if shown.shop.until else ""
    page = f"page {number}"
    canvas.draw(strong.placed(shortened(shown.title, strong, room - 30), MARGIN, MARGIN + 3.5), {"fill": INK})
    canvas.draw(plain.placed(page, paper.size[0] - MARGIN - plain.width(page), MARGIN + 3.5), {"fill": MUTED})
    canvas.draw(plain.placed(shortened(told + until, plain, room), MARGIN, MARGIN + 8.5), {"fill": MUTED})
    canvas.draw(line(complex(MARGIN, MARGIN + 11), complex(paper.size[0] - MARGIN, MARGIN + 11)),
                {"fill": "none", "stroke": RULE, "stroke_width": 0.2})  # fmt: skip


def _draw_caption(
    canvas: Canvas, piece: ShownPiece, letter: Letter, x: float, below: float, room: float
) -> None:
    strong, plain = Type(letter, 3.0, strong=True), Type(letter, 2.5)
    canvas.draw(strong.placed(shortened(piece.title, strong, room), x, below + 4.8), {"fill": INK})
    words = f"{piece.id}  ·  {piece.digest[:8]}"
    if piece.texts:
        words += f"  ·  {piece.texts[0].font}, {format_mm(piece.texts[0].size, 1)} mm"
    for number, text in enumerate(lines_of(words, plain, room, 2)):
        canvas.draw(plain.placed(text, x, below + 8.4 + number * 3.2), {"fill": MUTED})


def _draw_ruler(canvas: Canvas, letter: Letter, y: float) -> None:
    """A line of 50 mm with a stroke every 10 mm, and what to do with it."""
    look: Look = {"fill": "none", "stroke": INK, "stroke_width": 0.2}
    canvas.draw(line(complex(MARGIN, y), complex(MARGIN + RULER, y)), look)
    for at in range(0, int(RULER) + 1, 10):
        end = 2.4 if at % int(RULER) == 0 else 1.4
        canvas.draw(line(complex(MARGIN + at, y), complex(MARGIN + at, y - end)), look)
    words = "This line is 50 mm long. If it is not on your paper, print at 100 % (actual size)."
    canvas.draw(Type(letter, 2.6).placed(words, MARGIN + RULER + 4, y), {"fill": MUTED})
