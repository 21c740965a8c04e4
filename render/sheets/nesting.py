"""Irregular pieces laid closely on sheets of stock with used-up regions: largest first, each where it fits.

The same pieces, stock and options always give the same places: no clock has a say in it.
"""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any, Final

from render.sheets.raster import MOST_SQUARES, Board, Stamp, filled, reserve, square_um, stamp

_GIVES_UP: Final = 8
"""A sheet on which so many shapes in a row found no room is full for all that are not smaller."""


Stamps = dict[tuple[bytes, float], Stamp]
"""Squares of shapes by their outline and the degrees they are turned by."""


@dataclass(frozen=True, slots=True)
class Shape:
    """What is to be laid: a shapely region in mm, filled, and the degrees (clockwise) it may be turned by."""

    id: str
    region: Any
    angles: tuple[float, ...] = (0.0, 90.0, 180.0, 270.0)


@dataclass(frozen=True, slots=True)
class Room:
    """A sheet of stock, mm: its size, what stays free at the rim, and shapely regions that are gone."""

    width: float
    height: float
    margin: float = 0.0
    used: tuple[Any, ...] = ()


@dataclass(frozen=True, slots=True)
class Laid:
    """A shape on a sheet (counted from 0): turned about (0, 0), then moved by whole micrometres."""

    id: str
    sheet: int
    angle: float
    x_um: int
    y_um: int


@dataclass(frozen=True, slots=True)
class Nest:
    """Shapes on sheets.

    Attributes:
        left: ids of those that do not fit on any sheet.
        how: which way of laying gave it.
    """

    laid: tuple[Laid, ...]
    left: tuple[str, ...] = ()
    how: str = "nested"


@dataclass(slots=True)
class _Job:
    rooms: Sequence[Room]
    gap: float
    side: int
    stamps: Stamps
    boards: list[Board] = field(default_factory=list)
    failed: list[int] = field(default_factory=list)
    smallest: list[float] = field(default_factory=list)
    spectra: dict[Any, Any] = field(default_factory=dict)
    last: bytes = b""

    def stamp(self, shape: Shape, angle: float) -> Stamp:
        """The squares of a shape; remembered, since many pieces are alike."""
        key = (shape.region.wkb, angle)
        if key not in self.stamps:
            self.stamps[key] = stamp(turned(shape.region, angle), self.side, self.gap / 2)
        if key[0] != self.last:
            self.last = key[0]
            self.spectra.clear()
        return self.stamps[key]

    def room(self, sheet: int) -> Room:
        return self.rooms[min(sheet, len(self.rooms) - 1)]

    @property
    def pad(self) -> float:
        return self.gap / 2 + reserve(self.side)

    def board(self, sheet: int) -> Board:
        """The board of a sheet, opened when first asked for."""
        import shapely

        if sheet == len(self.boards):
            room = self.room(sheet)
            corner = round((room.margin - self.pad) * 1000)
            size = tuple(
                math.floor((side - 2 * room.margin + 2 * self.pad) * 1000 / self.side)
                for side in (room.width, room.height)
            )
            gone = shapely.union_all([*room.used, shapely.Polygon()]).buffer(self.pad)
            origin = (corner, corner)
            self.boards.append(Board(filled(gone, origin, (max(size[0], 1), max(size[1], 1)), self.side)))
            self.failed.append(0)
            self.smallest.append(math.inf)
        return self.boards[sheet]


def nest(
    shapes: Sequence[Shape],
    rooms: Sequence[Room],
    gap: float,
    *,
    in_order: bool = False,
    tries: int = 1,
    first_try: int = 0,
    most_sheets: int = 10_000,
    squares: int = MOST_SQUARES,
    stamps: Stamps | None = None,
) -> Nest:
    """Lay shapes on as many sheets as they need.

    Largest first, each as far left and then as far up as it fits, in the turn that reaches least far right
    (bottom-left filling; common practice, no source). No two come nearer than `gap`, none nearer to a used-up
    region or into the margin.

    Args:
        shapes: with different ids.
        rooms: the sheets in the order of their use; the last may be had as often as needed.
        gap: least distance, mm.
        in_order: keep the order of the shapes: no sheet holds one that comes after one on the next sheet.
        tries: in how many orders to lay them; the best nest is kept.
        first_try: number of the first of these orders; 0 is largest first, all others are more or less so.
        most_sheets: stop there; what is left over is told.
        squares: how finely to look.
        stamps: squares of shapes from before, by the same gap and squares on the same sheets; kept there.
    """
    found = []
    stamps = {} if stamps is None else stamps
    for number in range(first_try, first_try + (1 if in_order else max(tries, 1))):
        laid, left = _filled(shapes, rooms, gap, number, in_order, most_sheets, squares, stamps)
        found.append(Nest(tuple(laid), tuple(left)))
    return min(found, key=lambda n: (len(n.left), *reach(n, shapes)))


