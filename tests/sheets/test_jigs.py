"""Jigs: blanks lie in their pockets with the play asked for; a measured jig is found again."""

from __future__ import annotations

import cmath
import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from render.errors import MonikerfError
from render.geometry import Path
from render.geometry.shapes import ellipse, rectangle
from render.geometry.subdivide import subdivided
from render.model import Artwork, Hold, Jig, Mark, Operation
from render.sheets.jigs import JigPlan, draw_jig, fit_pins, places, refitted
from render.sheets.layout import layout


def shape(path: Path) -> shapely.Polygon:
    points = subdivided(path, 0.001).points
    return shapely.Polygon(np.stack((points.real, points.imag), axis=1))


OUTLINES = {
    "bar": rectangle(0, 0, 40, 6, 1),
    "oval": ellipse(20 + 15j, 20, 15),
    "heart": Path.polygon([0 + 10j, 10 + 0j, 20 + 8j, 30 + 0j, 40 + 10j, 20 + 40j]),
}


@pytest.mark.parametrize("name", OUTLINES)
@pytest.mark.parametrize(("play", "kerf"), [(0.2, 0.0), (0.5, 0.14)])
def test_pieces_land_in_their_pockets(make, name: str, play: float, kerf: float) -> None:
    """Laid out by the same layout as any order; the burned pocket, half a kerf wider, leaves the play."""
    outline = OUTLINES[name]
    blank = make.tag(hold=Hold.JIG, outline=outline, holes=(), folds=(), markable=outline)
    laser = make.machine()
    drawing = draw_jig(blank, laser.bed, JigPlan(3, 2, play=play, kerf=kerf), "held")
    arts = [Artwork(f"p{n}", "", (Mark(Operation.ENGRAVE, outline),)) for n in range(6)]
    (sheet,) = layout(arts, blank, laser, jig=drawing.jig).sheets
    plate = shape(drawing.edge)
    for placement, pocket in zip(sheet.placements, drawing.pockets, strict=True):
        um = placement.path_um(outline) / 1000
        lies = shape(Path(outline.commands, um[:, 0] + 1j * um[:, 1]))
        burned = shape(pocket).buffer(kerf / 2)
        assert burned.covers(lies)
        assert lies.exterior.distance(burned.exterior) == pytest.approx(play, abs=0.01)
        assert plate.buffer(-5).covers(burned)
    for n, pocket in enumerate(drawing.pockets):
        for other in drawing.pockets[n + 1 :]:
            assert shape(pocket).distance(shape(other)) >= 7 - 0.01


def test_a_notch_lets_a_finger_in(make) -> None:
    blank = make.tag(hold=Hold.JIG)
    plain = draw_jig(blank, (600, 400), JigPlan(1, 1, thumb=0), "held")
    notched = draw_jig(blank, (600, 400), JigPlan(1, 1, thumb=5), "held")
    more = shape(notched.pockets[0]).area - shape(plain.pockets[0]).area
    assert more == pytest.approx(math.pi * 25 / 2, abs=0.1)  # a half disc stands out of a straight side


def test_the_bed_bounds_the_jig(make) -> None:
    blank = make.tag(hold=Hold.JIG)
    full = draw_jig(blank, (600, 400), JigPlan(), "held")
    box = full.edge.bounds()
    assert box.x1 <= 595
    assert box.y1 <= 395
    assert full.jig.columns * full.jig.rows == len(full.pockets) > 50
    with pytest.raises(MonikerfError, match="does not fit"):
        draw_jig(blank, (600, 400), JigPlan(full.jig.columns + 1, 1), "held")
    with pytest.raises(MonikerfError, match="play"):
        draw_jig(blank, (600, 400), JigPlan(play=-1), "held")


def _points(count: int, seed: int) -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng(seed)
    z = rng.uniform(0, 400, count) + 1j * rng.uniform(0, 300, count)
    true = cmath.rect(rng.uniform(0.99, 1.01), rng.uniform(-0.1, 0.1)) * z + complex(*rng.uniform(-5, 5, 2))
    return z, true + rng.normal(0, 0.1, count) + 1j * rng.normal(0, 0.1, count)


@given(st.integers(3, 9), st.integers(0, 10_000))
def test_least_squares_agrees_with_numpy(count: int, seed: int) -> None:
    """numpy.linalg.lstsq on the same four unknowns, two equations a point."""
    z, w = _points(count, seed)
    rows = [[p.real, -p.imag, 1, 0] for p in z] + [[p.imag, p.real, 0, 1] for p in z]
    (a, b, e, f), *_ = np.linalg.lstsq(np.array(rows), np.concatenate((w.real, w.imag)), rcond=None)
    fit = fit_pins(z.tolist(), w.tolist())
    assert fit.factor == pytest.approx(complex(a, b), abs=1e-9)
    assert fit.shift == pytest.approx(complex(e, f), abs=1e-6)
    assert fit.residuals == pytest.approx(np.abs(complex(a, b) * z + complex(e, f) - w), abs=1e-6)


def test_turn_agrees_with_scipy() -> None:
    """scipy.spatial.transform.Rotation.align_vectors solves Wahba's problem; in the plane both are one."""
    transform = pytest.importorskip("scipy.spatial.transform")
    z, w = _points(5, 4)
    flat = [np.stack((v.real, v.imag, 0 * v.real), axis=1) for v in (z - z.mean(), w - w.mean())]
    rotation, _ = transform.Rotation.align_vectors(flat[1], flat[0])
    assert fit_pins(z.tolist(), w.tolist()).turn == pytest.approx(rotation.as_euler("xyz", True)[2], abs=1e-3)


def test_what_cannot_be_fitted_is_refused() -> None:
    square = [0j, 100 + 0j, 100j]
    with pytest.raises(MonikerfError, match="three points"):
        fit_pins(square[:2], square[:2])
    with pytest.raises(MonikerfError, match="one place"):
        fit_pins([5j] * 3, square)
    with pytest.raises(MonikerfError, match="mirrored"):
        fit_pins(square, [0j, 100j, 100 + 0j])


def test_a_shifted_and_stretched_jig_is_met() -> None:
    jig = Jig("j", "J", 4, 3, (20, 20), (50, 40))
    fit = fit_pins([0j, 200 + 0j, 150j], [3 + 2j, 203.4 + 2j, 3 + 152.3j])
    moved, off = refitted(jig, fit, (30, 20))
    for old, new in zip(places(jig), places(moved), strict=True):
        middle = old + 15 + 10j
        assert abs(new + 15 + 10j - fit.at(middle)) < 0.003
    assert off < 0.01


def test_a_turn_is_told_as_what_remains() -> None:
    """1 mm in 100: the worst corner is no nearer than the farthest middle of a place, and tells more."""
    jig = Jig("j", "J", 3, 1, (0, 0), (100, 100))
    turn = cmath.rect(1, math.radians(0.2))
    pins = [0j, 200 + 0j, 200j]
    moved, off = refitted(jig, fit_pins(pins, [turn * p for p in pins]), (40, 40))
    assert moved.pitch[0] == pytest.approx(100 * math.cos(math.radians(0.2)), abs=0.001)
    assert off == pytest.approx(
        100 * math.sin(math.radians(0.2)) + 40 / math.sqrt(2) * math.radians(0.2), abs=2e-3
    )
