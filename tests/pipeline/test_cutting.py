"""Sheets as they are cut: the kerf belongs to the sheet, the digest to the piece, and there is room."""

from __future__ import annotations

from dataclasses import replace

import pytest

from render.model import Cutting, Operation, Order, Piece, Stock
from render.pipeline.artworks import letter_order
from render.pipeline.cutting import (
    GIVEN,
    MEASURED,
    UNKNOWN,
    Cut,
    CutOptions,
    cut_ready,
    cutting_lines,
    cutting_values,
    how_to_cut,
    with_room,
)
from render.pipeline.laying import lay_out, wrap_all
from render.pipeline.workshop import Job, Workshop
from render.sheets.cuts import cut_lines
from render.sheets.layout import reach
from render.sheets.offset import TOLERANCE_MM
from render.sheets.verify import verify_sheet
from render.writers import sheet_svg

WORKSHOP = Workshop.open()
NAMES = ("Ada", "Bo", "Zoë", "Jürgen", "Io", "Maren")


def cut(template: str, options: CutOptions, *, kerf: float | None = None, stock: Stock | None = None) -> Cut:
    job = WORKSHOP.job(template, stock=stock)
    if kerf is not None:
        job = replace(job, machine=replace(job.machine, kerfs={job.material.id: kerf}))
    pieces = tuple(Piece(f"p{n:03}", n, {"name": name}) for n, name in enumerate(NAMES, 2))
    lettered = letter_order(Order("t", pieces), job, WORKSHOP.letterer(), WORKSHOP, 1, lambda *_: None)
    wrapped = wrap_all(lettered.artworks, job.blank, job)
    found = cut_ready(lay_out(wrapped, frozenset(), with_room(job, options)), job, options)
    for sheet in found.layout.sheets:
        verify_sheet(sheet_svg(sheet), sheet, reach(job.machine, job.blank))
    return found


def job(template: str) -> Job:
    return WORKSHOP.job(template)


def width(found: Cut) -> float:
    return max(
        p.artwork.burned(Operation.CUT).bounds().width for s in found.layout.sheets for p in s.placements
    )


def test_a_measured_kerf_is_allowed_for_and_told_and_a_given_one_comes_first() -> None:
    plain = cut("key-tag", CutOptions())
    assert (plain.how.source, plain.how.kerf) == (UNKNOWN, 0)
    assert cutting_values(plain)["kerf_mm"] is None
    assert "not known for Birch plywood" in cutting_lines(plain, job("key-tag"))[0]
    known = cut("key-tag", CutOptions(), kerf=0.2)
    assert known.how.source == MEASURED
    assert width(known) == pytest.approx(width(plain) + 0.2, abs=2 * TOLERANCE_MM)
    assert "0.2 mm allowed for, as measured" in cutting_lines(known, job("key-tag"))[0]
    given = cut("key-tag", CutOptions(kerf=0.1), kerf=0.2)
    assert given.how.source == GIVEN
    assert width(given) == pytest.approx(width(plain) + 0.1, abs=2 * TOLERANCE_MM)
    assert width(cut("key-tag", CutOptions(kerf=0.0), kerf=0.2)) == width(plain)


def test_engraving_stays_and_alike_outlines_are_moved_once() -> None:
    cut_lines.cache_clear()
    found = cut("key-tag", CutOptions(kerf=0.2))
    assert cut_lines.cache_info().misses == 1
    plain = cut("key-tag", CutOptions())
    engraved = [
        {p.artwork.piece: p.artwork.burned(Operation.ENGRAVE) for p in c.layout.sheets[0].placements}
        for c in (plain, found)
    ]
    assert engraved[0] == engraved[1]


@pytest.mark.parametrize("lead", [0.0, 1.5])
def test_the_gap_makes_room_for_the_kerf_and_the_lead_in(lead: float) -> None:
    """Stock without gap or margin gets so much of both that nothing overlaps or leaves the sheet."""
    options = CutOptions(kerf=0.4, lead_in=lead)
    found = cut("key-tag", options, stock=Stock(300, 300, 0, 0))
    assert found.layout.sheets[0].gap >= 0
    roomy = with_room(WORKSHOP.job("key-tag", stock=Stock(300, 300, 0, 0)), options)
    assert roomy.stock.gap >= 0.4 + 2 * lead
    plenty = job("key-tag")
    assert with_room(plenty, CutOptions(kerf=0.4)) is plenty


def test_a_thing_says_how_it_is_cut_and_the_order_says_otherwise() -> None:
    thing = job("key-tag")
    thing = replace(thing, blank=replace(thing.blank, cutting=Cutting(3, 0.6, 1.0, 80.0)))
    assert how_to_cut(thing).rest == Cutting(3, 0.6, 1.0, 80.0)
    other = how_to_cut(thing, CutOptions(tabs=(0, 0.0), lead_in=0.5, apart=0.0))
    assert other.rest == Cutting(0, 0.0, 0.5, 0.0)


def test_what_turns_is_cut_as_drawn() -> None:
    mug = job("mug")
    mug = replace(mug, machine=replace(mug.machine, kerfs={mug.material.id: 0.2}))
    assert how_to_cut(mug, CutOptions(kerf=0.3, tabs=(2, 0.5))).plan.reach == 0


def test_tabs_and_leads_come_after_the_cuts_inside_them() -> None:
    found = cut("name-key-ring", CutOptions(kerf=0.2, tabs=(3, 0.6), lead_in=1.0))
    for sheet in found.layout.sheets:
        for placement in sheet.placements:
            widths = [c.bounds().width for c in placement.artwork.burned(Operation.CUT).contours()]
            assert len(widths) >= 4
            assert max(widths[:-3], default=0) < 20
    assert any(line.startswith("Tabs: 3 of 0.6 mm") for line in cutting_lines(found, job("name-key-ring")))


def test_travel_is_told_before_and_after_and_never_longer() -> None:
    for template in ("key-tag", "name-key-ring", "tent-card"):
        for before, after in cut(template, CutOptions()).travel:
            assert 0 < after <= before
    (before, after), *_ = cut("key-tag", CutOptions(apart=100.0)).travel
    assert after > before
    assert cut("coaster", CutOptions()).travel[0][0] > 0  # its rings are scored
    assert cut("desk-plate", CutOptions()).how is None
