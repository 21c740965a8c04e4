"""The straight cylinder: artwork drawn on the unrolled surface, turned into what a rotary is sent.

On the unrolled surface x runs round the thing and y along its axis, from the rim down, as seen from outside.
A chuck turns by angle: its axis is sent ``turn`` mm for a full turn whatever the thing measures, so lengths
round the thing are multiplied by turn / circumference. A roller moves the surface itself: its lengths stay as
they are. (Derived here: a full turn is the circumference on the surface and `turn` at the machine.)

Tapered things need a map that is not affine; it will stand beside this one with the same two methods.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final, Protocol

import numpy as np
from numpy.typing import NDArray

from render.errors import LibraryError
from render.geometry import Affine, Box, Path
from render.model import BURN_ORDER, Artwork, Problem, Rotary, RotaryKind, RoundBody, Severity
from render.units import format_mm

CAUTIONS: Final = (
    "Hold the piece so that it can neither slip nor fall while it turns; try a full turn with the beam off.",
    "Check that head and lens clear the piece, its rim and its handle all the way round, before the beam is "
    "on.",
    "Never engrave a sealed or filled vessel: heat can make it burst.",
    "Coatings and paints can give off harmful fumes: mark only what its maker's data sheet allows, under "
    "extraction, and stay with the machine.",
)
"""Safety words for every rotary run: common practice, no source. They replace neither the supplier's data
nor local rules."""

_SLACK_MM: Final = 1e-6

Points = NDArray[np.complex128]


class SurfaceMap(Protocol):
    """From the unrolled surface to the machine and back; points x + iy in mm, any shape."""

    def to_machine(self, points: Points) -> Points:
        """Where the machine must go for these points of the surface."""
        ...

    def to_surface(self, points: Points) -> Points:
        """Which points of the surface the machine marks there."""
        ...


@dataclass(frozen=True, slots=True)
class StraightMap:
    """The map of a straight cylinder: exact, curves included, since it is affine."""

    affine: Affine

    def to_machine(self, points: Points) -> Points:
        """See :class:`SurfaceMap`."""
        return self.affine.apply(points)

    def to_surface(self, points: Points) -> Points:
        """See :class:`SurfaceMap`."""
        return self.affine.inverse().apply(points)


@dataclass(frozen=True, slots=True)
class WrapNumbers:
    """The figures a person checks before a rotary run; lengths in mm.

    Attributes:
        circumference, diameter: of the thing.
        axis: the machine axis that turns it.
        turn: mm that axis travels for one full turn of the thing.
        factor: machine mm for one mm round the surface.
        surface: width round the thing and height along it of what is burned, on the surface.
        machine: the same width and height as the machine is sent them.
        degrees: how far round the thing the artwork reaches.
        residual: how far the map may be from the truth: 0, since it is exact.
    """

    circumference: float
    diameter: float
    axis: str
    turn: float
    factor: float
    surface: tuple[float, float]
    machine: tuple[float, float]
    degrees: float
    residual: float = 0.0


@dataclass(frozen=True, slots=True)
class Wrapped:
    """Artwork in machine coordinates, the map that took it there, and what should be known about it."""

    artwork: Artwork
    surface_map: SurfaceMap
    numbers: WrapNumbers
    problems: tuple[Problem, ...] = ()
    cautions: tuple[str, ...] = CAUTIONS


def straight_map(body: RoundBody, rotary: Rotary, *, half_turned: bool = False) -> StraightMap:
    """The map from the unrolled surface (0 to circumference, 0 to height) to the machine.

    The picture is never mirrored. Where the rotary replaces the machine's x axis, the surface lies as drawn,
    the rim at y = 0. Where it replaces y, the surface is turned clockwise by a quarter, so that the rim is at
    the far end of x. `half_turned` is for the thing held the other way about.

    Raises:
        LibraryError: the circumference, the height, or a chuck's `turn` is not a positive length, or the axis
            is neither x nor y.
    """
    factor = scale_factor(body, rotary)
    stretched = Affine.scale(factor, 1.0)
    turn, height = body.circumference * factor, body.height
    if rotary.axis == "y":
        placed = stretched.then(Affine.rotation(90)).then(Affine.translation(height, 0.0))
        width, depth = height, turn
    else:
        placed, width, depth = stretched, turn, height
    if half_turned:
        placed = placed.then(Affine.rotation(180)).then(Affine.translation(width, depth))
    return StraightMap(placed)


def scale_factor(body: RoundBody, rotary: Rotary) -> float:
    """Machine mm for one mm round the surface: turn / circumference on a chuck, 1 on rollers.

    Raises:
        LibraryError: see :func:`straight_map`.
    """
    lengths = {"circumference": body.circumference, "height": body.height}
    if rotary.kind is RotaryKind.CHUCK:
        lengths["mm for a full turn"] = rotary.turn
    for name, length in lengths.items():
        if not (math.isfinite(length) and length > 0):
            raise LibraryError(
                f"The {name} of a rotary run must be a positive length, not {length:g} mm.",
                hint="Measure the circumference with a tape; the chuck's mm for a full turn is on its data "
                "sheet or found by turning it once.",
            )
    if rotary.axis not in ("x", "y"):
        raise LibraryError(f"A rotary replaces the machine's axis x or y, not {rotary.axis!r}.")
    return rotary.turn / body.circumference if rotary.kind is RotaryKind.CHUCK else 1.0


def wrap_straight(artwork: Artwork, body: RoundBody, rotary: Rotary, *, half_turned: bool = False) -> Wrapped:
    """Artwork on the unrolled surface of a straight cylinder, in machine coordinates.

    What is wider than the circumference less the seam, or reaches above or below the surface that may be
    marked, is a STOP problem; what is narrow enough but lies across the seam is a LOOK problem. Guides do not
    count.

    Args:
        artwork: x round the thing from 0 to `body.circumference`, y from its rim down to `body.height`.
        body: the thing, mm.
        rotary: the device.
        half_turned: see :func:`straight_map`.

    Raises:
        LibraryError: see :func:`straight_map`.
    """
    surface_map = straight_map(body, rotary, half_turned=half_turned)
    marks = tuple(
        replace(mark, path=Path(mark.path.commands, surface_map.to_machine(mark.path.points)))
        for mark in artwork.marks
    )
    burned = Path.joined(mark.path for mark in artwork.marks if mark.operation in BURN_ORDER)
    box = burned.bounds() if burned else Box(0.0, 0.0, 0.0, 0.0)
    return Wrapped(
        artwork=replace(artwork, marks=marks),
        surface_map=surface_map,
        numbers=_numbers(box, body, rotary),
        problems=tuple(_problems(artwork.piece, box, body)) if burned else (),
    )


def _numbers(box: Box, body: RoundBody, rotary: Rotary) -> WrapNumbers:
    factor = scale_factor(body, rotary)
    return WrapNumbers(
        circumference=body.circumference,
        diameter=body.circumference / math.pi,
        axis=rotary.axis,
        turn=body.circumference * factor,
        factor=factor,
        surface=(box.width, box.height),
        machine=(box.width * factor, box.height),
        degrees=360.0 * box.width / body.circumference,
    )


def _problems(piece: str, box: Box, body: RoundBody) -> list[Problem]:
    found = []
    free = body.circumference - body.seam
    width, height = format_mm(box.width, 2), format_mm(box.height, 2)
    if box.width > free + _SLACK_MM:
        message = (
            f"The artwork is {width} mm wide, but only {format_mm(free, 2)} mm are free round the thing "
            f"(circumference {format_mm(body.circumference, 2)} mm less a seam of "
            f"{format_mm(body.seam, 2)} mm)."
        )
        hint = "Use a narrower design or a thicker blank, and measure the circumference with a tape."
        found.append(Problem(Severity.STOP, "wider-than-the-turn", message, hint, piece=piece))
    elif _crosses_seam(box, body):
        message = (
            f"The artwork lies across the seam: round the thing it reaches from {format_mm(box.x0, 2)} to "
            f"{format_mm(box.x1, 2)} mm, and the seam is at 0 and {format_mm(body.circumference, 2)} mm."
        )
        hint = "Move it round the thing, away from the seam."
        found.append(Problem(Severity.LOOK, "across-the-seam", message, hint, piece=piece))
    if box.y0 < -_SLACK_MM or box.y1 > body.height + _SLACK_MM:
        message = (
            f"The artwork is {height} mm high and reaches from {format_mm(box.y0, 2)} to "
            f"{format_mm(box.y1, 2)} mm along the thing, which may be marked from 0 to "
            f"{format_mm(body.height, 2)} mm."
        )
        hint = "Make the design lower or move it; beyond that height the surface is not straight or not free."
        found.append(Problem(Severity.STOP, "off-the-height", message, hint, piece=piece))
    return found


def _crosses_seam(box: Box, body: RoundBody) -> bool:
    """Whether artwork reaches into the strip of `seam` mm whose middle is where the surface closes."""
    half = body.seam / 2
    return box.x0 < half - _SLACK_MM or box.x1 > body.circumference - half + _SLACK_MM
