"""The single checks of a sheet file; each yields what is not as meant."""

from __future__ import annotations

import hashlib
import re
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from render.model import Artwork, Operation, Placement, Sheet
from render.sheets import measure
from render.sheets.apart import inside_later, too_near
from render.sheets.pathpool import M, Pool, Z
from render.sheets.reader import Group, SheetFile

ORDER: Final = ("guide", "engrave", "score", "cut")
"""The operations' groups in a file, guides beneath, then in the order of burning."""

COLOURS: Final = {"engrave": "#0072b2", "score": "#009e73", "cut": "#d55e00", "guide": "#cc79a7"}
"""Where a sheet names no colours: of Okabe and Ito's palette (2008)."""

_ROUNDING_UM: Final = 1.0  # rounding moves a point by less than 0.71 µm


@dataclass(frozen=True, slots=True)
class Finding:
    """One difference between a file and what was meant."""

    code: str
    message: str
    piece: str = ""


@dataclass(frozen=True, slots=True)
class Meant:
    """What a file should hold: placements by the id of their groups, in order, for each operation."""

    groups: Mapping[tuple[str, str], Placement]

    @classmethod
    def of(cls, sheet: Sheet) -> Meant:
        """Of all pieces the operations that have geometry."""
        found: dict[tuple[str, str], Placement] = {}
        for operation in ORDER:
            for placement in sheet.placements:
                if any(m.operation == operation and m.path.points.size for m in placement.artwork.marks):
                    found[operation, _id(placement.artwork, operation)] = placement
        return cls(found)


def _id(artwork: Artwork, operation: str) -> str:
    """A piece's id as an XML name, and the operation."""
    name = re.sub(r"[^\w.-]", "_", artwork.piece, flags=re.ASCII)
    return ("" if re.match("[A-Za-z_]", name) else "_") + f"{name}-{operation}"


def _known(file: SheetFile, meant: Meant) -> Iterator[tuple[Group, Placement, Pool]]:
    """Groups that were meant, with their placement and their paths."""
    for group in file.groups:
        placement = meant.groups.get((group.operation, group.id))
        if placement is not None and len(group.paths):
            yield group, placement, _part(file, group)


def _part(file: SheetFile, group: Group) -> Pool:
    return file.pool.part(group.paths.start, group.paths.stop)


def _meant_path(artwork: Artwork, operation: str) -> tuple[NDArray[np.uint8], NDArray[np.float64]]:
    """Commands, and points in µm before rounding, of one operation of an artwork."""
    paths = [m.path for m in artwork.marks if m.operation == operation]
    points = np.concatenate([p.points for p in paths])
    return np.concatenate([p.commands for p in paths]), np.stack((points.real, points.imag), 1) * 1000


def groups(file: SheetFile, meant: Meant) -> Iterator[Finding]:
    """Every piece once in each operation, under its id and title, in the order of burning; nothing else."""
    operations = [name for name in ORDER if any(op == name for op, _ in meant.groups)]
    if [name for name in file.operations if name not in ORDER] or list(file.operations) != operations:
        said = ", ".join(file.operations)
        yield Finding("order", f"Its operations are {said}; they should be {', '.join(operations)}.")
    read = [(g.operation, g.id) for g in file.groups if len(g.paths)]
    there = Counter(read)
    for (operation, name), times in there.items():
        if times > 1 or (operation, name) not in meant.groups:
            yield Finding(
                "extra", f"The group {name} in {operation or 'no operation'} was not meant so.", name
            )
    for operation, name in meant.groups:
        if (operation, name) not in there:
            yield Finding("missing", f"The group {name} is missing from {operation}.", name)
    if read != list(meant.groups) and len(read) == len(meant.groups):
        yield Finding("order", "Its pieces are not in the order of their places.")
    elif len(read) != len(meant.groups):
        yield Finding("count", f"It holds {len(read)} groups instead of {len(meant.groups)}.")
    for group, placement, _ in _known(file, meant):
        for text in (placement.artwork.piece, placement.artwork.title):
            if _bare(text) not in _bare(group.title):
                yield Finding(
                    "title", f"The title of {group.id} does not name {text}.", placement.artwork.piece
                )


