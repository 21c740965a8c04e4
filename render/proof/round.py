"""A round thing as the customer will hold it: seen from its places, or from front and back.

What is drawn is the true projection of the outlines as they lie on the body; what lies behind its horizon is
not to be seen. Light and shade are for the eye alone.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from render.geometry import LINE, MOVE, Affine, Box, Path
from render.geometry.path import CLOSE
from render.geometry.solids import Profile, View
from render.geometry.subdivide import subdivided
from render.model import Artwork, Material, Operation, RoundBody
from render.proof.palette import edge_of, luminance
from render.proof.things import Sink

Points = NDArray[np.complex128]
Floats = NDArray[np.float64]

_STEP: Final = math.radians(2)
_STRIPS: Final = 48
"""Strips of shade on a thing that is shown large..."""
_STRIPS_A_MM, _FEWEST = 1.8, 12
"""...on a smaller one so many for each mm of the page, and at least so many."""
_ELEVATION: Final = 9.0
_AWAY: Final = 7.0
"""Distance of the eye, in diameters of the thing."""


@dataclass(frozen=True, slots=True)
class Solid:
    """The thing with what lies above and below its drawing, as far as that can be told.

    Attributes:
        lift: mm along the surface from its top to the top of the drawing.
    """

    profile: Profile
    lift: float

    @classmethod
    def of(cls, body: RoundBody, profile: Profile) -> Solid:
        """A single cylinder or cone goes on to the rim and, where the length is known, to the foot."""
        deep = float(profile.z[-1])
        below = max(body.length - body.rim - deep, 0.0) if body.length else 0.0
        if profile.s.size != 2 or not (body.rim or below):
            return cls(profile, 0.0)
        slope = float(profile.r[1] - profile.r[0]) / deep
        radii = (profile.r[0] - slope * body.rim, profile.r[1] + slope * below)
        if min(radii) <= profile.r.min() / 3:
            return cls(profile, 0.0)
        turn = 2 * math.pi
        whole = Profile.of(((0.0, turn * radii[0]), (body.rim + deep + below, turn * radii[1])))
        return cls(whole, body.rim * profile.height / deep)


def sides_of(body: RoundBody) -> tuple[tuple[str, float], ...]:
    """The sides it is seen from, with their angle: its places, or front and back; at most three."""
    places = [(place.name, place.at) for place in body.places][:3]
    if len(places) >= 2:
        return tuple(places)
    front = places[0] if places else ("front", 180.0)
    return (front, ("back", (front[1] + 180.0) % 360.0))


def placed_at(box: Box, scale: float, middle: complex, *, turned: bool) -> Affine:
    """The picture's middle put on the page; a thing whose drawing lies is shown lying."""
    moved = Affine.translation(-(box.x0 + box.x1) / 2, -(box.y0 + box.y1) / 2)
    if turned:
        moved = moved.then(Affine.rotation(90))
    return moved.then(Affine.scale(scale)).then(Affine.translation(middle.real, middle.imag))


def view_of(solid: Solid, at: float) -> View:
    """The thing seen with a place, in degrees round it, in the middle: from a little above, not too near."""
    return View(at, _ELEVATION, _AWAY * 2 * float(solid.profile.r.max()))


def extent(body: RoundBody, solid: Solid, view: View) -> Box:
    """What the thing takes up in the picture, handles included, mm."""
    boxes = [silhouette(solid.profile, view).bounds()]
    for loop, _ in _handles(body, solid, view):
        line = Path.polyline(_ear(loop, view)).bounds()
        boxes.append(line.inset(-_EAR / 2))
    return Box.union(boxes)


def _handles(body: RoundBody, solid: Solid, view: View) -> list[tuple[Loop, bool]]:
    """The thing's handles, each with whether it is behind the thing."""
    found = [keep for keep in body.keep_outs if keep.what == "handle"]
    middles = [(keep.start + keep.end) / 2 for keep in found]
    behind = [math.cos(math.radians(middle - view.azimuth)) < 0.02 for middle in middles]
    return [(_handle(solid, keep.start, keep.end), back) for keep, back in zip(found, behind, strict=True)]


