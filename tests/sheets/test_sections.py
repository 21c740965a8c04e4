"""Signs longer than the bed: parted between letters, nothing lost, and the sections fit together again."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from render.errors import MonikerfError
from render.geometry import CLOSE, Path
from render.geometry.shapes import circle, ellipse, line, rectangle
from render.model import Artwork, Mark, Operation
from render.sheets.burn import burn_order
from render.sheets.clipping import between, lines_between
from render.sheets.inside import flattened
from render.sheets.sections import SplitRule, in_sections, joined_error, split_places
from render.sheets.verify import inspect_sheet


def plank(length: float = 1400.0, letters: int = 12, border: bool = False) -> Artwork:
    """A plank with letter-like rings, and holes at both ends."""
    step = (length - 100) / letters
    marks = [
        Mark(Operation.ENGRAVE, Path.joined((ellipse(complex(50 + step * (n + 0.5), 75), step * 0.42, 40),)))
        for n in range(letters)
    ]
    if border:
        frame = (
            rectangle(10, 10, length - 20, 130),
            Path.polygon((12 + 12j, 12 + 138j, length - 12 + 138j, length - 12 + 12j)),
        )
        marks.append(Mark(Operation.ENGRAVE, Path.joined(frame)))
    cuts = (circle(20 + 75j, 4), circle(length - 20 + 75j, 4), rectangle(0, 0, length, 150, 12))
    return burn_order(Artwork("p2", "The Rookery", (*marks, *(Mark(Operation.CUT, c) for c in cuts))))


def shape(path: Path) -> shapely.Geometry:
    """By the non-zero rule for contours that either nest the same way or lie apart."""
    whole = shapely.Polygon()
    for contour in path.contours():
        ring = flattened(contour, 1e-4)
        part = shapely.make_valid(shapely.Polygon(np.stack((ring.real, ring.imag), 1)))
        positive = (ring.conj() * np.roll(ring, -1)).imag.sum() > 0
        whole = whole.union(part) if positive else whole.difference(part)
    return whole


@given(st.floats(-14, 14), st.floats(-14, 14))
@settings(max_examples=40, deadline=None)
def test_clipping_keeps_what_lies_between(a: float, b: float) -> None:
    low, high = sorted((a, b))
    hole = Path.polygon((-3 - 2j, -3 + 2j, 3 + 2j, 3 - 2j))
    for path in (circle(0, 10), rectangle(-9, -4, 18, 8, 3), Path.joined((rectangle(-9, -4, 18, 8), hole))):
        wanted = shape(path).intersection(shapely.box(low, -50, high, 50))
        got = shape(between(path, low, high)) if between(path, low, high) else shapely.Polygon()
        assert got.symmetric_difference(wanted).area < 2e-3


@given(st.lists(st.floats(-9.5, 9.5), min_size=1, max_size=4))
@settings(max_examples=30, deadline=None)
def test_lines_are_cut_off_and_add_up(at: list[float]) -> None:
    ends = [-20.0, *sorted(set(at)), 20.0]
    for path in (circle(0, 10), Path.polyline((-15, 5j, 15, -15 + 3j))):
        parts = [lines_between(path, low, high) for low, high in pairwise(ends)]
        assert sum(length(p) for p in parts) == pytest.approx(length(path), abs=1e-2)
        for (low, high), part in zip(pairwise(ends), parts, strict=True):
            if part:
                assert part.bounds().x0 >= low - 1e-6
                assert part.bounds().x1 <= high + 1e-6


def length(path: Path) -> float:
    total = 0.0
    for contour in path.contours():
        ring = flattened(contour, 1e-5)
        ring = np.append(ring, ring[0]) if contour.commands[-1] == CLOSE else ring
        total += float(np.abs(np.diff(ring)).sum())
    return total


def test_a_sign_is_parted_between_letters(make) -> None:
    found = in_sections([plank()], make.machine(600, 400))
    assert len(found.sheets) == 3
    assert found.ink == (0.0, 0.0)
    step = 1300 / 12
    for x in found.splits:
        off = (x - 50) % step
        assert min(off, step - off) < step * 0.08  # in the gap, not in a letter
    assert [p.code for p in found.problems] == ["in-sections"]


def test_sections_hold_everything_once_and_fit_the_bed(make) -> None:
    sign = plank(border=True)
    machine = make.machine(600, 400)
    found = in_sections([sign], machine, SplitRule(overlap=1.5))
    engraved, cut = shapely.Polygon(), 0.0
    for sheet in found.sheets:
        assert sheet.size[0] <= 600
        ((part),) = [p.artwork for p in sheet.placements]
        piece = shape(part.burned(Operation.ENGRAVE))
        assert engraved.intersection(piece).area < 1e-6  # nothing is burned twice
        engraved = engraved.union(piece)
        cut += length(part.burned(Operation.CUT))
        read = inspect_sheet(make.tiny_svg(sheet).encode(), sheet, machine.bed)
        assert read.ok, read.findings
    assert engraved.symmetric_difference(shape(sign.burned(Operation.ENGRAVE))).area < 0.05
    joints = len(found.sheets) - 1
    assert cut == pytest.approx(length(sign.burned(Operation.CUT)) + joints * 2 * 2 * 1.5, abs=0.02)


def test_crosses_are_scored_before_and_guides_after(make) -> None:
    found = in_sections([plank()], make.machine(600, 400))
    crosses = {}
    for number, sheet in enumerate(found.sheets):
        art = sheet.placements[0].artwork
        crosses[number] = (art.burned(Operation.SCORE), art.burned(Operation.GUIDE))
    for number, x in enumerate(found.splits):
        scored, guide = crosses[number][0], crosses[number + 1][1]
        assert scored == guide
        assert scored.bounds().centre.x == pytest.approx(x)
        assert scored.bounds().y0 < 0 < 150 < scored.bounds().y1
    assert not crosses[0][1]
    assert not crosses[len(found.splits)][0]


def test_where_no_gap_lies_within_reach_it_is_told(make) -> None:
    bar = Artwork(
        "p2",
        "Bar",
        (Mark(Operation.ENGRAVE, rectangle(5, 5, 1190, 30)), Mark(Operation.CUT, rectangle(0, 0, 1200, 40))),
    )
    found = in_sections([burn_order(bar)], make.machine(700, 400))
    assert found.ink == (pytest.approx(30, abs=0.5),)
    assert "split-through-ink" in {p.code for p in found.problems}


def test_sections_are_as_few_as_can_be_and_none_is_too_long() -> None:
    sign = plank(1000, 9)
    for room in (210.0, 333.4, 500.0, 999.0):
        at, _ = split_places(sign, 0, 1000, room)
        ends = (0, *at, 1000)
        assert max(b - a for a, b in pairwise(ends)) <= room + 1e-6
        assert len(ends) - 1 == math.ceil(1000 / (math.floor(room / 0.5) * 0.5))
    assert split_places(sign, 0, 1000, 1000) == ((), ())


def test_the_error_told_is_that_of_a_turned_section() -> None:
    """Both marks missed by the aim, one to each side: shift plus lever (geometry)."""
    assert joined_error(500, 200, 0.2) == pytest.approx(0.2 + 2 * 0.2 / 200 * 500)


def test_too_deep_for_the_bed_is_refused(make) -> None:
    with pytest.raises(MonikerfError, match="registration marks"):
        in_sections([plank()], make.machine(600, 160))


def test_a_touching_curve_leaves_no_sliver() -> None:
    assert not between(ellipse(0, 45.5, 40), 45.5, 90)
    assert not between(ellipse(0, 45.5, 40), 45.4999999, 90)


def test_an_open_line_stays_open(make) -> None:
    score = Artwork("p2", "x", (Mark(Operation.SCORE, line(0, 100 + 5j)),))
    found = lines_between(score.burned(Operation.SCORE), 20, 60)
    assert found.points.real.tolist() == pytest.approx([20, 60])
