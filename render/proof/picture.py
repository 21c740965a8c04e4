"""One piece as a picture of its own, to send by itself."""

from __future__ import annotations

from typing import Final

from render.proof.canvas import Canvas
from render.proof.palette import INK, MUTED, PAPER
from render.proof.pieces import Letter
from render.proof.shown import Shown, ShownPiece
from render.proof.views import LONG, Moved, views_of
from render.proof.watermark import draw_watermark
from render.proof.words import Type, lines_of
from render.units import format_mm

WIDTH: Final = 120.0
"""Of the picture, mm on its page."""
_ROOM: Final = (112.0, 84.0)
_MARGIN: Final = 4.0


def piece_picture(shown: Shown, piece: ShownPiece, letter: Letter) -> bytes:
    """A piece of the proof on its thing, as SVG with outlines only; a round thing from front and back.

    Raises:
        ValueError: the piece cannot be shown.
    """
    if piece.artwork is None:
        raise ValueError(f"{piece.id} cannot be shown")
    views = views_of(shown, _ROOM)
    canvas = Canvas()
    small, strong = Type(letter, 3.0), Type(letter, 5.0, strong=True)
    columns = 1 if views[0].size[0] > LONG * views[0].size[1] else len(views)
    step, tall = WIDTH / columns, views[0].size[1] + (6.0 if views[0].name else 0.0)
    for number, view in enumerate(views):
        left, top = number % columns * step, _MARGIN + number // columns * tall
        x = left + (step - view.size[0]) / 2
        for layer in view.layers:
            layer(Moved(canvas, x, top), piece)
        if view.name:
            at = left + (step - small.width(view.name)) / 2
            canvas.draw(small.placed(view.name, at, top + view.size[1] + 3), {"fill": MUTED})
        if shown.shop.watermark:
            draw_watermark(canvas, letter, shown.shop.watermark, view.size, (x, top))
    y = tall * len(views) / columns + _MARGIN + 7.5
    for text in lines_of(piece.title, strong, WIDTH - 2 * _MARGIN, 2):
        canvas.draw(strong.placed(text, _MARGIN, y), {"fill": INK})
        y += 6.4
    for words in (_facts(shown, piece), *piece.notes):
        for text in lines_of(words, small, WIDTH - 2 * _MARGIN, 2):
            canvas.draw(small.placed(text, _MARGIN, y - 0.8), {"fill": MUTED})
            y += 4.2
    return canvas.svg(WIDTH, y, PAPER)


def _facts(shown: Shown, piece: ShownPiece) -> str:
    parts = [shown.shop.name, shown.order, piece.id]
    if piece.texts:
        parts += [piece.texts[0].font, f"{format_mm(piece.texts[0].size, 1)} mm"]
    return "  ·  ".join(filter(None, parts))
