"""What to mind in one job: short, for this machine, this material and this thing.

Reminders of common practice without a source of their own. They replace neither the supplier's data sheets
nor local codes nor licensed practice, and say so.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from typing import Final

from render.model import Hazard, Light, Machine, Material, Operation
from render.units import format_mm

FIRST: Final = (
    "Above all: suppliers' data sheets, local codes and licensed practice come before what is written here."
)
PROFESSIONAL: Final = "Ask a local professional about insurance, registration and tax."
"""For quotes and price lists: what a shop must settle, and what no program can."""

_FUMES: Final = "draw them off before the first line burns; ask the supplier what they are."
_NEVER: Final = (
    "Fire: never leave it running unattended, have an extinguisher in reach, and leave interlocks such as "
    "lid switches as the maker built them."
)
_ROTARY: Final = (
    "Rotary: secure the thing so that it can neither slip nor fall, turn it once round with the beam off and "
    "see that head and lens clear it, keep both hands away while it turns, and never heat a closed or filled "
    "vessel."
)
_HOT: Final = "Handling: what was just burned is hot, and cut edges are sharp."
_SHARP: Final = frozenset(("metal", "glass", "stone"))


def safety(
    machine: Machine,
    light: Light | None,
    material: Material,
    *,
    hazards: Sequence[Hazard] = (),
    operations: Collection[Operation] = (),
    rotary: bool = False,
) -> tuple[str, ...]:
    """What holds for this job, each one line beginning with what it is about.

    Args:
        machine: with its own cautions.
        light: its light source; None where nobody said which.
        material: with its cautions.
        hazards: of the thing.
        operations: that the job asks for.
        rotary: whether the thing turns.
    """
    return tuple(dict.fromkeys(_lines(machine, light, material, hazards, operations, rotary)))


def _lines(
    machine: Machine,
    light: Light | None,
    material: Material,
    hazards: Sequence[Hazard],
    operations: Collection[Operation],
    rotary: bool,
) -> Iterator[str]:
    yield _eyes(machine, light)
    yield _NEVER
    yield f"Fumes: {material.fumes or _FUMES}"
    if material.warning:
        yield f"Warning: {material.warning}"
    if material.cautions:
        yield _list(material.title, material.cautions)
    for hazard in hazards:
        yield f"{hazard.title}: {hazard.caution}"
    if rotary:
        yield _ROTARY
    if machine.cautions:
        yield _list("Machine", machine.cautions)
    if Operation.CUT in operations or material.kind in _SHARP:
        yield _HOT
    yield FIRST


def _eyes(machine: Machine, light: Light | None) -> str:
    """Eye protection for the wavelength and power at hand."""
    what = machine.light
    if light is not None:
        low, high = (format_mm(nm, 0) for nm in light.wavelength)
        what = f"{low} nm" if low == high else f"{low} to {high} nm"
    power = f" and {format_mm(machine.watts, 1)} W" if machine.watts else " and this machine's power"
    more = " ".join(light.cautions) if light is not None else ""
    return (
        f"Eyes: eye protection rated for {what}{power} (IEC 60825-1, EN 207 or the local equivalent; ask the "
        f"supplier). {more}"
    ).strip()


def _list(about: str, cautions: Sequence[str]) -> str:
    return f"{about}: {' '.join(cautions)}"
