"""The finest detail of an order's lettering: thickened where a template asks, measured, held to limits."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from render.fitting import Limits, SetReport
from render.fitting.notes import fine_problems, thickened_note
from render.geometry import Path
from render.geometry.offset import offset
from render.model import Fitted, LetterRequest, Operation, Problem, Remedy, SetLine
from render.units import round_mm

if TYPE_CHECKING:
    from render.lettering import Letterer
    from render.lettering.closeness import SetFinest


@dataclass(slots=True)
class SetDetail:
    """The finest detail of one slot over an order, mm; inf where there is none to speak of.

    Attributes:
        stroke, gap: the thinnest stroke and the narrowest gap of all.
        stroke_in, gap_in: where: the letters and the text, in words.
        thickened: what thin strokes were thickened to; 0 where they were not.
        problems: of pieces that are finer than material and beam hold, by their code.
    """

    stroke: float = math.inf
    gap: float = math.inf
    stroke_in: str = ""
    gap_in: str = ""
    thickened: float = 0.0
    pieces: int = 0
    problems: dict[str, list[tuple[float, Problem]]] = field(default_factory=dict)


def with_room_to_thicken(requests: Sequence[LetterRequest], limits: Limits) -> list[LetterRequest]:
    """The requests, the areas of those that are to be thickened smaller by what that may add at their rim."""
    if all(request.thicken is None for request in requests):
        return list(requests)
    rooms: dict[tuple[Path, float], Path] = {}
    told = []
    for request in requests:
        by = wanted_stroke(request, limits)
        if not by:
            told.append(request)
            continue
        key = (request.area, by)
        if key not in rooms:
            smaller = offset(tuple(request.area.contours()), -by)
            rooms[key] = Path.joined(path for path, _ in smaller) or request.area
        told.append(replace(request, area=rooms[key]))
    return told


def wanted_stroke(request: LetterRequest, limits: Limits) -> float:
    """The least stroke in mm that a text is to be thickened to; 0 for none."""
    return 0.0 if request.thicken is None else request.thicken or limits.stroke


def thickened(fitted: Iterable[Fitted], limits: Limits) -> tuple[Fitted, ...]:
    """The fitted texts, the lines of those that ask for it with stouter strokes."""
    told = []
    for one in fitted:
        stroke = wanted_stroke(one.request, limits)
        if stroke:
            lines = [replace(line, stroke=stroke, gap=limits.smallest_gap) for line in one.lines]
            one = replace(one, lines=tuple(lines))
        told.append(one)
    return tuple(told)


def details_of(fitted: Iterable[Fitted], letterer: Letterer, limits: Limits) -> dict[str, SetDetail]:
    """What was measured on the lettering that will be burned, by slot."""
    details: dict[str, SetDetail] = {}
    known: dict[tuple[tuple[int, float, float], ...], list[SetFinest]] = {}
    for one in fitted:
        request = one.request
        if one.remedy is Remedy.HELD or request.operation is Operation.GUIDE or request.cut or not one.lines:
            continue  # what is cut through has limits of its own
        detail = details.setdefault(request.slot, SetDetail())
        detail.pieces += 1
        key = tuple([(id(line.line), line.size, line.stroke) for line in one.lines])
        if key not in known:
            reach = max(limits.smallest_gap, min(detail.gap, 1e6))
            known[key] = [letterer.finest(line, reach) for line in one.lines]
            _take(detail, one, known[key], letterer)
        _hold(detail, one, known[key], letterer, limits)
    return details


def _take(detail: SetDetail, one: Fitted, found: Sequence[SetFinest], letterer: Letterer) -> None:
    """Let the detail of a text count in that of its set."""
    for line, fine in zip(one.lines, found, strict=True):
        if fine.stroke < detail.stroke:
            detail.stroke, detail.stroke_in = fine.stroke, _where(line, fine.stroke_of, letterer)
        if fine.gap < detail.gap:
            detail.gap, detail.gap_in = fine.gap, _where(line, fine.gap_of, letterer)
        detail.thickened = max(detail.thickened, line.stroke)


def _where(line: SetLine, of: tuple[str, tuple[int, ...]], letterer: Letterer) -> str:
    text = line.line.text
    letters = letterer.letters(of, text)
    return f"“{letters}” in “{text}”" if letters != text else f"“{text}”"


def _hold(
    detail: SetDetail, one: Fitted, found: Sequence[SetFinest], letterer: Letterer, limits: Limits
) -> None:
    """Hold a text against what material and beam hold."""
    for line, fine in zip(one.lines, found, strict=True):
        thin, narrow = fine.stroke < (line.stroke or limits.stroke), fine.gap < limits.smallest_gap
        if not thin and not narrow:
            continue
        text = line.line.text
        letters = (
            letterer.letters(fine.stroke_of, text) if thin else "",
            letterer.letters(fine.gap_of, text) if narrow else "",
        )
        pair = len(fine.gap_of[1]) == 2
        for problem, share in fine_problems(one.request, line, fine.stroke, fine.gap, letters, pair, limits):
            detail.problems.setdefault(problem.code, []).append((share, problem))


def detail_problems(details: Mapping[str, SetDetail]) -> list[Problem]:
    """What should be known, once for a set: its worst, and how many pieces share it."""
    found = []
    for slot, detail in details.items():
        if detail.thickened:
            found.append(thickened_note(slot, detail.thickened))
        for some in detail.problems.values():
            worst = min(some, key=lambda pair: pair[0])[1]
            pieces = len({problem.piece for _, problem in some})
            if pieces > 1:
                message = (
                    f"{worst.message} That is “{worst.value}”, the finest of “{slot}”; {pieces} of "
                    f"{detail.pieces} are too fine."
                )
                worst = replace(worst, message=message, value="", piece="")
            found.append(worst)
    return found


def with_details(sets: Iterable[SetReport], details: Mapping[str, SetDetail]) -> tuple[SetReport, ...]:
    """The reports of sets with the finest that was measured on each."""
    told = []
    for report in sets:
        detail = details.get(report.slot)
        if detail is not None:
            report = replace(
                report,
                thinnest=round_mm(detail.stroke) if math.isfinite(detail.stroke) else report.thinnest,
                thinnest_in=detail.stroke_in,
                narrowest=round_mm(detail.gap) if math.isfinite(detail.gap) else 0.0,
                narrowest_in=detail.gap_in,
                thickened=round_mm(detail.thickened),
            )
        told.append(report)
    return tuple(told)
