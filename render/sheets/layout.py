"""Laying pieces out: on stock, in a jig, one to a run of the rotary; as many loads as it takes."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from render.errors import MonikerfError
from render.geometry import Box, Path
from render.model import (
    Artwork,
    Blank,
    Hold,
    Jig,
    Machine,
    Operation,
    Placement,
    Problem,
    Severity,
    Sheet,
    Stock,
)
from render.sheets.places import UmBox
from render.sheets.plans import AS_SUITS, PLANS, Arrange, Fill, LayoutOptions, Plan, Turn, reach
from render.sheets.taken import Taken, right_of, taken_in_grid
from render.units import UM_PER_MM

if TYPE_CHECKING:
    from render.sheets.irregular import Kept

__all__ = ["AS_SUITS", "Arrange", "Fill", "Layout", "LayoutOptions", "Turn", "layout", "reach"]


_PLAIN: Final = LayoutOptions()
_FILLS_ITS_BOX: Final = 0.75
"""A circle fills 0.785 of its box, and a nest of circles is hardly denser than a grid of few."""
_BORDER_UM: Final = 1
"""Slack for rounding an artwork's own box, µm."""


@dataclass(frozen=True, slots=True)
class Layout:
    """The loads of an order.

    Attributes:
        columns, rows: places of a full sheet.
        turned: whether the pieces are turned by a quarter.
        problems: what a person should know; pieces named by a STOP are on no sheet.
        taken: of sheets cut from stock what each takes of it.
        way: how the pieces are arranged.
        sections: whether each sheet holds a section of a piece that is longer than the bed.
    """

    sheets: tuple[Sheet, ...]
    columns: int
    rows: int
    turned: bool
    problems: tuple[Problem, ...] = ()
    taken: tuple[Taken, ...] = ()
    way: Arrange = Arrange.GRID
    sections: bool = False


def layout(
    artworks: Sequence[Artwork],
    blank: Blank,
    machine: Machine,
    *,
    jig: Jig | None = None,
    stock: Stock | None = None,
    options: LayoutOptions = _PLAIN,
    offcuts: Sequence[Stock] = (),
    kept: Kept | None = None,
) -> Layout:
    """Lay finished artworks (see :func:`render.sheets.burn.finished`) out on as many sheets as they need.

    * Cut from stock: a grid at the top left of the stock; `stock` replaces the blank's own, without either
      the whole bed is stock. Stock larger than the bed is turned if that helps, and else used as far as the
      bed reaches.
    * As rectangles or nested by true shapes, if the options ask for it or the stock is no longer whole, on
      `offcuts` first: the grid is kept where it needs no more sheets and reaches no further on the last.
    * In a jig: the jig's places.
    * In a rotary: one piece a run and a sheet a piece, for each carries another name; the piece at the
      machine's origin. The artwork must have been wrapped: it is in the machine's mm, on the axes of the
      machine, and the sheet is one full turn × the height of the thing.

    Pieces with nothing to burn, or that reach beyond their blank's box, are held back with a problem.

    Raises:
        MonikerfError: the thing does not fit the bed, the stock or the jig, or a jig or rotary is missing.
        ValueError: two artworks have the same piece id.
    """
    if len({a.piece for a in artworks}) != len(artworks):
        raise ValueError("two artworks are of the same piece")
    if blank.hold is not Hold.STOCK:
        return _in_grid(artworks, blank, machine, jig, stock, options)
    sheet = stock or blank.stock or Stock(*machine.bed)
    way = arrangement(artworks, blank, (*offcuts, sheet), options)
    if way is Arrange.GRID:
        laid = _in_grid(artworks, blank, machine, None, stock, options)
        taken = taken_in_grid(laid.sheets, blank, sheet, machine)
        notes = _nest_may_help(laid, taken, blank) if options.arrange is Arrange.AUTO else ()
        return replace(laid, taken=taken, problems=(*laid.problems, *notes))
    if options.first_place > 1:
        raise MonikerfError(
            "Only a grid has places to begin at.", hint="Arrange in a grid, or begin at the first place."
        )
    return _close(artworks, blank, machine, sheet, replace(options, arrange=way), offcuts, kept)


def _nest_may_help(laid: Layout, taken: Sequence[Taken], blank: Blank) -> tuple[Problem, ...]:
    """Where a thing fills little of its box and takes more than a sheet, that a nest may take less."""
    box = blank.outline.bounds()
    places = sum(len(sheet.placements) for sheet in laid.sheets)
    if len(laid.sheets) < 2 or not blank.outline_cut:
        return ()
    share = sum(t.pieces for t in taken) / (places * box.width * box.height)
    if share > _FILLS_ITS_BOX:
        return ()
    text = (
        f"{blank.title} fills {100 * share:.0f} % of the rectangle round it: nested it may take less stock."
    )
    return (Problem(Severity.NOTE, "nest-may-help", text, "Try --arrange nested."),)


def arrangement(
    artworks: Sequence[Artwork], blank: Blank, stocks: Sequence[Stock], options: LayoutOptions
) -> Arrange:
    """How pieces are arranged: what was asked for, as far as the stock lets it."""
    whole = len(stocks) == 1 and not stocks[0].used
    if options.arrange is Arrange.AUTO:
        many = len(artworks) > 1 and options.first_place == 1
        return Arrange.GRID if whole and (blank.outline_cut or not many) else Arrange.NESTED
    if not whole and (options.arrange is Arrange.GRID or any(s.used for s in stocks)):
        return Arrange.NESTED
    return options.arrange


