"""Bending: Béziers that follow a map."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.geometry import Affine, Path
from render.geometry.bending import bent, curves_of, on_curves
from render.geometry.shapes import circle, rectangle


def places(path: Path) -> np.ndarray:
    controls = curves_of(path).controls
    t = np.linspace(0, 1, 9)
    return on_curves(controls, np.broadcast_to(t, (len(controls), t.size))).reshape(-1)


@given(st.floats(0.2, 3), st.floats(-1, 1), st.floats(-5, 5))
def test_an_affine_map_is_met_exactly_and_cuts_nothing(scale: float, skew: float, shift: float) -> None:
    affine = Affine(scale, 0.3, skew, scale, shift, -shift)
    before = circle(2 + 1j, 3)
    after = bent(before, affine.apply, 1e-6)
    assert after.is_closed()
    assert after.commands.size == before.commands.size
    assert np.abs(places(after) - places(before.transformed(affine))).max() < 1e-6


@pytest.mark.parametrize("tolerance", [0.1, 0.01, 0.001])
def test_a_wave_is_followed_within_the_tolerance(tolerance: float) -> None:
    def wave(z: np.ndarray) -> np.ndarray:
        return z + 1j * np.sin(z.real)

    box = bent(rectangle(0, 0, 20, 4), wave, tolerance)
    at = places(box)
    height = at.imag - np.sin(at.real)
    sides = (np.abs(at.real) < 1e-6) | (np.abs(at.real - 20) < 1e-6)
    off = np.minimum(np.abs(height), np.abs(height - 4))
    assert off[~sides].max() < 1.5 * tolerance
    finer = bent(rectangle(0, 0, 20, 4), wave, tolerance / 100)
    assert finer.commands.size > box.commands.size


def test_open_lines_stay_open() -> None:
    line = Path.polyline((0j, 10 + 0j, 10 + 5j))
    assert [c.is_closed() for c in bent(line, lambda z: z * 2).contours()] == [False]
