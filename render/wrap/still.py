"""Things that do not turn: a flat side, a bowl or a spoon, a sleeve that is cut flat and goes round."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from render.errors import LibraryError
from render.geometry import LINE, Box, Path, shapes
from render.geometry.path import CLOSE, CUBIC, MOVE
from render.geometry.solids import Profile, Sector
from render.geometry.subdivide import subdivided
from render.model import BURN_ORDER, Artwork, Blank, Lay, Problem, RoundBody, Severity, Sleeve, Surface
from render.units import format_mm
from render.wrap.bodies import cap_radius, profile_of
from render.wrap.distortion import distortion_of, strain_of
from render.wrap.figures import WrapNumbers, Wrapped
from render.wrap.focus import flat_width
from render.wrap.lays import CapMap, DrawingMap, RimMap, StillMap
from render.wrap.wrapping import TOLERANCE_MM

Points = NDArray[np.complex128]

STILL_CAUTIONS: Final = (
    "Bed the thing so that it can neither rock nor roll, with the marked part level and in the middle.",
    "Check that head and lens clear its rim and handle over the whole of the artwork, beam off.",
    "Curved and polished surfaces throw the beam back in other directions than flat ones: keep lids and "
    "shields closed.",
    "Let nothing that touches food or drink be marked where its coating is broken by it.",
)
"""Safety words for curved things that lie still: common practice, no source."""


@dataclass(frozen=True, slots=True)
class StillWrapper:
    """Lays drawings on a thing that does not turn.

    Attributes:
        drawn: how the drawing lies on it.
        radius: of its curve, mm; infinite for a flat side.
        focus: how far the surface may be out of focus either way, mm; 0 where unknown.
    """

    body: RoundBody
    drawn: DrawingMap
    radius: float
    focus: float = 0.0
    tolerance: float = TOLERANCE_MM

    @classmethod
    def of(cls, body: RoundBody, *, focus: float = 0.0) -> StillWrapper:
        """For a flat side or a cap.

        Raises:
            LibraryError: the body is neither, or its depth does not go with its chord.
        """
        if body.surface is Surface.FLAT:
            return cls(body, StillMap(), math.inf, focus)
        radius = cap_radius(body)
        return cls(body, CapMap(radius, complex(*body.drawn) / 2), radius, focus)

    def problems(self) -> tuple[Problem, ...]:
        """None: no device takes it."""
        return ()

    def wrap(self, artwork: Artwork) -> Wrapped:
        """Lay one piece; the artwork is drawn true on the surface, from the middle of the thing."""
        marks, cuts, fine = [], [], self.tolerance / 2
        for mark in artwork.marks:
            path = mark.path
            if path and not self.drawn.affine:
                path = subdivided(path, fine, lambda ends, lengths: self.drawn.pieces(ends, lengths, fine))
            cuts.append(path)
            marks.append(replace(mark, path=Path(path.commands, self.drawn.to_surface(path.points))))
        laid = replace(artwork, marks=tuple(marks))
        burned = [i for i, mark in enumerate(marks) if mark.operation in BURN_ORDER and mark.path]
        box = Path.joined(marks[i].path for i in burned).bounds() if burned else Box(0, 0, 0, 0)
        depths = np.zeros(1)
        if isinstance(self.drawn, CapMap) and burned:
            depths = np.concatenate([self.drawn.depth(cuts[i].points) for i in burned])
        middle = complex(*self.body.drawn) / 2
        round_it = box.x0 <= middle.real <= box.x1 and box.y0 <= middle.imag <= box.y1
        change = float(depths.max() - (0.0 if round_it else depths.min()))
        numbers = WrapNumbers(
            circumference=self.body.circumference,
            diameter=0.0 if math.isinf(self.radius) else 2 * self.radius,
            axis="",
            turn=0.0,
            factor=1.0,
            surface=(box.width, box.height),
            machine=(box.width, box.height),
            degrees=0.0,
            residual=0.0 if self.drawn.affine else self.tolerance,
            focus_change=change,
            distortion=distortion_of(strain_of(self.drawn, cuts[i].points) for i in burned),
        )
        return Wrapped(
            laid,
            laid,
            tuple(self.drawn for _ in marks),
            tuple(Lay.LABEL for _ in marks),
            None,
            numbers,
            self._problems(artwork.piece, change),
            STILL_CAUTIONS,
        )

    def _problems(self, piece: str, change: float) -> tuple[Problem, ...]:
        if not self.focus or change <= 2 * self.focus:
            return ()
        wide = flat_width(self.radius, self.focus)
        message = (
            f"Under the artwork the surface falls away by {format_mm(change, 2)} mm, and the beam stays "
            f"sharp over {format_mm(2 * self.focus, 2)} mm, or {format_mm(wide, 1)} mm across this curve."
        )
        hint = "Make the artwork smaller, or let the machine follow the heights (monikerf wrap lists them)."
        return (Problem(Severity.LOOK, "out-of-focus", message, hint, piece=piece),)


@dataclass(frozen=True, slots=True)
class SleeveWrapper:
    """Lays drawings on a sleeve that is cut flat: on the developed sector, or the rectangle, of its body.

    Attributes:
        sector: the development; None for a straight body.
        offset: what brings the sleeve's box to (0, 0).
        cut: the blank that is cut: outline with its flap, and holes.
    """

    body: RoundBody
    profile: Profile
    sector: Sector | None
    offset: complex
    cut: Blank
    tolerance: float = TOLERANCE_MM

    @classmethod
    def of(cls, blank: Blank) -> SleeveWrapper:
        """For a blank whose body is a sleeve.

        Raises:
            LibraryError: it is no sleeve, or its body is neither a cylinder nor one cone.
        """
        body = blank.body
        if body is None or body.surface is not Surface.SLEEVE:
            raise LibraryError(f"{blank.title} is no sleeve.", place=f"blank {blank.id}")
        profile = profile_of(body)
        if profile.s.size != 2:
            raise LibraryError("A sleeve goes round a cylinder or a cone.", place=f"blank {blank.id}")
        sector = None if profile.is_straight else Sector.of(profile)
        rule = body.sleeve or Sleeve()
        outline = _outline(profile, sector, rule.seam)
        box = outline.bounds()
        offset = complex(-box.x0, -box.y0)
        holes = tuple(
            shapes.circle(at + offset, rule.holes / 2) for at in _hole_places(profile, sector, rule)
        )
        outline = outline.moved(offset.real, offset.imag)
        cut = replace(blank, outline=outline, holes=holes, markable=outline, body=None)
        return cls(body, profile, sector, offset, cut)

    def problems(self) -> tuple[Problem, ...]:
        """None: nothing turns."""
        return ()

    def plane(self, surface: Points) -> Points:
        """Places of the body on the flat sleeve, mm."""
        return _plane(surface, self.profile, self.sector) + self.offset

    def wrap(self, artwork: Artwork) -> Wrapped:
        """Lay one piece on the flat sleeve; level lines go round level when it is closed."""
        drawn = RimMap(self.profile, self.body.circumference / 2, math.pi)
        marks, surface, cuts, fine = [], [], [], self.tolerance / 2
        for mark in artwork.marks:
            path = mark.path
            if path and self.sector is not None:
                path = subdivided(path, fine, lambda ends, lengths: self._pieces(drawn, ends, lengths, fine))
            on_body = Path(path.commands, drawn.to_surface(path.points))
            cuts.append(path)
            surface.append(replace(mark, path=on_body))
            marks.append(replace(mark, path=Path(path.commands, self.plane(on_body.points))))
        burned = [i for i, mark in enumerate(marks) if mark.operation in BURN_ORDER and mark.path]
        box = Path.joined(surface[i].path for i in burned).bounds() if burned else Box(0, 0, 0, 0)
        flat = self.cut.outline.bounds()
        wide = box.width / (2 * math.pi)
        numbers = WrapNumbers(
            circumference=self.body.circumference,
            diameter=self.body.circumference / math.pi,
            axis="",
            turn=0.0,
            factor=1.0,
            surface=(wide * self.body.circumference, box.height),
            machine=(flat.width, flat.height),
            degrees=360 * wide,
            residual=0.0 if self.sector is None else self.tolerance,
            distortion=distortion_of(strain_of(drawn, cuts[i].points) for i in burned),
        )
        return Wrapped(
            replace(artwork, marks=tuple(marks)),
            replace(artwork, marks=tuple(surface)),
            tuple(drawn for _ in marks),
            tuple(Lay.RIM for _ in marks),
            None,
            numbers,
            (),
            (),
        )

    def _pieces(
        self, drawn: RimMap, ends: Points, lengths: NDArray[np.float64], tolerance: float
    ) -> NDArray[np.float64]:
        """As on the cone, and on the sector besides, where level lines become arcs."""
        inner = self.sector.inner if self.sector else math.inf
        bent = lengths * math.sqrt(math.sqrt(5) / (8 * inner * tolerance))
        return np.maximum(drawn.pieces(ends, lengths, tolerance), bent)


def _plane(surface: Points, profile: Profile, sector: Sector | None) -> Points:
    if sector is not None:
        return sector.plane(surface, math.pi)
    return np.asarray((surface.real - math.pi) * profile.r[0] + 1j * surface.imag)


def _outline(profile: Profile, sector: Sector | None, seam: float) -> Path:
    """The sleeve's rim: two arcs (or lines) and two straight sides, the right one `seam` mm further out."""
    turn, height = 2 * math.pi, profile.height
    ends = np.array([0, turn, turn + 1j * height, 1j * height])
    left_top, right_top, right_foot, left_foot = _plane(ends, profile, sector)
    side = (right_foot - right_top) / abs(right_foot - right_top)
    out = side * -1j * seam
    flap = [right_top + out, right_foot + out, right_foot] if seam else [right_foot]
    if sector is None:
        corners = [left_top, right_top, *flap, left_foot]
        return Path.polygon(complex(c) for c in corners)
    sign = 1.0 if sector.narrows else -1.0
    centre = 1j * (sector.outer if sector.narrows else -sector.inner)
    upper = sector.outer if sector.narrows else sector.inner
    lower = sector.inner if sector.narrows else sector.outer
    half = sector.angle / 2
    up = -90.0 if sector.narrows else 90.0
    top = shapes.arc_points(centre, upper, upper, up - sign * half, sign * sector.angle)
    foot = shapes.arc_points(centre, lower, lower, up + sign * half, -sign * sector.angle)
    points = [complex(left_top), *top, *map(complex, flap), *foot]
    codes = [MOVE, *[CUBIC] * (len(top) // 3), *[LINE] * len(flap), *[CUBIC] * (len(foot) // 3), CLOSE]
    return Path(np.array(codes, np.uint8), np.array(points, np.complex128))


def _hole_places(profile: Profile, sector: Sector | None, rule: Sleeve) -> list[complex]:
    """Middles of the holes along both straight edges, in pairs that meet when the sleeve is closed.

    They are spread evenly, `pitch` apart at most; with a flap its edge has them as far in as the other edge,
    both measured from where the edges of the full turn meet.
    """
    if not rule.holes:
        return []
    room = profile.height - 2 * rule.edge
    if room < 0 or rule.edge <= rule.holes / 2:
        raise LibraryError(
            "The holes of the sleeve do not fit its edges.", hint="Make them smaller, or set them further in."
        )
    count = math.floor(room / rule.pitch + 1e-9) + 1
    heights = (
        np.linspace(rule.edge, profile.height - rule.edge, count)
        if count > 1
        else np.array([profile.height / 2])
    )
    radius = profile.radius(heights)
    lap = rule.edge if not rule.seam else rule.seam / 2
    inward = rule.edge if not rule.seam else lap
    outward = -rule.edge if not rule.seam else lap
    left = inward / radius + 1j * heights
    right = 2 * math.pi + outward / radius + 1j * heights
    return [complex(z) for z in (*_plane(left, profile, sector), *_plane(right, profile, sector))]
