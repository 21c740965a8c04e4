"""Where pieces go on one load: on stock, in a jig, on a rotary."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from typing import Final, NoReturn

from render.errors import MonikerfError
from render.model import Blank, Hold, Jig, Machine, Problem, Rotary, RotaryKind, RoundBody, Severity, Stock
from render.sheets.nesting import Nest
from render.sheets.places import Grid, UmBox, packed
from render.units import UM_PER_MM, format_mm


class Fill(StrEnum):
    """In which direction places are filled and counted; the first is always top left."""

    ROWS = "rows"
    COLUMNS = "columns"


class Turn(StrEnum):
    """Whether pieces cut from stock are turned by a quarter, clockwise."""

    AUTO = "auto"
    """Where the order does not fit on one sheet upright and a sheet holds more of them turned."""
    NEVER = "never"
    """Never: the grain of the stock must run with the piece."""
    ALWAYS = "always"
    FREE = "free"
    """As AUTO; nested pieces by any multiple of 15°."""


class Arrange(StrEnum):
    """How pieces cut from stock are arranged; the grid is kept where that takes no more of the stock."""

    AUTO = "auto"
    """Nested where each piece is a shape of its own and where stock has been used before, else in a grid."""
    GRID = "grid"
    """One place a piece, all alike."""
    RECTANGLES = "rectangles"
    """Each piece takes the rectangle round it."""
    NESTED = "nested"
    """Each piece takes what it covers."""


STEPS: Final = 400
"""Steps of a search for a denser nest, unless told otherwise: a few seconds for what lies on one sheet."""


SEARCHED: Final = "searched"
BY_THE_CLOCK: Final = "searched by the clock"
CUT_SHORT: Final = "cut short by the clock"
"""How a nest was come by: in so many steps; within a time; in fewer steps than it should have had."""

NET_S: Final = 120.0
"""A search by steps is ended after so long: some ten times what a full sheet takes on two shared cores."""


@dataclass(frozen=True, slots=True)
class LayoutOptions:
    """How to lay out.

    Attributes:
        first_place: place on the first sheet to begin at, from 1: those before it are used up.
        arrange: how pieces cut from stock are arranged.
        in_order: nested pieces keep their order from sheet to sheet, whatever that takes; else only where it
            takes no more sheets.
        tries: how many orders of laying a nest is tried in; the same number gives the same nest.
        steps: how many steps a search for a denser nest takes besides; the same number gives the same nest,
            on any machine that is not so slow that the search is cut short, which is told. 0: none.
        seconds: how long to search instead; what is found depends on the machine's speed, which is told.
    """

    fill: Fill = Fill.ROWS
    turn: Turn = Turn.AUTO
    first_place: int = 1
    arrange: Arrange = Arrange.GRID
    in_order: bool = False
    tries: int = 1
    steps: int = STEPS
    seconds: float = 0.0


AS_SUITS: Final = LayoutOptions(arrange=Arrange.AUTO)
"""As the thing suggests: in a grid, or nested where each piece is a shape of its own."""


def by_the_clock(nest: Nest, options: LayoutOptions) -> tuple[Problem, ...]:
    """That another machine may find another nest, where a clock had a say in this one."""
    other = "another machine may find another. The same job here takes it again."
    if nest.how == BY_THE_CLOCK:
        text = f"This nest was searched for {options.seconds:g} s by the clock: {other}"
        return (Problem(Severity.NOTE, "nest-by-the-clock", text),)
    if nest.how == CUT_SHORT:
        text = f"The search for this nest was cut short after {NET_S:g} s, its steps not done: {other}"
        hint = "Lay out fewer pieces at a time, or take --arrange rectangles."
        return (Problem(Severity.NOTE, "nest-cut-short", text, hint),)
    return ()


def reach(machine: Machine, blank: Blank) -> tuple[float, float]:
    """Width and height in mm that drawings for this thing may have on this machine: its bed.

    A rotary has no bed on the axis that it replaces: there the limit is one full turn.
    """
    if blank.hold is not Hold.ROTARY or machine.rotary is None:
        return machine.bed
    turn = _turn_length(machine, blank)
    return (machine.bed[0], turn) if machine.rotary.axis == "y" else (turn, machine.bed[1])


@dataclass(frozen=True, slots=True)
class Plan:
    """The places of a load and the size of its drawing, and the box that each piece must keep to (µm)."""

    grid: Grid
    size: tuple[int, int]
    gap: int
    box: UmBox
    word: str


Planned = tuple[Plan, tuple[Problem, ...]]


def _um(mm: float) -> int:
    return round(mm * UM_PER_MM)


def _mm(size: tuple[int, int]) -> str:
    return " × ".join(format_mm(side / UM_PER_MM) for side in size) + " mm"


def _too_large(blank: Blank, size: tuple[int, int], where: str, hint: str) -> NoReturn:
    raise MonikerfError(
        f"{blank.title} measures {_mm(size)}, which does not fit {where}.",
        hint=hint,
        place=f"blank {blank.id}",
    )


def _on_stock(
    count: int, blank: Blank, machine: Machine, _: Jig | None, stock: Stock | None, options: LayoutOptions
) -> Planned:
    bed = (_um(machine.bed[0]), _um(machine.bed[1]))
    sheet = stock or blank.stock or Stock(*machine.bed)
    if not (sheet.margin >= 0 and sheet.gap >= 0):
        raise MonikerfError(
            f"The margin ({format_mm(sheet.margin)} mm) and the gap ({format_mm(sheet.gap)} mm) of the stock"
            " cannot be negative.",
            hint="Give both as 0 or more.",
        )
    size, notes = stock_on_bed((_um(sheet.width), _um(sheet.height)), bed, machine)
    box = UmBox.round_path(blank.outline)
    margin, gap = _um(sheet.margin), _um(sheet.gap)
    upright, turned = (packed(box.size, size, margin, gap, q) for q in (0, 1))
    grid = turned if options.turn is Turn.ALWAYS else upright
    needed = count + options.first_place - 1
    if options.turn in (Turn.AUTO, Turn.FREE) and upright.capacity < min(turned.capacity, max(needed, 1)):
        grid = turned
    if not grid.capacity:
        room = (size[0] - 2 * margin, size[1] - 2 * margin)
        _too_large(
            blank,
            box.size,
            f"the {_mm(room)} that the stock leaves inside its margin of {format_mm(sheet.margin)} mm",
            "Use larger stock, a smaller margin or a machine with a larger bed"
            + (", or let the pieces be turned." if turned.capacity + upright.capacity else "."),
        )
    return Plan(grid, size, gap, box, "sheet"), notes


def stock_on_bed(
    size: tuple[int, int], bed: tuple[int, int], machine: Machine
) -> tuple[tuple[int, int], tuple[Problem, ...]]:
    """The part of the stock that the bed can reach, the stock turned if it fits so."""
    if size[0] <= bed[0] and size[1] <= bed[1]:
        return size, ()
    if size[1] <= bed[0] and size[0] <= bed[1]:
        text = f"The stock fits the bed of {machine.title} only turned: lay it {_mm(size[::-1])}."
        return size[::-1], (Problem(Severity.NOTE, "stock-turned", text),)
    part = (min(size[0], bed[0]), min(size[1], bed[1]))
    text = f"The stock of {_mm(size)} is larger than the bed of {machine.title} ({_mm(bed)})."
    hint = f"Lay it with its top left corner on the bed's; only {_mm(part)} of it are used."
    return part, (Problem(Severity.LOOK, "stock-larger-than-bed", text, hint),)


def _in_jig(
    _: int, blank: Blank, machine: Machine, jig: Jig | None, __: Stock | None, ___: LayoutOptions
) -> Planned:
    if jig is None:
        raise MonikerfError(
            f"{blank.title} lies in a jig, and none was named.",
            hint="Name a jig that holds it.",
            place=f"blank {blank.id}",
        )
    box = UmBox.round_path(blank.outline)
    pitch = (_um(jig.pitch[0]), _um(jig.pitch[1]))
    grid = Grid(jig.columns, jig.rows, (_um(jig.origin[0]), _um(jig.origin[1])), pitch)
    free = [p - side for p, side, n in zip(pitch, box.size, (jig.columns, jig.rows), strict=True) if n > 1]
    if min(free, default=0) < 0:
        _too_large(
            blank, box.size, f"the places of {jig.title}, which lie {_mm(pitch)} apart", "Use another jig."
        )
    bed = (_um(machine.bed[0]), _um(machine.bed[1]))
    last = grid.corner(grid.capacity - 1, by_columns=False)
    whole = UmBox(*grid.origin, last[0] + box.size[0], last[1] + box.size[1])
    if whole.outside(UmBox(0, 0, *bed)):
        raise MonikerfError(
            f"{jig.title} with its blanks reaches from {_mm((whole.x0, whole.y0))} to"
            f" {_mm((whole.x1, whole.y1))}, beyond the bed of {machine.title} ({_mm(bed)}).",
            hint="Use a smaller jig or a machine with a larger bed.",
            place=f"jig {jig.id}",
        )
    return Plan(grid, bed, min(free, default=0), box, "load"), ()


def _rotary(machine: Machine, blank: Blank) -> tuple[Rotary, RoundBody]:
    """The machine's rotary and the thing's round body."""
    if machine.rotary is None or blank.body is None:
        lack = (
            "has no rotary" if machine.rotary is None else f"cannot turn {blank.title}: it has no round body"
        )
        raise MonikerfError(
            f"{machine.title} {lack}.",
            hint="Choose a machine with a rotary, and a blank whose circumference and height are known.",
            place=f"machine {machine.id}, blank {blank.id}",
        )
    return machine.rotary, blank.body


def _turn_length(machine: Machine, blank: Blank) -> float:
    """One full turn of the thing in mm of the axis that the rotary replaces."""
    rotary, body = _rotary(machine, blank)
    if body.sent is not None:
        return body.sent[0]
    return rotary.turn if rotary.kind is RotaryKind.CHUCK else body.circumference


def _on_rotary(
    _: int, blank: Blank, machine: Machine, __: Jig | None, ___: Stock | None, ____: LayoutOptions
) -> Planned:
    rotary, body = _rotary(machine, blank)
    along_y = rotary.axis == "y"
    turn, height = _um(_turn_length(machine, blank)), _um(body.sent[1] if body.sent else body.height)
    room = machine.bed[0] if along_y else machine.bed[1]
    if height > _um(room):
        _too_large(
            blank,
            (_um(body.circumference), height),
            f"along the axis, where the bed of {machine.title} has {format_mm(room)} mm",
            "Give the blank the height that is really marked, or use a machine with a larger bed.",
        )
    size = (height, turn) if along_y else (turn, height)
    return Plan(Grid(1, 1, (0, 0), size), size, 0, UmBox(0, 0, *size), "run"), ()


PLANS: Final[dict[Hold, Callable[..., Planned]]] = {
    Hold.STOCK: _on_stock,
    Hold.JIG: _in_jig,
    Hold.ROTARY: _on_rotary,
}
