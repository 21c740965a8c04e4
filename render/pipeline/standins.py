"""Texts that their own font cannot draw, set in such as can, script by script; each is told."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from render.model import LetterRequest, Line, Problem, Setting, Severity

if TYPE_CHECKING:
    from render.lettering import Letterer


def with_stand_ins(
    requests: Sequence[LetterRequest], letterer: Letterer
) -> tuple[list[LetterRequest], list[Problem]]:
    """The requests, each in fonts that together have all its letters, as far as there are such.

    Space between letters is dropped from texts of scripts whose letters join.

    Returns:
        The requests in the same order, and one problem for each text of which some is in another font (LOOK)
        or that no fonts at hand can draw (STOP).
    """
    from render.lettering.scripts import has_joined

    settled: list[LetterRequest] = []
    problems: list[Problem] = []
    known: dict[tuple[str, Setting], Setting | None] = {}
    for request in requests:
        if request.setting.tracking and has_joined(request.text):
            request = replace(request, setting=replace(request.setting, tracking=0.0))
        line = letterer.line(request.text, request.setting)
        if not line.missing:
            settled.append(request)
            continue
        key = (request.text, request.setting)
        if key not in known:
            known[key] = _stand_in(letterer, line)
        other = known[key]
        if other is None:
            settled.append(request)
            problems.append(letterer.describe_missing(line, piece=request.piece))
            continue
        settled.append(_set_in(request, other, letterer))
        problems.append(_told(request, line, letterer.line(request.text, other), letterer))
    return settled, problems


def _stand_in(letterer: Letterer, line: Line) -> Setting | None:
    """How else the text is set; single-stroke hands have no stand-in."""
    if letterer.single_stroke(line.setting.font):
        return None
    from render.lettering.standins import stand_in

    return stand_in(letterer, line)


def _set_in(request: LetterRequest, setting: Setting, letterer: Letterer) -> LetterRequest:
    """The request in other fonts, in the same set as before; along a path letters that join stay joined."""
    from render.lettering.standins import joins

    rule = request.rule
    if request.along is not None and any(joins(letterer, font, script) for script, font in setting.stand_ins):
        rule = replace(rule, joined=True)
    return replace(request, setting=setting, rule=rule)


def _told(request: LetterRequest, lacking: Line, line: Line, letterer: Letterer) -> Problem:
    """What is said of a text that is not all in its own font: the font of each part."""
    parts = letterer.fonts_of(line)
    letters = [c for c in lacking.missing if not unicodedata.category(c).startswith("M")] or lacking.missing
    lacks = f"The font {request.setting.font} has no {', '.join(letters)}"
    if len(parts) == 1:
        message = f"{lacks}, so the text is set in {parts[0][0]}."
    else:
        told = ", ".join(f"“{words}” in {font}" for font, words in parts)
        message = f"{lacks}, so the text is set in {len(parts)} fonts: {told}."
    return Problem(
        Severity.LOOK,
        "font-stands-in",
        message,
        "Look whether it sits well beside the others, or choose one font that has every name.",
        value=request.text,
        piece=request.piece,
    )
