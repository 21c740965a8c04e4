"""The plain TOML of the shop library, checked at the edge and turned into the values of the model.

One file is one entry; its name is its id. A shape is a table:

* ``shape = "rectangle"`` with `width`, `height` and, if rounded, `corner`;
* ``shape = "ellipse"`` with `width` and, unless it is a circle, `height`;
* ``shape = "path"`` with SVG path data `d`.

A rectangle or ellipse stands at `at` (the top left of its box; 0, 0 if silent) or about `centre`. Lengths
are mm.
Each file says in `source` where its figures come from.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

from render.geometry import Path, shapes
from render.geometry.pathtext import parse_path
from render.model import (
    Blank,
    Hold,
    Jig,
    Machine,
    Material,
    Operation,
    Rotary,
    RotaryKind,
    RoundBody,
    Stock,
)

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


Shape = Annotated[RectangleTable | EllipseTable | PathTable, Field(discriminator="shape")]


class FoldTable(Table):
    """A straight fold from one point to another."""

    start: tuple[Place, Place] = Field(alias="from")
    end: tuple[Place, Place] = Field(alias="to")


class InsetTable(Table):
    """A markable region that keeps `inset` mm from the outline and `clear` mm from the holes."""

    inset: Distance
    clear: Distance = 1.5


class StockTable(Table):
    """The sheet that blanks are cut from."""

    width: Length
    height: Length
    margin: Distance = 5.0
    gap: Distance = 2.0


class BodyTable(Table):
    """A straight round body, unrolled."""

    circumference: Length
    height: Length
    seam: Distance = 0.0


class BlankTable(Table):
    """A file of ``blanks/``."""

    title: Words
    source: Words
    material: Words
    thickness: Length
    hold: Hold
    outline: Shape
    holes: tuple[Shape, ...] = ()
    folds: tuple[FoldTable, ...] = ()
    markable: Shape | InsetTable
    jig: str = ""
    stock: StockTable | None = None
    body: BodyTable | None = None

    @model_validator(mode="after")
    def _held(self) -> BlankTable:
        given = {Hold.STOCK: self.stock, Hold.JIG: self.jig, Hold.ROTARY: self.body}
        key = {Hold.STOCK: "[stock]", Hold.JIG: "jig", Hold.ROTARY: "[body]"}
        for hold, value in given.items():
            if bool(value) != (hold is self.hold):
                wants = "needs" if hold is self.hold else "has no use for"
                raise ValueError(f'a blank with hold = "{self.hold.value}" {wants} {key[hold]}')
        return self

    def value(self, id_: str) -> Blank:
        """The blank.

        Raises:
            ValueError: its shapes do not agree with each other.
        """
        from render.shop.lie import check_blank

        blank = Blank(
            id=id_,
            title=self.title,
            outline=self.outline.path() or Path.empty(),
            holes=tuple(hole.path() or Path.empty() for hole in self.holes),
            folds=tuple(shapes.line(complex(*fold.start), complex(*fold.end)) for fold in self.folds),
            markable=self._markable(),
            material=self.material,
            thickness=self.thickness,
            hold=self.hold,
            jig=self.jig,
            stock=Stock(**self.stock.model_dump()) if self.stock else None,
            body=RoundBody(**self.body.model_dump()) if self.body else None,
        )
        check_blank(blank)
        return blank

    def _markable(self) -> Path:
        if not isinstance(self.markable, InsetTable):
            return self.markable.path() or Path.empty()
        from render.shop.lie import without_holes

        region = self.outline.path(-self.markable.inset)
        if region is None:
            raise ValueError(f"an inset of {self.markable.inset:g} leaves nothing to mark")
        return without_holes(region, [hole.path(self.markable.clear) or Path.empty() for hole in self.holes])


class RotaryTable(Table):
    """A rotary device."""

    kind: RotaryKind
    turn: Distance = 0.0
    axis: Literal["x", "y"] = "y"

    @model_validator(mode="after")
    def _turn(self) -> RotaryTable:
        if (self.turn > 0) != (self.kind is RotaryKind.CHUCK):
            raise ValueError("turn (mm of the axis in one full turn) belongs to a chuck, and only to a chuck")
        return self


class MachineTable(Table):
    """A file of ``machines/``."""

    title: Words
    source: Words
    bed: tuple[Length, Length]
    light: Words
    spot: Length
    colours: str = "okabe-ito"
    rotary: RotaryTable | None = None
    cautions: tuple[Words, ...] = Field(min_length=1)

    def value(self, id_: str, colours: dict[Operation, str]) -> Machine:
        """The machine, telling operations apart by `colours`."""
        return Machine(
            id=id_,
            title=self.title,
            bed=self.bed,
            light=self.light,
            spot=self.spot,
            colours=colours,
            rotary=Rotary(**self.rotary.model_dump()) if self.rotary else None,
            cautions=self.cautions,
        )


class ColoursTable(Table):
    """A file of ``colours/``: one colour for each operation."""

    title: Words
    source: Words
    engrave: Colour
    score: Colour
    cut: Colour
    guide: Colour

    @model_validator(mode="after")
    def _apart(self) -> ColoursTable:
        if len({colour.lower() for colour in self.value("").values()}) < len(Operation):
            raise ValueError("each operation needs a colour of its own")
        return self

    def value(self, id_: str) -> dict[Operation, str]:  # noqa: ARG002 (all tables are asked alike)
        """Colour by operation."""
        return {operation: getattr(self, operation.value) for operation in Operation}


class MaterialTable(Table):
    """A file of ``materials/``."""

    title: Words
    source: Words
    tone: Colour
    mark_tone: Colour
    smallest_stroke: Length
    smallest_gap: Length
    cautions: tuple[Words, ...] = Field(min_length=1)

    def value(self, id_: str) -> Material:
        """The material."""
        return Material(id=id_, **self.model_dump(exclude={"source"}))


class JigTable(Table):
    """A file of ``jigs/``."""

    title: Words
    source: Words
    columns: Count
    rows: Count
    origin: tuple[Distance, Distance]
    pitch: tuple[Length, Length]

    def value(self, id_: str) -> Jig:
        """The jig."""
        return Jig(id=id_, **self.model_dump(exclude={"source"}))


def first_complaint(error: ValidationError) -> tuple[str, str]:
    """The key and the words of the first thing wrong, for a person."""
    complaint = error.errors()[0]
    key = ".".join(str(part) for part in complaint["loc"])
    words = complaint["msg"].removeprefix("Value error, ")
    if complaint["type"] == "extra_forbidden":
        words = "this key is not known here"
    elif complaint["type"] == "missing":
        words = "this key is missing"
    return key, words
