"""What wrapping gives back: artwork in machine coordinates, the figures to set, and what should be known."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from render.model import Artwork, Lay, Problem
from render.wrap.lays import DrawingMap
from render.wrap.turning import Turning

CAUTIONS: Final = (
    "Hold the piece so that it can neither slip nor fall while it turns; try a full turn with the beam off.",
    "Check that head and lens clear the piece, its rim and its handle all the way round, before the beam is "
    "on.",
    "Keep both hands away while it turns; stop it before you touch anything.",
    "Never engrave a sealed or filled vessel: heat can make it burst.",
    "Coatings and paints can give off harmful fumes: mark only what its maker's data sheet allows, under "
    "extraction, and stay with the machine.",
)
"""Safety words for every rotary run: common practice, no source. They replace neither the supplier's data
nor local rules."""


@dataclass(frozen=True, slots=True)
class Distortion:
    """By how much artwork comes out other than it was drawn, over all points of its outlines.

    Attributes:
        length: share by which a length is off, worst and mean.
        angle: degrees by which an angle is off, worst and mean.
        area: share by which an area is off, worst and mean.
    """

    length: tuple[float, float] = (0.0, 0.0)
    angle: tuple[float, float] = (0.0, 0.0)
    area: tuple[float, float] = (0.0, 0.0)


@dataclass(frozen=True, slots=True)
class WrapNumbers:
    """The figures a person checks before a run; lengths in mm, angles in degrees.

    Attributes:
        circumference, diameter: of the thing as drawn: on a taper the mean of its ends.
        axis: the machine axis that turns it.
        turn: mm that axis travels for one full turn of the thing.
        factor: machine mm for one mm round the drawing.
        surface: width round the thing and height along it of what is burned, on the surface.
        machine: the same width and height as the machine is sent them.
        degrees: how far round the thing the artwork reaches.
        residual: how far the burned lines may lie from the true map.
        set_circumference: what the operator enters where the machine scales or asks; where rollers touch.
        steps: motor steps of a full turn; 0 where they do not matter.
        mirrored: whether the picture is mirrored round the axis, for a device that turns the other way or
            for an inner side.
        start: degrees of the drawing at which the turn begins.
        tilt: of the axis.
        focus_change: how far the surface under the beam rises and falls over what is burned.
        width_error: by how much the widest artwork may come out too wide or narrow.
        closing_error: by how much a full turn may fail to meet its beginning.
        distortion: what the body's shape does to the drawing.
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
    set_circumference: float = 0.0
    steps: int = 0
    mirrored: bool = False
    start: float = 0.0
    tilt: float = 0.0
    focus_change: float = 0.0
    width_error: float = 0.0
    closing_error: float = 0.0
    distortion: Distortion = Distortion()


@dataclass(frozen=True, slots=True)
class Wrapped:
    """One piece, wrapped.

    Attributes:
        artwork: in machine coordinates, with the start line as a guide.
        on_surface: the same marks on the thing: radians round it + i mm along it.
        maps: for each mark of `on_surface`, how the drawing lies there.
        lays: the name of each of these maps.
        turning: how surface and machine go together; None where nothing turns.
        start: radians by which the turn begins later than the drawing.
    """

    artwork: Artwork
    on_surface: Artwork
    maps: tuple[DrawingMap, ...]
    lays: tuple[Lay, ...]
    turning: Turning | None
    numbers: WrapNumbers
    problems: tuple[Problem, ...] = ()
    cautions: tuple[str, ...] = CAUTIONS
    start: float = 0.0
