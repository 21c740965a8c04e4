"""The things that shops make most: each design with a short and a long name, cut and read back."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from render.model import Operation, Order, Piece, Severity
from render.pipeline.artworks import letter_order
from render.pipeline.cutting import CutOptions, cut_ready, with_room
from render.pipeline.laying import lay_out, suits_of, wrap_all
from render.pipeline.workshop import Workshop
from render.sheets.layout import reach
from render.sheets.verify import verify_sheet
from render.writers import sheet_svg

WORKSHOP = Workshop.open()

LONG = "Margarethe Alexandra"
THINGS = {
    "cake-topper": LONG, "table-number": "128", "door-hanger": "Alexandra", "standing-name": "Margarethe",
    "slotted-name": "Margarethe A.", "slotted-base": LONG, "name-key-ring": "Margarethe",
    "layered-sign-front": LONG, "layered-sign-back": LONG, "halo-backing": LONG, "inlaid-tag": LONG,
    "inlaid-tag-insert": LONG, "stencil": "Margarethe", "clock-ring": LONG, "porch-sign": LONG,
    "hair-clip": "Margarethe", "name-stamp": LONG, "bracelet-bar": "Margarethe", "wallet-patch": "Margarethe",
    "slate-coaster": LONG, "coaster": LONG, "edge-lit-panel": LONG, "plank": LONG, "cutlery-handle": LONG,
}  # fmt: skip
"""By template the longest name that it must take; the shortest is Io, or 1 for what is numbered."""


@pytest.mark.parametrize("template", THINGS)
def test_a_short_and_a_long_name_are_made_and_read_back(template: str) -> None:
    job = WORKSHOP.job(template)
    short = "1" if template == "table-number" else "Io"
    pieces = (
        Piece("p002", 2, {"name": short}),
        Piece("p003", 3, {"name": THINGS[template], "line2": "Lantern House"}),
    )
    made = letter_order(Order("t", pieces), job, WORKSHOP.letterer(), WORKSHOP, 1, lambda *_: None)
    problems = (*made.problems, *suits_of(made.artworks, job))
    assert not [p.message for p in problems if p.severity is Severity.STOP]
    options = CutOptions(kerf=0.15)
    laid = lay_out(
        wrap_all(made.artworks, job.blank, job), frozenset(), with_room(job, options), cutting=options
    )
    cut = cut_ready(laid, job, options)
    assert {p.artwork.piece for s in cut.layout.sheets for p in s.placements} == {"p002", "p003"}
    for sheet in cut.layout.sheets:
        verify_sheet(sheet_svg(sheet), sheet, reach(job.machine, job.blank))
    assert made.artworks[0].digest() != replace(made.artworks[1]).digest()


def test_what_is_engraved_from_behind_is_mirrored() -> None:
    job = WORKSHOP.job("edge-lit-panel")
    plain = replace(job, template=replace(job.template, mirror=False))
    order = Order("t", (Piece("p002", 2, {"name": "Lu"}),))
    (behind,), (front,) = (
        letter_order(order, each, WORKSHOP.letterer(), WORKSHOP, 1, lambda *_: None).artworks
        for each in (job, plain)
    )
    there, here = (a.burned(Operation.ENGRAVE).points for a in (behind, front))
    assert np.allclose(there.real, 160 - here.real)
    assert not np.allclose(there.real, here.real)
    assert np.allclose(there.imag, here.imag)
