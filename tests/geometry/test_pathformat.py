"""Path data is written number for number as the one formatter writes it."""

from __future__ import annotations

import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.geometry import CLOSE, CUBIC, LINE, MOVE, QUAD
from render.geometry.path import POINTS_PER_COMMAND
from render.geometry.pathformat import LARGEST_UM, SMALLEST_UM, path_data
from render.geometry.pathtext import parse_path
from render.units import format_mm, to_um

GRAMMAR = re.compile(r"([MLQC](-?\d+(\.\d{1,3})?)( -?\d+(\.\d{1,3})?)*|Z)*\Z")

near = st.integers(SMALLEST_UM, LARGEST_UM)
far = st.integers(-(2**52), 2**52)
contours = st.tuples(st.lists(st.sampled_from((LINE, QUAD, CUBIC)), max_size=6), st.booleans())


@st.composite
def paths(draw):
    commands = []
    for drawn, closed in draw(st.lists(contours, max_size=4)):
        commands += [MOVE, *drawn, *([CLOSE] if closed else [])]
    codes = np.array(commands, np.uint8)
    count = int(POINTS_PER_COMMAND[codes].sum()) * 2
    numbers = draw(st.lists(draw(st.sampled_from((near, near | far))), min_size=count, max_size=count))
    return codes, np.array(numbers, np.int64).reshape(-1, 2)


def plainly(codes, points):
    numbers = iter(points.reshape(-1).tolist())
    text = ""
    for code in codes.tolist():
        coordinates = [format_mm(next(numbers) / 1000) for _ in range(2 * POINTS_PER_COMMAND[code])]
        text += "MLQCZ"[code] + " ".join(coordinates)
    return text


@given(st.lists(paths(), max_size=5))
def test_writes_what_the_formatter_writes(batch):
    written = path_data(batch)  # beyond 2**42, mm in a float are not exact
    small = [np.abs(points).max(initial=0) < 2**42 for _, points in batch]
    assert [t for t, s in zip(written, small, strict=True) if s] == [
        plainly(*path) for path, s in zip(batch, small, strict=True) if s
    ]
    assert all(GRAMMAR.match(text) for text in written)


@given(paths())
def test_read_back_is_what_was_written(path):
    codes, points = path
    if (codes == MOVE).sum() == 1 and codes.size > 2 and np.abs(points).max() < 2**42:
        read = parse_path(path_data([path])[0])
        assert np.array_equal(to_um(read.points)[: len(points)], points)  # the reader draws the way home


@pytest.mark.parametrize(
    ("um", "text"),
    [
        (0, "0"),
        (-1, "-0.001"),
        (10, "0.01"),
        (-500, "-0.5"),
        (1000, "1"),
        (100_000, "100"),
        (999_999, "999.999"),
        (-99_999, "-99.999"),
        (1_000_000, "1000"),
        (-100_000, "-100"),
        (2**52, "4503599627370.496"),
    ],
)
def test_numbers(um, text):
    written = path_data([(np.array([MOVE], np.uint8), np.array([[um, -um]], np.int64))])[0]
    assert written.startswith(f"M{text} ")


def test_every_cell_of_a_wide_range():
    um = np.arange(SMALLEST_UM, LARGEST_UM + 1, 7)
    um = um[: um.size // 2 * 2].reshape(-1, 2)
    codes = np.full(len(um), LINE, np.uint8)
    expected = "".join(f"L{format_mm(x / 1000)} {format_mm(y / 1000)}" for x, y in um.tolist())
    assert path_data([(codes, um)]) == [expected]
