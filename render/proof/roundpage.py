"""A page with a round thing: from its sides or looked into, and its surface unrolled."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from render.geometry import Affine
from render.geometry.solids import Profile, View
from render.model import Artwork, Blank, Material, RoundBody
from render.proof.canvas import Canvas
from render.proof.inside import Inner
from render.proof.palette import INK, MUTED, PAPER
from render.proof.pieces import Letter
from render.proof.round import (
    Solid,
    draw_before,
    draw_behind,
    draw_marks,
    placed_at,
    sides_of,
    silhouette,
    view_of,
)
from render.proof.things import Sink, Thing
from render.proof.words import Type

WIDTH: Final = 210.0
_MARGIN: Final = 14.0
_GUTTER: Final = 12.0
_TALLEST: Final = 112.0
_LARGEST: Final = 5.0
"""A ring is shown at most so many times as large as it is."""


@dataclass(frozen=True, slots=True)
class Round:
    """What is shown.

    Attributes:
        drawn: the artwork in the drawing of the blank.
        on_surface: the same on the body: radians + i mm.
        profile: of the body, from the top of the drawing down.
    """

    blank: Blank
    body: RoundBody
    material: Material
    drawn: Artwork
    on_surface: Artwork
    profile: Profile


def round_proof(shown: Round, letter: Letter, *, title: str) -> bytes:
    """A page with the thing from its sides, or looked into, and its surface unrolled, as SVG, 210 mm wide."""
    canvas = Canvas()
    y = _MARGIN + 5
    canvas.draw(Type(letter, 6.2, strong=True).placed(title, _MARGIN, y), {"fill": INK})
    y += 9
    y = (_draw_inside if shown.body.inside else _draw_sides)(canvas, shown, letter, y)
    y = _draw_unrolled(canvas, shown, letter, y)
    return canvas.svg(WIDTH, y + _MARGIN, PAPER)


def _draw_sides(canvas: Canvas, shown: Round, letter: Letter, y: float) -> float:
    sides = sides_of(shown.body)
    solid = Solid.of(shown.body, shown.profile)
    views = [view_of(solid, at) for _, at in sides]
    boxes = [silhouette(solid.profile, view).bounds() for view in views]
    turned = shown.body.lying
    columns = 1 if turned else len(sides)
    across = (WIDTH - 2 * _MARGIN - _GUTTER * (columns - 1)) / columns
    size = [(b.height, b.width) if turned else (b.width, b.height) for b in boxes]
    ears = any(keep.what == "handle" for keep in shown.body.keep_outs)
    scale = min(
        across / (size[0][0] * (1.9 if ears else 1.0)), _TALLEST / size[0][1] / (2 if turned else 1), 3
    )
    tall = max(height for _, height in size) * scale
    for index, ((name, _), view, box) in enumerate(zip(sides, views, boxes, strict=True)):
        column, row = index % columns, index // columns
        top = y + row * (tall + 14)
        middle = complex(_MARGIN + across / 2 + column * (across + _GUTTER), top + tall / 2)
        to_page = placed_at(box, scale, middle, turned=turned)
        _draw_side(canvas, shown, solid, view, to_page)
        words = Type(letter, 3.1)
        canvas.draw(
            words.placed(name, middle.real - words.width(name) / 2, top + tall + 6.5), {"fill": MUTED}
        )
    return y + (len(sides) // columns) * (tall + 15)


def _draw_inside(canvas: Canvas, shown: Round, letter: Letter, y: float) -> float:
    inner = Inner.of(shown.blank, shown.body, shown.profile)
    box = inner.box
    scale = min((WIDTH - 2 * _MARGIN) / 2 / box.width, _TALLEST / box.height, _LARGEST)
    to_page = Affine(
        scale, 0, 0, scale, WIDTH / 2 - box.width * scale / 2 - box.x0 * scale, y - box.y0 * scale
    )
    inner.draw_behind(canvas, shown.material, to_page)
    inner.draw_marks(canvas, shown.on_surface, shown.material, to_page)
    words, y = Type(letter, 3.1), y + box.height * scale + 6.5
    canvas.draw(words.placed("inside", WIDTH / 2 - words.width("inside") / 2, y), {"fill": MUTED})
    return y + 8.5


def _draw_side(canvas: Sink, shown: Round, solid: Solid, view: View, to_page: Affine) -> None:
    draw_behind(canvas, shown.body, shown.material, solid, view, to_page)
    draw_marks(canvas, shown.on_surface, shown.material, solid, view, to_page)
    draw_before(canvas, shown.body, shown.material, solid, view, to_page)


def _draw_unrolled(canvas: Canvas, shown: Round, letter: Letter, y: float) -> float:
    box = shown.blank.outline.bounds()
    scale = min((WIDTH - 2 * _MARGIN) / box.width, _TALLEST / box.height, 3.0)
    left = (WIDTH - box.width * scale) / 2
    thing = Thing.of(shown.blank, shown.material, scale)
    thing.draw(canvas, Affine(scale, 0, 0, scale, left - box.x0 * scale, y - box.y0 * scale), shown.drawn)
    words, y = Type(letter, 3.1), y + box.height * scale + 6.5
    text = "unrolled" if scale != 1 else "unrolled, true size"
    canvas.draw(words.placed(text, WIDTH / 2 - words.width(text) / 2, y), {"fill": MUTED})
    return y
