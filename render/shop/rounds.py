"""Round things and rotaries as the shop library writes them.

A ``[body]`` says what a thing measures in one of five ways:

* straight: `circumference` or `diameter`, and `height`;
* a cone: `top_circumference` and `bottom_circumference` (or both diameters), and either `slant`, along the
  surface, or `height`, along the axis;
* a profile: pairs of distance along the axis and circumference (or, with ``profile_of = "diameter"``,
  diameter), from the top down;
* a cap (``surface = "cap"``): `across`, `along` and `sagitta`, the depth below a straight edge;
* a flat side (``surface = "flat side"``): `across` and `along`.

A sleeve (``surface = "sleeve"``) is measured as the thing that it goes round.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Annotated, Final, Literal

from pydantic import Field, model_validator

from render.geometry import Path, shapes
from render.geometry.solids import Profile, frustum
from render.model import (
    Calibration,
    KeepOut,
    Lay,
    Place,
    Rotary,
    RotaryKind,
    RoundBody,
    Severity,
    Sleeve,
    Surface,
)
from render.shop.outlines import Distance, Length, Table, Words
from render.shop.outlines import Place as Mm

TAPE_MM: Final = 0.5
"""By how much a circumference measured by tape may be wrong: common practice, no source."""
CALIPER_MM: Final = 0.1
"""By how much a diameter measured by caliper may be wrong: common practice, no source."""

Degrees = Annotated[float, Field(ge=-360, le=720, allow_inf_nan=False)]
Share = Annotated[float, Field(ge=0, lt=0.5, allow_inf_nan=False)]

_WAYS: Final = {
    "circumference": ("circumference",),
    "diameter": ("diameter",),
    "two circumferences": ("top_circumference", "bottom_circumference"),
    "two diameters": ("top_diameter", "bottom_diameter"),
    "profile": ("profile",),
    "across": ("across", "along"),
}
"""The ways to say how thick a thing is."""
_CALIPER: Final = ("diameter", "two diameters")


class PlaceTable(Table):
    """A place round a thing."""

    name: Words
    at: Annotated[float, Field(ge=0, le=360, allow_inf_nan=False)]
    width: Distance = 0.0
    lay: Lay = Lay.RIM


class KeepOutTable(Table):
    """Part of a surface that stays free: all round and all the way down unless it says otherwise."""

    what: Words
    start: Degrees = Field(default=0.0, alias="from")
    end: Degrees = Field(default=360.0, alias="to")
    top: Mm = 0.0
    bottom: Distance | None = None
    severity: Severity = Severity.STOP

    @model_validator(mode="after")
    def _order(self) -> KeepOutTable:
        if self.end <= self.start or (self.bottom is not None and self.bottom <= self.top):
            raise ValueError("from must come before to, and top above bottom")
        return self


class SleeveTable(Table):
    """How a sleeve is closed."""

    seam: Distance = 0.0
    holes: Distance = 0.0
    pitch: Length = 5.0
    edge: Length = 3.0


class BodyTable(Table):
    """A round body, or one that lies still."""

    circumference: Length | None = None
    diameter: Length | None = None
    top_circumference: Length | None = None
    bottom_circumference: Length | None = None
    top_diameter: Length | None = None
    bottom_diameter: Length | None = None
    profile: tuple[tuple[Mm, Length], ...] | None = Field(default=None, max_length=500)
    profile_of: Literal["circumference", "diameter"] = "circumference"
    across: Length | None = None
    along: Length | None = None
    height: Length | None = None
    slant: Length | None = None
    sagitta: Distance = 0.0
    surface: Surface = Surface.ROUND
    lay: Lay = Lay.RIM
    seam: Distance = 0.0
    error: Distance | None = None
    places: tuple[PlaceTable, ...] = ()
    keep_outs: tuple[KeepOutTable, ...] = ()
    inside: bool = False
    lying: bool = False
    overlap: Distance = 0.0
    hide_seam: bool = False
    rim: Distance = 0.0
    contact: Distance | None = None
    length: Distance = 0.0
    weight: Distance = 0.0
    sleeve: SleeveTable | None = None

    @model_validator(mode="after")
    def _measured_once(self) -> BodyTable:
        way = self._way()
        still = self.surface in (Surface.FLAT, Surface.CAP)
        if still != (way == "across"):
            raise ValueError("across and along measure a flat side or a cap, and nothing else does")
        if (self.surface is Surface.CAP) != (self.sagitta > 0):
            raise ValueError("sagitta, the depth, belongs to a cap, and only to a cap")
        if (self.slant is not None) and not way.startswith("two"):
            raise ValueError("slant belongs to a cone; elsewhere say height")
        heights = (self.height is not None) + (self.slant is not None)
        if heights != (0 if way in ("profile", "across") else 1):
            raise ValueError("say how high it is once: height, or for a cone slant, or by its profile")
        self.stations()
        return self

    def _way(self) -> str:
        """By which measures the body is given.

        Raises:
            ValueError: by none, by several, or by half of them.
        """
        given = {name for names in _WAYS.values() for name in names if getattr(self, name) is not None}
        for way, names in _WAYS.items():
            if given == set(names):
                return way
        raise ValueError(
            "say how thick it is in one way: circumference, diameter, top_ and bottom_circumference, top_ "
            "and bottom_diameter, profile, or across and along"
        )

    def stations(self) -> tuple[tuple[float, float], ...]:
        """Distance along the axis and circumference, mm; empty where the body is straight or lies still.

        Raises:
            ValueError: the measures cannot be true together.
        """
        way, grown = self._way(), 1.0
        if way == "profile":
            grown = math.pi if self.profile_of == "diameter" else 1.0
            found = tuple((z, c * grown) for z, c in self.profile or ())
            Profile.of(found)
            return found
        if not way.startswith("two"):
            return ()
        if way == "two diameters":
            top, bottom = math.pi * (self.top_diameter or 0), math.pi * (self.bottom_diameter or 0)
        else:
            top, bottom = self.top_circumference or 0.0, self.bottom_circumference or 0.0
        cone = frustum(top, bottom, slant=self.slant or 0.0, axial=self.height or 0.0)
        return () if top == bottom else ((0.0, top), (float(cone.z[-1]), bottom))

    def value(self) -> RoundBody:
        """The body."""
        stations, way = self.stations(), self._way()
        if stations:
            profile = Profile.of(stations)
            height = profile.height
            circumference = 2 * math.pi * float(profile.radius(profile.s[-1:] / 2)[0])
        else:
            height = self.along or self.height or self.slant or 0.0
            circumference = (
                self.across or self.circumference or self.top_circumference or math.pi * self._thick()
            )
        caliper = way in _CALIPER or (way == "profile" and self.profile_of == "diameter")
        usual = CALIPER_MM if caliper else TAPE_MM
        error = (usual if self.error is None else self.error) * (math.pi if caliper else 1.0)
        return RoundBody(
            circumference=circumference,
            height=height,
            seam=self.seam,
            stations=stations,
            surface=self.surface,
            lay=self.lay,
            places=tuple(Place(**place.model_dump()) for place in self.places),
            keep_outs=tuple(self._kept_free(keep_out, height) for keep_out in self.keep_outs),
            error=0.0 if way == "across" else error,
            inside=self.inside,
            lying=self.lying,
            sagitta=self.sagitta,
            overlap=self.overlap,
            hide_seam=self.hide_seam,
            rim=self.rim,
            contact=self.contact,
            length=self.length,
            weight=self.weight,
            sleeve=Sleeve(**self.sleeve.model_dump()) if self.sleeve else None,
        )

    def _thick(self) -> float:
        return self.diameter or self.top_diameter or 0.0

    def _kept_free(self, table: KeepOutTable, height: float) -> KeepOut:
        bottom = height if table.bottom is None else table.bottom
        return KeepOut(table.what, table.start, table.end, table.top, bottom, table.severity)


def drawn_outline(body: RoundBody) -> Path:
    """The unrolled surface."""
    return shapes.rectangle(0, 0, *body.drawn)


def free_surface(body: RoundBody) -> Path:
    """What may be marked of a body: its drawing less the seam and what is kept free along its edges.

    What is kept free in the middle of the surface leaves it whole; artwork that reaches there is found when
    it is wrapped.

    Raises:
        ValueError: nothing is left.
    """
    left, right, top, bottom = body.seam / 2, body.circumference - body.seam / 2, 0.0, body.height
    for start, end, above, below in _strips(body):
        if end - start >= body.circumference:
            top = max(top, below) if above <= 0 else top
            bottom = min(bottom, above) if below >= body.height else bottom
        elif above <= 0 and below >= body.height:
            left = max(left, end) if start <= 0 else left
            right = min(right, start) if end >= body.circumference else right
    if right <= left or bottom <= top:
        raise ValueError("what is kept free leaves nothing to mark")
    if body.lying:
        return shapes.rectangle(body.height - bottom, left, bottom - top, right - left)
    return shapes.rectangle(left, top, right - left, bottom - top)


def _strips(body: RoundBody) -> Iterator[tuple[float, float, float, float]]:
    """What is kept free, in mm of the drawing; what passes the start line at both of its ends."""
    turn = body.circumference
    for keep_out in body.keep_outs:
        start, end = (turn * degrees / 360 for degrees in (keep_out.start, keep_out.end))
        for shift in (-turn, 0.0, turn):
            if start + shift < turn and end + shift > 0:
                yield start + shift, end + shift, keep_out.top, keep_out.bottom


class CalibrationTable(Table):
    """What marks measured on a turning thing taught (written by ``monikerf calibrate-rotary``)."""

    factor: Annotated[float, Field(gt=0.5, lt=2, allow_inf_nan=False)] = 1.0
    error: Share = 0.0
    marks: int = Field(default=0, ge=0)
    date: str = ""


class RotaryTable(Table):
    """A rotary device."""

    kind: RotaryKind
    turn: Distance = 0.0
    axis: Literal["x", "y"] = "y"
    fastest: Distance = 0.0
    acceleration: Distance = 0.0
    steps: int = Field(default=0, ge=0, le=10_000_000)
    scales: bool = False
    reversed: bool = False
    slip: Share = 0.0
    tilt: Annotated[float, Field(ge=-60, le=60, allow_inf_nan=False)] | Literal["level"] = 0.0
    longest: Distance = 0.0
    thinnest: Distance = 0.0
    thickest: Distance = 0.0
    heaviest: Distance = 0.0
    calibration: CalibrationTable | None = None

    @model_validator(mode="after")
    def _turn(self) -> RotaryTable:
        if (self.turn > 0) != (self.kind is RotaryKind.CHUCK):
            raise ValueError("turn (mm of the axis in one full turn) belongs to a chuck, and only to a chuck")
        if self.slip and self.kind is RotaryKind.CHUCK:
            raise ValueError("slip belongs to rollers; a chuck grips")
        return self

    def value(self) -> Rotary:
        """The rotary."""
        values = self.model_dump(exclude={"calibration", "tilt"})
        learnt = Calibration(**self.calibration.model_dump()) if self.calibration else Calibration()
        return Rotary(**values, tilt=None if self.tilt == "level" else self.tilt, calibration=learnt)
