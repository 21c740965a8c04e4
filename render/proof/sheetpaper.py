"""Where words stand on a page of paper: head, foot, columns; pages follow each other as they fill."""

from __future__ import annotations

from typing import Final

from render.geometry import Affine, Path
from render.geometry.shapes import rectangle
from render.proof.canvas import Canvas
from render.proof.palette import INK, MUTED, PAPER, RULE
from render.proof.papers import Head, Picture
from render.proof.pieces import Letter
from render.proof.things import Thing
from render.proof.words import Type, lines_of, shortened

WIDTH, HEIGHT = 210.0, 297.0
"""A4 (ISO 216), mm."""
MARGIN: Final = 20.0
RIGHT: Final = WIDTH - MARGIN
INNER: Final = WIDTH - 2 * MARGIN
BOTTOM: Final = HEIGHT - 26.0
"""Where a page's content ends; below stands its foot."""

WHITE: Final = "#FFFFFF"
TITLE, BIG, NORMAL, SMALL = 8.0, 4.4, 3.3, 2.7
"""Sizes of type, mm to the em."""
LEADING: Final = 1.42


class Page:
    """One page in the making; `y` is where the next thing may begin, mm from the top."""

    def __init__(self, letter: Letter) -> None:
        """Words are set by `letter`."""
        self.canvas = Canvas()
        self.letter = letter
        self.y = MARGIN

    def type(self, size: float, strong: bool = False) -> Type:
        """Type of a size in mm to the em."""
        return Type(self.letter, size, strong)

    def put(
        self,
        text: str,
        x: float,
        y: float,
        size: float = NORMAL,
        *,
        strong: bool = False,
        colour: str = INK,
        right: bool = False,
        room: float = INNER,
    ) -> float:
        """Put one line on the page, its baseline at `y`; from `x`, or up to it. Return its width."""
        kind = self.type(size, strong)
        text = shortened(text, kind, room)
        width = kind.width(text)
        self.canvas.draw(kind.placed(text, x - width if right else x, y), {"fill": colour})
        return width

    def block(
        self,
        text: str,
        x: float,
        y: float,
        room: float,
        size: float = NORMAL,
        *,
        colour: str = INK,
        most: int = 6,
    ) -> float:
        """Put words over several lines, the first baseline at `y`; return the baseline after the last."""
        for line in lines_of(text, self.type(size), room, most):
            self.put(line, x, y, size, colour=colour, room=room)
            y += size * LEADING
        return y

    def rule(
        self, y: float, x: float = MARGIN, width: float = INNER, colour: str = RULE, thick: float = 0.2
    ) -> None:
        """A line across."""
        self.canvas.draw(rectangle(x, y, width, thick), {"fill": colour})

    def band(self, y: float, height: float, x: float = 0.0, width: float = WIDTH) -> None:
        """A ground of the proof's paper colour."""
        self.canvas.draw(rectangle(x, y, width, height), {"fill": PAPER})

    def thing(self, picture: Picture, x: float, y: float, room: tuple[float, float]) -> None:
        """A piece on its blank, as large as the room allows (never larger than 1.5 times itself), centred."""
        box = picture.blank.outline.bounds()
        scale = min(room[0] / box.width, room[1] / box.height, 1.5)
        left = x + (room[0] - box.width * scale) / 2 - box.x0 * scale
        top = y + (room[1] - box.height * scale) / 2 - box.y0 * scale
        thing = Thing.of(picture.blank, picture.material, scale)
        thing.draw(self.canvas, Affine(scale, 0, 0, scale, left, top), picture.artwork)

    def svg(self) -> bytes:
        """The page as a drawing."""
        return self.canvas.svg(WIDTH, HEIGHT, WHITE)


def draw_head(page: Page, head: Head) -> None:
    """The shop at the left, the kind of paper and its facts at the right, the title below."""
    y = MARGIN + BIG * 0.75
    page.put(head.shop, MARGIN, y, BIG, strong=True, room=INNER * 0.58)
    below = y + 1.2
    for line in head.lines:
        below += SMALL * LEADING
        page.put(line, MARGIN, below, SMALL, colour=MUTED, room=INNER * 0.58)
    page.put(head.kind, RIGHT, y, BIG, colour=MUTED, right=True, room=INNER * 0.4)
    side = y + 1.2
    widest = max((page.type(SMALL).width(text) for _, text in head.facts), default=0.0)
    for label, text in head.facts:
        side += SMALL * LEADING
        page.put(text, RIGHT, side, SMALL, right=True)
        page.put(label, RIGHT - widest - 3, side, SMALL, colour=MUTED, right=True)
    page.y = max(below, side) + 9
    page.rule(page.y - 4.5)
    page.y += TITLE * 0.75 + 2
    for line in lines_of(head.title, page.type(TITLE, strong=True), INNER, 2):
        page.put(line, MARGIN, page.y, TITLE, strong=True)
        page.y += TITLE * 1.2
    page.y -= TITLE * 1.2
    if head.subtitle:
        page.y += NORMAL * 1.9
        page.put(head.subtitle, MARGIN, page.y, NORMAL, colour=MUTED)
    page.y += 7


def draw_foot(page: Page, text: str, number: str = "") -> None:
    """The foot of a page."""
    page.rule(HEIGHT - 20)
    page.block(text, MARGIN, HEIGHT - 15.5, INNER - 25, SMALL, colour=MUTED, most=2)
    page.put(number, RIGHT, HEIGHT - 15.5, SMALL, colour=MUTED, right=True)


def square(x: float, baseline: float, size: float) -> Path:
    """A box to tick, standing on a baseline."""
    return rectangle(x, baseline - size * 0.86, size, size)
