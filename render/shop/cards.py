"""Test cards: what a shop burns once to find its own settings, limits and lengths.

A card is labelled cells, each a piece of its own, so that the machine's software can give each its own
settings. Monikerf draws and remembers them; what they are burned with is the shop's to choose and to type in.
"""

from __future__ import annotations

import string
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from render.errors import MonikerfError
from render.geometry import Path
from render.geometry.shapes import line, rectangle
from render.model import Align, Mark, Operation
from render.units import format_mm

Write = Callable[[str, float, str], Path]
"""Sets a text at `size` mm to the em, in the font of that id (empty: the font of labels), pen at (0, 0)."""

MARGIN: Final = 6.0
LABEL: Final = 3.2
"""Em size of labels, mm: large enough to be read on whatever the card is burned on."""
HEADING: Final = 4.2
SETTINGS: Final = {"power": "%", "speed": "mm/s", "interval": "mm", "passes": ""}
"""What a grid may vary, and its unit in recipes."""
MOST_STEPS: Final = 26


@dataclass(frozen=True, slots=True)
class CardPart:
    """One cell or label: `id` is that of its group in the file."""

    id: str
    title: str
    marks: tuple[Mark, ...]


@dataclass(frozen=True, slots=True)
class Card:
    """A test card, mm, (0, 0) at its top left.

    Attributes:
        kind: its name in commands.
        parts: cells and labels, in order.
        cells: settings of each cell by its id, where the cells differ in settings.
        steps: what to do with it, one sentence each.
    """

    kind: str
    title: str
    size: tuple[float, float]
    parts: tuple[CardPart, ...]
    cells: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    steps: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Sweep:
    """A setting and the values that it takes."""

    name: str
    values: tuple[float, ...]

    @classmethod
    def parse(cls, text: str) -> Sweep:
        """From ``NAME=FIRST:LAST:STEP`` or ``NAME=A,B,C``.

        Raises:
            MonikerfError: it is neither, or there are no values or too many.
        """
        name, _, rest = text.partition("=")
        hint = "write power=10:60:10 or speed=50,100,200; there may be at most 26 values, above 0"
        if name not in SETTINGS:
            raise MonikerfError(f"{text!r} names no setting of {', '.join(SETTINGS)}.", hint=hint)
        try:
            if ":" in rest:
                first, last, step = (float(part) for part in rest.split(":"))
                count = int((last - first) / step + 1e-9) + 1 if step else 0
                values = [round(first + step * k, 6) for k in range(max(min(count, MOST_STEPS + 1), 0))]
            else:
                values = [float(part) for part in rest.split(",")]
        except (ValueError, OverflowError) as error:
            raise MonikerfError(f"{text!r} does not say which values.", hint=hint) from error
        good = 1 <= len(values) <= MOST_STEPS and len(set(values)) == len(values)
        if not good or not all(0 < value < 1e6 for value in values):
            raise MonikerfError(f"{text!r} does not say which values.", hint=hint)
        return cls(name, tuple(values))

    def label(self, value: float) -> str:
        """Such as ``speed 100 mm/s``."""
        return f"{self.name} {format_mm(value)} {SETTINGS[self.name]}".strip()


def grid_card(
    write: Write, rows: Sweep, columns: Sweep, operation: Operation, *, title: str, side: float = 10.0
) -> Card:
    """Cells of two settings: squares to engrave, or outlines to score or cut.

    Cells are called by column letter and row number, ``a1`` at the top left.

    Raises:
        MonikerfError: both are the same setting.
    """
    if rows.name == columns.name:
        raise MonikerfError(f"Both directions vary {rows.name}.", hint="Vary two different settings.")
    gap, left, top = 3.0, MARGIN + 14, MARGIN + HEADING + 12
    parts = [heading(write, title)]
    cells, letters = {}, string.ascii_lowercase
    across = f"{columns.name} {SETTINGS[columns.name]}".strip()
    down = f"{rows.name} {SETTINGS[rows.name]}".strip()
    parts.append(
        label(write, "axes", f"{across} to the right, {down} downwards", MARGIN, MARGIN + HEADING + 4)
    )
    for column, value in enumerate(columns.values):
        x = left + column * (side + gap) + side / 2
        told = f"{letters[column]}: {format_mm(value)}"
        parts.append(label(write, f"column-{column + 1}", told, x, top - 1.5, Align.MIDDLE))
    for row, value in enumerate(rows.values):
        y, told = top + row * (side + gap), f"{row + 1}: {format_mm(value)}"
        middle = y + side / 2 + 1.1
        parts.append(label(write, f"row-{row + 1}", told, left - 2, middle, Align.END))
        for column, other in enumerate(columns.values):
            name = f"{letters[column]}{row + 1}"
            square = rectangle(left + column * (side + gap), y, side, side)
            text = f"{columns.label(other)}, {rows.label(value)}"
            parts.append(cell(name, text, operation, square))
            cells[name] = {columns.name: other, rows.name: value}
    return Card(
        "grid",
        title,
        sized(parts),
        tuple(parts),
        cells,
        (
            "In the machine's software give each cell's group the settings that its title names, and the "
            "labels (score) settings that you know to be safe.",
            f"Pick the best cell by its column letter and row number, a1 at the top left, such as {name}.",
        ),
    )