def draw_behind(
    canvas: Sink, body: RoundBody, material: Material, solid: Solid, view: View, to_page: Affine
) -> None:
    """Draw what lies under the marks: handles behind, the body, its light and shade."""
    tone = material.tone
    for loop, back in _handles(body, solid, view):
        if back:
            _draw_handle(canvas, loop, view, to_page, tone)
    outline = silhouette(solid.profile, view).transformed(to_page)
    canvas.draw(outline, {"fill": tone})
    size = outline.bounds().width
    strips = round(min(max(size * _STRIPS_A_MM, _FEWEST), _STRIPS))
    for path, look in _shades(solid.profile, view, luminance(tone), strips):
        canvas.draw(path.transformed(to_page), look)


def draw_before(
    canvas: Sink, body: RoundBody, material: Material, solid: Solid, view: View, to_page: Affine
) -> None:
    """Draw what lies over the marks: edges, the rim, handles in front."""
    tone = material.tone
    edge = edge_of(tone)
    outline = silhouette(solid.profile, view).transformed(to_page)
    canvas.draw(outline, {"fill": "none", "stroke": edge, "stroke_width": 0.15})
    rim = view.project(solid.profile, np.linspace(0, 2 * np.pi, 91)[:-1].astype(np.complex128))
    opening = Path.polygon(rim).transformed(to_page)
    canvas.draw(opening, {"fill": edge, "fill_opacity": 0.35, "stroke": edge, "stroke_width": 0.15})
    for loop, back in _handles(body, solid, view):
        if not back:
            _draw_handle(canvas, loop, view, to_page, tone)


def draw_marks(
    canvas: Sink, on_surface: Artwork, material: Material, solid: Solid, view: View, to_page: Affine
) -> None:
    """Draw what is burned and seen from here; `on_surface` in radians + i mm."""
    tone = material.mark_tone
    for mark in on_surface.marks:
        if mark.operation is Operation.ENGRAVE:
            canvas.draw(seen(mark.path, solid, view).transformed(to_page), {"fill": tone})
        elif mark.operation is not Operation.GUIDE:
            lines = seen_lines(mark.path, solid, view).transformed(to_page)
            canvas.draw(lines, {"fill": "none", "stroke": tone, "stroke_width": 0.25})


def fine(path: Path, solid: Solid) -> Path:
    """A path of the surface (radians + i mm) on the whole solid, in straight lines of at most two degrees."""
    mean = float(solid.profile.r.mean())
    flat = Path(path.commands, path.points.real * mean + 1j * (path.points.imag + solid.lift))
    cut = subdivided(flat, 0.02, lambda _, lengths: lengths / (mean * _STEP))
    return Path(cut.commands, cut.points.real / mean + 1j * cut.points.imag)


def seen(path: Path, solid: Solid, view: View) -> Path:
    """The part of a filled path on the surface that is seen, in the picture, mm.

    Args:
        path: radians + i mm down from the top of the drawing.
        solid: the whole thing.
        view: from where.
    """
    if not path:
        return path
    cut, found, middle = fine(path, solid), [], math.radians(view.azimuth)
    starts = cut.starts()
    for turns in (-2 * math.pi, 0.0, 2 * math.pi):
        away = np.minimum.reduceat(np.abs(cut.points.real + turns - middle), starts)
        if not (away < math.pi).any():
            continue
        part = Path(cut.commands, cut.points + turns).chosen(away < math.pi)
        drawn, visible = view.clamped(solid.profile, part.points)
        shown = np.logical_or.reduceat(visible, part.starts())
        found.append(Path(part.commands, view.project(solid.profile, drawn)).chosen(shown))
    return Path.joined(found)


