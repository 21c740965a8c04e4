"""Quote and price list as self-contained HTML: real words and tables, pictures inside them, no script."""

from __future__ import annotations

import re
from importlib.resources import files
from typing import Any

from render.geometry import Affine
from render.proof.canvas import Canvas
from render.proof.palette import INK, MUTED, PAPER, RULE
from render.proof.papers import Picture, PriceListPaper, QuotePaper
from render.proof.things import Thing

_HEIGHT, _GAP = 40.0, 8.0


def quote_html(paper: QuotePaper) -> bytes:
    """The quote as HTML; every word is escaped by the template engine."""
    shown = ", ".join(picture.artwork.title for picture in paper.pictures[:3])
    return _page(
        head=paper.head, rows=paper.rows, grid=paper.grid, notes=paper.notes, foot=paper.foot, shown=shown,
        picture=_strip(paper.pictures[:3]) if paper.pictures else "", offers=(), quantities=(),
    )  # fmt: skip


def price_list_html(paper: PriceListPaper) -> bytes:
    """The price list as HTML; every word is escaped by the template engine."""
    offers = [
        {"name": o.name, "note": o.note, "prices": o.prices, "shown": _strip((o.picture,))}
        for o in paper.offers
    ]
    return _page(
        head=paper.head, rows=(), grid=None, notes=paper.notes, foot=paper.foot, shown="", picture="",
        offers=offers, quantities=paper.quantities,
    )  # fmt: skip


def _page(**words: Any) -> bytes:
    from jinja2 import Environment, StrictUndefined

    source = files("render.proof").joinpath("paper.html.j2").read_text(encoding="utf-8")
    template = Environment(autoescape=True, undefined=StrictUndefined).from_string(source)
    tones = {"ink": INK, "muted": MUTED, "rule": RULE, "paper_tone": PAPER}
    return template.render(**words, **tones).encode()


def _strip(pictures: tuple[Picture, ...]) -> str:
    """The pieces side by side, as an SVG element that grows with the page."""
    canvas, x = Canvas(), _GAP / 2
    for picture in pictures:
        box = picture.blank.outline.bounds()
        scale = min(_HEIGHT / box.height, 70 / box.width)
        top = (_HEIGHT - box.height * scale) / 2 + _GAP / 2
        to_page = Affine(scale, 0, 0, scale, x - box.x0 * scale, top - box.y0 * scale)
        Thing.of(picture.blank, picture.material, scale).draw(canvas, to_page, picture.artwork)
        x += box.width * scale + _GAP
    svg = canvas.svg(x - _GAP / 2, _HEIGHT + _GAP, PAPER).decode()
    return re.sub(r' width="[\d.]+mm" height="[\d.]+mm"', "", svg, count=1)
