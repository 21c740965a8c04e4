"""Texts that their own font cannot draw, set in one that can; each is told."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from render.model import LetterRequest, Problem, Severity

if TYPE_CHECKING:
    from render.lettering import Letterer


def with_stand_ins(
    requests: Sequence[LetterRequest], letterer: Letterer
) -> tuple[list[LetterRequest], list[Problem]]:
    """The requests, each in a font that has all its letters, as far as there is one.

    Returns:
        The requests in the same order, and one problem for each text whose font was changed (LOOK) or that no
        font at hand can draw (STOP).
    """
    from render.lettering.standins import stand_in

    settled: list[LetterRequest] = []
    problems: list[Problem] = []
    for request in requests:
        line = letterer.line(request.text, request.setting)
        if not line.missing:
            settled.append(request)
            continue
        hand = letterer.single_stroke(request.setting.font)
        other = None if hand else stand_in(letterer, line)
        if other is None:
            settled.append(request)
            problems.append(letterer.describe_missing(line, piece=request.piece))
            continue
        rule = replace(request.rule, joined=letterer.joined(other.font), narrower=())
        settled.append(replace(request, setting=other, rule=rule))
        lacking = ", ".join(line.missing)
        problems.append(
            Problem(
                Severity.LOOK,
                "font-stands-in",
                f"The font {request.setting.font} has no {lacking}, so the text is set in {other.font}.",
                "Look whether it sits well beside the others, or choose one font that has every name.",
                value=request.text,
                piece=request.piece,
            )
        )
    return settled, problems
