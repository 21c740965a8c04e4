"""The proof page: one HTML file with everything in it, for a customer to look at and to answer with.

It needs no network and no server, and can be read and ticked on paper without JavaScript. What it sends back
is the text of :mod:`render.proof.answers`.
"""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Sequence
from dataclasses import dataclass
from importlib.resources import files
from typing import Final

from render.proof.pieces import Letter
from render.proof.shown import Shown, ShownPiece, ShownText
from render.proof.sketch import PER_MM, Shared, Sketch
from render.proof.spelling import Sign, direction, language, signs
from render.proof.views import LONG, Seen, views_of
from render.proof.watermark import draw_watermark
from render.units import format_mm

ROOM: Final = (100.0, 66.0)
"""How large the drawings of a piece are together, mm: it sets how fine their lines are."""

SPELLED_FROM: Final = 3
"""Texts of so many characters and more are spelled letter by letter: not table numbers."""

_MAIL: Final = re.compile(r"[^@\s<>\"]+@[^@\s<>\"]+\.[^@\s<>\"]+")


@dataclass(frozen=True, slots=True)
class _Side:
    """One picture: its size in units of the drawing, its shapes, its words."""

    name: str
    width: int
    height: int
    shapes: str
    says: str


@dataclass(frozen=True, slots=True)
class _Text:
    """One text on a card."""

    field: str
    label: str
    text: str
    typed: str
    language: str
    direction: str
    signs: tuple[Sign, ...]
    facts: str


@dataclass(frozen=True, slots=True)
class _Card:
    """One piece on the page."""

    id: str
    title: str
    digest: str
    language: str
    direction: str
    sides: tuple[_Side, ...]
    stacked: bool
    texts: tuple[_Text, ...]
    notes: tuple[str, ...]


def proof_page(shown: Shown, letter: Letter) -> bytes:
    """The page as UTF-8; the same proof gives the same bytes.

    Args:
        shown: what to show; at least one piece that can be shown.
        letter: sets the watermark.

    Raises:
        ValueError: no piece can be shown.
    """
    from jinja2 import Environment, StrictUndefined

    if not shown.drawn:
        raise ValueError("a proof page of no pieces")
    cards, definitions = _cards(shown, letter)
    style, script = _read("proofpage.css"), _read("answers.js") + _read("proofpage.js")
    environment = Environment(
        autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    mail = _MAIL.search(shown.shop.contact)
    page = environment.from_string(_read("proofpage.html.j2")).render(
        order=shown.order,
        title=shown.title,
        about=_about(shown),
        shop=shown.shop,
        mail=mail[0] if mail else "",
        cards=cards,
        missing=[_missing(piece) for piece in shown.missing],
        definitions=definitions,
        style=style,
        style_hash=_source(style),
        script=script,
        script_hash=_source(script),
    )
    return page.encode()


def _read(name: str) -> str:
    return files("render.proof").joinpath(name).read_text(encoding="utf-8")


def _source(text: str) -> str:
    """How a Content-Security-Policy names an inline text: CSP Level 3, hash-source."""
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"


def _about(shown: Shown) -> str:
    box = shown.blank.outline.bounds()
    if shown.blank.body is not None and shown.profile is not None:
        turn, height = shown.blank.body.circumference, shown.blank.body.height
        size = f"{format_mm(turn, 1)} mm round, {format_mm(height, 1)} mm high"
    else:
        size = f"{format_mm(box.width, 1)} × {format_mm(box.height, 1)} mm"
    thing = shown.blank.title if shown.profile is None else shown.blank.title.removesuffix(", unrolled")
    return f"{thing} · {shown.material.title} · {size}"


def _missing(piece: ShownPiece) -> dict[str, str]:
    return {"title": piece.title, "language": language(piece.title), "direction": direction(piece.title)}


def _cards(shown: Shown, letter: Letter) -> tuple[list[_Card], str]:
    """The cards, and what their drawings share."""
    views = views_of(shown, ROOM)
    marks = [_watermark(view, letter, shown.shop.watermark) for view in views]
    drawn = [
        [[*_sketches(view, piece), mark] for view, mark in zip(views, marks, strict=True)]
        for piece in shown.drawn
    ]
    shared = Shared(sketch for sides in drawn for side in sides for sketch in side)
    cards = []
    for piece, sides in zip(shown.drawn, drawn, strict=True):
        pictures = tuple(
            _side(view, sketches, shared, piece) for view, sketches in zip(views, sides, strict=True)
        )
        cards.append(_card(piece, pictures))
    return cards, shared.definitions()


def _watermark(view: Seen, letter: Letter, words: str) -> Sketch:
    sketch = Sketch()
    if words:
        draw_watermark(sketch, letter, words, view.size)
    return sketch


def _sketches(view: Seen, piece: ShownPiece) -> list[Sketch]:
    sketches = []
    for layer in view.layers:
        sketch = Sketch()
        layer(sketch, piece)
        sketches.append(sketch)
    return sketches


def _side(view: Seen, sketches: Sequence[Sketch], shared: Shared, piece: ShownPiece) -> _Side:
    shapes = "".join(shared.svg(sketch) for sketch in sketches)
    width, height = (round(side * PER_MM) for side in view.size)
    says = f"{piece.title}: {view.name or 'as it will look'}"
    return _Side(view.name, width, height, shapes, says)


def _card(piece: ShownPiece, sides: tuple[_Side, ...]) -> _Card:
    known = next((t.language for t in piece.texts if t.text == piece.title), "")
    return _Card(
        piece.id,
        piece.title,
        piece.digest,
        language(piece.title, known),
        direction(piece.title),
        sides,
        len(sides) > 1 and sides[0].width > LONG * sides[0].height,
        tuple(_text(text) for text in piece.texts),
        piece.notes,
    )


def _text(text: ShownText) -> _Text:
    facts = f"{text.font}, size {format_mm(text.size, 1)} mm"
    if text.capitals > 0 and text.text.upper() != text.text.lower():
        facts += f", capitals {format_mm(text.capitals, 1)} mm high"
    spoken = language(text.text, text.language)
    return _Text(
        text.field, text.label, text.text, text.typed, spoken, direction(text.text),
        tuple(signs(text.text)) if len(text.text) >= SPELLED_FROM else (), facts,
    )  # fmt: skip
