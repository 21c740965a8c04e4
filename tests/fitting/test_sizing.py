"""The rule by which a set gets its size."""

from collections.abc import Callable
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.fitting.sizing import WORTH, exceptions_allowed, largest_size, set_size


def counter(sizes: list[float]) -> Callable[[float], int]:
    """Texts that each fit up to a size of their own."""
    return lambda size: sum(own >= size for own in sizes)


@pytest.mark.parametrize(
    ("distinct", "allowed"),
    [(1, 0), (2, 0), (3, 1), (11, 1), (12, 2), (59, 2), (60, 3), (120, 6), (9999, 499)],
)
def test_exceptions(distinct, allowed):
    assert exceptions_allowed(distinct) == allowed


@pytest.mark.parametrize(
    ("sizes", "expected"),
    [
        ([8.0], 8.0),
        ([8.0, 4.0], 4.0),  # a pair is made as a pair
        ([10.0, 10.0, 9.0], 9.0),  # an exception would buy a tenth: not worth it
        ([10.0, 10.0, 4.0], 10.0),  # here it does
        ([10.0, 9.5, 9.0, 4.0, 4.0], 4.0),  # two of five are not the odd one out
        ([10.0] * 114 + [4.0] * 6, 10.0),
        ([10.0] * 113 + [4.0] * 7, 4.0),
        ([10.0] * 114 + [9.2, 9.0, 8.9] + [4.0] * 3, 9.0),  # only the hopeless are left out
        ([15.0] * 5, 12.0),  # never above the largest
    ],
)
def test_the_set_size(sizes, expected):
    assert set_size([counter(sizes)], len(sizes), 3.0, 12.0) == expected


def test_nothing_fits():
    assert set_size([counter([1.0, 1.0, 9.0])], 3, 3.0, 12.0) is None


def test_the_better_baseline_counts():
    assert set_size([counter([4.0, 4.0]), counter([6.0, 6.0])], 2, 3.0, 12.0) == 6.0


def test_what_can_be_tightened_costs_nothing():
    plain, tight = [10.0] * 114 + [9.5] * 6, [11.0] * 114 + [10.0] * 6
    assert set_size([counter(plain)], 120, 3.0, 12.0) == 9.5
    assert set_size([counter(plain)], 120, 3.0, 12.0, [counter(tight)]) == 10.0
    assert set_size([counter(plain)], 120, 3.0, 12.0, [counter([9.7] * 120)]) == 9.7


@given(st.lists(st.integers(300, 1200).map(lambda n: n / 100), min_size=1, max_size=80), st.integers())
def test_few_exceptions_whatever_the_order(sizes, seed):
    size = set_size([counter(sizes)], len(sizes), 3.0, 12.0)
    shuffled = Random(seed).sample(sizes, len(sizes))
    assert set_size([counter(shuffled)], len(sizes), 3.0, 12.0) == size
    left_out = sum(own < size for own in sizes)
    assert left_out <= exceptions_allowed(len(sizes))
    reach = sorted(sizes)[exceptions_allowed(len(sizes))]
    assert WORTH * reach - 1e-9 <= size <= reach
    assert size in sizes  # some text decides it


@given(st.floats(0.5, 15), st.floats(1, 5), st.floats(0, 8))
def test_largest_size_against_trying_all(limit, low, more):
    high = low + more
    tried = [low, high, *(k / 100 for k in range(1600) if low <= k / 100 <= high)]
    expected = max((size for size in tried if size <= limit), default=None)
    assert largest_size(lambda size: size <= limit, low, high) == expected
