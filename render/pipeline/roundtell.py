"""What a person sets and checks before a round thing is burned: as lines, and as values for JSON."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict
from typing import TYPE_CHECKING, Any, Final

from render.model import Blank, Hold, Machine, RotaryKind, RoundBody, Surface
from render.units import format_mm, round_mm
from render.wrap import Distortion, WrapNumbers

if TYPE_CHECKING:
    from render.pipeline.workshop import Job


def rotary_values(numbers: WrapNumbers | None) -> dict[str, Any] | None:
    """The figures as plain values: lengths to the micrometre, shares and angles to a thousandth part."""
    if numbers is None:
        return None
    values: dict[str, Any] = {}
    for key, value in asdict(numbers).items():
        if isinstance(value, float):
            values[key] = round_mm(value)
        elif isinstance(value, tuple):
            values[key] = [round_mm(each) for each in value]
        elif isinstance(value, dict):
            values[key] = {name: [round(each, 4) for each in both] for name, both in value.items()}
        else:
            values[key] = value
    return values


def rotary_lines(numbers: WrapNumbers | None, job: Job) -> tuple[str, ...]:
    """The same for people, for a job."""
    return wrap_lines(numbers, job.blank, job.machine) if numbers is not None else ()


def wrap_lines(numbers: WrapNumbers, blank: Blank, machine: Machine) -> tuple[str, ...]:
    """What to set, where to begin, and how far to trust it."""
    body = blank.body
    if body is None:
        return ()
    tell = _TELLERS[body.surface]
    return tuple(tell(numbers, body, machine))


SHORTLY: Final = (
    "Mind: secure the piece; lens and head must clear it all the way round; never a sealed or filled vessel; "
    "extract the fumes of its coating; both hands away while it turns. The supplier's data and local rules "
    "come first."
)
"""The cautions of a rotary run in one line, for the file itself: common practice, no source."""


def settings_text(numbers: WrapNumbers, blank: Blank, machine: Machine) -> str:
    """What stands in the file of a rotary run: what to set, where it begins, what to mind; a line each.

    Empty for what does not turn.
    """
    body = blank.body
    if body is None or body.surface is not Surface.ROUND or blank.hold is not Hold.ROTARY:
        return ""
    told = [line for line in _turning(numbers, body, machine) if not line.startswith("Trust")]
    return "\n".join([*told, SHORTLY])


def _turning(numbers: WrapNumbers, body: RoundBody, machine: Machine) -> Iterator[str]:
    rotary = machine.rotary
    yield (
        f"Rotary: one turn is {format_mm(numbers.circumference)} mm on the surface and "
        f"{format_mm(numbers.turn)} mm of the machine's {numbers.axis} axis (factor {numbers.factor:.4f}); "
        f"the artwork goes at most {numbers.degrees:.0f}° round."
    )
    settings = []
    if rotary is not None and rotary.scales:
        settings.append(f"enter a circumference of {format_mm(numbers.set_circumference, 2)} mm")
    elif rotary is not None and rotary.kind is RotaryKind.ROLLER:
        settings.append(f"the rollers touch where it is {format_mm(numbers.set_circumference, 2)} mm round")
    if numbers.steps:
        settings.append(f"{numbers.steps} steps make a turn")
    settings.append(f"tilt the axis by {numbers.tilt:.1f}°" if abs(numbers.tilt) > 0.05 else "axis level")
    way = "mirrored along the turn" if numbers.mirrored else "as drawn, not mirrored"
    yield f"Set: {', '.join(settings)}; the picture is {way}."
    yield _start(numbers, body)
    yield _trust(numbers)


def _start(numbers: WrapNumbers, body: RoundBody) -> str:
    where = "the drawing's left edge"
    if numbers.start:
        where = f"{numbers.start:.0f}° round the drawing, in the widest gap of the design"
    elif any(keep.what == "handle" for keep in body.keep_outs):
        where = "the middle of the handle"
    elif body.seam:
        where = "the seam"
    top = f"; the drawing's top is {format_mm(body.rim, 1)} mm below the rim" if body.rim else ""
    return f"Start: the guide line, {numbers.axis} = 0, stands for {where}{top}."


def _trust(numbers: WrapNumbers) -> str:
    parts = [f"widths may be off by {format_mm(numbers.width_error, 2)} mm as measured"]
    if numbers.closing_error:
        parts.append(f"a full turn may miss its start by {format_mm(numbers.closing_error, 2)} mm")
    if numbers.residual:
        parts.append(f"lines follow the true map within {format_mm(numbers.residual)} mm")
    if numbers.focus_change >= 0.005:
        parts.append(
            f"the surface rises and falls by {format_mm(numbers.focus_change, 2)} mm under the artwork"
        )
    return f"Trust: {'; '.join(parts)}{_shape(numbers.distortion)}."


def _shape(distortion: Distortion) -> str:
    if not distortion.length[0]:
        return ""
    return (
        f"; the shape changes lengths by up to {100 * distortion.length[0]:.1f} % (mean "
        f"{100 * distortion.length[1]:.1f} %), angles by {distortion.angle[0]:.1f}° "
        f"({distortion.angle[1]:.1f}°), areas by {100 * distortion.area[0]:.1f} % "
        f"({100 * distortion.area[1]:.1f} %)"
    )


def _flat_side(numbers: WrapNumbers, body: RoundBody, _: Machine) -> Iterator[str]:
    yield (
        f"Flat side: {format_mm(body.circumference)} × {format_mm(body.height)} mm, level, without the "
        f"rotary; the artwork is {format_mm(numbers.surface[0], 1)} × {format_mm(numbers.surface[1], 1)} mm."
    )


def _cap(numbers: WrapNumbers, body: RoundBody, _: Machine) -> Iterator[str]:
    yield (
        f"Curved: part of a sphere of ⌀ {format_mm(numbers.diameter, 1)} mm, {format_mm(body.sagitta, 1)} mm "
        f"deep; lengths from its middle come out true, seen from above they are shorter."
    )
    yield (
        f"Focus: half way between highest and lowest; the surface under the artwork lies within "
        f"{format_mm(numbers.focus_change, 2)} mm{_shape(numbers.distortion)}."
    )


def _sleeve(numbers: WrapNumbers, body: RoundBody, _: Machine) -> Iterator[str]:
    from render.wrap.bodies import profile_of, sector_of

    if profile_of(body).is_straight:
        yield f"Sleeve: a strip of {format_mm(body.circumference)} × {format_mm(body.height)} mm."
    else:
        sector = sector_of(body)
        yield (
            f"Sleeve: part of a ring between the radii {format_mm(sector.inner, 2)} and "
            f"{format_mm(sector.outer, 2)} mm, opened by {sector.angle:.2f}°; it takes "
            f"{format_mm(numbers.machine[0], 1)} × {format_mm(numbers.machine[1], 1)} mm of stock."
        )
    if body.sleeve is not None and body.sleeve.seam:
        yield f"Close it: {format_mm(body.sleeve.seam)} mm of flap lie under the other edge, hole on hole."


_TELLERS = {
    Surface.ROUND: _turning,
    Surface.FLAT: _flat_side,
    Surface.CAP: _cap,
    Surface.SLEEVE: _sleeve,
}
