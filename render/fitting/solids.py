"""Regions for questions of what hangs together: paths as polygons that remember the curves they came from."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import islice, pairwise
from typing import Any, Final

import numpy as np
import shapely
from numpy.typing import NDArray

from render.fitting.edges import TOUCH_MM
from render.geometry import CLOSE, MOVE, Path

CHORDS_MM: Final = 0.01
"""Greatest distance between a curve and the chords by which it is judged: a tenth of a laser spot."""

Points = NDArray[np.complex128]
Region = Any
"""A shapely polygon or several."""

Edge = tuple[complex, complex]


@dataclass(slots=True)
class Memory:
    """Which chord stands for which piece of which curve.

    Attributes:
        curves: control points of lines and Béziers.
        chords: for each curve into how many chords it was cut, evenly in t.
        edges: by start and end of a chord the number of its curve and its place on it.
        remembers: whether it does; what will be grown all round has no use for it.
    """

    curves: list[Points] = field(default_factory=list)
    chords: list[int] = field(default_factory=list)
    edges: dict[Edge, tuple[int, int]] = field(default_factory=dict)
    remembers: bool = True

    def rings(self, contours: Iterable[Path]) -> list[Points]:
        """The corners of closed contours with their curves cut into chords, each of them remembered."""
        sizes, curves = [], []
        for contour in contours:
            some = _curves(contour)
            if some:  # a contour may end within the last digits of where it began
                some[-1] = np.append(some[-1][:-1], some[0][0])
            sizes.append(len(some))
            curves += some
        runs = _chords(curves)
        if self.remembers:
            first = len(self.curves)
            self.curves += curves
            self.chords += [run.size - 1 for run in runs]
            for number, run in enumerate(runs, first):
                for place, edge in enumerate(pairwise(run.tolist())):
                    self.edges[edge] = (number, place)
        stops = np.cumsum([0, *sizes]).tolist()
        return [
            np.concatenate([run[:-1] for run in runs[a:b]]) if b > a else np.empty(0, np.complex128)
            for a, b in pairwise(stops)
        ]


def _curves(contour: Path) -> list[Points]:
    """The control points of each line and curve of one closed contour that has a length."""
    points, commands = contour.points, contour.commands
    drawn = commands[(commands != MOVE) & (commands != CLOSE)].astype(np.int64)
    ends = np.cumsum(drawn)
    short = np.abs(points[ends] - points[ends - drawn]) <= TOUCH_MM
    found = [
        points[end - degree : end + 1] for degree, end in zip(drawn.tolist(), ends.tolist(), strict=True)
    ]
    if abs(points[-1] - points[0]) > TOUCH_MM:
        found.append(np.array([points[-1], points[0]]))
    if short.any():
        return [curve for curve in found if np.abs(curve - curve[0]).max() > TOUCH_MM]
    return found


def _chords(curves: Sequence[Points]) -> list[Points]:
    """The ends of the chords of each curve, evenly in t, within CHORDS_MM of it (Wang's formula, 1984)."""
    found: list[Points] = list(curves)
    for size in (3, 4):
        at = [k for k, curve in enumerate(curves) if curve.size == size]
        if not at:
            continue
        controls = np.stack([curves[k] for k in at])
        bend = np.abs(np.diff(controls, 2, axis=1)).max(axis=1)
        counts = np.ceil(np.sqrt((size - 1) * (size - 2) * bend / (8 * CHORDS_MM))).astype(int)
        counts = np.maximum(counts, 1)
        for count in np.unique(counts).tolist():
            some = np.flatnonzero(counts == count)
            places = _evaluated(controls[some], np.arange(count + 1) / count)
            places[:, 0], places[:, -1] = controls[some, 0], controls[some, -1]
            for k, row in zip(some.tolist(), places, strict=True):
                found[at[k]] = row
    return found


def _evaluated(controls: Points, t: NDArray[np.float64]) -> Points:
    """Points of many Béziers of one degree, shape (curves, parameters)."""
    s, c = 1 - t, controls[:, :, None]
    if controls.shape[1] == 3:
        return np.asarray(c[:, 0] * s * s + 2 * c[:, 1] * s * t + c[:, 2] * t * t)
    return np.asarray(c[:, 0] * s**3 + 3 * c[:, 1] * s * s * t + 3 * c[:, 2] * s * t * t + c[:, 3] * t**3)


def pairs(points: Points) -> NDArray[np.float64]:
    """Points x + iy as rows of coordinates."""
    return np.ascontiguousarray(points).view(np.float64).reshape(-1, 2)


def region_of_path(path: Path, memory: Memory | None = None) -> Region:
    """The region inside closed contours that do not cross, such as united lettering.

    A contour is a hole if it lies in an odd number of others, whichever way it runs.
    """
    (region,) = regions_of_paths([path], memory if memory is not None else Memory())
    return region


def regions_of_paths(paths: Sequence[Path], memory: Memory) -> list[Region]:
    """The regions of several paths, each as :func:`region_of_path` gives it, sooner than one by one."""
    contours = [list(path.contours()) for path in paths]
    loops = iter(memory.rings(contour for some in contours for contour in some))
    return [_region([loop for loop in islice(loops, len(some)) if loop.size > 2]) for some in contours]


def _region(loops: Sequence[Points]) -> Region:
    """The region inside loops that do not cross."""
    if not loops:
        return shapely.Polygon()
    owners = np.repeat(np.arange(len(loops)), [loop.size for loop in loops])
    faces: Any = shapely.polygons(shapely.linearrings(pairs(np.concatenate(loops)), indices=owners))
    for n in np.flatnonzero(~shapely.is_valid(faces)).tolist():  # chords of curves that graze each other
        faces[n] = max(parts_of(only_areas(shapely.make_valid(faces[n]))), key=lambda part: part.area)
    order = np.argsort(-shapely.area(faces), kind="stable")
    return _nested(faces[order].tolist())


def _nested(faces: Sequence[Region]) -> Region:
    """Faces, the largest first, each one a hole or an island of those that it lies in."""
    if len(faces) == 1:
        return faces[0]
    boxes = [face.bounds for face in faces]
    depths: list[int] = []
    holes: dict[int, list[Region]] = {}
    marks: list[Region | None] = [None] * len(faces)
    for n, face in enumerate(faces):
        round_it = [k for k in range(n) if _within(boxes[n], boxes[k])]
        if round_it:
            marks[n] = shapely.point_on_surface(face)
        owners = [k for k in round_it if faces[k].contains(marks[n])]
        depths.append(len(owners))
        if depths[n] % 2:
            holes.setdefault(max(owners, key=lambda k: depths[k]), []).append(face.exterior)
    solid = [
        shapely.polygons(face.exterior, holes[n]) if n in holes else face
        for n, face in enumerate(faces)
        if depths[n] % 2 == 0
    ]
    return solid[0] if len(solid) == 1 else together(solid)


def _within(inner: tuple[float, ...], outer: tuple[float, ...]) -> bool:
    return inner[0] >= outer[0] and inner[1] >= outer[1] and inner[2] <= outer[2] and inner[3] <= outer[3]


def together(regions: Iterable[Region]) -> Region:
    """The union; what is no area is left out."""
    return only_areas(united([r for r in regions if r is not None and not r.is_empty]))


def united(regions: Sequence[Region]) -> Region:
    """The union; on a grid of a millionth of a mm where the parts nearly touch and GEOS finds none else."""
    try:
        return shapely.union_all(regions)
    except shapely.GEOSException:
        whole = [only_areas(shapely.make_valid(region)) for region in regions]
        return shapely.union_all(whole, grid_size=1e-6)


def only_areas(region: Region) -> Region:
    """The areas of a region, without lines and points that an overlay may leave."""
    if region.geom_type in ("Polygon", "MultiPolygon"):
        return region
    return shapely.MultiPolygon([p for p in shapely.get_parts(region).tolist() if p.geom_type == "Polygon"])


def parts_of(region: Region, least: float = 0.0) -> list[Region]:
    """The polygons of a region larger than `least` mm², from left to right.

    (The order that overlays give is nobody's promise.)
    """
    parts = shapely.get_parts(region)
    parts = parts[shapely.area(parts) > least]
    if not parts.size:
        return []
    boxes = shapely.bounds(parts)
    return list(parts[np.lexsort(boxes.T[::-1])])


def near(region: Region, around: tuple[float, ...], room: float) -> Region:
    """The part of a region that lies in a box, with `room` mm round it."""
    x0, y0, x1, y1 = around
    box = (x0 - room, y0 - room, x1 + room, y1 + room)
    try:
        part = only_areas(shapely.clip_by_rect(region, *box))
    except shapely.GEOSException:  # it leaves rings of too few points where a corner is only just inside
        part = None
    if part is not None and part.is_valid:
        return part
    return only_areas(shapely.intersection(region, shapely.box(*box)))


def tidied(region: Region, least: float) -> Region:
    """The region without holes and parts smaller than `least` mm²: slivers where edges nearly coincide."""
    kept: list[Region] = []
    for part in parts_of(region):
        if part.area < least:
            continue
        rings = part.interiors
        stay = [ring for ring in rings if shapely.polygons(ring).area >= least]
        if len(stay) < len(rings):
            part = shapely.polygons(part.exterior, stay or None)
        kept.append(part)
    return kept[0] if len(kept) == 1 else shapely.MultiPolygon(kept)


def thickened(region: Region, by: float) -> Region:
    """The region grown by `by` mm all round, outward corners rounded."""
    return shapely.buffer(region, by, quad_segs=12) if by > 0 else region
