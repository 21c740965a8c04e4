"""Things longer than the bed: laid in sections on a machine that lets material pass through."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from render.errors import MonikerfError
from render.model import Artwork, Blank, Hold, Machine, Placement, Sheet
from render.sheets.layout import Layout
from render.sheets.sections import SplitRule, beside, in_sections
from render.units import format_mm


def too_long(blank: Blank, machine: Machine) -> bool:
    """Whether a thing cut from stock is longer than the bed, whichever way it lies."""
    if blank.hold is not Hold.STOCK:
        return False
    box = blank.outline.bounds()
    return max(box.width, box.height) > max(machine.bed)


def lets_through(blank: Blank, machine: Machine) -> bool:
    """Whether a thing that is too long for the bed can pass through the machine, marks and all."""
    if not machine.passes_through:
        return False
    across = machine.bed[0] if machine.passes_through == "y" else machine.bed[1]
    return blank.outline.bounds().height + 2 * beside(SplitRule()) <= across


def lay_in_sections(artworks: Sequence[Artwork], blank: Blank, machine: Machine) -> Layout:
    """Each piece in as many sections as the bed asks for, in the way in which material passes through.

    Raises:
        MonikerfError: the machine lets nothing pass through, or the piece is too wide for it.
    """
    box = blank.outline.bounds()
    if not machine.passes_through:
        longest = format_mm(max(box.width, box.height))
        raise MonikerfError(
            f"{blank.title} is {longest} mm long, longer than the bed of {machine.title}"
            f" ({' × '.join(map(format_mm, machine.bed))} mm).",
            hint="Take a machine with a larger bed, or one that material passes through: its file then says"
            " passes_through, and the piece is burned in sections.",
            place=f"machine {machine.id}",
        )
    if box.height > box.width:
        raise MonikerfError(
            f"{blank.title} stands upright, but sections follow each other from left to right.",
            hint="Draw the blank and its template lying.",
            place=f"blank {blank.id}",
        )
    along_y = machine.passes_through == "y"
    bed = machine.bed[::-1] if along_y else machine.bed
    found = in_sections(artworks, replace(machine, bed=bed))
    sheets = tuple(_turned(sheet) if along_y else sheet for sheet in found.sheets)
    return Layout(sheets, 0, 0, along_y, found.problems, sections=True)


def _turned(sheet: Sheet) -> Sheet:
    """The sheet turned clockwise by a quarter: the material passes through from front to back."""
    width, height = sheet.size
    high = round(height * 1000)
    placements = tuple(
        Placement(p.artwork, p.place, high - p.y_um, p.x_um, p.quarters + 1) for p in sheet.placements
    )
    return replace(sheet, size=(height, width), placements=placements)
