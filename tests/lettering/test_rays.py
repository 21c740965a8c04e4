"""Where rays meet chords: against GEOS, which tries each pair."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from render.lettering.rays import Net


def chords_and_rays(seed: int, longest: float) -> tuple[np.ndarray, ...]:
    pick = np.random.default_rng(seed)
    begin = pick.uniform(0, 1000, 60) + 1j * pick.uniform(0, 300, 60)
    end = begin + longest * pick.uniform(0.01, 1, 60) * np.exp(1j * pick.uniform(0, 2 * math.pi, 60))
    start = pick.uniform(-200, 1200, 40) + 1j * pick.uniform(-200, 500, 40)
    return begin, end, start, np.exp(1j * pick.uniform(0, 2 * math.pi, 40))


def line(a: complex, b: complex) -> shapely.LineString:
    return shapely.LineString([(a.real, a.imag), (b.real, b.imag)])


def meetings(begin: np.ndarray, end: np.ndarray, at: complex, to: complex) -> list[tuple[float, int]]:
    ray = line(at, to)
    found = []
    for k, (a, b) in enumerate(zip(begin, end, strict=True)):
        point = ray.intersection(line(a, b))
        if not point.is_empty:
            found.append((abs(complex(point.x, point.y) - at), k))
    return sorted(found)


@settings(max_examples=25)
@given(st.integers(0, 10**6), st.sampled_from([5.0, 40.0, 400.0]), st.sampled_from([30.0, 700.0]))
def test_the_first_meeting_is_the_nearest_of_all(seed: int, longest: float, most: float) -> None:
    begin, end, start, way = chords_and_rays(seed, longest)
    skip = np.arange(start.size) % 7
    ray, chord, far = Net(begin, end).first(start, way, most, (skip,), 1e-6)
    found = dict(zip(ray.tolist(), zip(far.tolist(), chord.tolist(), strict=True), strict=True))
    for k in range(start.size):
        wanted = [m for m in meetings(begin, end, start[k], start[k] + most * way[k]) if m[1] != skip[k]]
        assert (k in found) == bool(wanted)
        if wanted:
            assert found[k][1] == wanted[0][1]
            assert found[k][0] == pytest.approx(wanted[0][0], abs=1e-6)


@settings(max_examples=25)
@given(st.integers(0, 10**6), st.sampled_from([5.0, 60.0]))
def test_ways_are_free_where_no_chord_crosses_them(seed: int, longest: float) -> None:
    begin, end, start, way = chords_and_rays(seed, longest)
    length = np.linspace(5, 300, start.size)
    free = Net(begin, end).free(start, way, length)
    crossed = [bool(meetings(begin, end, a, a + d * w)) for a, w, d in zip(start, way, length, strict=True)]
    assert free.tolist() == [not each for each in crossed]


def test_no_ray_slips_through_where_two_chords_meet() -> None:
    corners = 100 * np.exp(2j * np.pi * np.arange(360) / 360)
    way = corners / 100
    ray, _, far = Net(corners, np.roll(corners, -1)).first(np.zeros(360, complex), way, 200, (), 0)
    assert ray.tolist() == list(range(360))
    assert far == pytest.approx(np.full(360, 100))


def test_what_lies_before_a_long_chord_is_met_first() -> None:
    """The long one is known from its box at once, far beyond where the ray has been followed to."""
    specks = 1000j + np.arange(400) * 3.0
    begin = np.concatenate(([-1000 + 0j, 700 + 3j], specks))
    end = np.concatenate(([0 + 1000j, 700 - 3j], specks + 1))
    net = Net(np.append(begin, 520 - 900j), np.append(end, 1000 + 500j))
    ray, chord, _ = net.first(np.array([500 + 0j]), np.array([1 + 0j]), 600, (), 0)
    assert (ray.tolist(), chord.tolist()) == ([0], [1])
