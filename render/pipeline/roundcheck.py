"""A round thing before there is an order: its figures, check marks to burn, heights, calibration."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path as FilePath
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from render.errors import LibraryError, MonikerfError
from render.geometry import Path
from render.model import Artwork, Blank, Calibration, Hold, Lay, Machine, Mark, Operation, Problem, Surface
from render.pipeline.files import write_sheet
from render.pipeline.rounding import as_cut, as_sent, depth_of_focus, wrapper_for
from render.pipeline.roundtell import rotary_values, settings_text, wrap_lines
from render.sheets.burn import finished
from render.sheets.layout import layout, reach
from render.shop.records import own_entry
from render.shop.safety import safety
from render.units import format_mm, round_mm
from render.wrap import Wrapped, Wrapper
from render.wrap.bodies import cap_radius
from render.wrap.calibration import Sighting, calibrated, full_turn
from render.wrap.focus import flat_width, height_map
from render.writers import ready_folder, write_atomically

if TYPE_CHECKING:
    from render.pipeline.workshop import Workshop

MARK_MM: Final = 4.0
"""Length of a check mark along the thing."""
QUARTERS: Final = (0.0, 90.0, 180.0, 270.0)


@dataclass(frozen=True, slots=True)
class RoundCheck:
    """What is known of one thing on one machine.

    Attributes:
        lines: for people.
        values: for JSON.
        problems: what the device may not take.
        cautions: safety words.
    """

    lines: tuple[str, ...]
    values: dict[str, Any]
    problems: tuple[Problem, ...]
    cautions: tuple[str, ...]


def round_check(workshop: Workshop, blank: str, machine: str | None, out: FilePath | None) -> RoundCheck:
    """The figures of a round blank on a machine, and the check marks, written to `out` if it is given.

    Raises:
        MonikerfError: the blank is not round, the machine cannot hold it, or the file cannot be written.
    """
    thing = workshop.library.blank(blank)
    if thing.body is None:
        raise MonikerfError(
            f"{thing.title} is flat: there is nothing to wrap.",
            hint="monikerf show blanks lists what is held in a rotary",
            place=f"blank {blank}",
        )
    laser = workshop.machine_for(thing, machine)
    light = workshop.light_of(laser)
    plain = replace(thing, body=replace(thing.body, lay=Lay.TURN, places=(), overlap=0.0, hide_seam=False))
    wrapper = wrapper_for(plain, laser, light)
    if wrapper is None:
        raise LibraryError(
            f"{laser.title} has no rotary to turn {thing.title}.",
            hint="name a machine with a rotary: --machine",
            place=f"machine {laser.id}",
        )
    wrapped = wrapper.wrap(check_marks(thing))
    lines = [*wrap_lines(wrapped.numbers, thing, laser), *_focus_lines(thing, depth_of_focus(laser, light))]
    marks = _mark_rows(wrapper, wrapped) if isinstance(wrapper, Wrapper) else []
    values = {
        "blank": thing.id,
        "machine": laser.id,
        "rotary": rotary_values(wrapped.numbers),
        "check_marks": marks,
        "heights": _heights(thing),
    }
    if out is not None:
        _write(thing, laser, as_sent(plain, laser, light), wrapped, out)
        lines.append(f"Check marks written to {out}: verified.")
    cautions = safety(
        laser,
        light,
        workshop.library.material(thing.material),
        hazards=tuple(workshop.library.hazard(id_) for id_ in thing.hazards),
        rotary=thing.hold is Hold.ROTARY,
    )
    return RoundCheck(tuple(lines), values, wrapper.problems(), cautions)


def check_marks(blank: Blank) -> Artwork:
    """Short scores along the thing: at each quarter turn, half way down, and longer ones at start and end.

    Marks a quarter apart are measured with a tape round the thing; the last one must meet the first.
    """
    body = blank.body
    if body is None:
        return Artwork("check", "check marks", ())
    turn, middle = body.circumference, body.height / 2
    still = body.surface is not Surface.ROUND
    at = [turn * part for part in ((0.25, 0.5, 0.75) if still else (0.0, 0.25, 0.5, 0.75, 1.0))]
    ends = [(x, MARK_MM if 0 < x < turn else MARK_MM * 1.5) for x in at]
    ticks = [np.array([x + 1j * (middle - h / 2), x + 1j * (middle + h / 2)]) for x, h in ends]
    if body.lying:
        ticks = [1j * (z - 1j * body.height) for z in ticks]
    return Artwork("check", "check marks", tuple(Mark(Operation.SCORE, Path.polyline(z)) for z in ticks))


def _mark_rows(wrapper: Wrapper, wrapped: Wrapped) -> list[dict[str, float]]:
    """For each check mark its angle, its way round the surface, and where the machine stands, mm."""
    rows = []
    half = float(wrapper.profile.radius(np.array([wrapper.profile.height / 2]))[0])
    on_surface = wrapped.on_surface.burned(Operation.SCORE).contours()
    for tick, sent in zip(on_surface, wrapped.artwork.burned(Operation.SCORE).contours(), strict=True):
        angle, at = float(tick.points[0].real), sent.points[0]
        rows.append(
            {
                "degrees": round_mm(float(np.degrees(angle))) + 0.0,
                "surface_mm": round_mm(angle * half) + 0.0,
                "machine_x": round_mm(float(at.real)) + 0.0,
                "machine_y": round_mm(float(at.imag)) + 0.0,
            }
        )
    return rows


def _focus_lines(blank: Blank, focus: float) -> list[str]:
    """How much could be marked without turning, and for a bowl the table of heights."""
    body = blank.body
    if body is None or not focus or body.surface in (Surface.FLAT, Surface.SLEEVE):
        return []
    cap = body.surface is Surface.CAP
    radius = cap_radius(body) if cap else body.circumference / (2 * np.pi)
    wide = min(body.circumference, body.height) if cap else 2 * radius
    sharp = flat_width(radius, focus)
    what = "all of it stays" if sharp >= wide else f"{format_mm(sharp, 1)} mm across stay"
    lines = [
        f"Without turning, {what} in focus by the reckoned depth of ±{format_mm(focus, 2)} mm; a real beam "
        "may keep less: burn a focus card (monikerf test-card focus) and write focus_depth into the "
        "machine's file."
    ]
    if cap:
        rows = _heights(blank)
        told = ", ".join(f"{format_mm(r['across'], 1)}: {format_mm(r['drop'], 2)}" for r in rows)
        lines.append(f"Heights below (or above) the middle, by mm from it: {told}.")
    return lines


def _heights(blank: Blank) -> list[dict[str, float]]:
    """The table by which a machine can follow a cap."""
    body = blank.body
    if body is None or body.surface is not Surface.CAP:
        return []
    rows = height_map(cap_radius(body), min(body.circumference, body.height))
    return [
        {"across": round_mm(r.across), "along": round_mm(r.along), "drop": round_mm(r.drop)} for r in rows
    ]


def _write(thing: Blank, laser: Machine, sent: Blank, wrapped: Wrapped, out: FilePath) -> None:
    blank = replace(as_cut(sent), hold=Hold.ROTARY if sent.hold is Hold.ROTARY else Hold.STOCK, jig="")
    laid = layout(finished([wrapped.artwork], blank), blank, laser)
    if not laid.sheets:
        raise MonikerfError(f"{thing.title} does not take check marks.", place=f"blank {thing.id}")
    ready_folder(out.parent)
    sheet = replace(laid.sheets[0], settings=settings_text(wrapped.numbers, sent, laser))
    write_sheet(out, sheet, reach(laser, blank))


def calibration_values(solved: Calibration) -> dict[str, Any]:
    """A calibration as keys of a machine's file."""
    return {
        "rotary.calibration.factor": round(solved.factor, 6),
        "rotary.calibration.error": round(solved.error, 6),
        "rotary.calibration.marks": solved.marks,
        "rotary.calibration.date": solved.date,
    }


