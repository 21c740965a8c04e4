"""Pictures of what there is to choose from: things and designs as tiles, fonts as a specimen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from render.geometry import Affine, Path
from render.model import Artwork, Blank, Material
from render.proof.canvas import Canvas
from render.proof.contact import draw_head
from render.proof.grid import GUTTER, MARGIN, PAGE_WIDTH
from render.proof.palette import INK, MUTED, PAPER, RULE
from render.proof.pieces import Letter
from render.proof.things import Thing
from render.proof.words import Type, lines_of, shortened

COLUMNS: Final = 3
TILE_HEIGHT: Final = 46.0
"""A thing is shown as large as the column and this height allow, mm on the page."""

_ROW: Final = 15.0
_SAMPLE_CAP: Final = 4.6
_NAME_SIZE, _NOTE_SIZE = 3.0, 2.5


@dataclass(frozen=True, slots=True)
class Tile:
    """One thing to choose: drawn, with its name and a few words; an empty artwork shows it unmarked."""

    name: str
    note: str
    blank: Blank
    material: Material
    artwork: Artwork


@dataclass(frozen=True, slots=True)
class Specimen:
    """One font: a sample in em (y down, baseline at 0), and the height of its capitals in em.

    `line` tells that the sample is a line to follow rather than an area.
    """

    name: str
    note: str
    sample: Path
    cap_height: float
    line: bool = False


def gallery(tiles: Sequence[Tile], letter: Letter, *, title: str, below: str = "") -> bytes:
    """A page of things, three to a row, each as large as its place allows, as SVG with outlines only."""
    canvas = Canvas()
    said = below or f"{len(tiles)} to choose from; not to one scale"
    y = draw_head(canvas, letter, title, [said], "")
    column = (PAGE_WIDTH - 2 * MARGIN - GUTTER * (COLUMNS - 1)) / COLUMNS
    name, note = Type(letter, _NAME_SIZE, strong=True), Type(letter, _NOTE_SIZE)
    for begin in range(0, len(tiles), COLUMNS):
        row = tiles[begin : begin + COLUMNS]
        notes = [lines_of(tile.note, note, column, 3) for tile in row]
        for index, (tile, words) in enumerate(zip(row, notes, strict=True)):
            x = MARGIN + index * (column + GUTTER)
            _draw_thing(canvas, tile, x, y, column)
            line = y + TILE_HEIGHT + 5.5
            canvas.draw(name.placed(shortened(tile.name, name, column), x, line), {"fill": INK})
            for number, text in enumerate(words, 1):
                canvas.draw(note.placed(text, x, line + number * 3.5), {"fill": MUTED})
        y += TILE_HEIGHT + 9.5 + 3.5 * max(len(words) for words in notes)
    return canvas.svg(PAGE_WIDTH, y + MARGIN / 2, PAPER)


def _draw_thing(canvas: Canvas, tile: Tile, x: float, y: float, column: float) -> None:
    """The thing in its place, at the foot of the row."""
    box = tile.blank.outline.bounds()
    scale = min(column / box.width, TILE_HEIGHT / box.height)
    left, top = x - box.x0 * scale, y + TILE_HEIGHT - box.height * scale - box.y0 * scale
    Thing.of(tile.blank, tile.material, scale).draw(
        canvas, Affine(scale, 0, 0, scale, left, top), tile.artwork
    )


def specimen(rows: Sequence[Specimen], letter: Letter, *, title: str) -> bytes:
    """A page of fonts, one to a row, capitals of equal height, as SVG with outlines only."""
    canvas = Canvas()
    y = draw_head(canvas, letter, title, [f"{len(rows)} fonts; capitals shown at one height"], "")
    name, note = Type(letter, _NAME_SIZE, strong=True), Type(letter, _NOTE_SIZE)
    left = MARGIN + 52
    room = PAGE_WIDTH - MARGIN - left
    for row in rows:
        canvas.draw(name.placed(row.name, MARGIN, y + 5), {"fill": INK})
        for number, text in enumerate(lines_of(row.note, note, 48, 2)):
            canvas.draw(note.placed(text, MARGIN, y + 9 + number * 3.3), {"fill": MUTED})
        if row.sample:
            box = row.sample.bounds()
            size = min(_SAMPLE_CAP / row.cap_height, room / box.width)
            place = Affine(size, 0, 0, size, left - box.x0 * size, y + 8)
            look: dict[str, str | float] = {"fill": INK}
            if row.line:
                look = {"fill": "none", "stroke": INK, "stroke_width": 0.25, "stroke_linecap": "round"}
            canvas.draw(row.sample.transformed(place), look)
        y += _ROW
        canvas.draw(Path.polyline((complex(MARGIN, y - 0.5), complex(PAGE_WIDTH - MARGIN, y - 0.5))),
                    {"fill": "none", "stroke": RULE, "stroke_width": 0.15})  # fmt: skip
    return canvas.svg(PAGE_WIDTH, y + MARGIN / 2, PAPER)