def _filled(
    shapes: Sequence[Shape],
    rooms: Sequence[Room],
    gap: float,
    number: int,
    in_order: bool,
    most_sheets: int,
    squares: int,
    stamps: Stamps,
) -> tuple[list[Laid], list[str]]:
    """One way of laying: largest first, in later tries more or less."""
    widest = max(rooms, key=lambda r: r.width * r.height)
    job = _Job(rooms, gap, square_um(widest.width, widest.height, squares), stamps)
    chance = random.Random(number)  # noqa: S311 - seeded: always the same
    shaken = {s.id: _weight(s) * (1 + (0.5 * chance.random() if number else 0)) for s in shapes}
    queue = list(shapes) if in_order else sorted(shapes, key=lambda s: -shaken[s.id])
    laid: list[Laid] = []
    left: list[str] = []
    first = 0
    for shape in queue:
        found = _lay(shape, job, first, most_sheets)
        if found is None:
            left.append(shape.id)
        else:
            laid.append(found)
            first = found.sheet if in_order else 0
    return laid, left


def _weight(shape: Shape) -> float:
    """Large and bulky ones are hard to place, so they go first."""
    x0, y0, x1, y1 = shape.region.bounds
    return float(shape.region.area + 0.25 * (x1 - x0) * (y1 - y0))


def turned(region: Any, angle: float) -> Any:
    """A shapely region turned clockwise about (0, 0), y being down."""
    from shapely import affinity

    return affinity.rotate(region, angle, origin=(0, 0))


def _lay(shape: Shape, job: _Job, first: int, most_sheets: int) -> Laid | None:
    stamps = [(angle, job.stamp(shape, angle)) for angle in shape.angles]
    weight = _weight(shape)
    sheet = first
    while sheet < most_sheets:
        fresh = sheet == len(job.boards)
        board = job.board(sheet)
        full = job.failed[sheet] >= _GIVES_UP and weight >= job.smallest[sheet]
        if not full and board.free >= min(s.mask.sum() for _, s in stamps):
            best = _best(board, stamps, job.spectra)
            if best is not None:
                angle, mark, at = best
                board.put(mark.mask, at)
                job.failed[sheet] = 0
                return _placed(shape.id, sheet, angle, mark, at, job)
            job.failed[sheet] += 1
            job.smallest[sheet] = min(job.smallest[sheet], weight)
        if fresh and sheet >= len(job.rooms) - 1:
            job.boards.pop(), job.failed.pop(), job.smallest.pop()
            return None
        sheet += 1
    return None


def _best(
    board: Board, stamps: list[tuple[float, Stamp]], spectra: dict[Any, Any]
) -> tuple[float, Stamp, tuple[int, int]] | None:
    """The turn and place that reach least far to the right, then least far down."""
    found = []
    for number, (angle, mark) in enumerate(stamps):
        key = (board.taken.shape, angle)
        if mark.mask.shape[0] > board.taken.shape[0] or mark.mask.shape[1] > board.taken.shape[1]:
            continue
        if key not in spectra:
            spectra[key] = board.spectrum(mark.mask)
        at = board.room(spectra[key], mark.mask)
        if at is not None:
            found.append((at[0] + mark.mask.shape[0], at[1] + mark.mask.shape[1], number, angle, mark, at))
    if not found:
        return None
    return min(found, key=lambda f: f[:3])[3:]


def _placed(id_: str, sheet: int, angle: float, mark: Stamp, at: tuple[int, int], job: _Job) -> Laid:
    corner = round((job.room(sheet).margin - job.pad) * 1000)
    return Laid(
        id_, sheet, angle, corner + at[0] * job.side - mark.x_um, corner + at[1] * job.side - mark.y_um
    )


def lying(laid: Laid, region: Any) -> Any:
    """A shape's region where it lies on its sheet, mm."""
    from shapely import affinity

    return affinity.translate(turned(region, laid.angle), laid.x_um / 1000, laid.y_um / 1000)


def reach(nest_: Nest, shapes: Sequence[Shape]) -> tuple[int, float]:
    """How many sheets are used, and how far from the left the last is: smaller is better."""
    regions = {s.id: s.region for s in shapes}
    sheets = 1 + max((p.sheet for p in nest_.laid), default=-1)
    last = (lying(p, regions[p.id]).bounds[2] for p in nest_.laid if p.sheet == sheets - 1)
    return sheets, max(last, default=0.0)


def too_close(nest_: Nest, shapes: Sequence[Shape], rooms: Sequence[Room], gap: float) -> list[str]:
    """What is wrong with a nest, by shapely alone: pairs nearer than the gap, shapes off their room."""
    import shapely

    regions = {s.id: s.region for s in shapes}
    wrong = []
    for sheet in sorted({p.sheet for p in nest_.laid}):
        room = rooms[min(sheet, len(rooms) - 1)]
        here = [(p.id, lying(p, regions[p.id])) for p in nest_.laid if p.sheet == sheet]
        inner = shapely.box(room.margin, room.margin, room.width - room.margin, room.height - room.margin)
        tree = shapely.STRtree([r for _, r in here])
        for at, (id_, region) in enumerate(here):
            if not inner.buffer(1e-6).contains(region):
                wrong.append(f"{id_} leaves the sheet")
            if any(region.distance(gone) < gap - 1e-6 for gone in room.used):
                wrong.append(f"{id_} is too near a used-up region")
            near = tree.query(region, predicate="dwithin", distance=gap - 1e-6)
            wrong += [f"{id_} and {here[other][0]} are too near" for other in near if other > at]
    return wrong
