"""Things that turn under the beam."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from render.model.problems import Severity


class Surface(StrEnum):
    """What kind of surface a body shows to the beam."""

    ROUND = "round"
    """A body of revolution that turns in a rotary."""
    FLAT = "flat side"
    """A flat side of a bottle: it lies level and does not turn."""
    CAP = "cap"
    """Part of a sphere, such as a bowl or a spoon: it lies still under the beam."""
    SLEEVE = "sleeve"
    """Flat stock that is cut so that it goes round a body of revolution."""


class Lay(StrEnum):
    """How a drawing lies on a body that tapers."""

    RIM = "follow-the-rim"
    """Level lines run along circles; widths are true at every height, measured from the place's middle."""
    LABEL = "flat-label"
    """Like a paper label stuck on: nothing is stretched, straight lines stay straight when unrolled."""
    TURN = "full-turn"
    """The drawing's width is one full turn at every height: what closes on itself."""


@dataclass(frozen=True, slots=True)
class Place:
    """A place round a thing, for what lies near it in the drawing.

    Attributes:
        at: degrees round the thing from the start line, the drawing's left edge.
        width: mm of the drawing, about `at`, that belong to it; 0 for all that is nearest to it.
        lay: how what lies there is laid.
    """

    name: str
    at: float
    width: float = 0.0
    lay: Lay = Lay.RIM


@dataclass(frozen=True, slots=True)
class KeepOut:
    """Part of a body's surface that stays free: degrees round it (may pass 360), mm down from the rim.

    Attributes:
        what: ``handle``, ``seam``, ``lip``, ``base``, ``grip``, ``logo`` ...
        severity: what artwork that reaches into it means.
    """

    what: str
    start: float
    end: float
    top: float
    bottom: float
    severity: Severity = Severity.STOP


@dataclass(frozen=True, slots=True)
class Sleeve:
    """How a flat sleeve is closed, mm.

    Attributes:
        seam: width of the flap beyond the full turn; 0 where the edges meet.
        holes: diameter of the holes along both edges; 0 for none.
        pitch: distance of two holes.
        edge: from an edge to the middle of its holes.
    """

    seam: float = 0.0
    holes: float = 0.0
    pitch: float = 5.0
    edge: float = 3.0


@dataclass(frozen=True, slots=True)
class RoundBody:
    """A round body and how it is drawn: unrolled, x running round it and y along its surface from the rim.

    Attributes:
        circumference: width of the unrolled drawing, mm: measured by tape, or, where the body is not
            straight, reckoned half way down its surface.
        height: length along the surface that may be marked, mm.
        seam: width that stays free where the unrolled surface closes on itself, mm.
        stations: pairs of distance along the axis and circumference, mm, from the top of what may be marked
            down; empty for a straight cylinder.
        lay: how what belongs to no place is laid.
        error: by how much a measured circumference may be wrong, mm.
        inside: whether the inner side is marked, as in a ring.
        lying: whether the drawing lies on its side, its x running along the axis.
        sagitta: depth of a CAP, mm; its circumference and height are its chords then.
        overlap: by how much what goes all round runs on over its beginning, mm.
        hide_seam: whether the turn begins in the widest gap of the artwork.
        rim: from the thing's own rim down to the top of the drawing, mm.
        contact: where rollers touch it, mm down the surface; None for its thickest part.
        length, weight: of the whole thing, mm and g; 0 where unknown.
        sleeve: how a SLEEVE is closed.
        sent: what a machine is sent for one full turn and for the whole height, mm, where that is settled.
    """

    circumference: float
    height: float
    seam: float = 0.0
    stations: tuple[tuple[float, float], ...] = ()
    surface: Surface = Surface.ROUND
    lay: Lay = Lay.RIM
    places: tuple[Place, ...] = ()
    keep_outs: tuple[KeepOut, ...] = ()
    error: float = 0.0
    inside: bool = False
    lying: bool = False
    sagitta: float = 0.0
    overlap: float = 0.0
    hide_seam: bool = False
    rim: float = 0.0
    contact: float | None = None
    length: float = 0.0
    weight: float = 0.0
    sleeve: Sleeve | None = None
    sent: tuple[float, float] | None = None

    @property
    def drawn(self) -> tuple[float, float]:
        """Width and height of its drawing, mm."""
        return (self.height, self.circumference) if self.lying else (self.circumference, self.height)
