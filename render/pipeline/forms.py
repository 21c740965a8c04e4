"""Forms of letters: what was asked for and a font lacks; and the optical size, which follows the fit."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from statistics import median
from typing import TYPE_CHECKING, Final

from render.model import FitRule, Fitted, LetterRequest, Problem, Setting
from render.units import MM_PER_INCH

if TYPE_CHECKING:
    from render.lettering import Letterer

OPTICAL_PT: Final = (
    *(5, 6, 7, 8, 9, 10, 11, 12, 14, 16, 18, 20, 22, 24, 28, 32, 36, 42, 48, 54, 60, 72, 84, 96, 120, 144),
)
"""The sizes of type by custom, in points: an optical size is one of them, so that few instances are made."""

MOST_FITS: Final = 3
"""So often a set is fitted anew in letters drawn for the size it came out at."""


def form_problems(requests: Sequence[LetterRequest], letterer: Letterer) -> Iterator[Problem]:
    """What is asked of the fonts that they do not have.

    One problem for each slot, font and feature where every piece asks for it, else one for each piece.
    """
    from render.lettering.features import incomplete, unfulfilled

    asked: dict[tuple[str, Setting], list[LetterRequest]] = {}
    for request in requests:
        if request.setting.features:
            asked.setdefault((request.slot, request.setting), []).append(request)
    if not asked:
        return
    slots = Counter(request.slot for request in requests)
    for (slot, setting), some in asked.items():
        for problem in unfulfilled(letterer.shelf, setting):
            if len(some) == slots[slot]:
                yield problem
            else:
                yield from (replace(problem, value=one.text, piece=one.piece) for one in some)
        for request in some:
            partly = incomplete(letterer.shelf, request.text, setting)
            if partly:
                yield replace(partly, piece=request.piece)


Fit = Callable[[Sequence[LetterRequest]], tuple[Fitted, ...]]


def fit_for_size(requests: Sequence[LetterRequest], letterer: Letterer, fit: Fit) -> tuple[Fitted, ...]:
    """The requests, fitted; in a variable font with an optical size, drawn for the size they come out at.

    The optical size of a set is one of OPTICAL_PT, the nearest to the middle of its sizes: a set looks like
    one hand's work though some of its texts are smaller. If sizes go to and fro, the last one stands.
    """
    from render.lettering.axes import follows_size

    fonts = {request.setting.font for request in requests if not letterer.single_stroke(request.setting.font)}
    if not any(follows_size(letterer.shelf, font) for font in fonts):
        return fit(requests)
    sizes = {_set_of(request): request.rule.largest for request in requests}
    drawn = [_drawn_for(request, sizes, letterer) for request in requests]
    for left in range(MOST_FITS, 0, -1):
        fitted = fit(drawn)
        found: dict[_Set, list[float]] = {}
        for request, each in zip(requests, fitted, strict=True):
            found.setdefault(_set_of(request), []).extend(line.size for line in each.lines)
        sizes |= {key: median(some) for key, some in found.items() if some}
        again = [_drawn_for(request, sizes, letterer) for request in requests]
        if again == drawn or left == 1:
            break
        drawn = again
    return fitted


_Set = tuple[str, FitRule, str]


def _set_of(request: LetterRequest) -> _Set:
    """What makes requests one set."""
    return request.slot, request.rule, request.setting.font


def _drawn_for(request: LetterRequest, sizes: Mapping[_Set, float], letterer: Letterer) -> LetterRequest:
    """The request in letters drawn for the size of its set."""
    from render.lettering.axes import drawn_for

    if letterer.single_stroke(request.setting.font):
        return request
    points = sizes[_set_of(request)] * 72 / MM_PER_INCH
    size = min(OPTICAL_PT, key=lambda one: (abs(one / points - 1), one))
    font = drawn_for(letterer.shelf, request.setting.font, size)
    if font == request.setting.font:
        return request
    return replace(request, setting=replace(request.setting, font=font))
