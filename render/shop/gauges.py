"""Test cards that measure lengths: kerf, focus, smallest detail, the turn of a rotary."""

from __future__ import annotations

from typing import Final

from render.errors import MonikerfError
from render.geometry import Path
from render.geometry.shapes import line, rectangle
from render.model import Align, Mark, Operation, Rotary
from render.shop.cards import HEADING, LABEL, MARGIN, Card, CardPart, Write, cell, heading, label, sized
from render.units import format_mm

KERFS: Final = tuple(round(0.05 * k, 2) for k in range(1, 13))
"""Kerfs that the comb's slots stand for, mm."""
SQUARES: Final = 10
SQUARE: Final = 10.0
WIDTHS: Final = (0.05, 0.08, 0.1, 0.12, 0.15, 0.2, 0.25, 0.3, 0.4, 0.5)
"""Strokes and gaps of the ladder, mm."""
_TICK: Final = 10.0


def kerf_card(write: Write, thickness: float, *, title: str) -> Card:
    """A comb and a row of squares.

    A beam that takes away k makes a slot drawn w wide w + k wide. So the slot drawn (thickness − k) wide
    holds an offcut of the same sheet snugly if the kerf is k; each slot bears its k. Ten squares of 10 mm
    come out 10 − k each, so pushed together they measure 100 − 10 k. (Derived here.)
    """
    kerfs = [kerf for kerf in KERFS if thickness - kerf >= 0.3]
    parts = [heading(write, title)]
    top, pitch, depth = MARGIN + HEADING + 5, max(thickness + 4, 9.0), 12.0
    for index, kerf in enumerate(kerfs):
        x = MARGIN + 4 + index * pitch
        slot = rectangle(x, top, thickness - kerf, depth)
        parts.append(cell(f"slot-{index + 1}", f"kerf {format_mm(kerf)} mm", Operation.CUT, slot))
        middle = x + (thickness - kerf) / 2
        parts.append(label(write, f"slot-{index + 1}", f"{kerf:.2f}", middle, top + depth + 5, Align.MIDDLE))
    y = top + (depth + 10 if kerfs else 0)
    for index in range(SQUARES):
        square = rectangle(MARGIN + 4 + index * (SQUARE + 3), y, SQUARE, SQUARE)
        parts.append(cell(f"square-{index + 1}", "10 mm square", Operation.CUT, square))
    comb = ("Push an offcut of the same sheet, on edge, into the slots: the snug one bears the kerf.",)
    return Card(
        "kerf",
        title,
        sized(parts),
        tuple(parts),
        {},
        (
            "Cut slots and squares with your recipe for this sheet.",
            *(comb if kerfs else ()),
            "Push the ten squares together in a row and measure it: kerf = (100 mm − length) / 10.",
        ),
    )


def focus_card(write: Write, rise: float, *, title: str, length: float = 100.0) -> Card:
    """Ticks along a slope: on a wedge that rises by `rise` mm over the card, the finest is in focus."""
    parts = [heading(write, title)]
    top, count = MARGIN + HEADING + 5, 21
    for index in range(count):
        x = MARGIN + 4 + length * index / (count - 1)
        height = rise * (index / (count - 1) - 0.5)
        tick = line(complex(x, top), complex(x, top + (_TICK if index % 2 else 1.5 * _TICK)))
        name = f"{height:+.2f}".replace("-", "−")
        parts.append(cell(f"tick-{index + 1}", f"height {name} mm", Operation.SCORE, tick))
        if index % 4 == 0:
            parts.append(label(write, f"tick-{index + 1}", name, x, top + 1.5 * _TICK + 5, Align.MIDDLE))
    return Card(
        "focus",
        title,
        sized(parts),
        tuple(parts),
        {},
        (
            f"Lay the card on a wedge so that its right end lies {format_mm(rise)} mm higher than its left "
            "end, the middle at your usual focus, and see that the head clears it.",
            "Score all ticks alike; the finest is in focus: its label says how many mm higher that lies.",
        ),
    )


