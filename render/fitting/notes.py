"""What a person should know about a fitted text, with figures, in plain words."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from render.fitting.forms import Form
from render.model import (
    LetterRequest,
    Machine,
    Material,
    Problem,
    Remedy,
    SetLine,
    Severity,
    SizePolicy,
)
from render.text.letters import unspaced
from render.units import format_mm


@dataclass(frozen=True, slots=True)
class Limits:
    """The smallest detail that material and machine hold, mm; 0 where nothing is known.

    Attributes:
        smallest_stroke: thinnest stroke that survives on the material.
        smallest_gap: narrowest gap that stays open.
        spot: width of the beam's mark: no stroke comes out thinner.
    """

    smallest_stroke: float = 0.0
    smallest_gap: float = 0.0
    spot: float = 0.0

    @classmethod
    def of(cls, material: Material, machine: Machine) -> Limits:
        """The limits of a material on a machine."""
        return cls(material.smallest_stroke, material.smallest_gap, machine.spot)

    @property
    def stroke(self) -> float:
        """The thinnest stroke to ask for: what the material holds, and no finer than the beam draws."""
        return max(self.smallest_stroke, self.spot)


@dataclass(frozen=True, slots=True)
class Standing:
    """What one text's note compares it with.

    Attributes:
        set_size: em size of its set, mm; None where each text has its own.
        alike: how many pieces of the set have the same remedy.
        pieces: how many pieces the set has.
    """

    set_size: float | None
    alike: int
    pieces: int


_REACHED: Final = 0.9
"""Part of the wanted stroke from which on it counts as reached."""

_WORTH: Final = 2.0
"""A size up to so many times larger is worth naming."""

_CODES: Final = {
    Remedy.TIGHTER: ("set-tighter", Severity.NOTE),
    Remedy.BROKEN: ("set-on-lines", Severity.LOOK),
    Remedy.NARROWER: ("set-narrower", Severity.LOOK),
    Remedy.SMALLER: ("set-smaller", Severity.LOOK),
}


def remedy_problem(
    request: LetterRequest, form: Form, size: float, remedy: Remedy, standing: Standing
) -> Problem:
    """The problem that records a remedy.

    It says what was done, size and x-height in mm, the share of the set's size, and how many of the order are
    treated so.
    """
    code, severity = _CODES[remedy]
    first = form.lines[0]
    figures = f"{format_mm(size, 2)} mm, x-height {format_mm(first.x_height * size, 2)} mm"
    if standing.set_size is not None:
        figures += f", {size / standing.set_size:.0%} of the set's size".replace("%", " %")
    usual = 2 * standing.alike > standing.pieces
    if remedy is Remedy.BROKEN and (usual or request.rule.policy is SizePolicy.EACH):
        severity = Severity.NOTE  # lines are what most of the set has, or cost it nothing
    message = (
        f"Too long to be set plainly, so {_what(request, form, remedy)} ({figures}). "
        f"This was needed for {standing.alike} of {standing.pieces} in this order."
    )
    hint = "Look at it beside the others; a shorter text would be set like them."
    return Problem(severity, code, message, hint, value=request.text, piece=request.piece)


def _what(request: LetterRequest, form: Form, remedy: Remedy) -> str:
    """What was done to it, in words."""
    first, count = form.lines[0], len(form.lines)
    parts = []
    if remedy is Remedy.SMALLER:
        parts.append("smaller")
    if first.setting.font != request.setting.font:
        parts.append(f"in {first.setting.font}")
    if count > 1:
        parts.append(f"on {count} lines")
    if first.setting.tracking != request.setting.tracking:
        tighter = request.setting.tracking - first.setting.tracking
        parts.append(f"{format_mm(tighter)} em tighter between letters")
    return "set " + ", ".join(parts)


def held_problem(request: LetterRequest, form: Form, size: float) -> Problem:
    """The problem of a text that does not fit at the smallest size it may have."""
    fixed = request.rule.policy is SizePolicy.FIXED
    which = "the template's fixed size" if fixed else "the smallest allowed size"
    if request.along:
        room = "its path is too short or too near the rim"
    else:
        box = request.area.bounds()
        room = f"its area measures {format_mm(box.width, 1)} × {format_mm(box.height, 1)} mm"
    if request.setting.vertical:
        longest = max(line.ink.height for line in form.lines if line.ink)
        extent = f"in one column it is {format_mm(longest * size, 1)} mm long"
    else:
        extent = f"on one line it is {format_mm(form.width * size, 1)} mm wide"
    message = f"Does not fit at {which} of {format_mm(size, 2)} mm: {extent}, and {room}."
    hint = "Shorten the text, or choose a template with more room or more lines, or a narrower font."
    if request.rule.most_lines > 1 and (writing := unspaced(request.text)):
        hint += f" {writing} goes to a new line only at a space: put one where a line may end."
    return Problem(Severity.STOP, "does-not-fit", message, hint, value=request.text, piece=request.piece)


NEARLY: Final = 0.8
"""Strokes that fall short by less than a fifth are only noted: what a material holds is common practice, no
source, and good to about as much, until the shop's own card of details says better."""


