"""Round things as the eye sees them: what is on the unrolled surface, seen straight from front or back.

A point of the surface at angle a from the middle of what is seen, at radius r, stands at x = r sin a (derived
here: parallel projection across the axis). What lies beyond a quarter turn is hidden.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from render.geometry import LINE, MOVE, Box, Path
from render.geometry.path import CLOSE
from render.model import Artwork, Material, Operation, RoundBody
from render.proof.flatten import flattened
from render.proof.palette import edge_of, luminance, mixed
from render.proof.things import SHADOW_LOOK, Look, Sink, looks_of

STEP: Final = math.radians(2)
"""Straight lines are parted so that none turns further: at r = 40 mm the sine leaves its chord by 6 µm."""
LIP: Final = 0.06
"""How far a drawn cup reaches above and below its surface, in parts of its height: only for the eye."""
_QUARTER: Final = math.pi / 2

Floats = NDArray[np.float64]
Points = NDArray[np.complex128]


@dataclass(frozen=True, slots=True)
class Cup:
    """A body of revolution seen across its axis, which is the line x = 0; y runs down from its top.

    Attributes:
        along: distance along the surface at each station, mm, rising.
        down: distance along the axis there.
        radii: radius there.
    """

    circumference: float
    along: tuple[float, ...]
    down: tuple[float, ...]
    radii: tuple[float, ...]

    @classmethod
    def of(cls, body: RoundBody) -> Cup:
        """The cup of a straight or tapering body."""
        stations = body.stations or ((0.0, body.circumference), (body.height, body.circumference))
        down = np.array([at for at, _ in stations])
        radii = np.array([turn for _, turn in stations]) / (2 * math.pi)
        along = np.concatenate(([0.0], np.cumsum(np.hypot(np.diff(down), np.diff(radii)))))
        return cls(body.circumference, tuple(along.tolist()), tuple(down.tolist()), tuple(radii.tolist()))

    @property
    def box(self) -> Box:
        """What it takes up, lip and foot included."""
        widest, lip = max(self.radii), self.down[-1] * LIP
        return Box(-widest, -lip, widest, self.down[-1] + lip)

    def seen(self, path: Path, tolerance: float, *, back: bool) -> Path:
        """A closed path of the unrolled surface as it is seen; what is hidden collapses to the rim.

        Curves become straight lines within `tolerance` mm. Filled, it shows exactly what is seen.
        """
        parts = []
        for points, _ in _lines(flattened(path, tolerance), self._step()):
            for turned in self._turned(points, back):
                if np.abs(turned.real).min() < _QUARTER:
                    corners = self._placed(turned)[:-1]
                    codes = np.full(corners.size + 1, LINE, np.uint8)
                    codes[0], codes[-1] = MOVE, CLOSE
                    parts.append(Path(codes, corners))
        return Path.joined(parts)

    def seen_lines(self, path: Path, tolerance: float, *, back: bool) -> Path:
        """The lines of a path of the unrolled surface as far as they are seen."""
        parts = []
        for points, _ in _lines(flattened(path, tolerance), self._step()):
            for turned in self._turned(points, back):
                shown = np.abs(turned.real) <= _QUARTER
                placed = self._placed(turned)
                bounds = np.flatnonzero(np.diff(np.concatenate(([0], shown.astype(np.int8), [0]))))
                for begin, end in bounds.reshape(-1, 2):
                    if end - begin > 1:
                        codes = np.full(end - begin, LINE, np.uint8)
                        codes[0] = MOVE
                        parts.append(Path(codes, placed[begin:end]))
        return Path.joined(parts)

    def band(self, begin: float, end: float) -> Path:
        """The strip from lip to foot between two angles from the middle of what is seen."""
        one, other = (self._edge(math.sin(angle)) for angle in (begin, end))
        return Path.polygon([*one, *reversed(other)])

    def silhouette(self) -> Path:
        """Its outline from lip to foot."""
        return Path.polygon([*self._edge(1.0), *reversed(self._edge(-1.0))])

    def strip(self, top: float, bottom: float) -> Path:
        """What lies between two heights, in mm down from the top of the surface."""
        heights = np.array([top, bottom])
        right = np.interp(heights, self.down, self.radii) + 1j * heights
        return Path.polygon([*right.tolist(), *(-right.conjugate())[::-1].tolist()])

    def _edge(self, part: float) -> list[complex]:
        """The line from lip to foot at a part of the radius."""
        lip = self.down[-1] * LIP
        down = [-lip, *self.down, self.down[-1] + lip * 0.8, self.down[-1] + lip]
        radii = [self.radii[0], *self.radii, self.radii[-1], self.radii[-1] - lip * 0.2]
        return [complex(radius * part, at) for radius, at in zip(radii, down, strict=True)]

    def _step(self) -> float:
        return STEP * min(self.radii)

    def _turned(self, points: Points, back: bool) -> Iterator[Points]:
        """Angle from the middle of what is seen, and distance along the surface, as one complex number."""
        radius = np.interp(points.imag, self.along, self.radii)
        angle = (points.real - self.circumference / 2) / radius
        for turn in (-math.pi, math.pi) if back else (0.0,):
            yield angle + turn + 1j * points.imag

    def _placed(self, turned: Points) -> Points:
        radius = np.interp(turned.imag, self.along, self.radii)
        x = radius * np.sin(np.clip(turned.real, -_QUARTER, _QUARTER))
        inside = np.interp(turned.imag, self.along, self.down)
        outside = turned.imag - np.clip(turned.imag, self.along[0], self.along[-1])
        return np.asarray(x + 1j * (inside + outside))


def _lines(path: Path, step: float) -> Iterator[tuple[Points, bool]]:
    """Each contour as points no further apart in x than `step`, closed ones with their first point again."""
    for contour in path.contours():
        closed = bool(contour.commands[-1] == CLOSE)
        points = np.append(contour.points, contour.points[0]) if closed else contour.points
        parts = np.maximum(1, np.ceil(np.abs(np.diff(points.real)) / step)).astype(np.int64)
        begin = np.repeat(np.arange(parts.size), parts)
        nth = np.arange(begin.size) - np.repeat(np.cumsum(parts) - parts, parts)
        share = nth / parts[begin]
        between = points[begin] * (1 - share) + points[begin + 1] * share
        yield np.append(between, points[-1]), closed


def draw_cup(sink: Sink, cup: Cup, material: Material, placed: Placed) -> None:
    """Draw the thing without anything on it."""
    shape = placed(cup.silhouette())
    for width in (1.3, 1.0, 0.7, 0.4):
        sink.draw(shape.moved(0.2, 0.3), {**SHADOW_LOOK, "stroke_width": width})
    sink.draw(shape, {"fill": material.tone})
    lip, foot = cup.down[-1] * LIP, cup.down[-1] * (1 + LIP)
    rim = mixed(edge_of(material.tone), material.tone, 0.35)
    sink.draw(placed(cup.strip(-lip, -lip * 0.55)), {"fill": rim})
    sink.draw(placed(cup.strip(foot - lip * 0.3, foot - lip * 0.2)), {"fill": rim})


def draw_shade(sink: Sink, cup: Cup, material: Material, placed: Placed) -> None:
    """Draw light and shade over the thing, marks and all."""
    dark = luminance(material.tone) < 0.12
    shade: Look = {"fill": "#000000", "fill_opacity": 0.022 if dark else 0.014}
    light: Look = {"fill": "#FFFFFF", "fill_opacity": 0.008 if dark else 0.03}
    edge: Look = {"fill": "none", "stroke": edge_of(material.tone), "stroke_width": 0.12}
    for step in range(20):
        right, left = (math.radians(begin + (88 - begin) * step / 20) for begin in (22, 48))
        sink.draw(placed(cup.band(right, _QUARTER)), shade)
        sink.draw(placed(cup.band(-_QUARTER, -left)), shade)
    middle = math.radians(-26)
    for half in map(math.radians, range(2, 22, 2)):
        sink.draw(placed(cup.band(middle - half, middle + half)), light)
    sink.draw(placed(cup.silhouette()), edge)


@dataclass(frozen=True, slots=True)
class Placed:
    """Where a cup stands on the page: `scale` mm on the page for each of its own, its axis and top there."""

    scale: float
    axis: float
    top: float

    def __call__(self, path: Path) -> Path:
        """The path on the page."""
        return Path(path.commands, path.points * self.scale + complex(self.axis, self.top))


def draw_wrapped(
    sink: Sink, cup: Cup, material: Material, artwork: Artwork, placed: Placed, *, back: bool
) -> None:
    """Draw what is burned on the side that is seen."""
    tolerance = 0.02 / placed.scale
    looks = looks_of(material)
    for mark in artwork.marks:
        if mark.operation is Operation.ENGRAVE:
            sink.draw(placed(cup.seen(mark.path, tolerance, back=back)), looks[mark.operation])
        elif mark.operation in looks:
            sink.draw(placed(cup.seen_lines(mark.path, tolerance, back=back)), looks[mark.operation])
