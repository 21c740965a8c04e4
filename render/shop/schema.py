"""The plain TOML of the shop library, checked at the edge and turned into the values of the model.

One file is one entry; its name is its id. Each file says in `source` where its figures come from.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final, Literal

from pydantic import Field, ValidationError, model_validator

from render.geometry import Path, shapes
from render.model import (
    Blank,
    Cutting,
    Hold,
    Jig,
    Machine,
    Motion,
    Operation,
    RoundBody,
    Stock,
    Surface,
    Timing,
)
from render.shop.outlines import (
    SHAPES,
    Colour,
    Count,
    Distance,
    EllipseTable,
    InsetTable,
    Length,
    PathTable,
    Place,
    RectangleTable,
    Region,
    Shape,
    Table,
    Words,
)
from render.shop.rounds import (
    BodyTable,
    CalibrationTable,
    KeepOutTable,
    PlaceTable,
    RotaryTable,
    SleeveTable,
    drawn_outline,
    free_surface,
)
from render.shop.substances import LightRuleTable

_HELD: Final[Mapping[Surface, tuple[Hold, ...]]] = {
    Surface.ROUND: (Hold.ROTARY,),
    Surface.FLAT: (Hold.JIG,),
    Surface.CAP: (Hold.JIG,),
    Surface.SLEEVE: (Hold.STOCK,),
}
"""How a thing with such a body is held."""


class FoldTable(Table):
    """A straight fold from one point to another."""

    start: tuple[Place, Place] = Field(alias="from")
    end: tuple[Place, Place] = Field(alias="to")


class StockTable(Table):
    """The sheet that blanks are cut from."""

    width: Length
    height: Length
    margin: Distance = 5.0
    gap: Distance = 2.0


class CuttingTable(Table):
    """How a thing is best cut out (see :class:`render.model.Cutting`)."""

    tabs: int = Field(default=0, ge=0, le=99)
    tab_width: Length = 0.5
    lead_in: Distance = 0.0
    apart: Distance = 0.0


class BlankTable(Table):
    """A file of ``blanks/``."""

    title: Words
    source: Words
    material: Words
    thickness: Length
    hold: Hold
    outline: Shape | None = None
    holes: tuple[Shape, ...] = ()
    folds: tuple[FoldTable, ...] = ()
    markable: Region | None = None
    jig: str = ""
    stock: StockTable | None = None
    body: BodyTable | None = None
    hazards: tuple[Words, ...] = ()
    outline_cut: bool = True
    cutting: CuttingTable | None = None
    grain: bool | None = None

    @model_validator(mode="after")
    def _held(self) -> BlankTable:
        given = {Hold.STOCK: self.stock, Hold.JIG: self.jig, Hold.ROTARY: self.body}
        key = {Hold.STOCK: "[stock]", Hold.JIG: "jig", Hold.ROTARY: "[body]"}
        for hold, value in given.items():
            lies = hold is Hold.ROTARY and self.body is not None and self.hold in _HELD[self.body.surface]
            if bool(value) != (hold is self.hold) and not lies:
                wants = "needs" if hold is self.hold else "has no use for"
                raise ValueError(f'a blank with hold = "{self.hold.value}" {wants} {key[hold]}')
        if self.body is not None and self.hold not in _HELD[self.body.surface]:
            raise ValueError(f'a {self.body.surface.value} body does not go with hold = "{self.hold.value}"')
        if self.body is None and (self.outline is None or self.markable is None):
            raise ValueError("outline and markable are needed unless a [body] says what is drawn")
        return self

    def value(self, id_: str) -> Blank:
        """The blank.

        Raises:
            ValueError: its shapes do not agree with each other.
        """
        from render.shop.lie import check_blank

        body = self.body.value() if self.body else None
        blank = Blank(
            id=id_,
            title=self.title,
            outline=self._outline(body),
            holes=tuple(hole.path() or Path.empty() for hole in self.holes),
            folds=tuple(shapes.line(complex(*fold.start), complex(*fold.end)) for fold in self.folds),
            markable=self._markable(body),
            material=self.material,
            thickness=self.thickness,
            hold=self.hold,
            jig=self.jig,
            stock=Stock(**self.stock.model_dump()) if self.stock else None,
            body=body,
            hazards=self.hazards,
            outline_cut=self.outline_cut,
            cutting=Cutting(**self.cutting.model_dump()) if self.cutting else Cutting(),
            grain=self.grain,
        )
        check_blank(blank)
        return blank

    def _outline(self, body: RoundBody | None) -> Path:
        if self.outline is not None:
            return self.outline.path() or Path.empty()
        return drawn_outline(body) if body is not None else Path.empty()

    def _markable(self, body: RoundBody | None) -> Path:
        if self.markable is None:
            return free_surface(body) if body is not None else Path.empty()
        if not isinstance(self.markable, InsetTable):
            return self.markable.path() or Path.empty()
        from render.shop.lie import without_holes

        region = self.outline.path(-self.markable.inset) if self.outline else None
        if region is None:
            raise ValueError(f"an inset of {self.markable.inset:g} leaves nothing to mark")
        return without_holes(region, [hole.path(self.markable.clear) or Path.empty() for hole in self.holes])


class MotionTable(Table):
    """How fast the head can move, mm/s and mm/s² along x and y: limits of motion, never a setting."""

    fastest: tuple[Length, Length]
    acceleration: tuple[Length, Length]
    corner: Length = 0.01
    together: bool = True
    hurries: bool = False


class TimingTable(Table):
    """What timed jobs taught (written by ``monikerf calibrate-time``)."""

    factor: Length = 1.0
    start: Distance = 0.0
    error: Distance | None = None
    jobs: int = Field(default=0, ge=0)
    date: str = ""


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
    light_source: str = ""
    optical_watts: Distance = 0.0
    motion: MotionTable | None = None
    timing: TimingTable | None = None
    kerfs: Mapping[str, Distance] = Field(default_factory=dict)
    focus_depth: Distance = 0.0
    passes_through: Literal["", "x", "y"] = ""

    def value(self, id_: str, colours: dict[Operation, str]) -> Machine:
        """The machine, telling operations apart by `colours`."""
        return Machine(
            id=id_,
            title=self.title,
            bed=self.bed,
            light=self.light,
            spot=self.spot,
            colours=colours,
            rotary=self.rotary.value() if self.rotary else None,
            cautions=self.cautions,
            light_source=self.light_source,
            watts=self.optical_watts,
            motion=Motion(**self.motion.model_dump()) if self.motion else None,
            timing=Timing(**self.timing.model_dump(exclude={"date"})) if self.timing else Timing(),
            kerfs=dict(self.kerfs),
            focus_depth=self.focus_depth,
            passes_through=self.passes_through,
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


_INNER: Final[Mapping[str, type[Table]]] = {
    "rectangle": RectangleTable,
    "ellipse": EllipseTable,
    "path": PathTable,
    "inset": InsetTable,
    "folds": FoldTable,
    "stock": StockTable,
    "cutting": CuttingTable,
    "body": BodyTable,
    "places": PlaceTable,
    "keep_outs": KeepOutTable,
    "sleeve": SleeveTable,
    "rotary": RotaryTable,
    "calibration": CalibrationTable,
    "motion": MotionTable,
    "timing": TimingTable,
    "lights": LightRuleTable,
}
"""Tables within tables: what a key, or the kind of a shape, is checked by."""

_WORDS: Final = {
    "extra_forbidden": "this key is not known here",
    "missing": "this key is missing",
    "union_tag_invalid": "the shape must be rectangle, ellipse, slot or path",
    "union_tag_not_found": "a table with the key shape is needed here",
}


def first_complaint(error: ValidationError, table: type[Table]) -> tuple[str, str, str]:
    """The first thing that is wrong with a table: its key, what is wrong, and a hint, for a person."""
    complaint = error.errors()[0]
    parts = [str(part) for part in complaint["loc"]]
    inner = next((_INNER[part] for part in reversed(parts) if part in _INNER), table)
    key = ".".join(part for part in parts if part not in SHAPES)
    plain = complaint["msg"].removeprefix("Value error, ").replace("Input should be", "it must be")
    hint = (
        f"keys here: {', '.join(_keys(inner))}" if complaint["type"] in ("extra_forbidden", "missing") else ""
    )
    return key, _WORDS.get(complaint["type"], plain), hint


def _keys(table: type[Table]) -> list[str]:
    """The keys of a table; those that may be left out in brackets."""
    fields = [(field.alias or name, field) for name, field in table.model_fields.items()]
    needed = [name for name, field in fields if field.is_required()]
    return needed + [f"[{name}]" for name, field in fields if not field.is_required()]