def fine_problems(
    request: LetterRequest,
    line: SetLine,
    stroke: float,
    gap: float,
    letters: tuple[str, str],
    pair: bool,
    limits: Limits,
) -> Iterator[tuple[Problem, float]]:
    """Problems of one line's finest detail, each with the share of what is needed that there is.

    Narrow gaps are only noted: what is engraved may flow together there, but nothing is lost.

    Args:
        request: what was asked for.
        line: as it is set.
        stroke: its thinnest stroke, mm.
        gap: its narrowest gap, mm.
        letters: those with that stroke, and those with that gap.
        pair: whether the gap lies between two letters.
        limits: the smallest detail that material and machine hold.
    """
    size = format_mm(line.size, 2)

    def tell(code: str, message: str, hint: str, severity: Severity = Severity.LOOK) -> Problem:
        return Problem(severity, code, message, hint, value=request.text, piece=request.piece)

    if line.stroke and stroke < _REACHED * line.stroke:
        message = (
            f"Strokes were thickened to {format_mm(line.stroke, 2)} mm, but “{letters[0]}” reaches only "
            f"{format_mm(stroke, 2)} mm at {size} mm: there is no room for more between its strokes."
        )
        hint = "Set it larger, or choose a font with stouter strokes or wider gaps; try it on scrap first."
        severity = Severity.NOTE if stroke >= NEARLY * line.stroke else Severity.LOOK
        yield tell("stroke-not-reached", message, hint, severity), stroke / line.stroke
    elif not line.stroke and stroke < limits.stroke - 1e-9:
        whose = "the material holds" if limits.smallest_stroke >= limits.spot else "the beam draws"
        message = (
            f"At {size} mm “{letters[0]}” has a stroke of {format_mm(stroke, 2)} mm; {whose} no less than "
            f"{format_mm(limits.stroke, 2)} mm."
        )
        need = line.size * limits.stroke / stroke
        hint = (
            f"It would take a size of {format_mm(need, 1)} mm, another font, or a template that thickens "
            "thin strokes (mk:thicken); try it on scrap first."
        )
        severity = Severity.NOTE if stroke >= NEARLY * limits.stroke else Severity.LOOK
        yield tell("stroke-too-thin", message, hint, severity), stroke / limits.stroke
    if gap < limits.smallest_gap - 1e-9:
        mm = format_mm(gap, 2)
        which = f"“{letters[1]}”" if letters[1] != line.line.text else "two letters" if pair else "a letter"
        what = f"{which} stand {mm} mm apart" if pair else f"{which} has a gap of {mm} mm"
        message = (
            f"At {size} mm {what}; the material keeps no gap under "
            f"{format_mm(limits.smallest_gap, 2)} mm open."
        )
        more = format_mm((limits.smallest_gap - gap) / line.size + 0.0005, 3)
        ways = [f"{more} em more letter-spacing"] if pair and not request.rule.joined else []
        if gap * _WORTH >= limits.smallest_gap:
            ways.insert(0, f"a size of {format_mm(line.size * limits.smallest_gap / gap, 1)} mm")
        hint = f"It would take {', '.join([*ways, 'or a more open font' if ways else 'a more open font'])}"
        hint += "; where it may fill up, leave it. Try it on scrap first."
        yield tell("gap-too-narrow", message, hint, Severity.NOTE), gap / limits.smallest_gap


def thickened_note(slot: str, stroke: float) -> Problem:
    """The note that a set's thin strokes are made stouter."""
    message = (
        f"Strokes of “{slot}” under {format_mm(stroke, 2)} mm are thickened to that, and gaps in letters "
        "that are too narrow are opened, as its template asks."
    )
    return Problem(Severity.NOTE, "thickened", message, "Proof and sheets show them so.")
