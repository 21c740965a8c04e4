"""Feet and stakes."""

from __future__ import annotations

import math

import pytest
import shapely

from render.fitting.closer import brought_together
from render.fitting.solids import region_of_path
from render.fitting.standing import footing, stakes
from render.geometry import Box, Path
from render.geometry.shapes import circle, rectangle


def test_a_block_stands_in_the_middle_of_its_foot() -> None:
    stand = footing(rectangle(0, 0, 40, 20), 6)
    assert stand.middle == pytest.approx(20 + 10j)
    assert (stand.left, stand.right) == pytest.approx((0, 40))
    assert stand.sideways == pytest.approx(math.degrees(math.atan(2)))  # 20 wide against 10 high
    assert stand.over == pytest.approx(math.degrees(math.atan(0.3)))  # 3 against 10


def test_what_leans_beyond_its_foot_falls() -> None:
    leaning = Path.polygon([0j, 60, 60 + 8j, 8 + 8j, 8 + 30j, 0 + 30j])
    assert footing(leaning, 6).sideways < 0
    assert footing(Path.polygon([0j, 60, 60 + 30j, 0 + 30j]), 6).sideways > 0


def test_a_round_thing_stands_on_next_to_nothing() -> None:
    assert footing(circle(0j, 10), 6).sideways < 6


def test_stakes_stand_evenly_below_and_reach_into_the_lettering() -> None:
    letters = region_of_path(rectangle(0, 0, 100, 30))
    made = stakes(letters, 2, 5, Box(0, 40, 100, 110), 1.5)
    boxes = [path.bounds() for path in made]
    assert [box.centre.x for box in boxes] == pytest.approx([24, 76], abs=1)
    assert [box.width for box in boxes] == pytest.approx([5, 5], abs=1e-6)
    assert [box.y1 for box in boxes] == pytest.approx([110, 110])
    assert all(28 < box.y0 < 30 for box in boxes)


def test_a_stake_goes_where_the_lettering_comes_down() -> None:
    arch = shapely.union_all(
        [shapely.box(0, 0, 100, 10), shapely.box(18, 0, 24, 30), shapely.box(70, 0, 76, 30)]
    )
    made = stakes(arch, 2, 4, Box(0, 40, 100, 90), 1.5)
    assert [path.bounds().centre.x for path in made] == pytest.approx([21, 73], abs=2)


def test_one_stake_stands_in_the_middle() -> None:
    (one,) = stakes(region_of_path(rectangle(0, 0, 60, 20)), 1, 6, Box(0, 30, 60, 80), 1.5)
    assert one.bounds().centre.x == pytest.approx(30, abs=0.6)


# ---------------------------------------------------------------- letters brought together


def test_letters_move_until_they_overlap_over_the_height_of_a_neck() -> None:
    letters = [rectangle(x, 0, 5, 20) for x in (0, 7, 14)]
    moves = brought_together(letters, 1.6, 5, 20)
    assert moves == pytest.approx([0, 2.4, 4.8], abs=0.01)  # a gap of 2, and 0.4 = a quarter of the neck


def test_no_letter_moves_farther_than_it_may() -> None:
    assert brought_together([rectangle(0, 0, 5, 20), rectangle(9, 0, 5, 20)], 1.6, 1, 20) == [0, 1]


def test_round_letters_overlap_over_the_whole_height() -> None:
    moves = brought_together([circle(0j, 10), circle(22, 10)], 4, 9, 20)
    lens = moves[1] - 2  # they meet after 2
    half = 10 - lens / 2
    assert 2 * math.sqrt(100 - half * half) > 4  # the chord of their lens is higher than the neck


def test_what_meets_already_stays_and_words_stay_apart() -> None:
    assert brought_together([rectangle(0, 0, 5, 20), rectangle(4.9, 0, 5, 20)], 1.6, 5, 20) == [0, 0]
    words = [rectangle(0, 0, 5, 20), Path.empty(), rectangle(10, 0, 5, 20)]
    assert brought_together(words, 1.6, 5, 20) == pytest.approx([0, 0, 5 - 0.14 * 20], abs=0.01)
    assert brought_together([Path.empty()], 1.6, 5, 20) == [0]


def test_a_stake_keeps_off_points_below_letters() -> None:
    bar, room = region_of_path(rectangle(0, 18, 100, 2)), Box(0, 0, 100, 80)
    (plain,) = stakes(bar, 1, 4, room, 1.5)
    point = Box(48, 21, 54, 23)
    (aside,) = stakes(bar, 1, 4, room, 1.5, [point])
    assert plain.bounds().centre.x == pytest.approx(50, abs=1)
    assert abs(aside.bounds().centre.x - point.centre.x) >= 3 + 1.3 * 4 - 0.01
