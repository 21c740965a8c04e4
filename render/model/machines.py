"""Machines, their rotaries and light, and the recipes burned on them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from render.model.operations import Operation


class RotaryKind(StrEnum):
    """How a rotary turns the thing."""

    CHUCK = "chuck"
    """Grips it: turns by angle, whatever the thing's size."""
    ROLLER = "roller"
    """Carries it on rollers: turns by length on the surface."""


@dataclass(frozen=True, slots=True)
class Calibration:
    """What marks measured on a turning thing taught: the axis must be sent `factor` times what it was.

    Attributes:
        error: by what share the factor may be wrong (95 % of cases).
        marks: how many measurements it rests on; 0 where nothing was measured.
        date: of the last, ISO 8601.
    """

    factor: float = 1.0
    error: float = 0.0
    marks: int = 0
    date: str = ""


@dataclass(frozen=True, slots=True)
class Rotary:
    """A rotary device.

    Attributes:
        turn: mm of the replaced axis that make one full turn of the chuck (CHUCK only; 0 for ROLLER).
        axis: the machine axis it replaces, ``x`` or ``y``: that axis runs round the thing.
        fastest, acceleration: its limits in mm/s and mm/s² of that axis; 0 where they are the axis' own.
        steps: motor steps in one full turn of the chuck; 0 where they do not matter.
        scales: whether the machine itself scales, told the circumference: files then hold surface lengths.
        reversed: whether it turns the other way than the axis would go.
        slip: share of each turn that rollers lose, such as 0.01.
        tilt: degrees by which its axis is tilted so that a thin lower end comes up; None: as the thing needs.
        longest, thinnest, thickest: of what it takes, mm; 0 where unknown.
        heaviest: of what it takes, g; 0 where unknown.
    """

    kind: RotaryKind
    turn: float = 0.0
    axis: str = "y"
    fastest: float = 0.0
    acceleration: float = 0.0
    steps: int = 0
    scales: bool = False
    reversed: bool = False
    slip: float = 0.0
    tilt: float | None = 0.0
    longest: float = 0.0
    thinnest: float = 0.0
    thickest: float = 0.0
    heaviest: float = 0.0
    calibration: Calibration = Calibration()


@dataclass(frozen=True, slots=True)
class Motion:
    """How fast a machine's head can move: limits of motion, never a setting for a material.

    Attributes:
        fastest: mm/s along x and y.
        acceleration: mm/s² along x and y.
        corner: by how much, mm, the head may be thought to round a corner: it sets the speed there.
        together: whether everything on one scan line of a sheet is swept in one go, or each piece by itself.
        hurries: whether gaps within a scan line are crossed at full speed, or at the engraving speed.
    """

    fastest: tuple[float, float]
    acceleration: tuple[float, float]
    corner: float = 0.01
    together: bool = True
    hurries: bool = False


@dataclass(frozen=True, slots=True)
class Timing:
    """What timed jobs taught: true seconds = start + factor × computed seconds.

    Attributes:
        error: by what share a job not used for the fit was wrong, at most; None where too few were timed.
        jobs: how many were timed.
    """

    factor: float = 1.0
    start: float = 0.0
    error: float | None = None
    jobs: int = 0


@dataclass(frozen=True, slots=True)
class Recipe:
    """Settings that a shop found by its own test cards: Monikerf keeps them and never makes one up.

    Attributes:
        machine, material: ids.
        speed: mm/s, as the machine's software is told (in the machine's mm, also on a rotary).
        power: per cent of that machine's own scale.
        passes: how often the operation is run.
        interval: distance of scan lines, mm (ENGRAVE only; else 0).
        both_ways: whether scan lines are burned going forth and back.
        thickness: of the material tested, mm; 0 where it does not matter.
        date: of the test, ISO 8601.
        batch: of the material; may be empty.
        photo: path of a photo of the test; may be empty.
    """

    id: str
    machine: str
    material: str
    operation: Operation
    speed: float
    power: float
    date: str
    passes: int = 1
    interval: float = 0.0
    both_ways: bool = True
    thickness: float = 0.0
    batch: str = ""
    photo: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Light:
    """A kind of light source.

    Attributes:
        wavelength: shortest and longest, nm.
        seen: whether the eye can see it.
        cuts_to: thickness in mm that a source of `cuts_to_watts` goes through well; 0 where nothing is said.
        cautions: safety words that belong on each report.
    """

    id: str
    title: str
    wavelength: tuple[float, float]
    seen: bool
    cuts_to: float = 0.0
    cuts_to_watts: float = 0.0
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Machine:
    """A laser: its bed (width, height in mm), light, spot and the colours it tells operations apart by.

    Attributes:
        light: in words.
        light_source: id of its light source; empty where unknown.
        watts: optical output by its data sheet; 0 where unknown.
        motion: limits of its motion; None where nobody has said.
        timing: what timed jobs taught.
        kerfs: width in mm that the beam takes away, by material, as measured.
        focus_depth: how far, mm, the surface may be out of focus either way, as tried; 0 where not tried.
        passes_through: the way, ``x`` or ``y``, in which longer material can be moved on; or empty.
    """

    id: str
    title: str
    bed: tuple[float, float]
    light: str
    spot: float
    colours: Mapping[Operation, str]
    rotary: Rotary | None = None
    cautions: tuple[str, ...] = ()
    light_source: str = ""
    watts: float = 0.0
    motion: Motion | None = None
    timing: Timing = Timing()
    kerfs: Mapping[str, float] = field(default_factory=dict)
    focus_depth: float = 0.0
    passes_through: str = ""
