"""Hatching and flattening."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from render.geometry import CLOSE, CUBIC, LINE, MOVE, QUAD, Path
from render.geometry.curves import evaluate
from render.geometry.shapes import circle, rectangle
from render.proof.flatten import TOLERANCE_MM, flattened
from render.proof.hatching import hatching

COORDINATE = st.floats(-30, 30).map(lambda v: round(v, 3))
POINT = st.builds(complex, COORDINATE, COORDINATE)


def _length(lines: Path) -> float:
    return float(np.abs(lines.points[1::2] - lines.points[::2]).sum())


@pytest.mark.parametrize(
    ("shape", "area"),
    [
        (rectangle(2, 3, 30, 20), 600.0),
        (circle(5 + 5j, 10), np.pi * 100),
        (Path.joined((circle(0j, 10), circle(1 + 1j, 5))), np.pi * 75),  # even-odd: a hole, however it turns
        (Path.polygon([0j, 10 + 0j, 10 + 10j, 5 + 2j, 0 + 10j]), 60.0),
    ],
)
def test_hatching_covers_the_area(shape: Path, area: float) -> None:
    """Length × spacing is the area as the spacing goes to nothing (Cavalieri's principle)."""
    lines = hatching(shape, 0.05)
    assert _length(lines) * 0.05 == pytest.approx(area, rel=0.005)
    directions = lines.points[1::2] - lines.points[::2]
    np.testing.assert_allclose(np.angle(directions), -np.pi / 4, atol=1e-6)


def test_hatching_stays_within() -> None:
    lines = hatching(Path.joined((circle(0j, 10), circle(0j, 4))), 0.7)
    radii = np.abs((lines.points[1::2] + lines.points[::2]) / 2)
    assert radii.max() < 10
    assert radii.min() > 4 - 0.05
    ends = np.abs(lines.points)
    assert np.minimum(np.abs(ends - 10), np.abs(ends - 4)).max() < 0.025


def test_hatching_of_nothing() -> None:
    assert not hatching(Path.empty(), 1)


@settings(max_examples=60)
@given(
    st.lists(
        st.tuples(st.sampled_from([LINE, QUAD, CUBIC]), st.lists(POINT, min_size=3, max_size=3)),
        min_size=1,
        max_size=8,
    ),
    POINT,
)
def test_flattened_lines_stay_near_the_curves(
    segments: list[tuple[int, list[complex]]], start: complex
) -> None:
    commands, points, dense = [MOVE], [start], [np.array([start])]
    for command, controls in segments:
        curve = np.array([points[-1], *controls[:command]])
        commands.append(command)
        points += controls[:command]
        dense.append(evaluate(curve, np.linspace(0, 1, 60)))
    flat = flattened(Path.of([*commands, CLOSE], points))
    assert set(flat.commands.tolist()) <= {MOVE, LINE, CLOSE}
    assert flat.commands[0] == MOVE
    assert flat.commands[-1] == CLOSE
    assert flat.points[0] == start
    assert flat.points[-1] == pytest.approx(points[-1])
    # each of three rounds of thinning may add half the tolerance
    assert _farthest(np.concatenate(dense), flat.points) <= 2.5 * TOLERANCE_MM + 1e-9


def _farthest(points: np.ndarray, corners: np.ndarray) -> float:
    """The largest distance of any of the points from a line through the corners."""
    a, b = corners[:-1], corners[1:]
    if not a.size:
        return float(np.abs(points - corners[0]).max())
    span = np.where(a == b, 1, b - a)
    t = np.clip(((points[:, None] - a) / span).real, 0, 1)
    return float(np.abs(points[:, None] - (a + t * (b - a))).min(axis=1).max())


def test_flattening_spares_points() -> None:
    ring = circle(0j, 20)
    flat = flattened(ring)
    assert flat.is_closed()
    assert 40 < flat.points.size < 120
    np.testing.assert_allclose(np.abs(flat.points), 20, atol=0.001)  # corners lie on the curve
    straight = Path.polyline(np.linspace(0, 10, 33))
    assert flattened(Path.joined((straight, ring))).points.size < flat.points.size + 8
    plain = rectangle(0, 0, 5, 5)
    assert flattened(plain) is plain


def test_flattening_keeps_contours_apart() -> None:
    two = Path.joined((circle(0j, 3), Path.polyline([5j, 6j]), circle(20 + 0j, 3)))
    flat = list(flattened(two).contours())
    assert [c.is_closed() for c in flat] == [True, False, True]
    assert flat[1].points.tolist() == [5j, 6j]
    assert flat[2].bounds().centre.x == pytest.approx(20, abs=0.02)
