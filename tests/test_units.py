from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.units import CSS_PX_PER_MM, MM_PER_INCH, format_mm, from_um, parse_length, round_mm, to_um

lengths = st.floats(-1e6, 1e6)
whole = st.integers(-(2**40), 2**40)


def test_the_inch_and_the_pixel() -> None:
    # 25.4 mm: international yard and pound agreement of 1959; 96 px an inch: CSS Values and Units 3, 6.2
    assert MM_PER_INCH == 25.4
    assert pytest.approx(378, abs=0.5) == 100 * CSS_PX_PER_MM


@given(st.lists(st.tuples(whole, whole), max_size=20))
def test_whole_micrometres_survive_the_way_to_mm_and_back(pairs: list[tuple[int, int]]) -> None:
    um = np.array(pairs, np.int64).reshape(-1, 2)
    assert np.array_equal(to_um(from_um(um)), um)


@given(lengths, lengths)
def test_rounding_moves_by_at_most_half_a_micrometre(x: float, y: float) -> None:
    um = to_um(np.array([complex(x, y)]))
    assert np.abs(um[0] / 1000 - [x, y]).max() <= 0.0005 * (1 + 1e-9) + 1e-9


def test_ties_go_to_even() -> None:
    assert to_um(np.array([0.0005 + 0.0015j, -0.0005 + 0.0025j])).tolist() == [[0, 2], [0, 2]]
    assert round_mm(0.0625) == 0.062


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf, 1e13])
def test_what_is_no_length_is_refused(bad: float) -> None:
    with pytest.raises(ValueError, match="not a finite"):
        to_um(np.array([1 + 1j, complex(0, bad)]))


def test_nothing_rounds_to_nothing() -> None:
    assert to_um(np.empty(0, np.complex128)).shape == (0, 2)


@given(lengths)
def test_written_lengths_are_plain_and_read_back(mm: float) -> None:
    text = format_mm(mm)
    assert "e" not in text
    assert text != "-0"
    assert not (("." in text) and text.endswith(("0", ".")))
    assert abs(float(text) - mm) <= 0.0005 + 1e-9 * abs(mm)
    assert parse_length(text) == float(text)


@pytest.mark.parametrize(
    ("mm", "text"), [(12.5, "12.5"), (-0.0001, "0"), (3, "3"), (100, "100"), (0.0004, "0"), (1e6, "1000000")]
)
def test_format(mm: float, text: str) -> None:
    assert format_mm(mm) == text


@pytest.mark.parametrize(
    ("text", "mm"),
    # one inch is 2.54 cm, 96 px, 72 pt, 6 pc (CSS Values and Units Level 3, 6.2)
    [
        *(("1in", 25.4), ("2.54cm", 25.4), ("96px", 25.4), ("72pt", 25.4), ("6pc", 25.4)),
        *(("25.4mm", 25.4), (" 25.4 ", 25.4), ("+.5e1mm", 5), ("-3 mm", -3), ("4.", 4)),
    ],
)
def test_parse_length(text: str, mm: float) -> None:
    assert parse_length(text) == pytest.approx(mm, rel=1e-12)


@pytest.mark.parametrize(
    "text", ["", "mm", "1 em", "1,5mm", "nan", "inf", "1mm2", "--1", "0x10", "1mm\n2", "1e999mm", "١٢mm"]
)
def test_what_is_not_a_length(text: str) -> None:
    with pytest.raises(ValueError, match="is not a length"):
        parse_length(text)