def details_card(write: Write, *, title: str) -> Card:
    """Strokes and gaps of falling width, to find the smallest that this machine holds in this material."""
    parts = [heading(write, title)]
    top, height, pitch = MARGIN + HEADING + 10, 10.0, 10.0
    parts.append(label(write, "strokes", "strokes, mm", MARGIN, top - 3))
    low = top + height + 17
    parts.append(label(write, "gaps", "gaps, mm", MARGIN, low - 3))
    for index, width in enumerate(WIDTHS):
        x = MARGIN + 4 + index * pitch
        bar = rectangle(x - width / 2, top, width, height)
        two = Path.joined(
            (rectangle(x - 3 - width / 2, low, 3, height), rectangle(x + width / 2, low, 3, height))
        )
        text = format_mm(width)
        for kind, y, path in (("stroke", top, bar), ("gap", low, two)):
            parts.append(cell(f"{kind}-{index + 1}", f"{kind} {text} mm", Operation.ENGRAVE, path))
            parts.append(label(write, f"{kind}-{index + 1}", text, x, y + height + 5, Align.MIDDLE))
    return Card(
        "details",
        title,
        sized(parts),
        tuple(parts),
        {},
        (
            "Engrave the ladder with your recipe for this material, and clean it.",
            "The thinnest stroke that stands whole and the narrowest gap that stays open are the limits.",
        ),
    )


def rotary_card(
    write: Write, rotary: Rotary | None, circumference: float, sent: float, *, title: str
) -> Card:
    """Marks a known distance and one full turn, in the machine's mm.

    A line is scored at the start and another, beside it, where the thing should have come round exactly once;
    by how much they miss each other tells how to correct the rotary. Between them lie marks every 10 mm of
    the surface.

    Args:
        write: sets words.
        rotary: says which axis turns.
        circumference: of the thing, mm.
        sent: mm that the turning axis is sent for a full turn of it, as for every other run.
        title: of the card.

    Raises:
        MonikerfError: there is no rotary, or the thing is too thin.
    """
    rotary = _turning(rotary, circumference)
    factor, turn, along_y, v = sent / circumference, sent, rotary.axis == "y", MARGIN

    def tick(name: str, text: str, round_: float, from_: float, to: float) -> CardPart:
        ends = [complex(w, round_ * factor) if along_y else complex(round_ * factor, w) for w in (from_, to)]
        return CardPart(name, text, (Mark(Operation.SCORE, line(*ends)),))

    def words(name: str, text: str, round_: float, from_: float) -> CardPart:
        path = write(text, LABEL, "")
        x, y = path.points.real, path.points.imag
        if along_y:
            place = x + from_ + 1j * (y + round_) * factor
        else:
            place = (x + round_) * factor + 1j * (y + from_)
        return CardPart(f"label-{name}", text, (Mark(Operation.SCORE, Path(path.commands, place)),))

    parts = [
        tick("start", "start of the turn", 0.0, v, v + 12),
        tick("turn", "one full turn later", circumference, v + 13, v + 25),
    ]
    for step in range(10, 60, 10):
        parts.append(tick(f"mark-{step}", f"{step} mm round the surface", step, v, v + 6))
        parts.append(
            words(f"mark-{step}", str(step), step + 1.1 if along_y else step - 2, v + (8 if along_y else 11))
        )
    parts.append(words("heading", title, 64, v if along_y else v + 30))
    wide, high = sized(parts)
    size = (wide, turn) if along_y else (turn, high)
    return Card(
        "rotary",
        title,
        size,
        tuple(parts),
        {},
        (
            "Secure the thing, turn it once round with the beam off, then score all marks.",
            "The two long lines should meet end to end. Measure on the surface by how far the second went "
            "beyond the first (+) or fell short of it (−).",
            "Check with a tape that the marks lie 10 mm apart on the surface.",
        ),
    )


def _turning(rotary: Rotary | None, circumference: float) -> Rotary:
    """The rotary, if there is one and the thing is thick enough."""
    if rotary is None:
        raise MonikerfError("This machine has no rotary.", hint="Name one that has one.")
    if not circumference:
        hint = "measure it with a tape and say --circumference"
        raise MonikerfError("A rotary card needs the circumference of the thing.", hint=hint)
    if circumference < 70:
        raise MonikerfError("The card needs a thing of at least 70 mm round.", hint="Take a thicker one.")
    return rotary
