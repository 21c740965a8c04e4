"""Envelopes: feet and tops on their curves, everything in the area."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.fitting.envelopes import ENVELOPES, in_envelope, straight_room
from render.geometry import Box, Path
from render.geometry.bending import curves_of, on_curves
from render.geometry.shapes import rectangle

AREA = Box(10, 20, 70, 50)


def straight(envelope: str, bend: float) -> tuple[Path, float, float]:
    """A row of upright bars that fills the straight room."""
    room = straight_room(AREA, envelope, bend)
    bars = [
        rectangle(room.x0 + k * room.width / 20, room.y0, room.width / 40, room.height) for k in range(20)
    ]
    bars.append(rectangle(room.x1 - room.width / 40, room.y0, room.width / 40, room.height))
    return Path.joined(bars), room.y0, room.y1


@pytest.mark.parametrize("envelope", ENVELOPES)
@given(bend=st.floats(0.05, 0.8))
def test_bars_stay_upright_and_fill_the_area(envelope: str, bend: float) -> None:
    path, tops, feet = straight(envelope, bend)
    done = in_envelope(path, AREA, envelope, bend, tops, feet)
    before, after = path.bounds(), done.bounds()
    assert (after.x0, after.x1) == pytest.approx((before.x0, before.x1), abs=0.02)
    assert AREA.y0 - 0.02 < after.y0 < after.y1 < AREA.y1 + 0.02
    assert after.height == pytest.approx(AREA.height, rel=0.03)
    for contour in done.contours():
        controls = curves_of(contour).controls
        x = on_curves(controls, np.full(len(controls), 0.5)).real
        assert np.ptp(x) < 60 / 40 + 0.01


@pytest.mark.parametrize(
    ("envelope", "middle", "end"),
    [
        ("arch", 30, 30),
        ("valley", 30, 30),
        ("bulge", 50, 30),
        ("pinch", 30, 50),
        ("bridge", 30, 50),
        ("fan", 50, 30),
    ],
)
def test_heights_in_the_middle_and_at_the_end(envelope: str, middle: int, end: int) -> None:
    """Derived by hand: 50 mm of height, 0.4 of it bend: bars of 30 mm grow by 20 mm or not at all."""
    area = Box(0, 0, 100, 50)
    room = straight_room(area, envelope, 0.4)
    assert room.height == pytest.approx(30)
    bars = [rectangle(x, room.y0, 0.02, room.height) for x in (0, 49.99, 99.98)]
    done = in_envelope(Path.joined(bars), area, envelope, 0.4, room.y0, room.y1)
    heights = [contour.bounds().height for contour in done.contours()]
    assert heights == pytest.approx([end, middle, end], abs=0.1)


def test_a_deep_descender_makes_all_of_it_smaller_rather_than_leave() -> None:
    room = straight_room(AREA, "bridge", 0.5)
    bars = Path.joined(
        (rectangle(10, room.y0, 5, 20), rectangle(30, room.y0, 5, 12), rectangle(65, room.y0, 5, 20))
    )
    done = in_envelope(bars, AREA, "bridge", 0.5, room.y0, room.y0 + 8)
    assert AREA.contains(done.bounds(), 1e-6)
