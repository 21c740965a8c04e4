"""Paths cut into short lines: on the curve, at its ends, at every level; contours chosen from a path."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.geometry import CLOSE, CUBIC, LINE, MOVE, QUAD, Path
from render.geometry.path import POINTS_PER_COMMAND
from render.geometry.subdivide import cut_at_levels, subdivided, with_lines_home

coordinate = st.integers(-400, 400).map(lambda quarter: quarter / 4)
point = st.builds(complex, coordinate, coordinate)


@st.composite
def paths(draw: st.DrawFn, degrees: tuple[int, ...] = (LINE, QUAD, CUBIC)) -> Path:
    """One to four contours, open or closed."""
    commands: list[int] = []
    pool: list[complex] = []
    for _ in range(draw(st.integers(1, 4))):
        drawn = draw(st.lists(st.sampled_from(degrees), min_size=1, max_size=4))
        commands += [MOVE, *drawn] + [CLOSE] * draw(st.booleans())
        count = 1 + int(POINTS_PER_COMMAND[drawn].sum())
        pool += draw(st.lists(point, min_size=count, max_size=count))
    return Path(np.array(commands, np.uint8), np.array(pool, np.complex128))


def curve_at(controls: list[complex], t: float) -> complex:
    """A point of a Bézier curve by de Casteljau's construction."""
    while len(controls) > 1:
        controls = [a + (b - a) * t for a, b in itertools.pairwise(controls)]
    return controls[0]


@given(paths(), st.data())
def test_contours_are_chosen_as_if_one_by_one(path: Path, data: st.DataObject) -> None:
    every = list(path.contours())
    assert path.starts().tolist() == np.cumsum([0, *(c.points.size for c in every)])[:-1].tolist()
    wanted = data.draw(st.lists(st.booleans(), min_size=len(every), max_size=len(every)))
    kept = [contour for contour, yes in zip(every, wanted, strict=True) if yes]
    assert path.chosen(np.array(wanted)) == Path.joined(kept)


@given(paths(), st.integers(1, 5))
def test_lines_lie_on_the_curve_at_even_steps(path: Path, least: int) -> None:
    """Every piece in `n` parts: the points are those of de Casteljau's construction at k / n."""
    cut = subdivided(path, 1e9, lambda ends, _: np.full(ends.shape, float(least)))
    home = with_lines_home(path)
    begin, found, expected = 0, cut.points.tolist(), []
    for command in home.commands:
        count = int(POINTS_PER_COMMAND[command])
        here = home.points[begin : begin + count].tolist()
        if command == MOVE:
            expected += here
        elif count:
            controls = [home.points[begin - 1], *here]
            expected += [curve_at(controls, k / least) for k in range(1, least)] + here[-1:]
        begin += count
    assert found == pytest.approx(expected, abs=1e-9)
    assert set(cut.commands.tolist()) <= {MOVE, LINE, CLOSE}


@given(paths(degrees=(LINE,)), st.lists(coordinate, max_size=4, unique=True).map(sorted))
def test_a_line_that_crosses_a_level_has_a_corner_there(path: Path, levels: list[float]) -> None:
    cut, home = cut_at_levels(path, np.array(levels)), with_lines_home(path)
    crossed = 0
    for contour in home.contours():
        y = contour.points.imag
        crossed += sum((a - level) * (b - level) < 0 for a, b in itertools.pairwise(y) for level in levels)
    assert cut.points.size == home.points.size + crossed
    for contour, before in zip(cut.contours(), home.contours(), strict=True):
        y = contour.points.imag
        for a, b in itertools.pairwise(y):
            assert not any((a - level) * (b - level) < 0 for level in levels)
        length, same = (float(np.abs(np.diff(c.points)).sum()) for c in (contour, before))
        assert length == pytest.approx(same, abs=1e-9)  # no way round: the corners lie on the lines
