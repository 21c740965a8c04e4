"""Paths for lettering that nobody has to draw: arcs, waves and spirals on a plain line or circle.

A ``<line>`` with ``mk:arc`` or ``mk:wave`` is the chord of the arc or the line that the wave swings about; a
``<circle>`` with ``mk:spiral`` is the outermost turn's size. The values are written as in ``mk:sample``,
``name: value; name: value``.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final

from render.design.grammar import OURS
from render.design.numbers import number_between
from render.design.refusal import Refusal, short, suggest
from render.design.shapes import placed, shape
from render.geometry import Affine, Path
from render.geometry.shapes import arc_by_rise, spiral, wave

Values = Mapping[str, str]

_LEAST_RADIUS_MM: Final = 1.0
"""A spiral ends at least so far from its middle: no letter could follow it further."""


def curve_or_shape(tag: str, attributes: Mapping[str, str], affine: Affine) -> Path:
    """The path of a shape, or of the curve that its attributes make of it, in the drawing's mm.

    Raises:
        Refusal: an attribute is missing or wrong.
    """
    kinds = [kind for kind in _CURVES if f"{{{OURS}}}{kind}" in attributes]
    if len(kinds) > 1:
        raise Refusal("it is both an arc and a wave", "Keep one of mk:arc and mk:wave.")
    if not kinds:
        return shape(tag, attributes, affine)
    (kind,) = kinds
    known, make = _CURVES[kind]
    values = _values(attributes[f"{{{OURS}}}{kind}"], kind, known)
    plain = shape(tag, attributes, Affine())
    if tag == "line" and plain.points[0] == plain.points[1]:
        raise Refusal("its line has no length", "Draw it from where the curve begins to where it ends.")
    return placed(make(plain, values), affine)


def _values(text: str, kind: str, known: tuple[str, ...]) -> dict[str, str]:
    """The named values of an attribute."""
    values: dict[str, str] = {}
    for part in text.split(";"):
        name, colon, value = (piece.strip() for piece in part.partition(":"))
        if not name and not colon:
            continue
        if name not in known:
            raise Refusal(f"mk:{kind} has no {short(name)}", suggest(name, known))
        if not value or name in values:
            raise Refusal(f"mk:{kind} is {short(text)}", f"Give each value once, such as: {_EXAMPLES[kind]}.")
        values[name] = value
    return values


def _number(
    values: Values, name: str, kind: str, low: float, high: float, otherwise: float | None = None
) -> float:
    if name not in values:
        if otherwise is None:
            raise Refusal(f"mk:{kind} does not tell its {name}", f"Such as: {_EXAMPLES[kind]}.")
        return otherwise
    return number_between(values[name], f"{name} in mk:{kind}", low, high)


def _arc(chord: Path, values: Values) -> Path:
    start, end = chord.points.tolist()
    most = 5 * abs(end - start)
    return arc_by_rise(start, end, _number(values, "rise", "arc", -most, most))


def _wave(axis: Path, values: Values) -> Path:
    start, end = axis.points.tolist()
    return wave(
        start,
        end,
        _number(values, "height", "wave", -abs(end - start), abs(end - start)),
        _number(values, "waves", "wave", 0.1, 50, 1.0),
        _number(values, "phase", "wave", -360, 360, 0.0),
    )


def _spiral(circle: Path, values: Values) -> Path:
    box = circle.bounds()
    radius = box.width / 2
    turns, pitch = (
        _number(values, "turns", "spiral", 0.1, 50),
        _number(values, "pitch", "spiral", 0.1, radius),
    )
    if radius - turns * pitch < _LEAST_RADIUS_MM:
        raise Refusal(
            f"a spiral of {turns:g} turns, {pitch:g} mm apart, would run through its middle",
            f"Within this circle {(radius - _LEAST_RADIUS_MM) / pitch:.1f} turns have room.",
        )
    way = values.get("runs", "inward")
    if way not in ("inward", "outward"):
        raise Refusal(f"runs in mk:spiral is {short(way)}", "Write inward or outward.")
    begin = _number(values, "from", "spiral", -360, 360, 0.0)
    return spiral(complex(box.centre), radius, pitch, turns, begin, way == "inward")


_CURVES: Final[Mapping[str, tuple[tuple[str, ...], Callable[[Path, Values], Path]]]] = {
    "arc": (("rise",), _arc),
    "wave": (("height", "waves", "phase"), _wave),
    "spiral": (("turns", "pitch", "from", "runs"), _spiral),
}
"""Each curve's values, and how it is made."""

_EXAMPLES: Final = {
    "arc": "rise: 6",
    "wave": "height: 4; waves: 2; phase: 90",
    "spiral": "turns: 3; pitch: 7; from: 0; runs: inward",
}
