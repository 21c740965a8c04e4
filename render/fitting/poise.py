"""Lettering moved a little so that the eye, not the ink's box, finds it in its place.

A leading J with a long tail, a Q, a name of round letters: the box of the ink says little about where the eye
sees such a name. Lines whose rule asks for it are therefore placed by their centre of mass, or, where they
begin or end at an edge, by the edge that the eye sees; never so far that their ink leaves its area.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Final

from render.fitting.regions import Region, region_of
from render.model import Align, Anchor, Balance, Fitted, Line, SetLine, Weight

MOST_INSET_EM: Final = 0.12
"""A set is moved in from its edge at most so far, for the sake of what hangs over that edge."""

_TRIES: Final = 4

Weigh = Callable[[Line], Weight | None]
"""Tells the weight of a line; None for a line without ink."""


def poised(fitted: Sequence[Fitted], weigh: Weigh) -> tuple[Fitted, ...]:
    """The same, those placed by their weight whose rule says so; lines along a path stay."""
    if not any(_asked(value) for value in fitted):
        return tuple(fitted)
    regions: dict[int, Region] = {}
    insets: dict[tuple[str, Align], float] = {}
    for value in fitted:
        if _asked(value) and value.request.rule.align is not Align.MIDDLE:
            key = value.request.slot, value.request.rule.align
            insets[key] = max([insets.get(key, 0.0), *(_over(line, key[1], weigh) for line in value.lines)])
    found = []
    for value in fitted:
        if _asked(value):
            area = value.request.area
            region = regions.setdefault(id(area), region_of(area))
            inset = insets.get((value.request.slot, value.request.rule.align), 0.0)
            value = replace(value, lines=_moved(value, region, inset, weigh))
        found.append(value)
    return tuple(found)


def _asked(value: Fitted) -> bool:
    return (
        value.request.rule.balance is Balance.MASS
        and bool(value.lines)
        and not any(line.turns for line in value.lines)
    )


def _over(line: SetLine, align: Align, weigh: Weigh) -> float:
    """How far a line's ink reaches over the edge that the eye sees, mm, as far as it counts."""
    weight, ink = weigh(line.line), line.line.ink
    if weight is None or ink is None:
        return 0.0
    over = weight.left - ink.x0 if align is Align.START else ink.x1 - weight.right
    return min(over, MOST_INSET_EM) * line.size


def _moved(value: Fitted, region: Region, inset: float, weigh: Weigh) -> tuple[SetLine, ...]:
    rule = value.request.rule
    lines = tuple(_sideways(line, region, rule.align, inset, weigh) for line in value.lines)
    if rule.anchor is not Anchor.INK:
        return lines
    return _upright(lines, region, weigh)


def _sideways(line: SetLine, region: Region, align: Align, inset: float, weigh: Weigh) -> SetLine:
    weight, ink, size = weigh(line.line), line.line.ink, line.size
    if weight is None or ink is None:
        return line
    x, y = line.origin.real, line.origin.imag
    span = region.span(y + ink.y0 * size, y + ink.y1 * size)
    if span is None:
        return line
    wanted = {
        Align.MIDDLE: x + ((ink.x0 + ink.x1) / 2 - weight.x) * size,
        Align.START: x + (ink.x0 - weight.left) * size + inset,
        Align.END: x + (ink.x1 - weight.right) * size - inset,
    }[align]
    low, high = min(x, span[0] - ink.x0 * size), max(x, span[1] - ink.x1 * size)
    return replace(line, origin=complex(min(max(wanted, low), high), y))


def _upright(lines: tuple[SetLine, ...], region: Region, weigh: Weigh) -> tuple[SetLine, ...]:
    """All lines moved up or down together, so that their weight lies where the middle of their ink was."""
    weights = [(line, weigh(line.line), line.line.ink) for line in lines]
    known = [(line, weight, ink) for line, weight, ink in weights if weight and ink]
    if not known:
        return lines
    tops = min(line.origin.imag + ink.y0 * line.size for line, _, ink in known)
    feet = max(line.origin.imag + ink.y1 * line.size for line, _, ink in known)
    shares = [len(line.line.clusters) for line, _, _ in known]
    mass = sum(
        n * (line.origin.imag + w.y * line.size) for n, (line, w, _) in zip(shares, known, strict=True)
    )
    by = (tops + feet) / 2 - mass / sum(shares)
    for _ in range(_TRIES):
        there = tuple(replace(line, origin=line.origin + 1j * by) for line in lines)
        if all(_holds(region, line) for line in there):
            return there
        by /= 2
    return lines


def _holds(region: Region, line: SetLine) -> bool:
    """Whether the ink's box lies inside."""
    ink = line.line.ink
    if ink is None:
        return True
    box = ink.scaled(line.size).moved(line.origin.real, line.origin.imag)
    span = region.span(box.y0, box.y1)
    return span is not None and span[0] <= box.x0 + 1e-6 and box.x1 <= span[1] + 1e-6
