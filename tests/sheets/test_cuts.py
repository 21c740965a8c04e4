"""Cut lines made ready: where the kerf goes, what it swallows, tabs, lead-ins, and inner before outer."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely

from render.geometry import CLOSE, Path
from render.geometry.shapes import circle, rectangle
from render.model import Operation
from render.sheets.burn import finished
from render.sheets.cuts import CutPlan, cut_lines, told, with_cuts
from render.sheets.errands import levels_of, shorten_sheet
from render.sheets.inside import flattened
from render.sheets.offset import TOLERANCE_MM, region
from render.sheets.stretches import Measured
from render.sheets.verify import inspect_sheet

PLATE = rectangle(0, 0, 60, 30, 3)
HOLE = circle(6 + 15j, 2)


def shape(*contours: Path) -> shapely.Geometry:
    return region(contours, [flattened(c, 1e-5) for c in contours])


def length(path: Path) -> float:
    return Measured.of(path).length


def test_holes_go_inward_outlines_outward_and_the_rest_stays(make) -> None:
    blank = make.tag()
    (plain,) = finished([make.lettered("p2", blank)], blank)
    plan = CutPlan(0.2)
    wide = with_cuts(plain, cut_lines(plain.burned(Operation.CUT), plan))
    assert wide.burned(Operation.ENGRAVE) == plain.burned(Operation.ENGRAVE)
    assert wide.burned(Operation.SCORE) == plain.burned(Operation.SCORE)
    hole, rim = wide.burned(Operation.CUT).contours()
    assert hole.bounds().width == pytest.approx(3 - 0.2, abs=TOLERANCE_MM)
    assert rim.bounds().width == pytest.approx(40.2, abs=TOLERANCE_MM)
    assert blank.outline.bounds().inset(-plan.reach - TOLERANCE_MM).contains(rim.bounds())
    none = with_cuts(plain, cut_lines(plain.burned(Operation.CUT)))
    assert none.digest() == plain.digest()


def test_alike_pieces_are_moved_once() -> None:
    cut_lines.cache_clear()
    first = cut_lines(Path.joined((HOLE, PLATE)), CutPlan(0.2))
    assert cut_lines(Path.joined((HOLE, PLATE)), CutPlan(0.2)) is first
    assert cut_lines(Path.joined((HOLE, PLATE)), CutPlan(0.3)) is not first


def test_what_the_kerf_swallows_is_told() -> None:
    slit = rectangle(20, 12, 6, 0.15)
    notch = Path.polygon((0, 30, 30 + 20j, 15.2 + 20j, 15.2 + 12j, 15 + 12j, 15 + 20j, 20j))
    lost = cut_lines(Path.joined((circle(5 + 5j, 0.08), slit, PLATE)), CutPlan(0.3))
    assert len(lost.lines) == 1
    assert [p.message for p in told(["p2"], lost, CutPlan(0.3)) if "2 holes narrower" in p.message]
    narrow = told(["p2", "p3"], cut_lines(notch, CutPlan(0.3)), CutPlan(0.3))
    assert [p.piece for p in narrow] == ["p2", "p3"]
    assert "Piece p3 has a gap narrower than the kerf of 0.3 mm at (15.1, 16.0) mm" in narrow[1].message
    assert not told(["p2"], cut_lines(notch, CutPlan(0.1)), CutPlan(0.1))


def test_crossing_lines_are_left_alone_with_a_problem() -> None:
    both = Path.joined((rectangle(0, 0, 10, 10), rectangle(5, 5, 10, 10)))
    plan = CutPlan(0.2, 2, 0.5, 1.0)
    same = cut_lines(both, plan)
    assert Path.joined(same.lines) == both
    assert [p.code for p in told(["p2"], same, plan)] == ["cut-lines-cross"]


@pytest.mark.parametrize("kerf", [-0.1, math.nan, 6.0])
def test_impossible_kerfs_are_refused(kerf: float) -> None:
    with pytest.raises(ValueError, match="kerf"):
        cut_lines(PLATE, CutPlan(kerf))


def test_tabs_hold_the_outline_and_the_hole_stays_whole() -> None:
    plan = CutPlan(0.2, 3, 0.8)
    ready = cut_lines(Path.joined((PLATE, HOLE)), plan)
    assert ready.levels == (1, 0, 0, 0)
    assert ready.lines[0].commands[-1] == CLOSE
    whole = length(cut_lines(PLATE, CutPlan(0.2)).lines[0])
    assert sum(map(length, ready.lines[1:])) == pytest.approx(whole - 3 * (0.8 + 0.2), abs=0.01)
    assert [p.code for p in told(["p2"], cut_lines(HOLE, replace(plan, tabs=9)), plan)] == ["no-tabs"]


def test_cuts_begin_in_the_waste_and_go_once_round() -> None:
    closed = cut_lines(Path.joined((PLATE, HOLE)))
    led = cut_lines(Path.joined((PLATE, HOLE)), CutPlan(lead=1.0))
    kept = shape(*closed.lines)
    assert led.levels == (1, 0)
    for before, after in zip(closed.lines, led.lines, strict=True):
        assert after.commands[-1] != CLOSE
        start = after.points[0]
        assert kept.distance(shapely.Point(start.real, start.imag)) >= 0.6
        assert abs(after.points[1] - after.points[-1]) < 1e-9
        assert length(after) == pytest.approx(length(before) + 1.0, abs=1e-3)


def test_a_hole_too_small_for_a_lead_in_is_told() -> None:
    plan = CutPlan(lead=2.0)
    ready = cut_lines(Path.joined((circle(6 + 15j, 0.1), PLATE)), plan)
    assert [p.code for p in told(["p2"], ready, plan)] == ["no-lead-in"]


def test_a_tabbed_plate_is_cut_after_its_holes_and_read_back_as_meant(make) -> None:
    """The stretches between tabs enclose nothing any more: only the levels know what must come first."""
    plan = CutPlan(0.2, 2, 0.5, 0.6)
    plain = make.sheet_of(9)
    ready = cut_lines(plain.placements[0].artwork.burned(Operation.CUT), plan)
    cut = replace(
        plain,
        gap=plain.gap - 2 * (plan.reach + TOLERANCE_MM),
        placements=tuple(replace(p, artwork=with_cuts(p.artwork, ready)) for p in plain.placements),
    )
    known = {Path.joined(ready.lines): ready.levels}
    short, before, after = shorten_sheet(cut, levels=lambda path: known.get(path) or levels_of(path))
    assert after < before
    for placement in short.placements:
        hole, *rim = placement.artwork.burned(Operation.CUT).contours()
        assert len(rim) == 2
        assert hole.bounds().width < 4
        assert min(part.bounds().width for part in rim) > 4
    found = inspect_sheet(make.tiny_svg(short).encode(), short, (600, 400))
    assert found.ok, found.findings


def test_levels_are_true_containment_not_boxes() -> None:
    """A small circle in the bight of a C lies in its box but not in it."""
    bight = Path.polygon((0, 10, 10 + 2j, 2 + 2j, 2 + 8j, 10 + 8j, 10 + 10j, 10j))
    assert levels_of(Path.joined((bight, circle(6 + 5j, 1)))) == (0, 0)
    assert levels_of(Path.joined((PLATE, circle(30 + 15j, 1), circle(30 + 15j, 4)))) == (0, 2, 1)
    assert np.array_equal(cut_lines(Path.joined((PLATE, HOLE))).levels, (1, 0))


def test_what_lies_in_the_bight_of_an_open_line_is_cut_before_it() -> None:
    """Half an outline, as where a long sign is split: its hole would be cut in a part that is loose."""
    half = Path.polyline((40, 0, 10j, 20j, 40 + 30j))
    assert levels_of(Path.joined((half, HOLE))) == (0, 1)
    assert cut_lines(Path.joined((half, HOLE)), CutPlan(0.2, lead=0.5)).levels == (1, 0)
