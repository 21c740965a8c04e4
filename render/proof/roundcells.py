"""Round things on a contact sheet: each as it stands, seen from its sides."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from render.geometry import Box
from render.geometry.solids import Profile, View
from render.model import Artwork, Blank, Material, RoundBody
from render.proof.round import (
    Solid,
    draw_before,
    draw_behind,
    draw_marks,
    extent,
    placed_at,
    sides_of,
    view_of,
)
from render.proof.things import Sink

_BETWEEN: Final = 0.16
"""Free space between two sides, as a share of the width of one."""


@dataclass(frozen=True, slots=True)
class Cells:
    """What the pieces of an order look like on their round thing.

    Attributes:
        surfaces: of each piece that can be shown, by id: radians round it + i mm along it.
        sides: what is seen of each side, and what it takes up, mm; as it stands.
    """

    body: RoundBody
    material: Material
    solid: Solid
    surfaces: Mapping[str, Artwork]
    sides: tuple[tuple[View, Box], ...]

    @classmethod
    def of(cls, blank: Blank, material: Material, profile: Profile, surfaces: Mapping[str, Artwork]) -> Cells:
        """Of a blank that has a body.

        Raises:
            ValueError: it has none.
        """
        body = blank.body
        if body is None:
            raise ValueError("a flat thing has no sides")
        solid = Solid.of(body, profile)
        views = [view_of(solid, at) for _, at in sides_of(body)]
        sides = tuple((view, extent(body, solid, view)) for view in views)
        return cls(body, material, solid, surfaces, sides)

    @property
    def size(self) -> tuple[float, float]:
        """Width and height that one piece takes up at true size, mm."""
        wide, high = self._side
        count, gap = len(self.sides), _BETWEEN * min(wide, high)
        if self.body.lying:
            return high, wide * count + gap * (count - 1)
        return wide * count + gap * (count - 1), high

    @property
    def _side(self) -> tuple[float, float]:
        """Width and height of one side, standing."""
        return max(box.width for _, box in self.sides), max(box.height for _, box in self.sides)

    def draw(self, sink: Sink, x: float, y: float, scale: float, piece: str) -> None:
        """Draw a piece with its upper left corner there, mm of the page; without marks if it has none."""
        surface = self.surfaces.get(piece)
        wide, high = self._side
        step = wide + _BETWEEN * min(wide, high)
        for number, (view, box) in enumerate(self.sides):
            at = complex(high / 2, wide / 2 + number * step) if self.body.lying else complex(
                wide / 2 + number * step, high / 2
            )  # fmt: skip
            to_page = placed_at(box, scale, complex(x, y) + at * scale, turned=self.body.lying)
            draw_behind(sink, self.body, self.material, self.solid, view, to_page)
            if surface is not None:
                draw_marks(sink, surface, self.material, self.solid, view, to_page)
            draw_before(sink, self.body, self.material, self.solid, view, to_page)
