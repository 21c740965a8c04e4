"""Where lettering sits: inside a region, or along a path. A seat knows what fits and places it.

Both kinds answer the same calls: ``count_at(lines)`` gives a quick counter of how many single lines fit at a
size, ``place(form, size)`` the lines in place, or None where they do not fit. Plain floats throughout.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Final, Protocol

from render.fitting.edges import TOUCH_MM
from render.fitting.forms import Form
from render.fitting.hollows import Block
from render.fitting.leading import Skylines, needed_leading
from render.fitting.regions import Rectangle, Region, Span
from render.fitting.sizing import Count
from render.geometry import Box
from render.model import Align, Anchor, FitRule, Line, SetLine, SizePolicy

_MOST_SPREADS: Final = 3
"""How often lines are set further apart, if their places across change with their distance."""

SHARE: Final = {Align.START: 0.0, Align.MIDDLE: 0.5, Align.END: 1.0}
"""How much of the free room lies before a line."""


Measured = tuple[Line, float]
"""A line, and the em that tightening would make its ink narrower by."""


class Seat(Protocol):
    """What the two kinds have in common."""

    def place(self, form: Form, size: float) -> tuple[SetLine, ...] | None:
        """The lines of a form in place at a size, or None where they do not fit."""
        ...

    def count_at(self, lines: Iterable[Measured]) -> Count:
        """How many of these single lines fit at a size; each with the em that it is narrowed by."""
        ...

    def guess(self, form: Form, low: float, high: float) -> float:
        """About the largest size at which a form fits; 0 where that is not easily told."""
        ...

    def steady(self) -> Seat:
        """The same seat where lines stand only where they should, not wherever they find room."""
        ...

    def settled(self, size: float) -> Seat:
        """The same seat with the common baseline of a set of that size."""
        ...


@dataclass(frozen=True, slots=True)
class Flat:
    """Straight lines in a region.

    Attributes:
        optical: em that the eye's middle of a line lies above its baseline.
        centre: y on which that middle is put, mm.
        band: ascent and descent of the set in em, both counted from the baseline as positive lengths; None
            where every text goes by its own ink.
        base: the set's common baseline for single lines, once the set's size is known.
        axis: the x extent of the set's band there: it gives the set one edge or middle.
        free: whether lines that fit no other way may stand higher or lower than they should.
        skyline: tells how far the ink of lines reaches, so that those of one text never touch; None where
            nobody knows.
    """

    region: Region
    rule: FitRule
    optical: float
    centre: float
    band: tuple[float, float] | None = None
    base: float | None = None
    axis: Span | None = None
    skyline: Skylines | None = None
    free: bool = True

    def baseline(
        self, top: float, bottom: float, count: int, size: float, leading: float | None = None
    ) -> float:
        """The y of the first baseline of `count` lines.

        Their ink reaches from `top` to `bottom`, in em, y down, from the first baseline. INK: the ink's
        middle lies on the centre. BASELINE: the optical middle does, moved just as far as is needed to keep
        the band of the set, or failing that the text's own ink, inside.
        """
        if self.rule.anchor is Anchor.INK:
            return self.centre - (top + bottom) / 2 * size
        if self.base is not None and count == 1:
            return self.base
        drop = (count - 1) * (self.rule.leading if leading is None else leading)
        box = self.region.box
        up, down = -top, bottom
        if self.band and (self.band[0] + self.band[1] + drop) * size <= box.y1 - box.y0 + TOUCH_MM:
            up, down = self.band[0], self.band[1] + drop
        y = self.centre + (self.optical - drop / 2) * size
        return min(max(y, box.y0 + up * size), box.y1 - down * size)

    def steady(self) -> Flat:
        """See :class:`Seat`."""
        return replace(self, free=False)

    def settled(self, size: float) -> Flat:
        """See :class:`Seat`."""
        if self.band is None or self.rule.anchor is Anchor.INK:
            return self
        free = replace(self, base=None, axis=None)
        base = free.baseline(-self.band[0], self.band[1], 1, size)
        return replace(free, base=base, axis=free._axis(size))

    def _axis(self, size: float) -> Span | None:
        """The x extent of the set's band at a size."""
        if self.band is None or self.rule.anchor is Anchor.INK or isinstance(self.region, Rectangle):
            return None
        up, down = self.band
        base = self.baseline(-up, down, 1, size)
        return self.region.span(base - up * size, base + down * size)

    def _limits(self, spans: list[Span], axis: Span | None) -> list[Span]:
        """Left and right limits of each line, such that all share one edge or one middle."""
        left, right = max(s[0] for s in spans), min(s[1] for s in spans)
        if self.rule.align is Align.MIDDLE:
            middle = sum(axis or (left, right)) / 2
            halves = (min(middle - s[0], s[1] - middle) for s in spans)
            return [(middle - half, middle + half) for half in halves]
        if self.rule.align is Align.START:
            edge = max(left, axis[0]) if axis else left
            return [(edge, s[1]) for s in spans]
        edge = min(right, axis[1]) if axis else right
        return [(s[0], edge) for s in spans]

    def place(self, form: Form, size: float) -> tuple[SetLine, ...] | None:
        """See :class:`Seat`."""
        if len(form.lines) > 1 or form.lines[0].ink is None:
            return self._place_block(form, size)
        line, ink = form.lines[0], form.lines[0].ink
        y = self.baseline(ink.y0, ink.y1, 1, size) if self.base is None else self.base
        span = self.region.span(y + ink.y0 * size, y + ink.y1 * size)
        if span is None:
            return self._alone(form, size)
        if self.axis:
            (span,) = self._limits([span], self.axis)
        x = self._pen(ink, span, size)
        return self._alone(form, size) if x is None else (SetLine(line, size, complex(x, y)),)

    def _alone(self, form: Form, size: float) -> tuple[SetLine, ...] | None:
        """A single line that shares its baseline with no other, where its ink finds room."""
        return self._place_freely(form, size) if self.rule.policy is SizePolicy.EACH else None

    def _pen(self, ink: Box, span: Span, size: float) -> float | None:
        """Where the pen starts so that the ink stands right within the span; None if it does not fit."""
        spare = span[1] - span[0] - (ink.x1 - ink.x0) * size
        if spare < -TOUCH_MM:
            return None
        return span[0] + spare * SHARE[self.rule.align] - ink.x0 * size

    def _place_block(self, form: Form, size: float) -> tuple[SetLine, ...] | None:
        """Lines under each other, further apart than the rule says where their ink would meet."""
        leading = self.rule.leading
        lines = self._block_at(form, size, leading)
        for _ in range(_MOST_SPREADS if self.skyline else 0):
            if lines is None or self.skyline is None:
                break
            pens = [line.origin.real / size for line in lines]
            need = needed_leading([line.line for line in lines], pens, self.skyline)
            if need <= leading + TOUCH_MM:
                break
            leading = need
            lines = self._block_at(form, size, leading)
        return self._place_freely(form, size) if lines is None else lines

    def _place_freely(self, form: Form, size: float) -> tuple[SetLine, ...] | None:
        """Lines under each other where their ink finds room, as near as can be to where they belong.

        Only where lines are centred and the region has other sides than a rectangle's.
        """
        hollow = self.region.hollow
        centred = self.free and self.rule.align is Align.MIDDLE
        if hollow is None or not centred or any(not line.ink for line in form.lines):
            return None
        block = hollow.block(form, lambda: self._cut_up(form))
        found = [
            (x, low, high)
            for x in hollow.middles
            for low, high in (hollow.between(block, x, size),)
            if low <= high
        ]
        if not found:
            return None
        inks = [line.ink for line in form.lines if line.ink]
        top = min(i * block.leading + ink.y0 for i, ink in enumerate(inks))
        bottom = max(i * block.leading + ink.y1 for i, ink in enumerate(inks))
        wanted = self.baseline(top, bottom, len(inks), size, block.leading)
        at = [(abs(y - wanted), x, y) for x, low, high in found for y in (min(max(wanted, low), high),)]
        _, x, y = min(at)
        return tuple(
            SetLine(line, size, complex(x - (ink.x0 + ink.x1) / 2 * size, y + i * block.leading * size))
            for i, (line, ink) in enumerate(zip(form.lines, inks, strict=True))
        )

    def guess(self, form: Form, low: float, high: float) -> float:
        """See :class:`Seat`."""
        hollow = self.region.hollow
        alone = len(form.lines) == 1 and self.rule.policy is not SizePolicy.EACH
        if hollow is None or alone or not self.free or self.rule.align is not Align.MIDDLE:
            return 0.0
        return hollow.block(form, lambda: self._cut_up(form)).largest(hollow, low, high)

    def _cut_up(self, form: Form) -> Block:
        """The lines of a form cut into columns, each as far below the one before as its ink needs."""
        inks = [line.ink for line in form.lines if line.ink]
        if self.skyline is None:
            return Block.of(form.lines, [None] * len(inks), self.rule.leading)
        pens = [-(ink.x0 + ink.x1) / 2 for ink in inks]
        need = needed_leading(form.lines, pens, self.skyline) if len(inks) > 1 else 0.0
        return Block.of(form.lines, [self.skyline(line) for line in form.lines], max(need, self.rule.leading))

    def _block_at(self, form: Form, size: float, leading: float) -> tuple[SetLine, ...] | None:
        inks = [line.ink for line in form.lines if line.ink]
        top = min(i * leading + ink.y0 for i, ink in enumerate(inks))
        bottom = max(i * leading + ink.y1 for i, ink in enumerate(inks))
        first = self.baseline(top, bottom, len(inks), size, leading)
        ys = [first + i * leading * size for i in range(len(inks))]
        spans = [
            self.region.span(y + ink.y0 * size, y + ink.y1 * size) for y, ink in zip(ys, inks, strict=True)
        ]
        there = [span for span in spans if span is not None]
        if len(there) < len(spans):
            return None
        limits = self._limits(there, self.axis)
        xs = [self._pen(ink, span, size) for ink, span in zip(inks, limits, strict=True)]
        placed = zip(form.lines, xs, ys, strict=True)
        lines = tuple(SetLine(line, size, complex(x, y)) for line, x, y in placed if x is not None)
        return lines if len(lines) == len(form.lines) else None

    def count_at(self, lines: Iterable[Measured]) -> Count:
        """See :class:`Seat`. Lines of equal height share one look at the region."""
        heights: dict[tuple[float, float], list[float]] = defaultdict(list)
        for line, by in lines:
            ink = line.ink
            if ink is not None:
                heights[ink.y0, ink.y1].append(ink.x1 - ink.x0 - by)
        for widths in heights.values():
            widths.sort()

        def count(size: float) -> int:
            total, axis = 0, self._axis(size)
            for (top, bottom), widths in heights.items():
                y = self.baseline(top, bottom, 1, size)
                span = self.region.span(y + top * size, y + bottom * size)
                if span is not None:
                    ((left, right),) = self._limits([span], axis)
                    total += bisect_right(widths, (right - left + TOUCH_MM) / size)
            return total

        return count
