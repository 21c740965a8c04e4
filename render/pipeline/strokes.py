"""What single-stroke lettering may be used for."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from render.model import LetterRequest, Operation, Problem, Severity

if TYPE_CHECKING:
    from render.lettering import Letterer


def stroke_problems(requests: Iterable[LetterRequest], letterer: Letterer) -> Iterator[Problem]:
    """One problem for each text in a single-stroke hand that is not to be scored: never cut, never filled.

    An open line that is cut leaves a slit, and one that is to be filled has no inside. Nor do these hands run
    down a column.
    """
    for request in requests:
        if not letterer.single_stroke(request.setting.font):
            continue
        if request.setting.vertical:
            yield Problem(
                Severity.STOP,
                "single-stroke-column",
                f"The hand {request.setting.font} is written in lines, and this text runs downwards.",
                "Leave out writing-mode in the template, or take a font with outlines.",
                value=request.text,
                piece=request.piece,
            )
        if request.operation is Operation.SCORE:
            continue
        what = "cut" if request.operation is Operation.CUT else "filled"
        yield Problem(
            Severity.STOP,
            "single-stroke",
            f"The hand {request.setting.font} draws each letter with single lines, which cannot be {what}.",
            'Score it (mk:operation="score" on the text), or take a font with outlines.',
            value=request.text,
            piece=request.piece,
        )
