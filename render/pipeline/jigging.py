"""From a blank to a jig that holds it, cut and entered in the library; and a jig that was measured."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path as FilePath
from typing import TYPE_CHECKING, Any

from render.errors import LibraryError, MonikerfError
from render.geometry import Affine, Path
from render.model import Artwork, Hold, Machine, Mark, Operation, Placement, Sheet
from render.pipeline.files import write_sheet
from render.pipeline.proofs import Captions
from render.sheets.jigs import Fit, JigDrawing, JigPlan, draw_jig, fit_pins, refitted
from render.shop.records import own_entry, toml_text
from render.shop.safety import safety
from render.shop.suitability import refuse_material, works_on
from render.units import format_mm
from render.writers import ready_folder, write_atomically

if TYPE_CHECKING:
    from render.pipeline.workshop import Workshop


@dataclass(frozen=True, slots=True)
class JigMade:
    """A jig: its files, words for people, values for JSON, safety words."""

    files: tuple[FilePath, ...]
    lines: tuple[str, ...]
    values: dict[str, Any]
    cautions: tuple[str, ...]


def make_jig(
    workshop: Workshop, blank: str, machine: str | None, material: str, plan: JigPlan, out: FilePath
) -> JigMade:
    """Write the drawing of a jig for a blank, and its entry for the library.

    The entry goes to the library of the workshop's shop, or, where no shop was named, beside the drawing. A
    blank that is held in a jig gets the jig it names, so that nothing else need be changed.

    Raises:
        MonikerfError: the blank is round, the jig does not fit the bed, or a file cannot be written.
    """
    thing = workshop.library.blank(blank)
    if thing.hold is Hold.ROTARY:
        hint = "jigs are for what lies flat: monikerf show blanks says how each thing is held"
        raise MonikerfError(
            f"{thing.title} turns in a rotary: no jig holds it", hint=hint, place=f"blank {blank}"
        )
    stuff = workshop.library.material(material)
    refuse_material(stuff)
    laser = workshop.machine_for(thing, machine)
    done = frozenset((Operation.CUT, Operation.ENGRAVE, Operation.SCORE))
    if not works_on(laser, stuff, done):
        raise MonikerfError(
            f"{laser.title} does not mark and cut {stuff.title}, as the trade knows it",
            hint="name another --machine, or another --material for the jig",
        )
    drawing = draw_jig(thing, laser.bed, plan, thing.jig or thing.id)
    sheet = _sheet(drawing, laser, workshop)
    ready_folder(out)
    files = [out / f"jig-{drawing.jig.id}.svg"]
    entry = out if workshop.shop is None else ready_folder(workshop.shop / "library" / "jigs")
    files.append(entry / f"{drawing.jig.id}.toml")
    write_sheet(files[0], sheet, laser.bed)
    write_atomically(files[1], _entry(drawing, plan).encode())
    cautions = safety(laser, workshop.light_of(laser), stuff, operations=done)
    values = _values(drawing, files, laser, plan)
    return JigMade(tuple(files), tuple(_lines(drawing, plan, thing.hold)), values, cautions)


def _sheet(drawing: JigDrawing, machine: Machine, workshop: Workshop) -> Sheet:
    letterer = workshop.letterer()
    words = Captions(letterer)
    numbers = []
    for place, (at, size) in enumerate(drawing.labels, 1):
        numbers.append(words(str(place)).path.transformed(Affine(size, 0, 0, size, at.real, at.imag)))
    marks = (
        Mark(Operation.ENGRAVE, Path.joined(numbers)),
        Mark(Operation.SCORE, drawing.crosses()),
        Mark(Operation.CUT, Path.joined((*drawing.pockets, drawing.edge))),
    )
    art = Artwork("jig", drawing.jig.title, marks)
    return Sheet(1, drawing.jig.title, machine.bed, 0.0, (Placement(art, 1, 0, 0),), machine.colours)


def _entry(drawing: JigDrawing, plan: JigPlan) -> str:
    jig = drawing.jig
    pins = "; ".join(f"({format_mm(p.real)}, {format_mm(p.imag)})" for p in drawing.pins)
    source = f"drawn by monikerf jig with {plan.play:g} mm of play; its pins are drawn at {pins}"
    return toml_text(
        {"title": jig.title, "source": source, "columns": jig.columns, "rows": jig.rows,
         "origin": list(jig.origin), "pitch": list(jig.pitch)}
    )  # fmt: skip


def _values(
    drawing: JigDrawing, files: Sequence[FilePath], machine: Machine, plan: JigPlan
) -> dict[str, Any]:
    jig = drawing.jig
    return {
        "jig": jig.id, "machine": machine.id, "columns": jig.columns, "rows": jig.rows,
        "origin": list(jig.origin), "pitch": list(jig.pitch), "play": plan.play, "kerf": plan.kerf,
        "size": [round(side, 3) for side in drawing.size],
        "pins": [[p.real, p.imag] for p in drawing.pins], "files": [str(file) for file in files],
    }  # fmt: skip


def _lines(drawing: JigDrawing, plan: JigPlan, hold: Hold) -> list[str]:
    jig = drawing.jig
    wide, high = (format_mm(side, 1) for side in drawing.size)
    pins = ", ".join(f"{format_mm(p.real)},{format_mm(p.imag)}" for p in drawing.pins)
    lines = [
        f"{jig.title}. {jig.columns} across, {jig.rows} down, on a plate of {wide} × {high} mm, its corner "
        f"{plan.inset:g} mm from the bed's top left on both sides.",
        f"Play {plan.play:g} mm all round, kerf {plan.kerf:g} mm allowed for. Cut one pocket of scrap and "
        "try a blank before you cut the plate.",
        f"Leave the plate where it was cut, or lay it there again and measure its crosses, drawn at {pins}: "
        "monikerf jig-fit.",
    ]
    if hold is Hold.STOCK:
        lines.append(f'To use it, give the blank hold = "jig" and jig = "{jig.id}" in place of its [stock].')
    return lines


@dataclass(frozen=True, slots=True)
class JigFitted:
    """A jig as it was measured; `file` is where it was kept, None if nowhere."""

    fit: Fit
    lines: tuple[str, ...]
    values: dict[str, Any]
    good: bool
    file: FilePath | None = None


def fit_jig(
    workshop: Workshop, jig: str, pins: Sequence[tuple[complex, complex]], allowed: float
) -> JigFitted:
    """Fit a jig to measured points, and keep the result in the shop's library if it is good enough.

    Args:
        workshop: its shop keeps the file; without one nothing is kept.
        jig: its id.
        pins: points as drawn and as measured on the bed, mm.
        allowed: by how much, mm, a corner of a piece may still be off, and a pin may miss the fit.

    Raises:
        MonikerfError: the points are too few or make no sense.
    """
    drawn = workshop.library.jig(jig)
    fit = fit_pins([a for a, _ in pins], [b for _, b in pins])
    held = [b.outline.bounds() for b in workshop.library.blanks() if b.jig == jig]
    size = max(((b.width, b.height) for b in held), default=(0.0, 0.0))
    moved, off = refitted(drawn, fit, size)
    good = off <= allowed and max(fit.residuals) <= allowed
    values = {
        "jig": jig, "shift": [round(fit.shift.real, 4), round(fit.shift.imag, 4)],
        "turn_degrees": round(fit.turn, 5), "scale": round(fit.scale, 7),
        "residuals": [round(r, 4) for r in fit.residuals], "rms": round(fit.rms, 4),
        "origin": list(moved.origin), "pitch": list(moved.pitch), "worst_corner": round(off, 4), "good": good,
    }  # fmt: skip
    file = None
    if good and workshop.shop is not None:
        changes = {"origin": list(moved.origin), "pitch": list(moved.pitch)}
        file, text = own_entry(workshop.library, "jigs", jig, workshop.shop, changes)
        ready_folder(file.parent)
        write_atomically(file, text.encode())
    values["file"] = None if file is None else str(file)
    return JigFitted(fit, tuple(_fit_lines(fit, off, allowed, good)), values, good, file)


def _fit_lines(fit: Fit, off: float, allowed: float, good: bool) -> list[str]:
    left = ", ".join(f"{r:.3f}" for r in fit.residuals)
    lines = [
        f"Shift {fit.shift.real:+.3f}, {fit.shift.imag:+.3f} mm; turn {fit.turn:+.4f}°; "
        f"scale {fit.scale:.6f}.",
        f"Left at the pins: {left} mm (root mean square {fit.rms:.3f}). Three pins leave little to check: a "
        "fourth tells more.",
        f"With origin and pitch so set, the worst corner of a piece is still off by {off:.3f} mm.",
    ]
    if not good:
        lines.append(
            f"That is more than {allowed:g} mm: turn the jig by {-fit.turn:+.3f}° (clockwise is positive), "
            "or measure again; nothing was kept."
        )
    return lines


def pin_of(text: str) -> tuple[complex, complex]:
    """A pin such as ``12,12=12.3,11.9``: as drawn, and as measured.

    Raises:
        MonikerfError: it is not of that form.
    """
    try:
        drawn, measured = (
            complex(*(float(number) for number in half.split(","))) for half in text.split("=")
        )
    except (ValueError, TypeError):
        raise MonikerfError(f"--pin {text!r} is not understood", hint="write X,Y=X,Y") from None
    if not abs(drawn) + abs(measured) < 1e5:
        raise LibraryError(f"--pin {text!r} is not on any bed", hint="write X,Y=X,Y in mm")
    return drawn, measured
