"""Pieces cut from stock by their true shapes, on sheets and offcuts, in as few loads as can be."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, Protocol

from render.geometry import Affine
from render.model import Artwork, Blank, Machine, Mark, Placement, Problem, Severity, Sheet, Stock
from render.sheets.footprints import corners_of, footprint
from render.sheets.nesting import Laid, Nest, Room, Shape, nest, reach, too_close
from render.sheets.plans import Arrange, LayoutOptions, Turn, by_the_clock, stock_on_bed
from render.sheets.raster import MOST_SQUARES
from render.sheets.taken import Taken, lies_turned, right_of
from render.units import UM_PER_MM

ANGLES: Final = {
    Turn.AUTO: (0.0, 90.0, 180.0, 270.0),
    Turn.NEVER: (0.0, 180.0),
    Turn.ALWAYS: (90.0, 270.0),
    Turn.FREE: tuple(15.0 * k for k in range(24)),
}
"""By how much nested pieces may be turned; with the grain of the stock also head over heels."""

_MANY: Final = 30
_SQUARES: Final = (MOST_SQUARES, 80_000)
_FEW_SQUARES: Final = (150_000, 80_000)
"""More pieces than those many are looked at on fewer squares, so that the time does not run away."""
_AT_ONCE: Final = 180
"""More pieces than this are nested part by part."""


class Kept(Protocol):
    """Where nests that took a search are remembered."""

    def get(self, key: str) -> Nest | None:
        """The nest kept under a key, if any."""
        ...

    def put(self, key: str, nest: Nest) -> None:
        """Keep a nest."""
        ...


@dataclass(frozen=True, slots=True)
class Nested:
    """Loads of nested pieces, and what each takes of its stock."""

    sheets: tuple[Sheet, ...]
    problems: tuple[Problem, ...]
    taken: tuple[Taken, ...]


def nested(
    artworks: Sequence[Artwork],
    blank: Blank,
    machine: Machine,
    stocks: Sequence[Stock],
    options: LayoutOptions,
    kept: Kept | None = None,
) -> Nested:
    """Nest finished artworks on sheets of stock, the last of which may be had as often as needed.

    What does not fit on any is held back with a problem. Pieces that are turned by other than quarters have
    their artwork turned, so that placing them stays exact. A search by time is done once and then remembered
    in `kept`, so that the same job gives the same sheets again.

    Raises:
        MonikerfError: the bed cannot take the stock.
    """
    rooms, sizes, notes = _rooms(stocks, machine)
    shapes = [Shape(a.piece, footprint(a), ANGLES[options.turn]) for a in artworks]
    gap = max(stock.gap for stock in stocks)
    found = _found(shapes, rooms, gap, options, kept)
    wrong = too_close(found, shapes, rooms, gap)
    if wrong:
        raise AssertionError(f"a nest that is not sound: {wrong[0]}")  # pragma: no cover - never seen
    sheets = _sheets(found, artworks, blank, machine, sizes, gap)
    taken = _taken(found, sheets, shapes, stocks, rooms, machine)
    notes += (*by_the_clock(found, options), *(_no_room(piece) for piece in found.left))
    return Nested(sheets, notes, taken)


def _taken(
    found: Nest,
    sheets: Sequence[Sheet],
    shapes: Sequence[Shape],
    stocks: Sequence[Stock],
    rooms: Sequence[Room],
    machine: Machine,
) -> tuple[Taken, ...]:
    """What each sheet takes of the stock that it was filled from."""
    regions = {s.id: s.region for s in shapes}
    angles = {p.id: p.angle % 90 for p in found.laid}
    numbers = sorted({p.sheet for p in found.laid})
    taken = []
    for number, sheet in zip(numbers, sheets, strict=True):
        stock, room = stocks[min(number, len(stocks) - 1)], _room(rooms, number)
        ids = [p.artwork.piece for p in sheet.placements]
        area = sheet.size[0] * sheet.size[1] - sum(u.area for u in room.used)
        pieces = sum(regions[i].area for i in ids)
        turns = {i: angles[i] for i in ids if angles[i]}
        taken.append(
            Taken(stock, lies_turned(stock, machine), pieces, area, sheet.size[0], right_of(sheet), turns)
        )
    return tuple(taken)


def _found(
    shapes: Sequence[Shape], rooms: Sequence[Room], gap: float, options: LayoutOptions, kept: Kept | None
) -> Nest:
    """The best of all ways of laying."""
    key = _key(shapes, rooms, gap, options)
    searches = not options.in_order and options.arrange is not Arrange.RECTANGLES
    before = kept.get(key) if kept is not None and searches else None
    if before is not None and not too_close(before, shapes, rooms, gap):
        return before
    found = _in_parts(shapes, rooms, gap, options)
    if searches and (options.steps or options.seconds):
        from render.sheets.search import denser

        found = denser(found, shapes, rooms, gap, steps=options.steps, seconds=options.seconds)
        if kept is not None and by_the_clock(found, options):
            kept.put(key, found)
    return found


def _in_parts(shapes: Sequence[Shape], rooms: Sequence[Room], gap: float, options: LayoutOptions) -> Nest:
    """Very many pieces part by part, in their order, alike parts once: the time must not run away."""
    if len(shapes) <= _AT_ONCE or len(rooms) > 1 or rooms[0].used:
        return _laid(shapes, rooms, gap, options)
    known: dict[tuple[tuple[bytes, tuple[float, ...]], ...], Nest] = {}
    laid: list[Laid] = []
    left: list[str] = []
    sheets = 0
    for begin in range(0, len(shapes), _AT_ONCE):
        part = shapes[begin : begin + _AT_ONCE]
        key = tuple((s.region.wkb, s.angles) for s in part)
        if key not in known:
            numbered = [replace(s, id=str(n)) for n, s in enumerate(part)]
            known[key] = _laid(numbered, rooms, gap, options)
        found = known[key]
        laid += [replace(p, id=part[int(p.id)].id, sheet=p.sheet + sheets) for p in found.laid]
        left += [part[int(id_)].id for id_ in found.left]
        sheets += 1 + max((p.sheet for p in found.laid), default=-1)
    return Nest(tuple(laid), tuple(left))


def _laid(shapes: Sequence[Shape], rooms: Sequence[Room], gap: float, options: LayoutOptions) -> Nest:
    """The best without a search; pieces keep their order from sheet to sheet where that takes no more."""
    packed = _packed(shapes, rooms, gap, options)
    if packed is not None and options.arrange is Arrange.RECTANGLES:
        return packed
    squares = _SQUARES if len(shapes) <= _MANY else _FEW_SQUARES
    if options.in_order:
        return nest(shapes, rooms, gap, in_order=True, squares=squares[0])
    free, *others = (nest(shapes, rooms, gap, tries=options.tries, squares=each) for each in squares)
    for other in (packed, *others):
        free = _better(free, other, shapes)
    sheets = _sheets_of(free)
    if sheets > 1:
        ordered = nest(shapes, rooms, gap, in_order=True, squares=squares[-1])
        if (len(ordered.left), _sheets_of(ordered)) <= (len(free.left), sheets):
            return ordered
    return free


def _sheets_of(found: Nest) -> int:
    return len({p.sheet for p in found.laid})


def _packed(
    shapes: Sequence[Shape], rooms: Sequence[Room], gap: float, options: LayoutOptions
) -> Nest | None:
    """Packed as rectangles, where the stock is whole: on small sheets a nest need not be better."""
    if any(room.used for room in rooms) or options.turn is Turn.ALWAYS or options.in_order:
        return None
    return _as_rectangles(shapes, rooms, gap, options)


def _key(shapes: Sequence[Shape], rooms: Sequence[Room], gap: float, options: LayoutOptions) -> str:
    """What a nest depends on, as a name."""
    sha = hashlib.sha256()
    for shape in shapes:
        sha.update(f"{shape.id} {shape.angles} ".encode() + shape.region.wkb)
    for room in rooms:
        sha.update(f"{room.width} {room.height} {room.margin} ".encode() + b"".join(u.wkb for u in room.used))
    sha.update(f"{gap} {options.in_order} {options.tries} {options.steps} {options.seconds}".encode())
    return sha.hexdigest()


def _better(found: Nest, other: Nest | None, shapes: Sequence[Shape]) -> Nest:
    if other is None:
        return found
    scores = [(len(n.left), *reach(n, shapes)) for n in (found, other)]
    return other if scores[1] < scores[0] else found


def _as_rectangles(
    shapes: Sequence[Shape], rooms: Sequence[Room], gap: float, options: LayoutOptions
) -> Nest:
    """All of them packed as the rectangles round them."""
    boxes = {s.id: s.region.bounds for s in shapes}
    from render.sheets.rectangles import Plate, pack

    turns = options.turn is not Turn.NEVER
    plates = [Plate(i, b[2] - b[0] + 2e-3, b[3] - b[1] + 2e-3, turns) for i, b in boxes.items()]
    packed = pack(plates, rooms, gap)
    laid = []
    for p in packed.laid:
        x0, y0 = boxes[p.id][:2]
        dx, dy = (-y0, x0) if p.angle else (x0, y0)
        x_um, y_um = p.x_um - round(1000 * dx) + (-1 if p.angle else 1), p.y_um - round(1000 * dy) + 1
        laid.append(Laid(p.id, p.sheet, p.angle, x_um, y_um))
    return Nest(tuple(laid), packed.left, packed.how)


def _room(rooms: Sequence[Room], sheet: int) -> Room:
    return rooms[min(sheet, len(rooms) - 1)]


def _rooms(
    stocks: Sequence[Stock], machine: Machine
) -> tuple[list[Room], list[tuple[float, float]], tuple[Problem, ...]]:
    import shapely

    bed = (round(machine.bed[0] * UM_PER_MM), round(machine.bed[1] * UM_PER_MM))
    rooms, sizes = [], []
    notes: list[Problem] = []
    for stock in stocks:
        wanted = (round(stock.width * UM_PER_MM), round(stock.height * UM_PER_MM))
        size, said = stock_on_bed(wanted, bed, machine)
        notes += said
        used = [shapely.Polygon(corners_of(c)) for path in stock.used for c in path.contours()]
        width, height = size[0] / UM_PER_MM, size[1] / UM_PER_MM
        if size != wanted and size == wanted[::-1]:
            used = [shapely.affinity.affine_transform(u, [0, -1, 1, 0, stock.height, 0]) for u in used]
        whole = shapely.box(0, 0, width, height)
        rooms.append(Room(width, height, stock.margin, tuple(u.intersection(whole) for u in used)))
        sizes.append((width, height))
    return rooms, sizes, tuple(dict.fromkeys(notes))


def turned_artwork(artwork: Artwork, degrees: float) -> Artwork:
    """The artwork turned clockwise about (0, 0)."""
    if degrees % 360 == 0:
        return artwork
    turn = Affine.rotation(degrees)
    return replace(artwork, marks=tuple(Mark(m.operation, m.path.transformed(turn)) for m in artwork.marks))


def _sheets(
    found: Nest,
    artworks: Sequence[Artwork],
    blank: Blank,
    machine: Machine,
    sizes: Sequence[tuple[float, float]],
    gap: float,
) -> tuple[Sheet, ...]:
    by_id = {a.piece: a for a in artworks}
    rank = {a.piece: n for n, a in enumerate(artworks)}
    used = sorted({p.sheet for p in found.laid})
    sheets = []
    for number, sheet in enumerate(used):
        here = sorted((p for p in found.laid if p.sheet == sheet), key=lambda p: rank[p.id])
        placements = tuple(_placement(p, by_id[p.id], n + 1) for n, p in enumerate(here))
        title = f"{blank.title}, sheet {number + 1} of {len(used)}"
        size = sizes[min(sheet, len(sizes) - 1)]
        sheets.append(Sheet(number + 1, title, size, gap, placements, machine.colours))
    return tuple(sheets)


def _placement(laid: Laid, artwork: Artwork, place: int) -> Placement:
    quarters, rest = divmod(laid.angle, 90)
    return Placement(turned_artwork(artwork, rest), place, laid.x_um, laid.y_um, int(quarters) % 4)


def _no_room(piece: str) -> Problem:
    message = f"Piece {piece} does not fit on any sheet of the stock in any turn allowed."
    hint = "Use larger stock or a smaller margin, or let the pieces be turned."
    return Problem(Severity.STOP, "no-room-on-stock", message, hint, piece=piece)
