"""Lettering along a path: by arc length, on either side, evened out where the path bends."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from itertools import accumulate
from typing import Final

from render.fitting.arcs import ArcPath
from render.fitting.edges import TOUCH_MM
from render.fitting.forms import Form
from render.fitting.regions import Region
from render.fitting.seats import SHARE, Measured
from render.fitting.sizing import Count, largest_size
from render.geometry import Affine, Box
from render.model import FitRule, Hang, Line, SetLine

RING_GAP_EM: Final = 0.5
"""Free space kept between the end and the beginning of a text that runs round a closed path."""

SEAM_EM: Final = 0.25
"""Space after the last letter of a text that closes the round, beside what every letter gets."""

JOIN_HEIGHT: Final = 0.4
"""Height, in x-heights, at which letters that join are taken to meet."""

_HANGING: Final = {Hang.BASELINE: 0.0, Hang.MIDDLE: 0.5, Hang.TOPS: 1.0}
_LOOSEST: Final = 0.35
"""A bend never makes a step along the path shorter than this share of it, nor longer than its inverse."""


@dataclass(frozen=True, slots=True)
class Along:
    """One line along a path; each cluster is turned to the tangent at its middle.

    That is SVG's rule for text on a path (SVG 1.1, section 10.13.3): the midpoint of the glyph's advance lies
    on the path, its baseline along the tangent there. Alignment goes by ink.

    Where the path bends with the curvature k, what lies h above it is 1 + k h times as far apart. The rule's
    `optical` is the share of half the cap height at which spaces are as on a straight line: 0 is SVG's rule,
    1 the middle of the capitals (derived here; that sign writers space curved lines by the middle of their
    letters is common practice, no source). Letters that join keep their distance where they meet.

    Of several lines the first follows the path, the others stand below it on its parallels, spaced by the
    length of these; hung by their middle they share the path's two sides.
    """

    arc: ArcPath
    region: Region | None
    rule: FitRule
    start: float
    _placed: dict[int, tuple[Line, float, tuple[SetLine, ...]]] = field(
        default_factory=dict, compare=False, repr=False
    )

    def settled(self, size: float) -> Along:  # noqa: ARG002 - a path is its own baseline
        """See :class:`render.fitting.seats.Seat`."""
        return self

    def steady(self) -> Along:
        """See :class:`render.fitting.seats.Seat`."""
        return self

    def place(self, form: Form, size: float) -> tuple[SetLine, ...] | None:
        """See :class:`render.fitting.seats.Seat`. What a line came to last is remembered."""
        line = form.lines[0]
        known = self._placed.get(id(line))
        if known is not None and known[1] == size and len(form.lines) == 1:
            return known[2]
        placed = self._place(form, size)
        if placed is not None and len(form.lines) == 1:
            self._placed[id(line)] = line, size, placed
        return placed

    def _place(self, form: Form, size: float) -> tuple[SetLine, ...] | None:
        count = len(form.lines)
        above = (count - 1) / 2 if self.rule.hangs is Hang.MIDDLE else 0.0
        placed = []
        for number, line in enumerate(form.lines):
            below = (number - above) * self.rule.leading if count > 1 else 0.0
            one = self._place_line(line, size, _HANGING[self.rule.hangs] * line.cap_height + below, below)
            if one is None:
                return None
            placed.append(one)
        return tuple(placed)

    def _place_line(self, line: Line, size: float, hang: float, below: float) -> SetLine | None:
        """One line whose baseline lies `hang` em below the path, `below` of it since it is not the first."""
        steps = self._steps(line, size, hang) if line.ink is not None else None
        if steps is None:
            return None
        pens, begin = steps
        if below and not self._parallel(line, pens, begin, hang * size):
            return None
        turns = tuple(
            self._turn(begin + pen + step / 2, advance, size, hang * size)
            for pen, step, (_, advance) in zip(pens, pens.steps, line.clusters, strict=True)
        )
        if self.region and not all(self.region.holds(cell) for cell in cells(line, turns)):
            return None
        return SetLine(line, size, self.arc.at(begin)[0], turns)

    def _parallel(self, line: Line, pens: Steps, begin: float, drop: float) -> bool:
        """Whether the path bends gently enough for a line so far below it."""
        places = zip(pens, pens.steps, strict=True)
        reaches = [max(advance, 1e-6) / 2 for _, advance in line.clusters]
        bends = (self.arc.bend(begin + p + s / 2, r) for (p, s), r in zip(places, reaches, strict=True))
        return all(1 - bend * drop > _LOOSEST for bend in bends)

    def _turn(self, middle: float, advance: float, size: float, drop: float) -> Affine:
        """The map of one cluster, drawn in em with its pen at the origin, to its place in mm."""
        place, tangent = self.arc.at(middle)
        along = tangent * size
        corner = place - along * (advance / 2) + 1j * tangent * drop
        return Affine(along.real, along.imag, -along.imag, along.real, corner.real, corner.imag)

    def _steps(self, line: Line, size: float, hang: float) -> tuple[Steps, float] | None:
        """Where the pen stands for each cluster, and where it begins on the path; None if it is too long."""
        ink = line.ink
        assert ink is not None  # noqa: S101
        advances = [advance * size for _, advance in line.clusters]
        length, share = self.arc.length, SHARE[self.rule.align]
        steps = Steps(advances)
        height = self._reference(line, hang) * size
        lead, trail = ink.x0 * size, (line.advance - ink.x1) * size
        if height:
            for _ in range(2):
                begin = self.start * length - (steps.end - lead - trail) * share - lead
                steps = Steps(
                    [
                        self._step(begin + p + s / 2, a, height)
                        for p, s, a in zip(steps, steps.steps, advances, strict=True)
                    ]
                )
        if self._closing(line):
            spare = length - steps.end - SEAM_EM * size
            if spare < -TOUCH_MM:
                return None
            extra = spare / len(advances)
            steps = Steps([step + extra for step in steps.steps])
            return steps, self.start * length - (steps.end + SEAM_EM * size) * share
        width = steps.end - lead - trail
        begin = self.start * length - width * share
        if self.arc.closed:
            fits = width + RING_GAP_EM * size <= length + TOUCH_MM
        else:
            fits = begin >= -TOUCH_MM and begin + width <= length + TOUCH_MM
        return (steps, begin - lead) if fits else None

    def _reference(self, line: Line, hang: float) -> float:
        """The height above the path, em, at which spaces are as on a straight line."""
        if self.rule.joined:
            return JOIN_HEIGHT * line.x_height * (self.rule.optical > 0) - hang
        return self.rule.optical * line.cap_height / 2 - hang

    def _step(self, middle: float, advance: float, height: float) -> float:
        """How far along the path a cluster takes, so that it takes its advance at a height above it."""
        reach = max(advance, 1e-6) / 2
        return advance / min(max(1 + self.arc.bend(middle, reach) * height, _LOOSEST), 1 / _LOOSEST)

    def guess(self, form: Form, low: float, high: float) -> float:  # noqa: ARG002
        """See :class:`render.fitting.seats.Seat`.

        On a closed circle it is told how large a line may be. With the pen's steps s a / (1 + k h s) for a
        size s, an advance of a em and a height of h em, the ink and the gap of RING_GAP_EM take the whole
        length.
        """
        line = form.lines[0]
        if len(form.lines) > 1 or line.ink is None or not self.arc.closed or self._closing(line):
            return 0.0
        bend, hang = self.arc.bend(0.0, 1.0), _HANGING[self.rule.hangs] * line.cap_height
        height = self._reference(line, hang)
        bearings = line.advance - line.ink.width
        size = high
        for _ in range(12):
            taken = line.advance / max(1 + bend * height * size, _LOOSEST) - bearings + RING_GAP_EM
            size = self.arc.length / taken if taken > 0 else high
        return size

    def _closing(self, line: Line) -> bool:
        return self.rule.closes and self.arc.closed and not self.rule.joined and len(line.clusters) > 1

    def count_at(self, lines: Iterable[Measured]) -> Count:
        """See :class:`render.fitting.seats.Seat`: the largest size of each line, found once."""
        sizes = sorted(self._largest(Form((_narrowed(line, by),))) for line, by in lines)
        return lambda size: len(sizes) - bisect_right(sizes, size - TOUCH_MM)

    def _largest(self, form: Form) -> float:
        low, high = min(self.rule.smallest, self.rule.largest), self.rule.largest
        guess = self.guess(form, low, high)
        return largest_size(lambda size: self.place(form, size) is not None, low, high, guess=guess) or 0.0


def _narrowed(line: Line, by: float) -> Line:
    """The line as if its ink were narrower by so many em."""
    ink = line.ink
    if not by or ink is None:
        return line
    return replace(line, ink=Box(ink.x0, ink.y0, max(ink.x0, ink.x1 - by), ink.y1))


def cells(line: Line, turns: tuple[Affine, ...]) -> Iterable[list[complex]]:
    """A turned box round the ink of each cluster, as four corners in mm.

    It is as wide as the advance and as high as the line's ink; the first and last reach as far as its ink.
    """
    ink = line.ink
    if ink is None:
        return
    last = len(turns) - 1
    for index, ((x, advance), turn) in enumerate(zip(line.clusters, turns, strict=True)):
        left = ink.x0 - x if index == 0 else 0.0
        right = ink.x1 - x if index == last else advance
        low, high = complex(turn.e, turn.f), complex(turn.a, turn.b)
        yield [
            low + high * c
            for c in (left + 1j * ink.y0, right + 1j * ink.y0, right + 1j * ink.y1, left + 1j * ink.y1)
        ]


class Steps(list[float]):
    """For each cluster where the pen stands, counted from the first, mm.

    Attributes:
        steps: how far each takes the pen.
        end: where the pen stands at last.
    """

    def __init__(self, steps: list[float]) -> None:
        marks = list(accumulate(steps, initial=0.0))
        super().__init__(marks[:-1])
        self.steps = steps
        self.end = marks[-1]
