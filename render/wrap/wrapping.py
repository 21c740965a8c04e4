"""Wrapping: a drawing laid on a thing, point by point, and turned into what a rotary is sent."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from render.geometry import Path
from render.geometry.solids import Profile
from render.geometry.subdivide import cut_at_levels, subdivided
from render.model import BURN_ORDER, Artwork, Lay, Mark, Operation, Place, Problem, Rotary, RoundBody
from render.wrap.bodies import profile_of, sector_of
from render.wrap.checks import Laid, body_problems, find_problems
from render.wrap.distortion import Strain, distortion_of, strain_of
from render.wrap.figures import Distortion, WrapNumbers, Wrapped
from render.wrap.lays import DrawingMap, LabelMap, RimMap, Turned, TurnMap
from render.wrap.places import by_place
from render.wrap.seams import TURN, begun_at, extents, run_on, widest_gap
from render.wrap.turning import Turning, turning

Points = NDArray[np.complex128]
Floats = NDArray[np.float64]

TOLERANCE_MM: Final = 0.02
"""Default distance on the surface between a burned line and the true one: a fifth of a fine laser spot."""


_MOST_KNOWN: Final = 128
"""So many paths and what became of them are remembered: a design and a department come again and again."""


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """Contours that belong to one place, laid on the thing.

    Attributes:
        place: None for what belongs to none.
        lay, drawn: how they are laid.
        surface: where they lie: radians + i mm.
        reach: least and greatest angle of each contour.
        strain: what the thing's shape does to them.
    """

    place: Place | None
    lay: Lay
    drawn: DrawingMap
    surface: Path
    reach: tuple[Floats, Floats]
    strain: Strain


@dataclass(frozen=True, slots=True, eq=False)
class Wrapper:
    """Wraps artworks round one body for one rotary; made once, used for every piece of an order.

    Attributes:
        body, rotary: the thing and the device.
        profile: the thing's.
        turning: how the device turns it.
        tolerance: mm on the surface.
        focus: how far the surface may be out of focus either way, mm; 0 where unknown.
        known: paths of late and their parts.
    """

    body: RoundBody
    rotary: Rotary
    profile: Profile
    turning: Turning
    tolerance: float = TOLERANCE_MM
    focus: float = 0.0
    known: dict[Path, tuple[Part, ...]] = field(default_factory=dict, repr=False)

    @classmethod
    def of(
        cls,
        body: RoundBody,
        rotary: Rotary,
        *,
        half_turned: bool = False,
        tolerance: float = TOLERANCE_MM,
        focus: float = 0.0,
    ) -> Wrapper:
        """Prepare to wrap round `body` on `rotary`; see :func:`render.wrap.turning.turning`.

        Raises:
            LibraryError: the body or the rotary makes no sense.
        """
        profile = profile_of(body)
        turned = turning(body, profile, rotary, half_turned=half_turned, overlap=body.overlap)
        return cls(body, rotary, profile, turned, tolerance, focus)

    def problems(self) -> tuple[Problem, ...]:
        """What the device may not take, whatever is marked: once for an order."""
        return body_problems(self.body, self.profile, self.rotary)

    def wrap(self, artwork: Artwork) -> Wrapped:
        """Wrap one piece.

        Args:
            artwork: in the body's drawing, mm: x round the thing from 0 to its circumference and y from its
                rim down its surface, or, where the body is lying, y round it and x along it.
        """
        laid = self.laid(artwork.marks)
        marks, start = self._seamed(laid)
        machine = tuple(
            replace(m, path=Path(m.path.commands, self.turning.to_machine(m.path.points))) for m in marks
        )
        burned = [i for i, mark in enumerate(marks) if mark.operation in BURN_ORDER and mark.path]
        burnt = Laid.of(artwork.piece, Path.joined(marks[i].path for i in burned))
        distortion = distortion_of(part.strain for i in burned for part in laid[i][1])
        maps = tuple(parts[0].drawn for _, parts in laid)
        numbers = self._numbers(burnt, start, distortion, all(map(self._exact, maps)))
        return Wrapped(
            artwork=replace(artwork, marks=(*machine, self.start_line())),
            on_surface=replace(artwork, marks=tuple(marks)),
            maps=maps,
            lays=tuple(parts[0].lay for _, parts in laid),
            turning=self.turning,
            numbers=numbers,
            problems=find_problems(burnt, self.body, self.profile, numbers, self.focus),
            start=start,
        )

    def laid(self, marks: Iterable[Mark]) -> list[tuple[Mark, list[Part]]]:
        """Marks on the surface, one for each operation and place, and the parts that it is made of."""
        grouped: dict[tuple[Operation, Place | None], list[Part]] = {}
        for mark in marks:
            for part in self._parts(mark.path):
                grouped.setdefault((mark.operation, part.place), []).append(part)
        return [
            (Mark(operation, Path.joined(part.surface for part in parts)), parts)
            for (operation, _), parts in grouped.items()
        ]

    def _parts(self, path: Path) -> tuple[Part, ...]:
        """The contours of a path by the place they belong to, laid; a path that came before is known."""
        found = self.known.get(path)
        if found is None:
            points = Turned(self.body.height).upright(path.points) if self.body.lying else path.points
            found = tuple(
                self._part(place, part) for place, part in by_place(Path(path.commands, points), self.body)
            )
            if len(self.known) >= _MOST_KNOWN:
                self.known.clear()
            self.known[path] = found
        return found

    def _part(self, place: Place | None, path: Path) -> Part:
        lay, drawn = self.map_at(place)
        surface, cut = self._lay(path, drawn)
        empty = np.empty(0)
        low, high, _, _ = extents(surface) if surface else (empty,) * 4
        return Part(place, lay, drawn, surface, (low, high), strain_of(drawn, cut.points))

    def map_at(self, place: Place | None) -> tuple[Lay, DrawingMap]:
        """How what belongs to a place is laid, or what belongs to none."""
        lay = place.lay if place else self.body.lay
        if lay is Lay.TURN:
            return lay, TurnMap(self.profile, self.body.circumference)
        degrees = place.at if place else 180.0
        x, angle = self.body.circumference * degrees / 360.0, math.radians(degrees)
        if lay is Lay.LABEL and not self.profile.is_straight:
            return lay, LabelMap(sector_of(self.body), x, angle)
        return lay, RimMap(self.profile, x, angle)

    def _lay(self, path: Path, drawn: DrawingMap) -> tuple[Path, Path]:
        """A path on the surface, and in the drawing as it was cut for that."""
        if path and not self._exact(drawn):
            fine = self.tolerance / 2
            path = subdivided(path, fine, lambda ends, lengths: drawn.pieces(ends, lengths, fine))
            if self.profile.s.size > 2:
                path = cut_at_levels(path, self.profile.s[1:-1])
        return Path(path.commands, drawn.to_surface(path.points)), path

    def _exact(self, drawn: DrawingMap) -> bool:
        """Whether the whole way to the machine is affine, so that curves stay the curves they are."""
        return drawn.affine and self.turning.along.size == 2

    def _seamed(self, laid: list[tuple[Mark, list[Part]]]) -> tuple[list[Mark], float]:
        """The marks on a turn that begins where the seam is to be, and that angle."""
        marks = [mark for mark, _ in laid]
        if not (self.body.hide_seam or self.body.overlap):
            return marks, 0.0
        reach = [tuple(map(np.concatenate, zip(*(p.reach for p in parts), strict=True))) for _, parts in laid]
        burned = [reach[i] for i, mark in enumerate(marks) if mark.operation in BURN_ORDER]
        start = 0.0
        if self.body.hide_seam and burned:
            start, _ = widest_gap(*map(np.concatenate, zip(*burned, strict=True)))
        if start:
            marks = [replace(m, path=begun_at(m.path, start, *r)) for m, r in zip(marks, reach, strict=True)]
        if not self.body.overlap:
            return marks, start
        by = self.body.overlap / self.body.circumference * TURN
        return [replace(m, path=run_on(m.path, by)) for m in marks], start

    def start_line(self) -> Mark:
        """Where the turn begins, all along the thing: a guide."""
        ends = np.array([0j, 1j * self.profile.height])
        return Mark(Operation.GUIDE, Path.polyline(self.turning.to_machine(ends)))

    def _numbers(self, laid: Laid, start: float, distortion: Distortion, exact: bool) -> WrapNumbers:
        body, turned = self.body, self.turning
        box, round_it = laid.box, body.circumference
        factor, wide = turned.turn / round_it, (box.x1 - box.x0) / TURN
        heights = turned.drop(np.array([box.y0, box.y1, *self.profile.s]))
        inside = (self.profile.s > box.y0) & (self.profile.s < box.y1)
        heights = heights[np.concatenate(([True, True], inside))]
        mean = float(self.profile.radius(np.array([(box.y0 + box.y1) / 2]))[0]) * TURN
        share, slack = body.error / round_it, self.rotary.calibration.error
        rollers = turned.contact if self.rotary.kind.value == "roller" else 0.0
        return WrapNumbers(
            circumference=round_it,
            diameter=round_it / math.pi,
            axis=self.rotary.axis,
            turn=turned.turn,
            factor=factor,
            surface=(wide * mean, box.height),
            machine=(wide * turned.turn, float(np.ptp(turned.flat(1j * np.array([box.y0, box.y1])).imag))),
            degrees=360.0 * wide,
            residual=0.0 if exact else self.tolerance,
            set_circumference=turned.contact,
            steps=self.rotary.steps,
            mirrored=self.rotary.reversed != body.inside,
            start=math.degrees(start),
            tilt=turned.tilt,
            focus_change=float(np.ptp(heights)) if laid.path else 0.0,
            width_error=wide * mean * math.hypot(share, slack),
            closing_error=math.hypot(rollers * slack, body.error if rollers else 0.0),
            distortion=distortion,
        )


def wrap(artwork: Artwork, body: RoundBody, rotary: Rotary, *, half_turned: bool = False) -> Wrapped:
    """One artwork round one body; see :class:`Wrapper`, which is quicker for many.

    Raises:
        LibraryError: the body or the rotary makes no sense.
    """
    return Wrapper.of(body, rotary, half_turned=half_turned).wrap(artwork)