def _in_grid(
    artworks: Sequence[Artwork],
    blank: Blank,
    machine: Machine,
    jig: Jig | None,
    stock: Stock | None,
    options: LayoutOptions,
) -> Layout:
    plan, notes = PLANS[blank.hold](len(artworks), blank, machine, jig, stock, options)
    good, problems = _sound(artworks, plan.box)
    return Layout(
        tuple(_sheets(good, plan, blank, machine, options)),
        plan.grid.columns,
        plan.grid.rows,
        plan.grid.quarters % 2 == 1,
        (*notes, *problems),
    )


def _close(
    artworks: Sequence[Artwork],
    blank: Blank,
    machine: Machine,
    sheet: Stock,
    options: LayoutOptions,
    offcuts: Sequence[Stock],
    kept: Kept | None,
) -> Layout:
    """By rectangles or shapes, or the grid where that is no worse and the stock is whole."""
    from render.sheets.irregular import nested

    good, problems = _sound(artworks, UmBox.round_path(blank.outline))
    found = nested(good, blank, machine, (*offcuts, sheet), options, kept)
    laid = Layout(found.sheets, 0, 0, False, (*found.problems, *problems), found.taken, options.arrange)
    if offcuts or sheet.used:
        return laid
    try:
        grid = _in_grid(artworks, blank, machine, None, sheet, options)
    except MonikerfError:  # the blank's box is larger than the stock; its pieces may not be
        return laid
    held = any(p.severity is Severity.STOP for p in found.problems)
    if (held, *_extent(laid.sheets)) < (False, *_extent(grid.sheets)):
        return laid
    text = f"Laid in a grid: {_INSTEAD[options.arrange]} the pieces would take no less of the stock."
    note = Problem(Severity.NOTE, "grid-kept", text)
    taken = taken_in_grid(grid.sheets, blank, sheet, machine)
    return replace(grid, problems=(*grid.problems, note), taken=taken)


_INSTEAD: Final = {Arrange.RECTANGLES: "as rectangles", Arrange.NESTED: "by their shapes"}


def _extent(sheets: Sequence[Sheet]) -> tuple[int, float]:
    """How many sheets there are, and how far right the last is used, mm."""
    return len(sheets), right_of(sheets[-1]) if sheets else 0.0


def _sound(artworks: Sequence[Artwork], box: UmBox) -> tuple[list[Artwork], list[Problem]]:
    """The artworks that can be laid out, and why the others cannot."""
    good, problems = [], []
    for artwork in artworks:
        burned = Path.joined(m.path for m in artwork.marks if m.operation is not Operation.GUIDE)
        if not burned:
            message, hint = "has nothing to burn.", "Give it a name, or take its row out."
            problems.append(_held(artwork, "nothing-to-burn", message, hint))
        elif _leaves(burned, box):
            message = "has artwork that reaches beyond its blank."
            hint = "Make the lettering smaller or its area narrower, or choose a larger blank."
            problems.append(_held(artwork, "off-the-blank", message, hint))
        else:
            good.append(artwork)
    return good, problems


def _held(artwork: Artwork, code: str, message: str, hint: str) -> Problem:
    return Problem(Severity.STOP, code, f"Piece {artwork.piece} {message}", hint, piece=artwork.piece)


def _leaves(path: Path, box: UmBox) -> bool:
    """Whether a path reaches beyond a box; its control points settle it for most."""
    x, y = path.points.real, path.points.imag
    hull = UmBox.round_box(Box(x.min(), y.min(), x.max(), y.max()))
    return hull.outside(box, _BORDER_UM) and UmBox.round_box(path.bounds()).outside(box, _BORDER_UM)


def _sheets(
    artworks: Sequence[Artwork], plan: Plan, blank: Blank, machine: Machine, options: LayoutOptions
) -> Iterator[Sheet]:
    grid, rotary = plan.grid, blank.hold is Hold.ROTARY
    skip = 0 if rotary else options.first_place - 1
    if not 0 <= skip < grid.capacity:
        raise MonikerfError(
            f"There is no place {options.first_place} to begin at: a {plan.word} has {grid.capacity}.",
            hint=f"Begin at a place from 1 to {grid.capacity}.",
        )
    box = plan.box.turned(grid.quarters)
    loads = math.ceil((len(artworks) + skip) / grid.capacity) if artworks else 0
    for load in range(loads):
        begin = load * grid.capacity
        placements = []
        for place in range(max(begin, skip), min(begin + grid.capacity, len(artworks) + skip)):
            x, y = grid.corner(place - begin, options.fill is Fill.COLUMNS)
            art = artworks[place - skip]
            placements.append(Placement(art, place - begin + 1, x - box.x0, y - box.y0, grid.quarters))
        title = f"{blank.title}, {plan.word} {load + 1} of {loads}"
        if rotary:
            title += f": {placements[0].artwork.piece} {placements[0].artwork.title}"
        size = (plan.size[0] / UM_PER_MM, plan.size[1] / UM_PER_MM)
        yield Sheet(load + 1, title, size, plan.gap / UM_PER_MM, tuple(placements), machine.colours)
