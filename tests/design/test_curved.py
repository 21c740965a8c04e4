"""Arcs, waves and spirals made of a line or a circle, against svgpathtools and their own formulas."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.design.bending import on_a_path
from render.design.curved import curve_or_shape
from render.design.grammar import OURS
from render.design.refusal import Refusal
from render.fitting.arcs import ArcPath
from render.geometry import Affine, Path
from render.geometry.bending import curves_of, on_curves
from render.model import FitRule

LINE = {"x1": "10", "y1": "30", "x2": "70", "y2": "30"}
CIRCLE = {"cx": "50", "cy": "60", "r": "40"}


def curve(kind: str, text: str, plain: dict[str, str] | None = None) -> Path:
    tag = "circle" if kind == "spiral" else "line"
    shown = plain or (CIRCLE if tag == "circle" else LINE)
    return curve_or_shape(tag, shown | {f"{{{OURS}}}{kind}": text}, Affine())


def places(path: Path) -> np.ndarray:
    """Fine places on a path, in order."""
    controls = curves_of(path).controls
    return on_curves(controls, np.broadcast_to(np.linspace(0, 1, 17), (len(controls), 17))).reshape(-1)


@pytest.mark.parametrize("rise", [6, 30, -11.5, 55])
def test_an_arc_rises_over_its_chord(rise: float) -> None:
    at = places(curve("arc", f"rise: {rise}"))
    radius = (30**2 + rise**2) / (2 * rise)
    assert np.abs(at - complex(40, 30 - rise + radius)) == pytest.approx(abs(radius), abs=1e-3)
    top = at.imag.min() if rise > 0 else at.imag.max()
    assert top == pytest.approx(30 - rise, abs=1e-3)
    assert (at[0], at[-1]) == (10 + 30j, 70 + 30j)


@given(st.floats(0.5, 20), st.floats(0.1, 6), st.floats(-360, 360))
def test_a_wave_is_a_sine(height: float, waves: float, phase: float) -> None:
    at = places(curve("wave", f"height: {height:.3f}; waves: {waves:.3f}; phase: {phase:.3f}"))
    turn = 2 * math.pi * round(waves, 3) * (at.real - 10) / 60 + math.radians(round(phase, 3))
    assert np.abs(at.imag - (30 - round(height, 3) * np.sin(turn))).max() < 1e-3


def test_a_wave_follows_its_line_whichever_way_that_goes() -> None:
    level = curve("wave", "height: 5; waves: 2")
    upright = curve("wave", "height: 5; waves: 2", {"x1": "30", "y1": "10", "x2": "30", "y2": "70"})
    turned = level.transformed(Affine.translation(-10, -30)).transformed(Affine.rotation(90))
    assert upright.points - (30 + 10j) == pytest.approx(turned.points, abs=1e-9)


@pytest.mark.parametrize("runs", ["inward", "outward"])
@pytest.mark.parametrize("begin", [0, 90, -45])
def test_a_spiral_loses_its_pitch_every_turn(runs: str, begin: float) -> None:
    at = places(curve("spiral", f"turns: 3; pitch: 9; from: {begin}; runs: {runs}")) - (50 + 60j)
    angle = np.unwrap(np.angle(at))
    assert np.all(np.diff(angle) > -1e-9)  # y down: clockwise as seen
    assert angle[-1] - angle[0] == pytest.approx(6 * math.pi)
    assert math.degrees(angle[0]) % 360 == pytest.approx((begin - 90) % 360)
    turned = (angle - angle[0]) / (2 * math.pi)
    wanted = 40 - 9 * turned if runs == "inward" else 40 - 9 * 3 + 9 * turned
    assert np.abs(np.abs(at) - wanted).max() < 1e-3


@pytest.mark.parametrize(
    ("kind", "text"),
    [("arc", "rise: 22"), ("wave", "height: 7; waves: 2; phase: 40"), ("spiral", "turns: 2.5; pitch: 8")],
)
def test_lengths_along_it_agree_with_svgpathtools(kind: str, text: str) -> None:
    """svgpathtools (PyPI) integrates each cubic by scipy's quad."""
    svgpathtools = pytest.importorskip("svgpathtools")
    path = curve(kind, text)
    arc = ArcPath(path)
    cubics = [svgpathtools.CubicBezier(*c) for c in curves_of(path).controls.tolist()]
    lengths = [c.length(error=1e-9) for c in cubics]
    assert arc.length == pytest.approx(sum(lengths), rel=1e-7)
    for k in range(0, len(cubics), 3):
        at, way = arc.at(sum(lengths[:k]) + cubics[k].length(0, 0.37, error=1e-9))
        assert abs(at - cubics[k].point(0.37)) < 1e-4
        assert abs(way - cubics[k].unit_tangent(0.37)) < 1e-4


def test_the_spiral_is_as_long_as_the_textbook_says() -> None:
    """Length of r = b θ: b/2 (θ √(1+θ²) + arsinh θ) (any table of integrals; [memory])."""
    b = 9 / (2 * math.pi)
    outer, inner = 40 / b, (40 - 27) / b
    wanted = [b / 2 * (t * math.sqrt(1 + t * t) + math.asinh(t)) for t in (outer, inner)]
    assert ArcPath(curve("spiral", "turns: 3; pitch: 9")).length == pytest.approx(
        wanted[0] - wanted[1], rel=1e-5
    )


@pytest.mark.parametrize(
    ("kind", "text", "word"),
    [
        ("arc", "", "rise"),
        ("arc", "raise: 3", "rise"),
        ("arc", "rise: 900", "range"),
        ("wave", "height", "height"),
        ("wave", "height: 3; height: 4", "once"),
        ("wave", "height: 3; waves: 0", "range"),
        ("spiral", "turns: 6; pitch: 9", "room"),
        ("spiral", "turns: 2; pitch: 9; runs: round", "inward"),
    ],
)
def test_refusals_say_what_to_write(kind: str, text: str, word: str) -> None:
    with pytest.raises(Refusal) as caught:
        curve(kind, text)
    assert word in f"{caught.value.message} {caught.value.hint}"


def test_a_line_is_not_both_and_has_a_length() -> None:
    both = LINE | {f"{{{OURS}}}arc": "rise: 3", f"{{{OURS}}}wave": "height: 3"}
    with pytest.raises(Refusal, match="both"):
        curve_or_shape("line", both, Affine())
    with pytest.raises(Refusal, match="no length"):
        curve("arc", "rise: 1", {"x1": "5", "y1": "5", "x2": "5", "y2": "5"})


def test_what_only_straight_lines_have_is_refused_on_a_path() -> None:
    attributes = {f"{{{OURS}}}balance": "mass"}
    assert on_a_path(FitRule(), attributes, follows_path=False) == FitRule()
    with pytest.raises(Refusal, match="balance"):
        on_a_path(FitRule(), attributes, follows_path=True)