def calibrate_rotary(
    workshop: Workshop,
    machine: str,
    pairs: Sequence[tuple[float, float]],
    turns: Sequence[tuple[float, float]],
    date: str,
) -> tuple[Calibration, FilePath]:
    """Solve a rotary's calibration and keep it in the shop's own file of the machine.

    Args:
        workshop: with a shop folder.
        machine: id.
        pairs: commanded and measured mm on the surface.
        turns: circumference, and by how much a full turn came back beyond its start.
        date: of the measurement, ISO 8601.

    Raises:
        MonikerfError: there is no shop folder, no such machine, it has no rotary, or the lengths make no
            sense.
    """
    if workshop.shop is None:
        raise LibraryError("There is no shop folder to keep it in.", hint="name it with --shop")
    rotary = workshop.library.machine(machine).rotary
    if rotary is None:
        others = ", ".join(m.id for m in workshop.library.machines() if m.rotary) or "none yet"
        hint = f"These have one: {others}."
        raise LibraryError(f"{machine} has no rotary.", hint=hint, place=f"machine {machine}")
    sightings = [Sighting(*pair) for pair in pairs] + [full_turn(*turn) for turn in turns]
    solved = calibrated(sightings, rotary.calibration, date)
    path, text = own_entry(workshop.library, "machines", machine, workshop.shop, calibration_values(solved))
    ready_folder(path.parent)
    write_atomically(path, text.encode())
    return solved, path
