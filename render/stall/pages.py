"""The pages, filled in: every word is escaped; pictures are outlines drawn by the pipeline."""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from typing import Any

from jinja2 import DictLoader, Environment, StrictUndefined
from markupsafe import Markup
from starlette.responses import HTMLResponse

from render.proof.spelling import direction, signs
from render.shop.prices.money import currency

PAGES = (
    "base", "wish", "things", "name", "check", "done", "gone", "door", "board", "maker", "desk", "code",
)  # fmt: skip


@cache
def _environment() -> Environment:
    folder = files("render.stall")
    sources = {f"{n}.html.j2": folder.joinpath(f"{n}.html.j2").read_text(encoding="utf-8") for n in PAGES}
    environment = Environment(
        loader=DictLoader(sources), autoescape=True, undefined=StrictUndefined, trim_blocks=True,
        lstrip_blocks=True,
    )  # fmt: skip
    environment.globals.update(direction=direction, signs=signs, joined=_joined)
    environment.filters["svg"] = Markup  # only ever used on drawings, which hold numbers
    environment.filters["money"] = lambda minor, code: currency(code).text(minor)
    return environment


def _joined(text: str) -> bool:
    """Whether letters may look different alone than in a word: beyond Latin, Greek and Cyrillic."""
    return max(text, default="") >= "\N{ARMENIAN CAPITAL LETTER AYB}"


def filled(name: str, **values: Any) -> str:
    """A page or a part of one as HTML."""
    return _environment().get_template(f"{name}.html.j2").render(**values)


def page(name: str, status: int = 200, **values: Any) -> HTMLResponse:
    """A page as an answer."""
    return HTMLResponse(filled(name, **values), status)


@cache
def asset(name: str) -> bytes:
    """One of the stall's own files: a script or a style sheet."""
    return files("render.stall").joinpath(name).read_bytes()
