"""The foot of a page: what the signs mean, and a bar of known length."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

from render.geometry import Path
from render.geometry.shapes import line, rectangle
from render.model import Operation, Surface
from render.proof.canvas import Canvas
from render.proof.grid import MARGIN, PAGE_WIDTH
from render.proof.hatching import hatching
from render.proof.palette import HATCH, INK, MUTED, RULE, edge_of
from render.proof.pieces import Flag, Letter, ProofPiece
from render.proof.signs import draw_sign, stroke
from render.proof.things import Thing
from render.proof.words import Type
from render.units import format_mm

_SIZE: Final = 2.3
_SWATCH: Final = 5.0
_SPACE: Final = 6.0
_BARS: Final = (1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0)
"""Lengths a scale bar may stand for, mm."""

Sample = Callable[[Canvas, float, float], float]
"""Draws a sample at x on a baseline; returns the width it took."""


def draw_legend(
    canvas: Canvas,
    pieces: Sequence[ProofPiece],
    thing: Thing,
    letter: Letter,
    scale: float,
    y: float,
    *,
    unrolled: bool = True,
) -> float:
    """Draw the legend below `y`; return the height of the page. What is `unrolled` shows seam and front."""
    kind = Type(letter, _SIZE)
    y += 6.0
    canvas.draw(rectangle(MARGIN, y, PAGE_WIDTH - 2 * MARGIN, 0.15), {"fill": RULE})
    y += 2.4 + _SIZE
    right = _draw_bar(canvas, kind, scale, y)
    x = MARGIN
    for sample, words in _items(pieces, thing, unrolled):
        wide = _SWATCH + 1.2 + kind.width(words)
        if x > MARGIN and x + wide > right - _SPACE:
            x, y = MARGIN, y + _SIZE * 1.9
        x += sample(canvas, x, y) + 1.2
        canvas.draw(kind.placed(words, x, y), {"fill": MUTED})
        x += kind.width(words) + _SPACE
    return y + MARGIN * 0.8


def _items(pieces: Sequence[ProofPiece], thing: Thing, unrolled: bool) -> list[tuple[Sample, str]]:
    """The samples that occur on this page, each with its words."""
    tone, mark = thing.material.tone, thing.material.mark_tone
    edge = edge_of(tone)
    operations = thing.operations(piece.artwork for piece in pieces if piece.artwork is not None)
    flags = {piece.shown_flag for piece in pieces}
    items: list[tuple[bool, Sample, str]] = [
        (Operation.ENGRAVE in operations, _patch(tone, mark), thing.material.mark_word),
        (Operation.SCORE in operations, _rule(mark, ""), "scored line"),
        (Operation.CUT in operations, _rule(edge, ""), "cut"),
        (bool(thing.blank.folds), _rule(edge, "0.9 0.6"), "fold"),
        (
            unrolled
            and thing.blank.body is not None
            and thing.blank.body.surface is Surface.ROUND
            and len(thing.blank.body.places) < 2,
            _rule(edge, "0.5 0.7"),
            "between the dashed lines: seen from the front",
        ),
        (
            unrolled and thing.blank.body is not None and thing.blank.body.seam > 0,
            _hatched(edge),
            "seam, kept free",
        ),
        (Flag.LOOK in flags, _sign(Flag.LOOK), "made, but have a look"),
        (Flag.HELD in flags, _sign(Flag.HELD), "held back until it is mended"),
    ]
    return [(sample, words) for occurs, sample, words in items if occurs]


def _patch(tone: str, mark: str) -> Sample:
    """A piece of the material with a mark on it."""

    def draw(canvas: Canvas, x: float, y: float) -> float:
        canvas.draw(rectangle(x, y - 2.0, _SWATCH, 2.5, 0.4), {"fill": tone})
        canvas.draw(rectangle(x + 1.2, y - 1.25, _SWATCH - 2.4, 1.0), {"fill": mark})
        return _SWATCH

    return draw


def _rule(colour: str, dashes: str) -> Sample:
    """A line of some kind."""

    def draw(canvas: Canvas, x: float, y: float) -> float:
        look: dict[str, str | float] = {"fill": "none", "stroke": colour, "stroke_width": 0.25}
        if dashes:
            look["stroke_dasharray"] = dashes
        canvas.draw(stroke(x, y - 0.75, _SWATCH), look)
        return _SWATCH

    return draw


def _hatched(colour: str) -> Sample:
    """A hatched patch."""

    def draw(canvas: Canvas, x: float, y: float) -> float:
        patch = rectangle(x, y - 2.0, _SWATCH, 2.5)
        canvas.draw(hatching(patch, 0.65), {"fill": "none", "stroke": colour, "stroke_width": 0.12})
        canvas.draw(patch, {"fill": "none", "stroke": HATCH, "stroke_width": 0.1})
        return _SWATCH

    return draw


def _sign(flag: Flag) -> Sample:
    """The sign of a flag."""

    def draw(canvas: Canvas, x: float, y: float) -> float:
        draw_sign(canvas, flag, x, y, _SIZE)
        return _SIZE

    return draw


def _draw_bar(canvas: Canvas, kind: Type, scale: float, y: float) -> float:
    """A bar of a round length at the right; return where it begins."""
    length = max((bar for bar in _BARS if bar * scale <= 30.0), default=_BARS[0])
    words = f"{format_mm(length)} mm"
    right = PAGE_WIDTH - MARGIN
    begin = right - length * scale
    ticks = [line(complex(x, y - 1.5), complex(x, y)) for x in (begin, right)]
    bar = Path.joined((*ticks, line(complex(begin, y - 0.75), complex(right, y - 0.75))))
    canvas.draw(bar, {"fill": "none", "stroke": INK, "stroke_width": 0.18})
    at = begin - 1.5 - kind.width(words)
    canvas.draw(kind.placed(words, at, y), {"fill": MUTED})
    return at
