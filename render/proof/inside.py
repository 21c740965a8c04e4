"""A ring looked into from above: its far inner wall with what stands on it. Parallel rays, derived here.

From an elevation e a point of the wall, θ away from the middle of the far side and d below the rim, is seen
as long as the near rim does not hide it: d < 2 r tan e cos θ.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from render.geometry import Affine, Box, Path
from render.geometry.solids import Profile, View
from render.model import Artwork, Blank, Material, Operation, RoundBody
from render.proof.palette import edge_of
from render.proof.round import Solid, fine
from render.proof.things import Look, Sink

Points = NDArray[np.complex128]
Floats = NDArray[np.float64]

_LOWEST: Final = 38.0
"""The eye stands at least so many degrees above the level..."""
_HIGHEST: Final = 72.0
"""...and at most so many, however deep the thing is."""
_THINNEST: Final = 0.8
"""A wall is drawn at least so thick, mm."""


@dataclass(frozen=True, slots=True)
class Inner:
    """A ring and where it is looked into from.

    Attributes:
        solid: its inner side.
        wall: thickness of its wall, mm.
        at: degrees round it that lie in the middle of the far side.
        elevation: of the eye, degrees.
    """

    solid: Solid
    wall: float
    at: float
    elevation: float

    @classmethod
    def of(cls, blank: Blank, body: RoundBody, profile: Profile) -> Inner:
        """Looked at its first place, from high enough to see all of its height there."""
        at = body.places[0].at if body.places else 180.0
        deep, thin = float(profile.z[-1]), float(profile.r.min())
        needed = math.degrees(math.atan2(deep, thin))  # all is seen as far as 60 degrees from the middle
        elevation = min(max(_LOWEST, needed), _HIGHEST)
        return cls(Solid(profile, 0.0), max(blank.thickness, _THINNEST), at, elevation)

    @property
    def box(self) -> Box:
        """What it takes up in the picture, mm, (0, 0) the middle of its upper rim."""
        return self._outline().bounds()

    def _seen(self, theta: Floats, radius: Floats | float, down: Floats | float) -> Points:
        """Where points are seen; θ is radians to the right of the far side's middle, seen from inside."""
        shape = np.zeros(theta.shape)
        return View(0.0, self.elevation).seen(np.pi - theta, radius + shape, down + shape)

    def _outline(self) -> Path:
        """The outside: the far half of the upper rim, the near half of the lower."""
        profile, half = self.solid.profile, np.linspace(-np.pi / 2, np.pi / 2, 61)
        upper = self._seen(half, profile.r[0] + self.wall, 0.0)
        lower = self._seen(half + np.pi, profile.r[-1] + self.wall, float(profile.z[-1]))
        return Path.polygon(np.concatenate((upper, lower)))

    def _ellipse(self, radius: float) -> Path:
        return Path.polygon(self._seen(np.linspace(0, 2 * np.pi, 121)[:-1], radius, 0.0))

    def _wall(self) -> Path:
        """The far wall, as far as the near rim lets it be seen."""
        profile, theta = self.solid.profile, np.linspace(-np.pi / 2, np.pi / 2, 61)
        r = float(profile.r[0])
        depth = 2 * r * math.tan(math.radians(self.elevation)) * np.cos(theta)
        seen = np.minimum(depth, profile.z[-1])
        down = self._seen(theta, np.interp(seen, profile.z, profile.r), seen)
        return Path.polygon(np.concatenate((self._seen(theta, r, 0.0), down[::-1])))

    def draw_behind(self, sink: Sink, material: Material, to_page: Affine) -> None:
        """Draw the ring: its outside, the opening, the far wall."""
        tone, edge = material.tone, edge_of(material.tone)
        rim: Look = {"stroke": edge, "stroke_width": 0.15}
        outside = self._outline().transformed(to_page)
        sink.draw(outside, {"fill": tone})
        sink.draw(outside, {"fill": "#000000", "fill_opacity": 0.16, **rim})
        sink.draw(self._ellipse(float(self.solid.profile.r[0]) + self.wall).transformed(to_page),
                  {"fill": tone, **rim})  # fmt: skip
        opening = self._ellipse(float(self.solid.profile.r[0])).transformed(to_page)
        sink.draw(opening, {"fill": edge, **rim})
        wall = self._wall().transformed(to_page)
        sink.draw(wall, {"fill": tone})
        sink.draw(wall, {"fill": "#FFFFFF", "fill_opacity": 0.12, **rim})

    def draw_marks(self, sink: Sink, on_surface: Artwork, material: Material, to_page: Affine) -> None:
        """Draw what is burned on the far wall; `on_surface` in radians + i mm."""
        for mark in on_surface.marks:
            if mark.operation is Operation.GUIDE or not mark.path:
                continue
            path = self._projected(mark.path).transformed(to_page)
            line: Look = {"fill": "none", "stroke": material.mark_tone, "stroke_width": 0.25}
            fills = mark.operation is Operation.ENGRAVE
            sink.draw(path, {"fill": material.mark_tone} if fills else line)

    def _projected(self, path: Path) -> Path:
        """A path of the surface in the picture; what lies too far round has shrunk to the edge."""
        profile, cut = self.solid.profile, fine(path, self.solid)
        reach = 2 * float(profile.r.min()) * math.tan(math.radians(self.elevation))
        limit = math.acos(min(1.0, float(profile.z[-1]) / reach))
        theta = np.clip(cut.points.real - math.radians(self.at), -limit, limit)
        s = cut.points.imag
        return Path(cut.commands, self._seen(theta, profile.radius(s), profile.axial(s)))
