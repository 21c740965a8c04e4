"""Inserts fit their pockets, tabs hold, and cuts begin off the piece."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from render.geometry import CLOSE, Path
from render.geometry.shapes import circle, rectangle
from render.model import Operation
from render.sheets.burn import finished
from render.sheets.fits import inlay, led_in, room_with, slot, tabbed, with_tabs
from render.sheets.inside import flattened
from render.sheets.layout import layout
from render.sheets.offset import TOLERANCE_MM, region
from render.sheets.stretches import Measured
from render.sheets.verify import inspect_sheet

HEART = Path.polygon((0, 12, 12 + 6j, 8 + 6j, 8 + 10j, 10j))


def shape(*contours: Path) -> shapely.Geometry:
    return region(contours, [flattened(c, 1e-5) for c in contours])


def length(path: Path) -> float:
    return sum(Measured.of(c).length for c in path.contours())


@pytest.mark.parametrize("play", [0.0, 0.05, 0.2, -0.03])
def test_an_insert_fits_its_pocket_with_the_play_stated(play: float) -> None:
    """What the beam leaves: half a kerf is taken on each side of the cut line."""
    kerf = 0.18
    parts = inlay(HEART, kerf, play)
    insert = shape(*parts.insert.contours()).buffer(-kerf / 2, quad_segs=64)
    pocket = shape(*parts.pocket.contours()).buffer(kerf / 2, quad_segs=64)
    rounded = max(0.0, kerf / 2 - play)
    assert insert.symmetric_difference(shape(HEART)).area < TOLERANCE_MM * 44 + 6 * rounded**2
    if play > 0:
        assert pocket.boundary.distance(insert) == pytest.approx(play, abs=2 * TOLERANCE_MM)
    side = insert.bounds[2] - insert.bounds[0]
    assert pocket.bounds[2] - pocket.bounds[0] == pytest.approx(side + 2 * play, abs=3 * TOLERANCE_MM)


def test_a_slot_comes_out_as_wide_as_the_stand_is_thick() -> None:
    path = slot(10 + 5j, 30, 3, kerf=0.2, play=0.1, turn=90)
    box = path.bounds()
    assert (box.width + 0.2, box.height + 0.2) == pytest.approx((3.1, 30.1))
    assert complex(box.centre) == pytest.approx(10 + 5j)
    with pytest.raises(ValueError, match="wider"):
        slot(0, 30, 0.2, kerf=0.3)


@given(st.floats(0, 0.9), st.floats(0.05, 1.9))
@settings(max_examples=40, deadline=None)
def test_a_stretch_has_its_length_and_lies_on_the_contour(begin: float, share: float) -> None:
    for contour in (circle(1 + 2j, 5), rectangle(0, 0, 20, 9, 2), HEART):
        m = Measured.of(contour)
        part = m.stretch(begin * m.length, min(begin + share, begin + 1) * m.length)
        wanted = min(share, 1) * m.length
        assert length(part) == pytest.approx(wanted, abs=1e-3 * m.length)
        ring = flattened(contour, 1e-4)
        line = shapely.LinearRing(np.stack((ring.real, ring.imag), 1))
        points = flattened(part, 1e-3)
        assert shapely.distance(line, shapely.points(points.real, points.imag)).max() < 1e-3


@pytest.mark.parametrize("contour", [rectangle(0, 0, 60, 30, 3), circle(0, 20), HEART], ids=["r", "c", "h"])
def test_tabs_leave_their_width_uncut(contour: Path) -> None:
    cut = with_tabs(contour, 3, 0.8, kerf=0.2)
    assert len(list(cut.contours())) == 3
    assert length(cut) == pytest.approx(length(contour) - 3 * 1.0, abs=0.01)
    parts = list(cut.contours())
    for a, b in zip(parts, parts[1:] + parts[:1], strict=True):
        assert abs(b.points[0] - a.points[-1]) == pytest.approx(1.0, abs=0.05)  # straight: chord is arc


def test_tabs_keep_off_corners() -> None:
    cut = with_tabs(rectangle(0, 0, 60, 30), 4, 1.0)
    for end in (p for c in cut.contours() for p in (c.points[0], c.points[-1])):
        assert min(abs(end - corner) for corner in (0, 60, 30j, 60 + 30j)) > 0.5


def test_too_many_tabs_are_told(make) -> None:
    blank = make.tag()
    art = finished([make.lettered("p2", blank)], blank)
    with pytest.raises(ValueError, match="too short"):
        with_tabs(circle(0, 1), 4, 1.0)
    _, problems = tabbed(art, 60, 1.0)
    assert [p.code for p in problems] == ["no-tabs"]
    (held,), none = tabbed(art, 2, 1.0)
    assert not none
    assert len(list(held.burned(Operation.CUT).contours())) == 1 + 2  # the hole stays whole


def test_cuts_begin_in_the_waste_and_go_once_round(make) -> None:
    blank = make.tag()
    (plain,) = finished([make.lettered("p2", blank)], blank)
    (led,), problems = led_in([plain], 1.0)
    assert not problems
    old, new = (list(a.burned(Operation.CUT).contours()) for a in (plain, led))
    kept = shape(*old)
    for before, after in zip(old, new, strict=True):
        assert after.commands[-1] != CLOSE
        start = after.points[0]
        assert kept.distance(shapely.Point(start.real, start.imag)) >= 0.6
        assert abs(after.points[1] - after.points[-1]) < 1e-9
        assert length(after) == pytest.approx(length(before) + 1.0, abs=1e-3)


def test_a_hole_too_small_for_a_lead_in_is_told(make) -> None:
    blank = make.tag(holes=(circle(4 + 10j, 0.1),))
    _, problems = led_in(finished([make.lettered("p2", blank)], blank), 2.0)
    assert [p.code for p in problems] == ["no-lead-in"]


def test_a_sheet_with_leads_and_tabs_is_read_back_as_meant(make) -> None:
    blank = make.tag()
    art = finished([make.lettered(f"p{n}", blank) for n in range(2, 6)], blank)
    art, _ = led_in(art, 0.8)
    laid = layout(art, room_with(blank, 0.0, 0.8), make.machine())
    assert not laid.problems
    for sheet in laid.sheets:
        found = inspect_sheet(make.tiny_svg(sheet).encode(), sheet, (600, 400))
        assert found.ok, found.findings
