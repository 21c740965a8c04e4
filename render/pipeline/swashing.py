"""Swashes after the fit: where the template wants one, the font has one, and there is room for it."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from render.geometry import Box, Path
from render.model import Fitted, Operation, Problem, SetLine, Severity, Swash
from render.pipeline.pathswash import stays_on, turned_with
from render.proof.flatten import flattened

if TYPE_CHECKING:
    from render.design import Drawing
    from render.fitting import Limits
    from render.lettering import Letterer
    from render.lettering.swashes import Swashes

ROOM_EM: Final = 0.05
"""A swash keeps so far from other lines, texts and marks, and at least the narrowest gap of the material."""

WITHIN_MM: Final = 0.01
"""It may lie so little outside its area: what flattening costs."""

THIN: Final = 0.95
"""Of the thinnest stroke that is asked for, or that the other letters have: a swash may be so thin."""


@dataclass(frozen=True, slots=True)
class _End:
    """One end of a text: of which line, and at its start or not."""

    line: int
    start: bool


@dataclass(frozen=True, slots=True)
class _Obstacle:
    """Something that a swash keeps clear of: its box in mm, and what draws it, asked only if it is near."""

    box: Box
    draw: Callable[[], Sequence[Path]]


class _Swasher:
    """Gives the texts of an order their swashes."""

    def __init__(self, letterer: Letterer, swashes: Swashes, limits: Limits) -> None:
        self._letterer, self._swashes, self._limits = letterer, swashes, limits
        self._areas: dict[Path, Any] = {}
        self._marks: dict[int, tuple[Path, list[_Obstacle]]] = {}

    def swashed(self, fitted: Fitted, obstacles: Sequence[_Obstacle]) -> tuple[Fitted, int]:
        """The text with the swashes that it can take, and how many those are."""
        lines = list(fitted.lines)
        done = 0
        for end in _ends(fitted):
            others = self.lines(lines[: end.line] + lines[end.line + 1 :])
            found = self._at(lines[end.line], end.start, fitted, (*obstacles, *others))
            if found is not None:
                lines[end.line] = found
                done += 1
        return (replace(fitted, lines=tuple(lines)), done) if done else (fitted, 0)

    def lines(self, lines: Sequence[SetLine]) -> list[_Obstacle]:
        """Lines of text as obstacles."""
        found = []
        for line in lines:
            draw = partial(self._letterer.outlines, [(line,)])
            ink = line.line.ink
            if line.turns:
                found.append(_Obstacle(draw()[0].bounds(), draw))
            elif ink is not None:
                found.append(_Obstacle(_placed(ink, line), draw))
        return found

    def marks(self, drawing: Drawing) -> list[_Obstacle]:
        """The marks of a drawing as obstacles, contour by contour."""
        found = []
        for mark in drawing.marks:
            if mark.operation is Operation.GUIDE or not mark.path:
                continue
            key = id(mark.path)  # the marks of a template are the same for all pieces
            if key not in self._marks:
                some = [_Obstacle(c.bounds(), partial(tuple, (c,))) for c in mark.path.contours()]
                self._marks[key] = mark.path, some
            found += self._marks[key][1]
        return found

    def _at(
        self, line: SetLine, start: bool, fitted: Fitted, obstacles: Sequence[_Obstacle]
    ) -> SetLine | None:
        """The line with the first swash that has room, or None."""
        text, setting = line.line.text, line.line.setting
        thinnest = THIN * min(self._limits.stroke, line.line.thinnest * line.size)
        for swash in self._swashes.of(text, setting, start=start, along=line if line.turns else None):
            if swash.thinnest * line.size < thinnest:
                continue
            new = self._letterer.line(text, swash.setting)
            if len(new.clusters) != len(line.line.clusters):
                continue
            if line.turns:
                placed = turned_with(line, replace(line, line=new), start=start)
            else:
                shift = _second(line) - _second(replace(line, line=new)) if start else 0.0
                placed = replace(line, line=new, origin=line.origin + shift)
            if self._has_room(placed, line, fitted, obstacles) and self._on_path(placed, fitted, start):
                return placed
        return None

    def _has_room(self, new: SetLine, old: SetLine, fitted: Fitted, obstacles: Sequence[_Obstacle]) -> bool:
        """Whether a line with a swash stays in its area, and no nearer to others than it may be."""
        import shapely

        ink = new.line.ink
        if ink is None:
            return False
        box = self._letterer.outlines([(new,)])[0].bounds() if new.turns else _placed(ink, new)
        if fitted.request.area:
            area = self._area(fitted.request.area)
            if not area.covers(shapely.box(box.x0, box.y0, box.x1, box.y1)) and not area.covers(
                _linework(self._letterer.outlines([(new,)]))
            ):
                return False
        room = max(ROOM_EM * new.size, self._limits.smallest_gap)
        near = [path for each in obstacles if _apart(box, each.box) < room for path in each.draw()]
        if not near:
            return True
        there = _linework(near)
        far = _linework(self._letterer.outlines([(new,)])).distance(there)
        before = _linework(self._letterer.outlines([(old,)])).distance(there)
        return bool(far > 0 and far >= min(room, before))

    def _on_path(self, line: SetLine, fitted: Fitted, start: bool) -> bool:
        """Whether a swash keeps to the path of its text, if there is one."""
        along = fitted.request.along
        if along is None:
            return True
        (drawn,) = self._letterer.outlines([(line,)])
        return stays_on(along, line, drawn, start=start)

    def _area(self, area: Path) -> Any:
        if area not in self._areas:
            self._areas[area] = _region(area).buffer(WITHIN_MM)
        return self._areas[area]


def with_swashes(
    fitted: Sequence[Fitted], drawings: Mapping[str, Drawing], letterer: Letterer, limits: Limits
) -> tuple[tuple[Fitted, ...], list[Problem]]:
    """The texts of an order with the swashes that their templates want.

    A text keeps its size and its place; only its first or last letter changes, and only where the swash stays
    in the area, keeps its distance from every other letter, line, text and mark of the piece, and is no
    thinner than the material holds or the other letters are.

    Args:
        fitted: every text of the order.
        drawings: what the template gives for each piece, by the piece's id.
        letterer: draws.
        limits: the smallest detail that holds.

    Returns:
        The texts in the same order; and what should be known, once for each slot and font (NOTE).
    """
    if all(each.request.rule.swash is Swash.NONE for each in fitted):
        return tuple(fitted), []
    from render.lettering.swashes import Swashes

    swashes = Swashes(letterer.shelf)
    swasher = _Swasher(letterer, swashes, limits)
    beside: dict[str, list[int]] = {}
    for index, each in enumerate(fitted):
        beside.setdefault(each.request.piece, []).append(index)
    done = list(fitted)
    taken: Counter[tuple[str, str]] = Counter()
    wanted: Counter[tuple[str, str]] = Counter()
    without: dict[str, str] = {}
    for index, each in enumerate(fitted):
        if each.request.rule.swash is not Swash.NONE and _without(each):
            without[each.request.slot] = _without(each)
        if not any(True for _ in _ends(each)):
            continue
        key = each.request.slot, each.lines[0].line.setting.font
        wanted[key] += 1
        near = [done[other].lines for other in beside[each.request.piece] if other != index]
        obstacles = swasher.marks(drawings[each.request.piece])
        obstacles += swasher.lines([line for lines in near for line in lines])
        done[index], count = swasher.swashed(each, obstacles)
        taken[key] += bool(count)
    refused = [
        Problem(
            Severity.NOTE,
            "swashes-not-here",
            f"“{slot}” {what}, so it is set without the swashes that the template asks for.",
            "Swashes are taken on straight lines and along paths.",
        )
        for slot, what in without.items()
    ]
    return tuple(done), [*refused, *_told(wanted, taken, swashes, letterer)]


def _ends(fitted: Fitted) -> Iterator[_End]:
    """The ends of a text that may take a swash, the last first; none where swashes are not set."""
    request = fitted.request
    swash = request.rule.swash
    if swash is Swash.NONE or not fitted.lines or _without(fitted):
        return
    if swash in (Swash.END, Swash.BOTH) and not (swash is Swash.BOTH and len(request.text) == 1):
        yield _End(len(fitted.lines) - 1, start=False)
    if swash in (Swash.START, Swash.BOTH):
        yield _End(0, start=True)


def _without(fitted: Fitted) -> str:
    """What a text is that takes no swashes, in a few words; empty if it takes them."""
    shaping = fitted.request.shaping
    if shaping is not None and shaping.monogram:
        return "is a monogram"
    if shaping is not None and shaping.envelope:
        return "is bent into a shape"
    if fitted.request.setting.vertical:
        return "runs down a column"
    return "closes a round" if fitted.request.rule.closes else ""


def _placed(ink: Box, line: SetLine) -> Box:
    """The box of a line's ink in its place, mm."""
    x, y, size = line.origin.real, line.origin.imag, line.size
    return Box(x + ink.x0 * size, y + ink.y0 * size, x + ink.x1 * size, y + ink.y1 * size)