def interval_card(write: Write, intervals: Sequence[float], *, title: str, side: float = 12.0) -> Card:
    """Patches of lines drawn at stepped distances, to find the line interval that just closes the area."""
    parts, cells = [heading(write, title)], {}
    top = MARGIN + HEADING + 5
    for index, step in enumerate(intervals):
        x = MARGIN + index * (side + 4)
        count = int(side / step + 1e-9) + 1
        rungs = [line(complex(x, top + k * step), complex(x + side, top + k * step)) for k in range(count)]
        name = f"i{index + 1}"
        parts.append(cell(name, f"interval {format_mm(step)} mm", Operation.SCORE, Path.joined(rungs)))
        middle = x + side / 2
        parts.append(
            label(write, f"interval-{index + 1}", format_mm(step), middle, top + side + 5, Align.MIDDLE)
        )
        cells[name] = {"interval": step}
    return Card(
        "interval",
        title,
        sized(parts),
        tuple(parts),
        cells,
        (
            "Score every patch with the same settings, in focus.",
            "The widest interval without visible gaps is the one to engrave with.",
        ),
    )


def letters_card(
    write: Write, fonts: Sequence[str], sizes: Sequence[float], sample: str, *, title: str
) -> Card:
    """A sample in each font at falling em sizes, to see which is the smallest that can be read."""
    parts = [heading(write, title)]
    y = MARGIN + HEADING + 3
    for font in fonts:
        y += LABEL + 3
        parts.append(label(write, f"font-{font}", font, MARGIN, y))
        for size in sizes:
            y += max(size, LABEL) * 1.25
            parts.append(
                label(write, f"size-{font}-{format_mm(size)}", format_mm(size), MARGIN + 8, y, Align.END)
            )
            text = _moved(write(sample, size, font), MARGIN + 11, y)
            name = f"{font}-{format_mm(size).replace('.', '_')}"
            parts.append(cell(name, f"{font} at {format_mm(size)} mm", Operation.ENGRAVE, text))
    return Card(
        "letters",
        title,
        sized(parts),
        tuple(parts),
        {},
        (
            "Engrave the samples with your recipe for this material.",
            "The smallest line that reads well without a lens is the least size for that kind of letter.",
        ),
    )


# ---------------------------------------------------------------- what all cards are made of


def cell(name: str, title: str, operation: Operation, path: Path) -> CardPart:
    """A part of one mark."""
    return CardPart(name, title, (Mark(operation, path),))


def heading(write: Write, text: str) -> CardPart:
    """The card's title at its top left."""
    return label(write, "heading", text, MARGIN, MARGIN + HEADING * 0.8, size=HEADING)


def label(
    write: Write,
    name: str,
    text: str,
    x: float,
    baseline: float,
    align: Align = Align.START,
    size: float = LABEL,
) -> CardPart:
    """Words as outlines to be scored; its id begins with ``label-``."""
    path = write(text, size, "")
    box = path.bounds()
    shift = {Align.START: -box.x0, Align.MIDDLE: -(box.x0 + box.x1) / 2, Align.END: -box.x1}[align]
    return CardPart(f"label-{name}", text, (Mark(Operation.SCORE, _moved(path, x + shift, baseline)),))


def _moved(path: Path, x: float, y: float) -> Path:
    return Path(path.commands, path.points + complex(x, y))


def sized(parts: Iterable[CardPart]) -> tuple[float, float]:
    """Whole mm round all parts, with the margin."""
    boxes = [mark.path.bounds() for part in parts for mark in part.marks]
    width, height = max(box.x1 for box in boxes), max(box.y1 for box in boxes)
    return float(round(width + MARGIN + 0.499)), float(round(height + MARGIN + 0.499))
