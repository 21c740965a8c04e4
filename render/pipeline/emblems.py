"""Monograms on their way from request to outline: letters, frame, size, what should be known."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from render.errors import TemplateError
from render.fitting import Limits
from render.fitting.emblems import Room, scales_of_set
from render.geometry import Affine, Path
from render.model import FitRule, Fitted, LetterRequest, Operation, Problem, Remedy, Severity
from render.units import format_mm

if TYPE_CHECKING:
    from render.lettering import Letterer
    from render.lettering.emblems import Emblem

CLEAR: Final = 0.95
"""Share of a frame's free room that the letters fill."""
_LOW: Final = 0.01


@dataclass(frozen=True, slots=True)
class _Asked:
    """A request, the emblem it asks for or what keeps it from being, and where it goes."""

    request: LetterRequest
    emblem: Emblem | None
    problem: Problem | None
    room: Room
    radius: float


def is_emblem(request: LetterRequest) -> bool:
    """Whether a request is for a monogram."""
    return request.shaping is not None and bool(request.shaping.monogram)


def emblems(
    requests: Sequence[LetterRequest], letterer: Letterer, limits: Limits
) -> list[tuple[Fitted, Path]]:
    """Each request for a monogram, fitted and drawn; all of one slot are one set.

    Raises:
        TemplateError: an area is not a closed path with a width and a height.
    """
    from render.lettering.emblems import Emblems

    maker = Emblems(letterer)
    rooms: dict[Path, tuple[Room, float]] = {}
    asked = [_asked(request, maker, letterer, rooms) for request in requests]
    sets: dict[tuple[str, FitRule], list[int]] = {}
    for index, request in enumerate(requests):
        sets.setdefault((request.slot, request.rule), []).append(index)
    done: dict[int, tuple[Fitted, Path]] = {}
    for (_, rule), members in sets.items():
        largest = [_largest(asked[k], letterer) for k in members]
        scales, common = scales_of_set(largest, rule)
        for k, scale in zip(members, scales, strict=True):
            done[k] = _finished(asked[k], scale, common, limits)
    return [done[k] for k in range(len(requests))]


def _asked(
    request: LetterRequest, maker: object, letterer: Letterer, rooms: dict[Path, tuple[Room, float]]
) -> _Asked:
    from render.lettering.emblems import Emblems, MonogramError

    assert isinstance(maker, Emblems) and request.shaping is not None  # noqa: S101, PT018
    if request.area not in rooms:
        try:
            room = Room.of(request.area)
        except ValueError as error:
            raise TemplateError(f"{error}", place=f"text {request.slot}") from error
        rooms[request.area] = room, room.radius()
    try:
        emblem = maker.make(request.text, request.setting, request.shaping, request.operation)
    except MonogramError as error:
        problem = Problem(
            Severity.STOP, "monogram", f"{error}.", error.hint, value=request.text, piece=request.piece
        )
        if error.missing:
            font = request.setting.font
            problem = letterer.shelf.describe_missing(
                error.missing, font, value=request.text, piece=request.piece
            )
        return _Asked(request, None, problem, *rooms[request.area])
    return _Asked(request, emblem, None, *rooms[request.area])


def _largest(asked: _Asked, letterer: Letterer) -> float | None:
    """The largest scale that the area, the frame and the rule allow."""
    if asked.emblem is None:
        return None
    rule, setting, emblem = asked.request.rule, asked.request.setting, asked.emblem
    cap = letterer.line("H", setting).cap_height
    least, most = (max(_LOW, size * cap / emblem.height) for size in (rule.smallest, rule.largest))
    if emblem.frame is None:
        return asked.room.largest(emblem.hull, least, most)
    reach = max(abs(corner) for corner in emblem.hull)
    scale = min(most, asked.radius * emblem.frame.room * CLEAR / reach)
    return scale if scale >= least else None


def _finished(
    asked: _Asked, scale: float | None, common: float | None, limits: Limits
) -> tuple[Fitted, Path]:
    request, emblem = asked.request, asked.emblem
    if emblem is None or scale is None:
        problem = asked.problem or _held(request)
        return Fitted(request, (), Remedy.HELD, (problem,)), Path.empty()
    centre = asked.room.centre
    path = emblem.path.transformed(Affine(scale, 0, 0, scale, centre.real, centre.imag))
    if emblem.frame is not None:
        filled = request.operation is Operation.ENGRAVE
        frame = emblem.frame.filled if filled else emblem.frame.lines
        size = asked.radius
        path = Path.joined((frame.transformed(Affine(size, 0, 0, size, centre.real, centre.imag)), path))
    problems = []
    remedy = Remedy.NONE
    if common is not None and scale < 0.999 * common:
        remedy = Remedy.SMALLER
        problems.append(_smaller(request, emblem, scale, common))
    if emblem.thinnest * scale < limits.stroke:
        problems.append(_thin(request, emblem.thinnest * scale, limits.stroke))
    return Fitted(request, (), remedy, tuple(problems)), path


def _held(request: LetterRequest) -> Problem:
    message = (
        f"The monogram does not fit its area with letters of the smallest size, {request.rule.smallest:g} mm."
    )
    hint = "Give it a larger area or a smaller mk:smallest, or choose another form."
    return Problem(Severity.STOP, "does-not-fit", message, hint, value=request.text, piece=request.piece)


def _smaller(request: LetterRequest, emblem: Emblem, scale: float, common: float) -> Problem:
    letters = " ".join(emblem.initials)
    message = (
        f"The letters {letters} are too wide for the set's size, so they are smaller: "
        f"{format_mm(scale * emblem.height, 2)} mm high, {scale / common:.0%} of the set's.".replace(
            "%", " %"
        )
    )
    return Problem(
        Severity.LOOK,
        "set-smaller",
        message,
        "Look at it beside the others.",
        value=request.text,
        piece=request.piece,
    )


def _thin(request: LetterRequest, stroke: float, limit: float) -> Problem:
    message = (
        f"The thinnest strokes of the monogram are {format_mm(stroke, 2)} mm, "
        f"and material and machine hold {format_mm(limit, 2)} mm."
    )
    hint = "Make it larger, or take a stouter font."
    return Problem(Severity.LOOK, "stroke-too-thin", message, hint, value=request.text, piece=request.piece)
