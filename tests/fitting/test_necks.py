"""Necks measured on shapes whose narrowest place is known."""

from __future__ import annotations

import math

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from render.fitting.necks import cores, falls_apart, holds, narrowest_neck


def disc(x: float, y: float, r: float):
    return shapely.Point(x, y).buffer(r, quad_segs=64)


def dumbbell(neck: float, r: float = 5.0, apart: float = 20.0):
    return shapely.union_all([disc(0, 0, r), disc(apart, 0, r), shapely.box(0, -neck / 2, apart, neck / 2)])


@given(st.floats(0.4, 6), st.floats(0, 90))
def test_the_neck_of_a_dumbbell_is_its_bar(neck: float, turn: float) -> None:
    shape = shapely.affinity.rotate(dumbbell(neck), turn, origin=(0, 0))
    assert narrowest_neck(shape, 8) == pytest.approx(neck, abs=0.03)
    assert holds(shape, 0.98 * neck)
    assert not holds(shape, 1.06 * neck)


def test_a_bar_has_no_neck_narrower_than_itself() -> None:
    assert narrowest_neck(shapely.box(0, 0, 40, 3), 5) == 5  # it nowhere falls apart
    assert holds(shapely.box(0, 0, 40, 3), 3)


@pytest.mark.parametrize("overlap", [0.2, 1.0, 2.5])
def test_two_overlapping_discs_have_the_chord_of_their_lens_for_a_neck(overlap: float) -> None:
    r = 5.0
    half = r - overlap / 2
    chord = 2 * math.sqrt(r * r - half * half)  # elementary geometry
    shape = disc(0, 0, r).union(disc(2 * half, 0, r))
    assert narrowest_neck(shape, 9) == pytest.approx(chord, abs=0.05)


def test_discs_that_touch_in_a_point_do_not_hold() -> None:
    touching = shapely.union_all([shapely.box(0, 0, 5, 5), shapely.box(5, 5, 10, 10)])
    assert narrowest_neck(touching, 3) == 0.0
    assert not holds(touching, 0.5)
    kissing = disc(0, 0, 5).union(disc(9.9999, 0, 5))
    assert narrowest_neck(kissing, 3) < 0.2


def test_two_pieces_are_no_piece() -> None:
    apart = shapely.union_all([disc(0, 0, 5), disc(20, 0, 5)])
    assert narrowest_neck(apart, 3) == 0.0
    assert falls_apart(apart, 1) is not None


def test_what_is_smaller_than_a_neck_may_not_hang_by_a_thread() -> None:
    dot = disc(9, 0, 0.45)  # vanishes when a disc of 1 mm is asked for
    thread = shapely.box(0, -0.1, 9, 0.1)
    shape = shapely.union_all([disc(0, 0, 5), thread, dot])
    assert len(cores(shape, 1.0)) == 1
    assert not holds(shape, 1.0)


def test_a_tapering_end_is_no_neck() -> None:
    spike = shapely.Polygon([(4, -1), (14, 0), (4, 1)])
    assert holds(disc(0, 0, 5).union(spike), 1.5)


@given(st.floats(0.5, 3), st.floats(0.5, 3))
def test_the_narrower_of_two_necks_counts(one: float, two: float) -> None:
    shape = shapely.union_all([dumbbell(one), disc(40, 0, 5), shapely.box(20, -two / 2, 40, two / 2)])
    assert narrowest_neck(shape, 5) == pytest.approx(min(one, two), abs=0.03)
