"""How high and how low the ink of a line reaches, column by column."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from math import floor

import numpy as np

from render.geometry import Path
from render.lettering.assemble import GlyphRun
from render.lettering.batch import flip_y
from render.lettering.contours import Edges, Floats
from render.lettering.letters import chords
from render.lettering.pool import Glyph
from render.model import SKYLINE_STEP, Skyline


def skyline_of(run: GlyphRun, glyph: Callable[[int], Glyph], pen: float = 0.0) -> Skyline | None:
    """The skyline of a run whose pen begins at `pen`, em; None if it has no ink.

    Its columns are never narrower than the ink in them.
    """
    step, pen = SKYLINE_STEP * run.upem, pen * run.upem
    parts: list[tuple[int, int, float, int, Glyph]] = []
    for gid, x, y in zip(run.gids, run.xs, run.ys, strict=True):
        shape = glyph(gid)
        if shape.box is not None:
            at = x + pen
            begin = floor((shape.box[0] + at) / step)
            count = floor((shape.box[2] + at) / step) - begin + 1
            parts.append((begin, count, at, y, shape))
    if not parts:
        return None
    first = min(begin for begin, *_ in parts)
    size = max(begin + count for begin, count, *_ in parts) - first
    tops, bottoms = np.full(size, -np.inf), np.full(size, np.inf)
    for begin, count, at, y, shape in parts:
        key = (at - begin * step, step)
        if key not in shape.columns:
            shape.columns[key] = columns(shape.edges, *key, count)
        high, low = shape.columns[key]
        if y:
            high, low = high + y, low + y
        here = slice(begin - first, begin - first + count)
        np.maximum(tops[here], high, out=tops[here])
        np.minimum(bottoms[here], low, out=bottoms[here])
    return Skyline(first, -tops / run.upem, -bottoms / run.upem)


def beside(lines: Iterable[Skyline | None]) -> Skyline | None:
    """One skyline of several that lie on one baseline; None if none has ink."""
    inked = [line for line in lines if line is not None]
    if not inked:
        return None
    first = min(line.first for line in inked)
    size = max(line.first + line.tops.size for line in inked) - first
    tops, bottoms = np.full(size, np.inf), np.full(size, -np.inf)
    for line in inked:
        here = slice(line.first - first, line.first - first + line.tops.size)
        tops[here] = np.minimum(tops[here], line.tops)
        bottoms[here] = np.maximum(bottoms[here], line.bottoms)
    return Skyline(first, tops, bottoms)


def skyline_of_strokes(path: Path) -> Skyline | None:
    """The skyline of open strokes, em, y down; None if there are none."""
    if not path:
        return None
    begins, ends = chords(path)
    begin = int(np.floor(min(begins.real.min(), ends.real.min()) / SKYLINE_STEP))
    stop = int(np.floor(max(begins.real.max(), ends.real.max()) / SKYLINE_STEP))
    shift = -begin * SKYLINE_STEP
    high, low = columns((flip_y(begins), flip_y(ends)), shift, SKYLINE_STEP, stop - begin + 1)
    return Skyline(begin, -high, -low)


def columns(edges: Edges, shift: float, step: float, count: int) -> tuple[Floats, Floats]:
    """The highest and lowest place of chords in each of `count` columns, font units, y up."""
    begins, ends = edges
    left = np.minimum(begins.real, ends.real) + shift
    right = np.maximum(begins.real, ends.real) + shift
    first = np.clip(np.floor(left / step), 0, count - 1).astype(np.int64)
    last = np.clip(np.floor(right / step), 0, count - 1).astype(np.int64)
    spans = last - first + 1
    column = np.arange(int(spans.sum())) - np.repeat(np.cumsum(spans) - spans - first, spans)
    chord = np.repeat(np.arange(spans.size), spans)
    b, e = begins[chord], ends[chord]
    run = e.real - b.real
    level = np.abs(run) < 1e-9
    slope = np.where(level, 0.0, (e.imag - b.imag) / np.where(level, 1.0, run))
    low_x = np.maximum(column * step - shift, np.minimum(b.real, e.real))
    high_x = np.minimum((column + 1) * step - shift, np.maximum(b.real, e.real))
    at_low, at_high = b.imag + slope * (low_x - b.real), b.imag + slope * (high_x - b.real)
    at_low, at_high = np.where(level, b.imag, at_low), np.where(level, e.imag, at_high)
    high, low = np.full(count, -np.inf), np.full(count, np.inf)
    np.maximum.at(high, column, np.maximum(at_low, at_high))
    np.minimum.at(low, column, np.minimum(at_low, at_high))
    return high, low
