"""Numbers, points and transforms as SVG writes them, within what a thing under a laser can be."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from typing import Final

from render.design.refusal import Refusal, short, suggest
from render.geometry import Affine

FARTHEST_MM: Final = 10_000.0
"""Coordinates beyond this are a mistake: no bed is ten metres long."""

_NUMBER: Final = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?")
_UNIT: Final = re.compile(r"(mm|cm|in|pt|pc|em|ex|rem|q|vw|vh|%)\s*\Z", re.IGNORECASE)
_STEP: Final = re.compile(r"\s*,?\s*([A-Za-z]+)\s*\(([^()]*)\)\s*")
_MOST_STEPS: Final = 32
_FLAT: Final = 1e-9


def number(text: str, what: str) -> float:
    """A plain number of the drawing: one unit is one mm; ``px`` is SVG's name for the same unit.

    Raises:
        Refusal: it is not a number, has a unit, or is beyond :data:`FARTHEST_MM`.
    """
    bare = text.strip().removesuffix("px").strip()
    if not _NUMBER.fullmatch(bare):
        if _UNIT.search(bare):
            hint = "Write the bare number: inside the drawing one unit is one mm already."
            raise Refusal(f"{what} is {short(text)}, with a unit", hint)
        raise Refusal(f"{what} is {short(text)}, which is not a number", "Write mm, such as 12.5.")
    value = float(bare)
    if not abs(value) <= FARTHEST_MM:
        hint = f"Lengths here are mm; the most is {FARTHEST_MM:.0f}."
        raise Refusal(f"{what} is {short(text)}, which no thing is large enough for", hint)
    return value


def number_between(text: str, what: str, low: float, high: float) -> float:
    """A number from `low` to `high`.

    Raises:
        Refusal: it is not.
    """
    value = number(text, what)
    if not low <= value <= high:
        raise Refusal(f"{what} is {short(text)}, which is out of range", f"It goes from {low:g} to {high:g}.")
    return value


def numbers(text: str, what: str) -> list[float]:
    """Numbers separated by spaces or commas.

    Raises:
        Refusal: something in between is not a number.
    """
    return [number(part, what) for part in re.split(r"[\s,]+", text.strip()) if part]


def corners(text: str) -> list[complex]:
    """The ``points`` of a polygon or polyline.

    Raises:
        Refusal: fewer than two points, or half a point.
    """
    values = numbers(text, "a number in points")
    if len(values) < 4 or len(values) % 2:
        raise Refusal("points needs at least two pairs of numbers", 'Such as points="0,0 10,0 10,5".')
    return [complex(x, y) for x, y in zip(values[::2], values[1::2], strict=True)]


def _rotation(angle: float, x: float = 0.0, y: float = 0.0) -> Affine:
    return Affine.translation(-x, -y).then(Affine.rotation(angle)).then(Affine.translation(x, y))


def _skew(degrees: float) -> float:
    return math.tan(math.radians(degrees))


_STEPS: Final[dict[str, tuple[tuple[int, ...], Callable[..., Affine]]]] = {
    "matrix": ((6,), Affine),
    "translate": ((1, 2), lambda x, y=0.0: Affine.translation(x, y)),
    "scale": ((1, 2), Affine.scale),
    "rotate": ((1, 3), _rotation),
    "skewX": ((1,), lambda degrees: Affine(c=_skew(degrees))),
    "skewY": ((1,), lambda degrees: Affine(b=_skew(degrees))),
}
"""Transform functions of SVG 1.1, section 7.6: how many numbers each takes, and its map."""


def transform(text: str) -> Affine:
    """The map of a ``transform`` attribute.

    Raises:
        Refusal: an unknown function, a wrong number of numbers, or a map that flattens the drawing.
    """
    whole, at, steps = Affine(), 0, 0
    text = text.strip()
    while at < len(text):
        match = _STEP.match(text, at)
        steps += 1
        if match is None or steps > _MOST_STEPS:
            raise Refusal(f"transform is {short(text)}", "Such as translate(3,4) rotate(30).")
        whole = _step(match[1], numbers(match[2], "a number in transform")).then(whole)
        at = match.end()
    size = abs(whole.determinant())
    if not _FLAT < size < 1 / _FLAT:
        raise Refusal(f"transform {short(text)} flattens or blows up the drawing", "Check its scale.")
    return whole


def _step(name: str, values: list[float]) -> Affine:
    if name not in _STEPS:
        raise Refusal(f"transform has no {name}()", suggest(name, _STEPS))
    counts, make = _STEPS[name]
    if len(values) not in counts:
        wanted = " or ".join(str(count) for count in counts)
        raise Refusal(f"{name}() has {len(values)} numbers", f"It takes {wanted}.")
    return make(*values)
