"""Pieces cut from stock by their true shapes, on sheets and offcuts, in as few loads as can be."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any, Final, Protocol

import numpy as np

from render.geometry import CLOSE, Affine, Path
from render.model import Artwork, Blank, Machine, Mark, Operation, Placement, Problem, Severity, Sheet, Stock
from render.sheets.inside import flattened
from render.sheets.nesting import Laid, Nest, Room, Shape, lying, nest, reach, too_close
from render.sheets.plans import LayoutOptions, Turn, stock_on_bed
from render.units import UM_PER_MM, format_mm

ANGLES: Final = {
    Turn.AUTO: (0.0, 90.0, 180.0, 270.0),
    Turn.NEVER: (0.0, 180.0),
    Turn.ALWAYS: (90.0, 270.0),
    Turn.FREE: tuple(15.0 * k for k in range(24)),
}
"""By how much nested pieces may be turned; with the grain of the stock also head over heels."""

_FLAT_MM: Final = 0.01
_NEARLY: Final = 0.995
"""A region that fills so much of its box may be packed as a rectangle."""


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
    """Loads of nested pieces, with the area of pieces and of stock, mm², on each."""

    sheets: tuple[Sheet, ...]
    problems: tuple[Problem, ...]
    filled: tuple[tuple[float, float], ...]


def footprint(artwork: Artwork) -> Any:
    """The shapely region that a piece takes on the stock: all that is burned of it, holes filled."""
    return _footprint(Path.joined(m.path for m in artwork.marks if m.operation is not Operation.GUIDE))


@lru_cache(maxsize=4096)
def _footprint(path: Path) -> Any:
    import shapely

    parts: list[Any] = []
    for contour in path.contours():
        corners = flattened(contour, _FLAT_MM)
        xy = np.stack((corners.real, corners.imag), axis=1)
        if contour.commands[-1] == CLOSE and len(xy) > 2:
            parts.append(shapely.make_valid(shapely.Polygon(xy)))
        else:
            parts.append(shapely.LineString(xy) if len(xy) > 1 else shapely.Point(xy[0]))
    grown = shapely.union_all([part.buffer(_FLAT_MM, quad_segs=2) for part in parts])
    return shapely.union_all([shapely.Polygon(g.exterior) for g in getattr(grown, "geoms", [grown])])


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
    regions = {s.id: s.region for s in shapes}
    filled = tuple(
        (
            sum(regions[p.artwork.piece].area for p in sheet.placements),
            sheet.size[0] * sheet.size[1] - sum(u.area for u in _room(rooms, n).used),
        )
        for n, sheet in _numbered(found, sheets)
    )
    notes += tuple(_no_room(piece) for piece in found.left)
    notes += (_told(found, shapes, filled),) if sheets else ()
    return Nested(sheets, notes, filled)


def _found(
    shapes: Sequence[Shape], rooms: Sequence[Room], gap: float, options: LayoutOptions, kept: Kept | None
) -> Nest:
    """The best of all ways of laying."""
    key = _key(shapes, rooms, gap, options)
    before = kept.get(key) if kept is not None and options.seconds > 0 else None
    if before is not None and not too_close(before, shapes, rooms, gap):
        return before
    found = nest(shapes, rooms, gap, in_order=options.in_order, tries=options.tries)
    if options.in_order:
        return found
    found = _better(found, _as_rectangles(shapes, rooms, gap, options), shapes)
    if options.seconds > 0:
        found = _searched(found, shapes, rooms, gap, options.seconds)
        if kept is not None:
            kept.put(key, found)
    return found


def _key(shapes: Sequence[Shape], rooms: Sequence[Room], gap: float, options: LayoutOptions) -> str:
    """What a nest depends on, as a name."""
    sha = hashlib.sha256()
    for shape in shapes:
        sha.update(f"{shape.id} {shape.angles} ".encode() + shape.region.wkb)
    for room in rooms:
        sha.update(f"{room.width} {room.height} {room.margin} ".encode() + b"".join(u.wkb for u in room.used))
    sha.update(f"{gap} {options.in_order} {options.tries} {options.seconds}".encode())
    return sha.hexdigest()


def _better(found: Nest, other: Nest | None, shapes: Sequence[Shape]) -> Nest:
    if other is None:
        return found
    scores = [(len(n.left), *reach(n, shapes)) for n in (found, other)]
    return other if scores[1] < scores[0] else found


def _as_rectangles(
    shapes: Sequence[Shape], rooms: Sequence[Room], gap: float, options: LayoutOptions
) -> Nest | None:
    """All of them packed as rectangles, where they nearly are."""
    boxes = {s.id: s.region.bounds for s in shapes}
    areas = {i: (b[2] - b[0]) * (b[3] - b[1]) for i, b in boxes.items()}
    if any(room.used for room in rooms) or any(s.region.area < _NEARLY * areas[s.id] for s in shapes):
        return None
    if options.turn is Turn.ALWAYS:
        return None
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


def _searched(
    found: Nest, shapes: Sequence[Shape], rooms: Sequence[Room], gap: float, seconds: float
) -> Nest:
    """The nest with its last two sheets made one, or its last shortened, if the time suffices to find how."""
    from render.sheets.strips import shorten_strip

    sheets, last = reach(found, shapes)
    tails = [t for t in (2, 1) if sheets >= t]
    for tail in tails:
        begin = sheets - tail
        room = _room(rooms, begin)
        ids = {p.id for p in found.laid if p.sheet >= begin}
        if tail == 2 and sum(s.region.area for s in shapes if s.id in ids) > room.width * room.height:
            continue
        shorter = shorten_strip([s for s in shapes if s.id in ids], room, gap, seconds / len(tails))
        if shorter is None:
            continue
        right = reach(shorter, shapes)[1]
        limit = room.width - room.margin if tail == 2 else last
        if right < limit:
            rest = tuple(p for p in found.laid if p.id not in ids)
            return Nest((*rest, *(replace(p, sheet=begin) for p in shorter.laid)), found.left, "searched")
    return found


def _room(rooms: Sequence[Room], sheet: int) -> Room:
    return rooms[min(sheet, len(rooms) - 1)]


def _numbered(found: Nest, sheets: Sequence[Sheet]) -> list[tuple[int, Sheet]]:
    """Each sheet with the number of the room it was filled from."""
    return list(zip(sorted({p.sheet for p in found.laid}), sheets, strict=True))


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
        used = [shapely.Polygon(_corners(c)) for path in stock.used for c in path.contours()]
        width, height = size[0] / UM_PER_MM, size[1] / UM_PER_MM
        if size != wanted and size == wanted[::-1]:
            used = [shapely.affinity.affine_transform(u, [0, -1, 1, 0, stock.height, 0]) for u in used]
        whole = shapely.box(0, 0, width, height)
        rooms.append(Room(width, height, stock.margin, tuple(u.intersection(whole) for u in used)))
        sizes.append((width, height))
    return rooms, sizes, tuple(dict.fromkeys(notes))


def _corners(contour: Path) -> list[tuple[float, float]]:
    return [(p.real, p.imag) for p in flattened(contour, _FLAT_MM).tolist()]


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


def _told(found: Nest, shapes: Sequence[Shape], filled: Sequence[tuple[float, float]]) -> Problem:
    """How much of the stock becomes pieces, and how much of the last sheet is left."""
    _, last = reach(found, shapes)
    share = sum(p for p, _ in filled) / sum(s for _, s in filled)
    loads = "one sheet" if len(filled) == 1 else f"{len(filled)} sheets"
    text = (
        f"Nested on {loads}: {100 * share:.1f} % of the stock becomes pieces, {100 - 100 * share:.1f} % is"
        f" waste; the last sheet is used as far as {format_mm(last, 0)} mm from its left."
    )
    return Problem(Severity.NOTE, "nested", text)


def used_up(sheet: Sheet) -> tuple[Path, ...]:
    """The closed regions of a sheet that its pieces take, to be remembered with the offcut."""
    found = []
    for placement in sheet.placements:
        at = Laid("", 0, 90.0 * (placement.quarters % 4), placement.x_um, placement.y_um)
        region = lying(at, footprint(placement.artwork)).simplify(0.05)
        rings = [part.exterior.coords[:-1] for part in getattr(region, "geoms", [region])]
        found += [Path.polygon(complex(x, y) for x, y in ring) for ring in rings]
    return tuple(found)