def seen_lines(path: Path, solid: Solid, view: View) -> Path:
    """The part of a line on the surface that is seen: its runs in front of the horizon."""
    if not path:
        return path
    cut, found = fine(path, solid), []
    for turns in (-2 * math.pi, 0.0, 2 * math.pi):
        for contour in Path(cut.commands, cut.points + turns).contours():
            points = contour.points
            if contour.commands[-1] == CLOSE:
                points = np.append(points, points[0])
            _, visible = view.clamped(solid.profile, points)
            ends = np.flatnonzero(np.diff(np.concatenate(([0], visible.astype(np.int8), [0]))))
            for begin, end in ends.reshape(-1, 2):
                if end - begin > 1:
                    run = view.project(solid.profile, points[begin:end])
                    codes = np.array([MOVE] + [LINE] * (run.size - 1), np.uint8)
                    found.append(Path(codes, run))
    return Path.joined(found)


def silhouette(profile: Profile, view: View) -> Path:
    """The outline of the whole body: both horizons, the back of the top rim, the front of the foot."""
    s = np.union1d(np.linspace(0, profile.height, 61), profile.s)
    limit, middle = view.horizon(profile, s), math.radians(view.azimuth)
    right = middle + limit + 1j * s
    foot = middle + np.linspace(limit[-1], -limit[-1], 45) + 1j * profile.height
    left = middle - limit[::-1] + 1j * s[::-1]
    top = middle + np.linspace(-limit[0], -2 * np.pi + limit[0], 45) + 0j
    return Path.polygon(view.project(profile, np.concatenate((right, foot, left, top))))


def _shades(
    profile: Profile, view: View, light: float, strips: int = _STRIPS
) -> Iterator[tuple[Path, dict[str, str | float]]]:
    """Strips along the body: dark away from a light at the upper left, a soft gleam towards it."""
    s = np.union1d(np.linspace(0, profile.height, 21), profile.s)
    limit, middle = view.horizon(profile, s), math.radians(view.azimuth)
    dark, gleam = (0.34, 0.22) if light > 0.12 else (0.55, 0.16)
    for step in range(strips):
        a, b = (2 * (step + k) / strips - 1 for k in (0, 1))
        lean = (a + b) / 2 * math.pi / 2 + math.radians(32)
        shade, shine = 1 - max(math.cos(lean), 0.0), max(math.cos(lean), 0.0) ** 18
        edges = np.concatenate((middle + a * limit + 1j * s, (middle + min(b, 1.0) * limit + 1j * s)[::-1]))
        strip = Path.polygon(view.project(profile, edges))
        yield strip, {"fill": "#000000", "fill_opacity": round(dark * shade, 3)}
        if shine > 0.02:
            yield strip, {"fill": "#FFFFFF", "fill_opacity": round(gleam * shine, 3)}


Loop = tuple[float, Floats, Floats]
_EAR: Final = 9.6
"""Thickness of a drawn handle, mm."""


def _handle(solid: Solid, start: float, end: float) -> Loop:
    """A handle as an ear in the plane of its middle: its angle, and radii and depths along it, mm."""
    profile = solid.profile
    t = np.linspace(0, math.pi, 31)
    depth = profile.z[-1] * (0.5 - 0.34 * np.cos(t))
    reach = min(0.75 * float(profile.r.max()), 0.5 * float(profile.z[-1]))
    radius = np.interp(depth, profile.z, profile.r) - 1 + reach * np.sin(t) ** 0.7
    return math.radians((start + end) / 2), radius, depth


def _ear(loop: Loop, view: View) -> Points:
    """The middle line of a handle in the picture."""
    angle, radius, depth = loop
    return np.asarray(view.seen(np.full(radius.shape, angle), radius, depth))


def _draw_handle(canvas: Sink, loop: Loop, view: View, to_page: Affine, tone: str) -> None:
    line = Path.polyline(_ear(loop, view)).transformed(to_page)
    wide = abs(to_page.a) + abs(to_page.b)
    for colour, width in ((edge_of(tone), _EAR), (tone, _EAR - 0.6)):
        look: dict[str, str | float] = {"fill": "none", "stroke": colour, "stroke_width": width * wide}
        canvas.draw(line, {**look, "stroke_linecap": "round"})
    shade: dict[str, str | float] = {"fill": "none", "stroke": "#000000", "stroke_opacity": 0.12}
    canvas.draw(line, {**shade, "stroke_width": 5.0 * wide})
