"""Drawings for a page of HTML: many of them, alike in part, as little text as can be.

Coordinates are whole hundredths of a mm, each relative to the point before; what several drawings share is
written once.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from render.geometry import LINE, MOVE, Path
from render.geometry.path import CLOSE, POINTS_PER_COMMAND
from render.proof.things import Look
from render.units import format_mm

PER_MM: Final = 100
"""Units of a drawing's own coordinates in a mm on the page."""
SHARED_FROM: Final = 60
"""Path data of so many characters and more is written once, if it comes again."""

_LETTERS: Final = "mlqcz"
_LOOSE: Final = re.compile(r" (?=[a-z-])|(?<=[a-z]) ")


def compact_data(path: Path) -> str:
    """Path data in hundredths of a mm, relative, in as few characters as is easily done."""
    commands = path.commands
    xy = np.rint(np.ascontiguousarray(path.points).view(np.float64).reshape(-1, 2) * PER_MM).astype(np.int64)
    counts = POINTS_PER_COMMAND[commands]
    ends = np.cumsum(counts) - 1
    moves = np.maximum.accumulate(np.where(commands == MOVE, np.arange(commands.size), 0))
    pens = xy[np.where(commands == CLOSE, ends[moves], ends)]
    before = np.concatenate((np.zeros((1, 2), np.int64), pens[:-1]))
    steps = xy - np.repeat(before, counts, axis=0)
    numbers = iter(steps.tolist())
    tokens: list[str] = []
    last = -1
    for command, count in zip(commands.tolist(), counts.tolist(), strict=True):
        points = [next(numbers) for _ in range(count)]
        if command == LINE and points == [[0, 0]]:
            continue
        if command != last and not (last == MOVE and command == LINE):
            tokens.append(_LETTERS[command])
        tokens += [f"{x} {y}" for x, y in points]
        last = command
    return _LOOSE.sub("", " ".join(tokens))


@dataclass(frozen=True, slots=True)
class Stroke:
    """One shape: its attributes as text, and its path data."""

    look: str
    data: str


class Sketch:
    """Collects shapes from back to front, as :class:`render.proof.canvas.Canvas` does."""

    def __init__(self) -> None:
        self.strokes: list[Stroke] = []

    def draw(self, path: Path, look: Look) -> None:
        """See :class:`render.proof.things.Sink`."""
        if path:
            self.strokes.append(Stroke("".join(map(_attribute, look, look.values())), compact_data(path)))


def _attribute(name: str, value: str | float) -> str:
    """An attribute, lengths in units of the drawing."""
    if name == "stroke_width" and not isinstance(value, str):
        value *= PER_MM
    elif name == "stroke_dasharray":
        value = " ".join(format_mm(float(part) * PER_MM) for part in str(value).split())
    text = value if isinstance(value, str) else format_mm(value)
    return f' {name.replace("_", "-")}="{text}"'


class Shared:
    """Turns sketches into SVG, once it has been told of all of them.

    What is drawn alike twice is written once: whole sketches, and single paths in different looks.
    """

    def __init__(self, sketches: Iterable[Sketch]) -> None:
        whole = Counter(tuple(sketch.strokes) for sketch in sketches)
        often = (strokes for strokes, times in whole.items() if times > 1 and strokes)
        self._groups = {strokes: f"g{number}" for number, strokes in enumerate(often)}
        counts = Counter(stroke.data for strokes in whole for stroke in strokes)
        again = (data for data, times in counts.items() if times > 1 and len(data) >= SHARED_FROM)
        self._paths = {data: f"d{number}" for number, data in enumerate(again)}

    def definitions(self) -> str:
        """What is shared."""
        paths = "".join(f'<path id="{id_}" d="{data}"/>' for data, id_ in self._paths.items())
        groups = (f'<g id="{id_}">{self._shapes(s)}</g>' for s, id_ in self._groups.items())
        return paths + "".join(groups)

    def svg(self, sketch: Sketch) -> str:
        """The shapes of a sketch."""
        group = self._groups.get(tuple(sketch.strokes))
        return f'<use href="#{group}"/>' if group else self._shapes(sketch.strokes)

    def _shapes(self, strokes: Sequence[Stroke]) -> str:
        return "".join(
            f'<use href="#{self._paths[s.data]}"{s.look}/>'
            if s.data in self._paths
            else f'<path{s.look} d="{s.data}"/>'
            for s in strokes
        )
