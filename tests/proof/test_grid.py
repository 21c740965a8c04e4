"""Columns and sizes of a page."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.proof.grid import (
    CAPTION_SIZES,
    GUTTER,
    LARGEST,
    LARGEST_ALONE,
    MARGIN,
    NARROWEST,
    PAGE_WIDTH,
    grid_for,
)

SIZE = st.floats(5, 600)


@given(st.integers(1, 150), SIZE, SIZE)
def test_a_grid_holds_its_pieces(count: int, width: float, height: float) -> None:
    grid = grid_for(count, width, height)
    assert 1 <= grid.columns <= count
    assert grid.column >= NARROWEST
    largest = LARGEST_ALONE if grid.columns == 1 else LARGEST
    assert width * grid.scale <= min(grid.column, largest[0]) + 1e-9
    assert height * grid.scale <= largest[1] + 1e-9
    assert CAPTION_SIZES[0] <= grid.type_size <= CAPTION_SIZES[1]
    assert grid.x(0) == MARGIN
    assert grid.x(grid.columns) == MARGIN
    assert grid.x(grid.columns - 1) + grid.column == pytest.approx(PAGE_WIDTH - MARGIN)
    if grid.columns > 1:
        assert grid.x(1) - grid.x(0) == pytest.approx(grid.column + GUTTER)


@pytest.mark.parametrize(
    ("count", "width", "height", "columns"),
    [(120, 89, 51, 8), (40, 60, 24, 4), (60, 228.6, 100, 5), (5, 89, 51, 2), (1, 89, 51, 1), (9, 32, 32, 3)],
)
def test_usual_orders(count: int, width: float, height: float, columns: int) -> None:
    """Looked at as pictures; 120 place cards at 2,400 px show each card 220 px wide."""
    assert grid_for(count, width, height).columns == columns
