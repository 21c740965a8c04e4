"""Bridges in stencils: nothing falls out, and bridges are where a sign writer would put them."""

from __future__ import annotations

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from render.fitting.bridging import bridge
from render.fitting.solids import parts_of, region_of_path
from render.geometry import Path
from render.geometry.shapes import circle, ellipse, rectangle

PLATE = rectangle(-20, -20, 40, 40)
LETTER_O = Path.joined((ellipse(0j, 6, 8), ellipse(0j, 4, 7)))
"""Thin above and below, stout at the sides."""


def left_of(plate: Path, open_: Path):
    return region_of_path(plate).difference(region_of_path(open_))


def test_an_o_is_bridged_above_and_below() -> None:
    result = bridge([LETTER_O], PLATE, 1.5)
    assert result.islands == 1
    assert len(result.bridges) == 2
    assert sorted(at.imag > 0 for at in result.bridges) == [False, True]
    assert all(abs(at.real) < 1.6 and 6.9 < abs(at.imag) < 8.1 for at in result.bridges)
    assert len(parts_of(left_of(PLATE, result.path))) == 1
    assert not result.faults


@given(st.floats(0.5, 3))
def test_a_bridge_is_as_wide_as_stated(width: float) -> None:
    result = bridge([LETTER_O], PLATE, width)
    left = left_of(PLATE, result.path)
    for at in result.bridges:  # straight across the bridge, halfway
        cut = shapely.LineString([(at.real - 5, at.imag), (at.real + 5, at.imag)]).intersection(left)
        here = [p for p in shapely.get_parts(cut) if p.distance(shapely.Point(at.real, at.imag)) < 1e-6]
        assert here[0].length == pytest.approx(width, abs=0.01)


@pytest.mark.parametrize("count", [1, 2])
def test_the_stated_number_of_bridges(count: int) -> None:
    assert len(bridge([LETTER_O], PLATE, 1.5, count).bridges) == count


def test_counters_within_counters_are_held_too() -> None:
    nested = Path.joined([circle(0j, r) for r in (15, 12, 8, 5)])
    result = bridge([nested], PLATE, 1.5)
    assert result.islands == 2
    assert len(parts_of(left_of(PLATE, result.path))) == 1


def test_two_counters_one_above_the_other_reach_the_plate() -> None:
    eight = Path.joined((ellipse(0j, 6, 12), ellipse(-6j, 3, 4), ellipse(6j, 3, 4)))
    result = bridge([eight], PLATE, 1.2)
    assert result.islands == 2
    assert len(parts_of(left_of(PLATE, result.path))) == 1


def test_what_has_no_counter_is_left_alone() -> None:
    bar = rectangle(-2, -8, 4, 16)
    result = bridge([bar], PLATE, 1.5)
    assert (result.islands, result.bridges) == (0, ())
    assert region_of_path(result.path).equals(region_of_path(bar))


def test_lettering_that_cuts_the_plate_in_two_is_bridged_as_well() -> None:
    result = bridge([rectangle(-30, -2, 60, 4)], PLATE, 1.5)
    assert len(parts_of(left_of(PLATE, result.path))) == 1


def test_the_sizes_of_waste_are_told() -> None:
    result = bridge([rectangle(-2, -8, 4, 16), circle(10 + 10j, 1)], PLATE, 1.5)
    assert sorted(result.waste) == pytest.approx([2, 16], abs=0.01)


def test_nothing_to_bridge_is_an_error() -> None:
    with pytest.raises(ValueError, match="no lettering"):
        bridge([], PLATE, 1)
    with pytest.raises(ValueError, match="wider"):
        bridge([LETTER_O], PLATE, 0)