def _apart(one: Box, other: Box) -> float:
    """How far two boxes are from each other; 0 where they meet."""
    dx = max(one.x0 - other.x1, other.x0 - one.x1, 0.0)
    dy = max(one.y0 - other.y1, other.y0 - one.y1, 0.0)
    return math.hypot(dx, dy)


def _second(line: SetLine) -> float:
    """Where the pen stands after the first cluster, mm from the line's origin."""
    pen, advance = line.line.clusters[0]
    return (pen + advance) * line.size


def _linework(paths: Sequence[Path]) -> Any:
    """The contours of paths as lines, their curves as chords."""
    import shapely

    lines = []
    for path in paths:
        for contour in flattened(path, WITHIN_MM / 2).contours():
            corners = contour.points
            closed = np.append(corners, corners[:1]) if contour.is_closed() else corners
            if closed.size > 1:
                lines.append(shapely.LineString(np.stack((closed.real, closed.imag), axis=1)))
    return shapely.MultiLineString(lines)


def _region(area: Path) -> Any:
    """The polygon of an area; what lies in an odd number of its contours belongs to it."""
    import shapely

    whole: Any = shapely.Polygon()
    for contour in flattened(area, WITHIN_MM / 2).contours():
        corners = contour.points
        ring = shapely.Polygon(np.stack((corners.real, corners.imag), axis=1))
        whole = whole.symmetric_difference(ring if ring.is_valid else ring.buffer(0))
    return whole


def _told(
    wanted: Mapping[tuple[str, str], int],
    taken: Mapping[tuple[str, str], int],
    swashes: Swashes,
    letterer: Letterer,
) -> Iterator[Problem]:
    """How many texts took a swash, or that their font has none."""
    for (slot, font), count in wanted.items():
        if swashes.features(font, start=False) or swashes.features(font, start=True):
            message = f"{taken.get((slot, font), 0)} of {count} texts “{slot}” in {font} took a swash."
            hint = "The others end in letters that have none, or had no room for it."
            yield Problem(Severity.NOTE, "swashes", message, hint)
            continue
        fonts = [
            other
            for other in letterer.shelf.ids()
            if letterer.shelf.entry(other).swash_end or letterer.shelf.entry(other).swash_start
        ]
        message = f"The font {font} has no swashes, so “{slot}” is set without."
        hint = f"Fonts that have some: {', '.join(fonts)}." if fonts else ""
        yield Problem(Severity.NOTE, "no-swashes", message, hint)
