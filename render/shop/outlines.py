"""Shapes as the shop library writes them.

A shape is a table:

* ``shape = "rectangle"`` with `width`, `height` and, if rounded, `corner`;
* ``shape = "ellipse"`` with `width` and, unless it is a circle, `height`;
* ``shape = "slot"`` with the `length` and `thickness` of what goes into it, its `play` and its `centre`;
* ``shape = "path"`` with SVG path data `d`.

A rectangle or ellipse stands at `at` (the top left of its box; 0, 0 if silent) or about `centre`. Lengths
are mm.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Final, Literal

from pydantic import BaseModel, ConfigDict, Discriminator, Field, Tag, model_validator

from render.geometry import Path, shapes
from render.geometry.pathtext import parse_path

Length = Annotated[float, Field(gt=0, le=100_000, allow_inf_nan=False)]
Distance = Annotated[float, Field(ge=0, le=100_000, allow_inf_nan=False)]
Place = Annotated[float, Field(ge=-100_000, le=100_000, allow_inf_nan=False)]
Count = Annotated[int, Field(ge=1, le=1000)]
Words = Annotated[str, Field(min_length=1, max_length=2000)]
Colour = Annotated[str, Field(pattern=r"^#[0-9A-Fa-f]{6}$")]


class Table(BaseModel):
    """A table of the library: what it does not know, it refuses."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class RectangleTable(Table):
    """A rectangle along the axes."""

    shape: Literal["rectangle"]
    width: Length
    height: Length
    corner: Distance = 0.0
    at: tuple[Place, Place] = (0.0, 0.0)
    centre: tuple[Place, Place] | None = None

    @model_validator(mode="after")
    def _corner_fits(self) -> RectangleTable:
        if self.corner > min(self.width, self.height) / 2:
            raise ValueError("corner must be at most half the shorter side")
        return self

    def path(self, grown: float = 0.0) -> Path | None:
        """The closed contour, each side `grown` mm outward (inward if negative); None if nothing is left."""
        width, height = self.width + 2 * grown, self.height + 2 * grown
        if width <= 0 or height <= 0:
            return None
        corner = 0.0 if self.corner == 0 and grown <= 0 else max(self.corner + grown, 0.0)
        x, y = self.at
        if self.centre is not None:
            x, y = self.centre[0] - self.width / 2, self.centre[1] - self.height / 2
        return shapes.rectangle(x - grown, y - grown, width, height, corner)


class EllipseTable(Table):
    """An ellipse along the axes; a circle if `height` is silent."""

    shape: Literal["ellipse"]
    width: Length
    height: Length | None = None
    at: tuple[Place, Place] = (0.0, 0.0)
    centre: tuple[Place, Place] | None = None

    def path(self, grown: float = 0.0) -> Path | None:
        """The closed contour with both half axes `grown` mm longer; None if nothing is left."""
        height = self.width if self.height is None else self.height
        rx, ry = self.width / 2, height / 2
        middle = complex(*self.centre) if self.centre else complex(self.at[0] + rx, self.at[1] + ry)
        if rx + grown <= 0 or ry + grown <= 0:
            return None
        return shapes.ellipse(middle, rx + grown, ry + grown)


class PathTable(Table):
    """Closed contours by SVG path data, in mm."""

    shape: Literal["path"]
    d: Words

    @model_validator(mode="after")
    def _reads(self) -> PathTable:
        path = parse_path(self.d)
        if not path or not path.is_closed():
            raise ValueError("d must hold closed contours (each ending in Z)")
        return self

    def path(self, grown: float = 0.0) -> Path | None:
        """The contours.

        Raises:
            ValueError: it should be grown, which a free path cannot be.
        """
        if grown:
            raise ValueError("a path has no inset of its own: give the region a shape instead")
        return parse_path(self.d)


class SlotTable(Table):
    """A slot for what is `thickness` mm thick and `length` mm long; both come out wider by `play`."""

    shape: Literal["slot"]
    length: Length
    thickness: Length
    play: Distance = 0.0
    centre: tuple[Place, Place]

    def path(self, grown: float = 0.0) -> Path | None:
        """The closed contour, each side `grown` mm outward; None if nothing is left."""
        long, wide = self.length + self.play + 2 * grown, self.thickness + self.play + 2 * grown
        if long <= 0 or wide <= 0:
            return None
        return shapes.rectangle(self.centre[0] - long / 2, self.centre[1] - wide / 2, long, wide)


class InsetTable(Table):
    """A markable region that keeps `inset` mm from the outline and `clear` mm from the holes."""

    inset: Distance
    clear: Distance = 1.5


SHAPES: Final = ("rectangle", "ellipse", "slot", "path", "inset")


def _shape(value: object) -> object:
    """Which table a shape is: ``inset`` where it has that key, else what `shape` says."""
    if isinstance(value, Mapping):
        return "inset" if "inset" in value else value.get("shape")
    return None


Shape = Annotated[RectangleTable | EllipseTable | SlotTable | PathTable, Field(discriminator="shape")]
Region = Annotated[
    Annotated[RectangleTable, Tag("rectangle")]
    | Annotated[EllipseTable, Tag("ellipse")]
    | Annotated[PathTable, Tag("path")]
    | Annotated[InsetTable, Tag("inset")],
    Discriminator(_shape),
]
