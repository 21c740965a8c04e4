"""Two artworks of one piece beside each other: as it was approved, and as it would be made now."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from render.geometry import Affine, Path
from render.model import Artwork, Blank, Material
from render.proof.canvas import Canvas
from render.proof.contact import draw_head
from render.proof.flatten import flattened
from render.proof.grid import GUTTER, MARGIN, PAGE_WIDTH
from render.proof.palette import INK, MUTED, PAPER, RULE
from render.proof.pieces import Letter
from render.proof.things import Thing
from render.proof.words import Type, shortened

_HEIGHT: Final = 62.0
_NAME, _NOTE = 3.4, 2.7
_OLD: Final[Mapping[str, str | float]] = {"fill": "none", "stroke": "#D55E00", "stroke_width": 0.3}
_NEW: Final[Mapping[str, str | float]] = {"fill": "none", "stroke": "#0072B2", "stroke_width": 0.3}


@dataclass(frozen=True, slots=True)
class Pair:
    """A piece, the thing it is made on, what was approved, and what would be made."""

    name: str
    blank: Blank
    material: Material
    before: Artwork
    after: Artwork


def side_by_side(pairs: Sequence[Pair], letter: Letter, *, title: str) -> bytes:
    """A page with three pictures a row: approved, now, and the outlines of both upon each other, as SVG."""
    canvas = Canvas()
    facts = [
        "left: as approved; middle: as it would be made now; right: both, approved in vermilion, now in blue"
    ]
    y = draw_head(canvas, letter, title, facts, "")
    column = (PAGE_WIDTH - 2 * MARGIN - GUTTER * 2) / 3
    name, note = Type(letter, _NAME, strong=True), Type(letter, _NOTE)
    for pair in pairs:
        canvas.draw(
            name.placed(shortened(pair.name, name, PAGE_WIDTH - 2 * MARGIN), MARGIN, y), {"fill": INK}
        )
        y += 3
        box = pair.blank.outline.bounds()
        scale = min(column / box.width, _HEIGHT / box.height)
        for number, words in enumerate(("approved", "now", "both")):
            x = MARGIN + number * (column + GUTTER)
            place = Affine(scale, 0, 0, scale, x - box.x0 * scale, y - box.y0 * scale)
            if words == "both":
                _draw_both(canvas, pair, place)
            else:
                artwork = pair.before if words == "approved" else pair.after
                Thing.of(pair.blank, pair.material, scale).draw(canvas, place, artwork)
            canvas.draw(note.placed(words, x, y + box.height * scale + 4), {"fill": MUTED})
        y += box.height * scale + 13
    return canvas.svg(PAGE_WIDTH, y + MARGIN / 2, PAPER)


def _draw_both(canvas: Canvas, pair: Pair, place: Affine) -> None:
    """The outlines of both, in true relation."""
    canvas.draw(pair.blank.outline.transformed(place), {"fill": "none", "stroke": RULE, "stroke_width": 0.2})
    for artwork, look in ((pair.before, _OLD), (pair.after, _NEW)):
        lines = Path.joined(mark.path for mark in artwork.marks)
        canvas.draw(flattened(lines).transformed(place), look)
