"""Jigs: the drawing to cut one, and where a measured one really lies."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np

from render.errors import MonikerfError
from render.geometry import Path
from render.geometry.shapes import circle, line, rectangle
from render.geometry.subdivide import subdivided
from render.model import Blank, Jig
from render.sheets.offset import offset
from render.units import round_mm

CORNER_MM: Final = 3.0
_CHORD_MM: Final = 0.003
_CROSS_MM: Final = 2.0
_LABEL_ROOM_MM: Final = 4.0
_TINY_MM: Final = 1e-6


@dataclass(frozen=True, slots=True)
class JigPlan:
    """How a jig is to be, mm.

    Attributes:
        columns, rows: places; 0 for as many as the bed takes.
        play: air between a blank and its pocket, all round.
        between: least material between a pocket, or its notch, and what is next.
        margin: from the jig's edge to the first pocket.
        inset: from the bed's corner to the jig's corner.
        thumb: radius of the notch that lets a finger under a blank; 0 for none, None for a fitting one.
        kerf: width that the beam takes away from the jig's material; the pocket is drawn narrower by half.
    """

    columns: int = 0
    rows: int = 0
    play: float = 0.2
    between: float = 7.0
    margin: float = 14.0
    inset: float = 5.0
    thumb: float | None = None
    kerf: float = 0.0


@dataclass(frozen=True, slots=True)
class JigDrawing:
    """A jig on the bed, mm from the bed's corner.

    Attributes:
        jig: its places.
        pockets: by place, row after row.
        edge: its own outline.
        labels: for each place the left end of the baseline and the size in mm to the em of its number.
        pins: three crosses to be measured later, and where they are.
        size: of the jig.
    """

    jig: Jig
    pockets: tuple[Path, ...]
    edge: Path
    labels: tuple[tuple[complex, float], ...]
    pins: tuple[complex, ...]
    size: tuple[float, float]

    def crosses(self) -> Path:
        """The pins as open lines."""
        arms = (_CROSS_MM + 0j, 1j * _CROSS_MM)
        return Path.joined(line(pin - arm, pin + arm) for pin in self.pins for arm in arms)


def draw_jig(blank: Blank, bed: tuple[float, float], plan: JigPlan, id_: str) -> JigDrawing:
    """A plate with a pocket for each blank: its outline grown by the play, a thumb notch at its right.

    Raises:
        MonikerfError: the figures make no sense, or not one blank fits the bed.
    """
    _sensible(plan)
    box = blank.outline.bounds()
    side = min(8.0, 0.28 * box.height) if plan.thumb is None else plan.thumb
    pocket = _pocket(blank.outline.moved(-box.x0, -box.y0), plan.play - plan.kerf / 2, side)
    reach = pocket.bounds()
    pitch = (
        _up(reach.width + plan.between + plan.kerf),
        _up(reach.height + max(plan.between, _LABEL_ROOM_MM + 2) + plan.kerf),
    )
    counts = [
        _count(asked, room, first, step, plan)
        for asked, room, first, step in zip(
            (plan.columns, plan.rows), bed, (reach.width, reach.height), pitch, strict=True
        )
    ]
    if min(counts) < 1:
        raise MonikerfError(
            f"the jig does not fit the bed of {bed[0]:g} × {bed[1]:g} mm",
            hint="ask for fewer columns or rows, a narrower margin, or another machine",
        )
    start = plan.inset + plan.margin
    origin = (_up(start - reach.x0), _up(start - reach.y0))
    count = counts[0] * counts[1]
    title = f"Jig with {count} {'place' if count == 1 else 'places'}: {blank.title}"
    jig = Jig(id_, title, counts[0], counts[1], origin, pitch)
    wide = origin[0] + reach.x1 + pitch[0] * (counts[0] - 1) + plan.margin - plan.inset
    high = origin[1] + reach.y1 + pitch[1] * (counts[1] - 1) + plan.margin - plan.inset
    corners = places(jig)
    pockets = tuple(pocket.moved(c.real, c.imag) for c in corners)
    labels = tuple((complex(c.real, c.imag + reach.y0 - 1.5), _LABEL_ROOM_MM) for c in corners)
    near, far = plan.inset + plan.margin / 2, -plan.margin / 2
    pins = (
        complex(near, near),
        complex(plan.inset + wide + far, near),
        complex(near, plan.inset + high + far),
    )
    drawn = tuple(complex(round_mm(p.real), round_mm(p.imag)) for p in pins)
    edge = rectangle(plan.inset, plan.inset, wide, high, CORNER_MM)
    return JigDrawing(jig, pockets, edge, labels, drawn, (wide, high))


def places(jig: Jig) -> tuple[complex, ...]:
    """The top left corner of each place, row after row."""
    return tuple(
        complex(jig.origin[0] + jig.pitch[0] * column, jig.origin[1] + jig.pitch[1] * row)
        for row in range(jig.rows)
        for column in range(jig.columns)
    )


def _sensible(plan: JigPlan) -> None:
    for name, value, least, most in (
        ("play", plan.play, 0.0, 5.0),
        ("kerf", plan.kerf, 0.0, 2.0),
        ("between", plan.between, 2.0, 200.0),
        ("margin", plan.margin, 10.0, 200.0),
        ("inset", plan.inset, 0.0, 500.0),
        ("thumb", plan.thumb or 0.0, 0.0, 40.0),
    ):
        if not least <= value <= most:
            raise MonikerfError(
                f"a {name} of {value:g} mm cannot be meant", hint=f"give {least:g} to {most:g} mm"
            )


def _up(value: float) -> float:
    """The next tenth of a millimetre: figures that a person can type."""
    return round(math.ceil(value * 10 - 1e-6) / 10, 1)


def _count(asked: int, bed: float, first: float, step: float, plan: JigPlan) -> int:
    """How many places in a row; 0 if what was asked for does not fit."""
    room = bed - 2 * plan.inset - 2 * plan.margin - first - 0.2
    most = math.floor(room / step) + 1 if room >= 0 else 0
    return (asked if asked <= most else 0) if asked else most


def _pocket(outline: Path, grown: float, thumb: float) -> Path:
    """The outline grown, smooth, united with the notch; the blank's own corner at the origin."""
    (whole,) = [p for p, _ in offset(tuple(outline.contours())[:1], grown)][:1] or [Path.empty()]
    if not whole:
        raise MonikerfError("the pocket is too narrow to be cut", hint="ask for more play, or check the kerf")
    if thumb < 0.5:
        return whole
    import shapely

    plain = shapely.Polygon(_xy(whole))
    middle = (plain.bounds[1] + plain.bounds[3]) / 2
    across = plain.intersection(shapely.LineString([(-1e4, middle), (1e4, middle)]))
    united: Any = plain.union(shapely.Polygon(_xy(circle(complex(across.bounds[2], middle), thumb))))
    if united.geom_type != "Polygon" or len(united.interiors):
        raise MonikerfError("the thumb notch does not go with this outline", hint="ask for --thumb 0")
    xy = shapely.get_coordinates(united.exterior)[:-1]
    return Path.polygon(xy[:, 0] + 1j * xy[:, 1])