def _bare(text: str) -> str:
    """Text without what XML cannot carry, and without spaces, which it may change."""
    return "".join(c for c in text if c.isprintable() and not c.isspace() and c != "\ufffd")


def words(file: SheetFile, sheet: Sheet) -> Iterator[Finding]:
    """The sheet's title, and what a person is to set, as they were meant and once each."""
    if [_bare(text) for text in file.titles] != [_bare(sheet.title)]:
        yield Finding("title", f"Its title is not {sheet.title!r}.")
    if [_bare(text) for text in file.descriptions] != [_bare(sheet.settings)] * bool(sheet.settings):
        yield Finding("settings", "What it says about setting the machine is not as meant.")


def looks(file: SheetFile, sheet: Sheet) -> Iterator[Finding]:
    """Engraved areas filled by the non-zero rule, all else drawn as lines, each in its operation's colour."""
    wanted = {}
    for name in ORDER:
        colour = sheet.colours.get(Operation(name), COLOURS[name]).lower()
        wanted[name] = (colour, "none") if name == "engrave" else ("none", colour)
    for group in file.groups:
        for fill, stroke, rule in group.looks:
            if (fill.lower(), stroke.lower()) != wanted.get(group.operation) or rule != "nonzero":
                yield Finding("colour", f"{group.id} is not drawn in the colour of {group.operation}.")


def contours(file: SheetFile, meant: Meant) -> Iterator[Finding]:
    """What is engraved is closed, the rest as far as it was meant.

    An engraved area is one path, else its counters would be filled; a line to follow is one path a contour.
    """
    for group, placement, pool in _known(file, meant):
        commands = _meant_path(placement.artwork, group.operation)[0]
        open_meant = 0 if group.operation == "engrave" else int((commands == M).sum() - (commands == Z).sum())
        if (pool.commands == M).sum() - (pool.commands == Z).sum() != open_meant:
            yield Finding("open", f"{group.id} has contours that are not closed.", placement.artwork.piece)
        if group.operation == "engrave":
            marks = [
                m.path.commands.size for m in placement.artwork.marks if m.operation == "engrave" and m.path
            ]
            if pool.command_at[1:].tolist() != np.cumsum(marks).tolist():
                yield Finding(
                    "split", f"The areas of {group.id} are not one path each.", placement.artwork.piece
                )
        elif (pool.commands == M).sum() != len(group.paths):
            yield Finding(
                "joined", f"{group.id} has more than one contour in a path.", placement.artwork.piece
            )


def put_back(points: NDArray[Any], placement: Placement) -> NDArray[Any]:
    """Points on the sheet, µm, where they were before the piece was turned and moved."""
    x, y = points[:, 0] - placement.x_um, points[:, 1] - placement.y_um
    turned = {0: (x, y), 1: (y, -x), 2: (-x, -y), 3: (-y, x)}[placement.quarters % 4]
    return np.stack(turned, axis=1)


def digests(file: SheetFile, meant: Meant) -> Iterator[Finding]:
    """Each piece's digest, computed from the file alone, is its artwork's; guides are compared too."""
    parts: dict[str, dict[str, bytes]] = {}
    for group, placement, pool in _known(file, meant):
        points = put_back(pool.points, placement)
        if group.operation == "guide":
            commands, wanted = _meant_path(placement.artwork, "guide")
            same = np.array_equal(commands, pool.commands) and np.array_equal(np.rint(wanted), points)
            if not same:
                yield Finding("guide", f"{group.id} is not as meant.", placement.artwork.piece)
            continue
        blocks = (pool.commands.astype("u1").tobytes(), points.astype("<i8").tobytes())
        hashed = b"".join(len(b).to_bytes(8, "little") + b for b in blocks)
        parts.setdefault(placement.artwork.piece, {})[group.operation] = (
            group.operation.encode() + b"\0" + hashed
        )
    for artwork in dict.fromkeys(p.artwork.piece for p in meant.groups.values()):
        own = parts.get(artwork, {})
        digest = hashlib.sha256(b"".join(own[op] for op in ORDER[1:] if op in own)).hexdigest()
        if digest != _artworks(meant)[artwork].digest():
            yield Finding("digest", f"The geometry of piece {artwork} is not what was meant.", artwork)


