"""SVG path data in, paths out (SVG 1.1, section 8.3)."""

from __future__ import annotations

import math
import re
from typing import Final

from render.geometry.path import CLOSE, CUBIC, LINE, MOVE, QUAD, Path

_CODES = {
    "moveTo": (MOVE,),
    "lineTo": (LINE,),
    "curveTo": (CUBIC,),
    "qCurveTo": (QUAD,),
    "closePath": (CLOSE,),
}

_TOKENS: Final = re.compile(
    r"(?:[\s,MmZzLlHhVvCcSsQqTtAa]++|[+-]?(?:\d++\.?\d*+|\.\d++)(?:[eE][+-]?\d++)?+)*+", re.ASCII
)
"""Path data holds these and nothing else; the reader behind would pass over the rest in silence."""


def parse_path(data: str) -> Path:
    """The path that SVG path data describes; arcs become cubics.

    Read by fontTools. Contours that hold nothing but a move are dropped.

    Raises:
        ValueError: the data is not path data, or a number in it is not finite.
    """
    from fontTools.pens.recordingPen import RecordingPen
    from fontTools.svgLib.path import parse_path as feed

    if _TOKENS.fullmatch(data) is None:
        raise ValueError(f"not SVG path data: {data[:60]!r}")
    pen = RecordingPen()
    try:
        feed(data, pen)
    except Exception as error:  # the reader raises whatever its tokens ran into
        raise ValueError(f"not SVG path data: {data[:60]!r}") from error
    commands: list[int] = []
    points: list[complex] = []
    for (name, arguments), following in zip(pen.value, [*pen.value[1:], ("endPath", ())], strict=False):
        empty_move = name == "moveTo" and following[0] in ("moveTo", "endPath")
        if name == "endPath" or empty_move:
            continue
        commands += _CODES[name]
        points += [complex(x, y) for x, y in arguments]
    if not all(math.isfinite(p.real) and math.isfinite(p.imag) for p in points):
        raise ValueError(f"a number in the path data is not finite: {data[:60]!r}")
    return Path.of(commands, points)