def _xy(path: Path) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    points = subdivided(path, _CHORD_MM).points
    return np.stack((points.real, points.imag), axis=1)


@dataclass(frozen=True, slots=True)
class Fit:
    """How measured points lie to drawn ones: measured = factor × drawn + shift, all as x + iy.

    Attributes:
        residuals: what is left at each point, mm.
    """

    factor: complex
    shift: complex
    residuals: tuple[float, ...]

    @property
    def scale(self) -> float:
        """How many mm one drawn mm is."""
        return abs(self.factor)

    @property
    def turn(self) -> float:
        """Degrees, clockwise as seen."""
        return math.degrees(math.atan2(self.factor.imag, self.factor.real))

    @property
    def rms(self) -> float:
        """Root of the mean square of what is left, mm."""
        return math.sqrt(sum(r * r for r in self.residuals) / len(self.residuals))

    def at(self, point: complex) -> complex:
        """Where a drawn point really lies."""
        return self.factor * point + self.shift


def fit_pins(drawn: Sequence[complex], measured: Sequence[complex]) -> Fit:
    """The shift, turn and scale, without mirroring, that bring drawn points nearest to measured ones.

    Least squares; as complex numbers the solution is closed: with both sets about their means the factor is
    Σ z̄w / Σ z̄z (derived here; it is the orthogonal Procrustes problem with scale in the plane).

    Raises:
        MonikerfError: fewer than three points, all of them in one place, or they fit only when mirrored.
    """
    if len(drawn) < 3:
        raise MonikerfError("a jig is fitted by three points or more", hint="measure another pin")
    z, w = np.array(drawn, np.complex128), np.array(measured, np.complex128)
    about, around = z - z.mean(), w - w.mean()
    if np.abs(about).max() < 1 or np.abs(around).max() < 1:
        raise MonikerfError(
            "the points lie in one place", hint="take points far apart, such as three corners"
        )
    square = float((about * about.conj()).real.sum())
    factor = complex((about.conj() * around).sum() / square)
    left = np.abs(around - factor * about)
    mirrored = np.abs(around - (about * around).sum() / square * about.conj())
    if float(left.max()) > 1 and float(mirrored.max()) < float(left.max()) / 4:
        raise MonikerfError(
            "the points fit only when mirrored",
            hint="x goes to the right and y down from the bed's top left corner; check the order of the pins",
        )
    shift = complex(w.mean() - factor * z.mean())
    return Fit(factor, shift, tuple(float(r) for r in left))


def refitted(jig: Jig, fit: Fit, size: tuple[float, float]) -> tuple[Jig, float]:
    """The jig as it really lies, and by how much, mm, the worst corner of a piece is still off.

    Origin and pitch follow the fit; a turn cannot, since pieces lie square to the bed: its share is what
    remains. Among all such jigs this one is nearest to the true middles of the pieces, by least squares.

    Args:
        jig: as drawn.
        fit: see :func:`fit_pins`.
        size: width and height of a blank, mm.
    """
    along = fit.factor.real
    pitch = (round_mm(jig.pitch[0] * along), round_mm(jig.pitch[1] * along))
    half = complex(size[0], size[1]) / 2
    true = np.array([fit.at(corner + half) for corner in places(jig)])
    square = replace(jig, origin=(0.0, 0.0), pitch=pitch)
    start = true.mean() - np.mean([corner + half for corner in places(square)])
    moved = replace(square, origin=(round_mm(start.real), round_mm(start.imag)))
    off = np.abs(true - np.array([corner + half for corner in places(moved)])).max()
    lever = abs(half) * 2 * abs(math.sin(math.radians(fit.turn) / 2))
    return moved, float(off) + lever