def _artworks(meant: Meant) -> Mapping[str, Artwork]:
    return {p.artwork.piece: p.artwork for p in meant.groups.values()}


def areas(file: SheetFile, meant: Meant) -> Iterator[Finding]:
    """The net engraved area of each piece is that of its artwork before rounding, but for the rounding."""
    known = [k for k in _known(file, meant) if k[0].operation == "engrave"]
    if not known:
        return
    wanted = _pool_of([_meant_path(p.artwork, "engrave") for _, p, _ in known])
    read = _pool_of([(pool.commands, pool.points) for _, _, pool in known])
    parts = measure.segments(wanted), measure.segments(read)
    area_meant, area_read = (measure.signed_areas(part, len(known)) for part in parts)
    allowed = _ROUNDING_UM * measure.control_lengths(parts[0], len(known)) + 1
    for at in np.flatnonzero(~(np.abs(area_meant - area_read) <= allowed)):
        piece = known[at][1].artwork.piece
        told = f"{area_read[at] / 1e6:.3f} instead of {area_meant[at] / 1e6:.3f} mm²"
        yield Finding("area", f"The engraved area of piece {piece} is {told}.", piece)


def _pool_of(paths: list[tuple[NDArray[np.uint8], NDArray[Any]]]) -> Pool:
    ends = [np.cumsum([0, *(len(arrays[i]) for arrays in paths)]) for i in (0, 1)]
    return Pool(
        np.concatenate([p[0] for p in paths]), np.concatenate([p[1] for p in paths]), ends[0], ends[1]
    )


def _group_hulls(file: SheetFile) -> dict[int, NDArray[Any]]:
    """The box of the points of each group that has paths, by its index."""
    if not file.data:
        return {}
    hulls = measure.hulls(file.pool)
    found = {}
    for at, group in enumerate(file.groups):
        if len(group.paths):
            own = hulls[group.paths.start : group.paths.stop]
            found[at] = np.concatenate((own[:, :2].min(axis=0), own[:, 2:].max(axis=0)))
    return found


def bounds(file: SheetFile, sheet: Sheet) -> Iterator[Finding]:
    """Everything lies on the sheet."""
    width, height = (round(side * 1000) for side in sheet.size)

    def on_sheet(box: NDArray[Any]) -> bool:
        return bool((box[:2] > -0.5).all() and box[2] < width + 0.5 and box[3] < height + 0.5)

    for at, hull in _group_hulls(file).items():
        group = file.groups[at]
        if not on_sheet(hull) and not on_sheet(measure.exact_box(_part(file, group))):
            yield Finding("off-sheet", f"{group.id} reaches beyond the sheet.")


def distances(file: SheetFile, sheet: Sheet) -> Iterator[Finding]:
    """What is burned of any two pieces is at least the sheet's gap apart."""
    pieces: dict[str, list[int]] = {}
    hulls = _group_hulls(file)
    for at in hulls:
        if file.groups[at].operation != "guide":
            pieces.setdefault(file.groups[at].id.rpartition("-")[0], []).append(at)
    if len(pieces) < 2:
        return
    boxes = np.array(
        [
            np.concatenate(
                (
                    np.min([hulls[at][:2] for at in ats], axis=0),
                    np.max([hulls[at][2:] for at in ats], axis=0),
                )
            )
            for ats in pieces.values()
        ]
    )
    pools = [[_part(file, file.groups[at]) for at in ats] for ats in pieces.values()]
    names = list(pieces)
    for i, j, distance in too_near(pools, boxes, sheet.gap * 1000):
        told = f"{names[i]} and {names[j]} are {distance / 1000:.3f} mm apart instead of {sheet.gap:g} mm"
        yield Finding("too-near", f"Pieces {told}.", names[i])


def burn_order(file: SheetFile, meant: Meant) -> Iterator[Finding]:
    """In each piece nothing is cut loose before what lies inside it is cut."""
    seen: dict[bytes, bool] = {}
    for group, placement, pool in _known(file, meant):
        if group.operation == "cut":
            back = put_back(pool.points, placement)
            key = pool.commands.tobytes() + back.tobytes()
            if key not in seen:
                seen[key] = inside_later(pool) is None
            if not seen[key]:
                yield Finding("inner-last", f"{group.id} cuts an outer line before one inside it.")
