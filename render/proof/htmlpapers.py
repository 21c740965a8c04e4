"""A quote as one self-contained HTML page: real words and tables, its picture inside it, no script."""

from __future__ import annotations

import re
from importlib.resources import files

from render.geometry import Affine
from render.proof.canvas import Canvas
from render.proof.palette import INK, MUTED, PAPER, RULE
from render.proof.papers import Picture, QuotePaper
from render.proof.things import Thing

_HEIGHT, _GAP = 40.0, 8.0


def quote_html(paper: QuotePaper) -> bytes:
    """The quote as HTML; every word is escaped by the template engine."""
    from jinja2 import Environment, StrictUndefined

    source = files("render.proof").joinpath("paper.html.j2").read_text(encoding="utf-8")
    template = Environment(autoescape=True, undefined=StrictUndefined).from_string(source)
    shown = ", ".join(picture.artwork.title for picture in paper.pictures[:3])
    page = template.render(
        head=paper.head, rows=paper.rows, grid=paper.grid, notes=paper.notes, foot=paper.foot, shown=shown,
        picture=_strip(paper.pictures[:3]) if paper.pictures else "",
        ink=INK, muted=MUTED, rule=RULE, paper_tone=PAPER,
    )  # fmt: skip
    return page.encode()


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
