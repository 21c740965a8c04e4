"""Test cards drawn, written, verified and pictured; and what is read off them, kept in the shop's library."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path as FilePath
from typing import TYPE_CHECKING, Any, Final

from render.errors import MonikerfError
from render.geometry import Path
from render.geometry.shapes import rectangle
from render.model import Artwork, Machine, Material, Operation, Placement, SetLine, Setting, Severity, Sheet
from render.pipeline.proofs import PLAIN_FONT, Captions
from render.proof.canvas import Canvas
from render.proof.palette import INK, MUTED, PAPER, edge_of
from render.proof.words import Type, lines_of
from render.sheets.verify import verify_sheet
from render.shop.cards import Card, Sweep, Write, grid_card, interval_card, letters_card
from render.shop.gauges import details_card, focus_card, kerf_card, rotary_card
from render.shop.safety import safety
from render.shop.suitability import refuse_material, suitability
from render.units import format_mm
from render.wrap.turning import turn_sent
from render.writers import ready_folder, sheet_svg, write_atomically

if TYPE_CHECKING:
    from render.lettering import Letterer
    from render.pipeline.workshop import Workshop

KINDS: Final = ("grid", "interval", "letters", "kerf", "focus", "details", "rotary")
"""The test cards there are."""

SAMPLE: Final = "Ag Hamburg 0123 & éß"
FONTS: Final = ("source-sans-3", "eb-garamond", "great-vibes")
SIZES: Final = (6.0, 5.0, 4.0, 3.0, 2.5, 2.0, 1.5)
INTERVALS: Final = tuple(round(0.05 + 0.025 * k, 3) for k in range(9))


@dataclass(frozen=True, slots=True)
class CardWish:
    """Which card for what.

    Attributes:
        rows, columns: of a grid.
        fixed: settings that all cells of a grid share.
        thickness: of the sheet, mm (kerf).
        circumference: by tape, mm (rotary).
        rise: of the wedge, mm (focus).
    """

    kind: str
    operation: Operation = Operation.ENGRAVE
    rows: Sweep | None = None
    columns: Sweep | None = None
    fixed: tuple[tuple[str, float], ...] = ()
    thickness: float = 0.0
    circumference: float = 0.0
    rise: float = 10.0


@dataclass(frozen=True, slots=True)
class MadeCard:
    """A card that was written: the names of its files, what to do, and what to mind.

    Attributes:
        doubts: why the light will hardly do this to the material, and what would; a card may try it.
    """

    files: tuple[str, ...]
    steps: tuple[str, ...]
    cautions: tuple[str, ...]
    values: Mapping[str, Any]
    doubts: tuple[str, ...] = ()


def make_card(
    wish: CardWish, machine: Machine, material: Material, workshop: Workshop, out: FilePath
) -> MadeCard:
    """Draw a card; write its SVG (verified), its picture and its values into a folder.

    Raises:
        MonikerfError: the material is refused, something the card needs is missing, or it is larger than the
            bed.
    """
    refuse_material(material)
    letterer = workshop.letterer()
    card = _drawn(wish, machine, material, _writer(letterer))
    operations = {mark.operation for part in card.parts for mark in part.marks}
    cautions = safety(
        machine,
        workshop.light_of(machine),
        material,
        operations=operations,
        rotary=wish.kind == "rotary",
    )
    found = suitability(
        operations, material, wish.thickness, machine, workshop.light_of(machine),
        others=workshop.library.machines(),
    )  # fmt: skip
    doubts = tuple(f"{p.message} {p.hint}" for p in found if p.severity is not Severity.NOTE)
    bed = _bed(card, machine)
    sheet = _sheet(card, machine)
    name = f"test-card-{card.kind}"
    values = {**_values(card, wish, machine, material, cautions), "doubts": list(doubts)}
    ready_folder(out)
    write_atomically(out / f"{name}.svg", sheet_svg(sheet), lambda part: verify_sheet(part, sheet, bed))
    from render.writers.png import render_png

    picture = render_png(card_picture(card, material, cautions, Captions(letterer)), width_px=2000)
    write_atomically(out / f"{name}.png", picture.png)
    text = json.dumps(values, ensure_ascii=False, indent=1) + "\n"
    write_atomically(out / f"{name}.json", text.encode())
    return MadeCard(
        tuple(f"{name}.{suffix}" for suffix in ("svg", "png", "json")), card.steps, cautions, values, doubts
    )


def _writer(letterer: Letterer) -> Write:
    def write(text: str, size: float, font: str) -> Path:
        set_line = SetLine(letterer.line(text, Setting(font or PLAIN_FONT)), size, 0j)
        return letterer.outlines([(set_line,)])[0]

    return write


def _drawn(wish: CardWish, machine: Machine, material: Material, write: Write) -> Card:
    """The card that is wished for.

    Raises:
        MonikerfError: there is none of that kind, or something it needs is missing.
    """
    title = f"{material.title} on {machine.id}"
    if wish.kind == "grid":
        if wish.rows is None or wish.columns is None:
            hint = (
                "such as --rows power=10:60:10 --columns speed=50:300:50: your own ranges, from what is safe"
            )
            raise MonikerfError("A grid needs the two settings to vary and their ranges.", hint=hint)
        return grid_card(write, wish.rows, wish.columns, wish.operation, title=f"{title}: {wish.operation}")
    if wish.kind == "interval":
        return interval_card(write, INTERVALS, title=f"{title}: line intervals, mm")
    if wish.kind == "letters":
        return letters_card(write, FONTS, SIZES, SAMPLE, title=f"{title}: smallest lettering, mm em")
    if wish.kind == "kerf":
        if wish.thickness <= 0:
            raise MonikerfError(
                "A kerf card needs the thickness of the sheet.",
                hint="measure it with a caliper and say --thickness",
            )
        return kerf_card(write, wish.thickness, title=f"{title}, {format_mm(wish.thickness, 2)} mm: kerf, mm")
    if wish.kind == "focus":
        return focus_card(write, wish.rise, title=f"{title}: focus, height in mm")
    if wish.kind == "details":
        return details_card(write, title=f"{title}: smallest detail")
    if wish.kind == "rotary":
        sent = turn_sent(machine.rotary, wish.circumference) if machine.rotary else 0.0
        return rotary_card(write, machine.rotary, wish.circumference, sent, title=f"{machine.id}: one turn")
    raise MonikerfError(f"There is no test card {wish.kind!r}.", hint=f"There are: {', '.join(KINDS)}.")


def _bed(card: Card, machine: Machine) -> tuple[float, float]:
    """What the card may measure: the bed, or in a rotary whatever the turn takes.

    Raises:
        MonikerfError: it is larger.
    """
    if card.kind == "rotary":
        return max(card.size[0], machine.bed[0]), max(card.size[1], machine.bed[1])
    if card.size[0] > machine.bed[0] or card.size[1] > machine.bed[1]:
        size, bed = (" × ".join(format_mm(side) for side in sides) for sides in (card.size, machine.bed))
        raise MonikerfError(
            f"The card would measure {size} mm, the bed {bed} mm.", hint="Take fewer or wider steps."
        )
    return machine.bed


def _sheet(card: Card, machine: Machine) -> Sheet:
    placements = tuple(
        Placement(Artwork(part.id, part.title, part.marks), number, 0, 0)
        for number, part in enumerate(card.parts, 1)
    )
    return Sheet(1, card.title, card.size, 0.0, placements, machine.colours)


def _values(
    card: Card, wish: CardWish, machine: Machine, material: Material, cautions: Sequence[str]
) -> dict[str, Any]:
    return {
        "cautions": list(cautions),
        "card": card.kind,
        "title": card.title,
        "machine": machine.id,
        "material": material.id,
        "operation": str(wish.operation),
        "thickness": wish.thickness,
        "circumference": wish.circumference,
        "calibration": machine.rotary.calibration.factor if machine.rotary else 1.0,
        "fixed": dict(wish.fixed),
        "steps": list(card.steps),
        "cells": {name: dict(settings) for name, settings in card.cells.items()},
    }


# ---------------------------------------------------------------- picture


def card_picture(card: Card, material: Material, cautions: Sequence[str], captions: Captions) -> bytes:
    """The card on its material as SVG, with what to do and what to mind below."""
    scale = min(188 / card.size[0], 200 / card.size[1], 1.0)
    height, left, top = card.size[1] * scale, 6.0, 6.0
    canvas = Canvas()
    ground = rectangle(left - 2, top - 2, card.size[0] * scale + 4, height + 4, 1.0)
    canvas.draw(ground, {"fill": material.tone, "stroke": edge_of(material.tone), "stroke_width": 0.15})
    for part in card.parts:
        for mark in part.marks:
            path = Path(mark.path.commands, mark.path.points * scale + complex(left, top))
            canvas.draw(path, _look(mark.operation, part.id.startswith("label-"), material))
    y = _text(canvas, "Before anything burns", cautions, captions, top + height + 10)
    y = _text(canvas, "How to use it", card.steps, captions, y + 4)
    return canvas.svg(200.0, y + 4, PAPER)


def _look(operation: Operation, is_label: bool, material: Material) -> Mapping[str, str | float]:
    if operation is Operation.ENGRAVE or is_label:
        return {"fill": material.mark_tone}
    colour = edge_of(material.tone) if operation is Operation.CUT else material.mark_tone
    return {"fill": "none", "stroke": colour, "stroke_width": 0.1}


def _text(canvas: Canvas, title: str, sentences: Sequence[str], captions: Captions, y: float) -> float:
    """A paragraph for each sentence below `y`; where the last ends."""
    strong, plain = Type(captions, 3.2, strong=True), Type(captions, 2.8)
    canvas.draw(strong.placed(title, 6, y), {"fill": INK})
    for sentence in sentences:
        y += 1.2
        for line in lines_of(sentence, plain, 188, 6):
            y += 3.8
            canvas.draw(plain.placed(line, 6, y), {"fill": MUTED})
    return y + 2
