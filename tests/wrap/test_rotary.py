"""Chuck and roller, taper and tilt, seams, keep-outs, limits, calibration, focus."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.errors import LibraryError
from render.geometry import Path
from render.geometry.shapes import circle, line, rectangle
from render.geometry.solids import frustum
from render.model import (
    Artwork,
    Calibration,
    KeepOut,
    Lay,
    Mark,
    Operation,
    Rotary,
    RotaryKind,
    RoundBody,
    Severity,
)
from render.wrap import Wrapper, wrap
from render.wrap.calibration import Sighting, calibrated, full_turn
from render.wrap.focus import flat_width, focus_depth, height_map
from render.wrap.seams import begun_at, extents, widest_gap
from tests.wrap import bodies as B  # noqa: N812


def artwork(*paths: Path, operation: Operation = Operation.ENGRAVE) -> Artwork:
    return Artwork("p2", "Ida", tuple(Mark(operation, path) for path in paths))


def codes(wrapped) -> list[tuple[str, str]]:
    return [(problem.code, str(problem.severity)) for problem in wrapped.problems]


# ---------------------------------------------------------------- how devices turn


def test_rollers_touch_a_taper_at_its_thickest_not_at_the_mark() -> None:
    """By hand: 276 mm of roller travel are one turn, so 10 mm at 224 mm round need 10 · 276 / 224 mm."""
    mark = line(125 + 149.9j, 135 + 149.9j)
    sent = wrap(artwork(mark), B.CONE, B.ROLLER).artwork.marks[0].path.points
    round_there = 276 + (224 - 276) * 149.9 / 150
    assert abs((sent[-1] - sent[0]).imag) == pytest.approx(10 * 276 / round_there)
    lower = replace(B.CONE, contact=100.0)
    assert wrap(artwork(mark), lower, B.ROLLER).numbers.turn == pytest.approx(276 - 52 * 100 / 150)


def test_slip_is_driven_on_top() -> None:
    slipping = replace(B.ROLLER, slip=0.02)
    assert wrap(artwork(), RoundBody(200, 50), slipping).numbers.turn == pytest.approx(200 / 0.98)
    with pytest.raises(LibraryError, match="cannot lose"):
        Wrapper.of(RoundBody(200, 50), replace(B.ROLLER, slip=0.7))


def test_who_scales() -> None:
    scaling = replace(B.CHUCK, scales=True)
    numbers = wrap(artwork(rectangle(50, 20, 100, 30)), RoundBody(230, 100), scaling).numbers
    assert (numbers.turn, numbers.factor, numbers.set_circumference) == (230, 1, 230)
    assert wrap(artwork(), RoundBody(230, 100), B.CHUCK).numbers.factor == pytest.approx(360 / 230)


@pytest.mark.parametrize(("inside", "reversed_", "mirrored"), [
    (False, False, False), (True, False, True), (False, True, True), (True, True, False),
])  # fmt: skip
def test_direction(inside: bool, reversed_: bool, mirrored: bool) -> None:
    body, rotary = RoundBody(60, 8, inside=inside), replace(B.CHUCK_X, reversed=reversed_)
    wrapped = wrap(artwork(line(10 + 2j, 20 + 2j)), body, rotary)
    start, end = wrapped.artwork.marks[0].path.points
    assert wrapped.numbers.mirrored is mirrored
    assert bool((end - start).real < 0) is mirrored
    assert start == pytest.approx((300 if mirrored else 60) + 2j)


def test_a_taper_without_tilt_is_measured_along_the_axis_and_loses_focus() -> None:
    marks = artwork(line(125 + 0j, 125 + 150j))
    level = wrap(marks, B.CONE, replace(B.CHUCK, tilt=0.0))
    points = level.artwork.marks[0].path.points
    rise = (276 - 224) / (2 * math.pi)
    assert abs(points[-1] - points[0]) == pytest.approx(math.sqrt(150**2 - rise**2))
    assert level.numbers.focus_change == pytest.approx(rise)
    tilted = wrap(marks, B.CONE, replace(B.CHUCK, tilt=None))
    points = tilted.artwork.marks[0].path.points
    assert abs(points[-1] - points[0]) == pytest.approx(150)
    assert tilted.numbers.focus_change == pytest.approx(0, abs=1e-9)
    assert tilted.numbers.tilt == pytest.approx(math.degrees(math.asin(rise / 150)))


@given(st.floats(-30, 30), st.floats(60, 400), st.floats(60, 400), st.floats(30, 200))
def test_tilt_is_a_turn_of_the_whole_thing(tilt: float, top: float, bottom: float, height: float) -> None:
    """Against turning the meridian's end points as plain vectors."""
    body = B.body_of(frustum(top, bottom, axial=height))
    run, rise = height, (bottom - top) / (2 * math.pi)
    turned = complex(run, rise) * np.exp(1j * math.radians(tilt))
    if turned.real <= 1e-6:
        with pytest.raises(LibraryError, match="hidden from the beam"):
            Wrapper.of(body, replace(B.CHUCK, tilt=tilt))
        return
    turning = Wrapper.of(body, replace(B.CHUCK, tilt=tilt)).turning
    assert turning.reach == pytest.approx(turned.real)
    drop = turning.drop(np.array([body.height]))
    assert float(drop[0]) == pytest.approx(-turned.imag, abs=1e-9)


@pytest.mark.parametrize("rotary", [
    Rotary(RotaryKind.CHUCK, turn=math.nan), Rotary(RotaryKind.CHUCK, turn=360, axis="a"),
    Rotary(RotaryKind.CHUCK, turn=360, tilt=80.0),
])  # fmt: skip
def test_impossible_devices(rotary: Rotary) -> None:
    with pytest.raises(LibraryError):
        Wrapper.of(B.CONE, rotary)


# ---------------------------------------------------------------- closing and seams


def test_the_turn_begins_in_the_widest_gap() -> None:
    body = RoundBody(360, 50, lay=Lay.TURN, hide_seam=True)
    drawn = [rectangle(x, 10, 30, 20) for x in (5, 60, 200, 325)]
    wrapped = wrap(artwork(*drawn), body, B.CHUCK_X)
    assert wrapped.numbers.start == pytest.approx((90 + 200) / 2)
    boxes = [c.bounds() for c in wrapped.artwork.marks[0].path.contours()]
    assert [b.x0 for b in boxes] == pytest.approx([5 + 215, 60 + 215, 55, 180])
    assert all(b.width == pytest.approx(30) for b in boxes)
    assert wrapped.problems == ()


def test_no_gap_no_change() -> None:
    low, high = np.array([0.0]), np.array([2 * math.pi])
    assert widest_gap(low, high) == (0.0, 0.0)
    assert widest_gap(np.array([]), np.array([]))[1] == pytest.approx(2 * math.pi)


@given(st.lists(st.floats(0, 6), min_size=1, max_size=8))
def test_beginning_elsewhere_moves_each_contour_by_whole_turns(starts: list[float]) -> None:
    path = Path.joined(circle(complex(at + 0.14, 10), 0.13) for at in starts)
    low = np.array(starts) + 0.01
    begin, gap = widest_gap(low, low + 0.26)
    if gap:
        moved = begun_at(path, begin, *extents(path)[:2])
        shift = (moved.points - path.points + begin).real / (2 * math.pi)
        assert np.abs(shift - np.rint(shift)).max() < 1e-9
        assert moved.points.real.min() > -1e-9
        assert moved.points.real.max() < 2 * math.pi + 1e-9


def test_what_goes_all_round_runs_on_over_its_beginning() -> None:
    body = RoundBody(200, 50, overlap=1.5)
    band, dot = rectangle(0, 10, 200, 2), rectangle(50, 20, 5, 5)
    wrapped = wrap(artwork(band, dot), body, B.ROLLER)
    boxes = [c.bounds() for c in wrapped.artwork.marks[0].path.contours()]
    assert (boxes[0].y0, boxes[0].y1) == pytest.approx((0, 201.5))
    assert boxes[1].height == pytest.approx(5)
    assert wrapped.problems == ()


# ---------------------------------------------------------------- what is kept free


HANDLE = KeepOut("handle", -30, 30, 0, 100)
LOGO = KeepOut("logo", 170, 190, 40, 60)
SEAM = KeepOut("seam", 89, 91, 0, 100, Severity.LOOK)
MUG = RoundBody(360, 100, keep_outs=(HANDLE, LOGO, SEAM))


@pytest.mark.parametrize(("drawn", "expected"), [
    (rectangle(100, 10, 40, 80), []),
    (rectangle(20, 10, 40, 80), [("on-the-handle", "stop")]),
    (rectangle(300, 10, 40, 80), [("on-the-handle", "stop")]),  # beyond the start line from the other side
    (circle(200 + 50j, 9), []),
    (circle(200 + 50j, 11), [("on-the-logo", "stop")]),
    (rectangle(150, 20, 60, 60), [("on-the-logo", "stop")]),  # all round it: filled, it covers the logo
    (circle(185 + 66j, 8), [("on-the-logo", "stop")]),
    (circle(195 + 66j, 7.7), []),  # its box overlaps the logo's, the disc itself does not
    (rectangle(85, 10, 4.5, 9), [("on-the-seam", "look")]),
])  # fmt: skip
def test_keep_outs(drawn: Path, expected: list[tuple[str, str]]) -> None:
    assert codes(wrap(artwork(drawn), MUG, B.CHUCK)) == expected


def test_a_line_round_a_keep_out_is_not_on_it() -> None:
    ring = artwork(Path.polyline([150 + 20j, 210 + 20j, 210 + 80j, 150 + 80j]), operation=Operation.SCORE)
    assert codes(wrap(ring, MUG, B.CHUCK)) == []


# ---------------------------------------------------------------- limits


def test_what_a_rotary_cannot_take() -> None:
    body = replace(B.CONE, length=300.0, weight=900.0)
    tight = replace(B.CHUCK, longest=250.0, thickest=80.0, thinnest=75.0, heaviest=800.0)
    found = {p.code: str(p.severity) for p in Wrapper.of(body, tight).problems()}
    assert found == {
        "longer-than-the-rotary": "stop",
        "thicker-than-the-rotary": "stop",
        "thinner-than-the-rotary": "stop",
        "heavier-than-the-rotary": "look",
    }
    assert Wrapper.of(body, B.CHUCK).problems() == ()
    slender = Wrapper.of(RoundBody(32, 60, length=140.0), B.CHUCK).problems()
    assert [p.code for p in slender] == ["may-sag"]
    assert Wrapper.of(RoundBody(32, 60, length=140.0), B.ROLLER).problems() == ()


def test_steep_and_upright_parts() -> None:
    steep = RoundBody(300, 50, stations=((0.0, 300.0), (5.0, 200.0), (40.0, 200.0)))
    mark = artwork(line(149 + 2j, 151 + 2j), operation=Operation.SCORE)
    assert codes(wrap(mark, steep, B.CHUCK)) == [("too-steep", "look")]
    step = RoundBody(300, 60, stations=((0.0, 300.0), (0.0, 200.0), (40.0, 200.0)))
    assert ("too-steep", "stop") in codes(wrap(mark, step, B.CHUCK))
    with pytest.raises(ValueError, match="upright"):
        Wrapper.of(step, B.CHUCK).turning.to_surface(np.array([1 + 1j]))


def test_out_of_focus_names_the_tilt() -> None:
    wrapped = Wrapper.of(B.CONE, B.CHUCK, focus=1.0).wrap(artwork(rectangle(100, 10, 20, 130)))
    (problem,) = wrapped.problems
    assert problem.code == "out-of-focus"
    assert "3.2°" in problem.hint
    assert (
        Wrapper.of(B.CONE, replace(B.CHUCK, tilt=None), focus=0.01)
        .wrap(artwork(circle(90 + 50j, 9)))
        .problems
        == ()
    )


def test_measuring_errors_are_carried_through() -> None:
    body = RoundBody(200, 50, error=0.5)
    mark = artwork(rectangle(50, 10, 100, 10))
    assert wrap(mark, body, B.CHUCK).numbers.width_error == pytest.approx(
        0.25
    )  # half the turn, half the error
    assert wrap(mark, body, B.CHUCK).numbers.closing_error == 0  # a chuck comes round whatever it holds
    learnt = replace(B.ROLLER, calibration=Calibration(1.0, 0.004, 2))
    assert wrap(mark, body, learnt).numbers.closing_error == pytest.approx(math.hypot(0.8, 0.5))


# ---------------------------------------------------------------- calibration and focus


def test_calibration_by_two_marks_and_by_a_full_turn() -> None:
    one = calibrated([Sighting(200, 198)], Calibration(), "2026-01-02")
    assert one.factor == pytest.approx(200 / 198)
    assert one.error == pytest.approx(2 * 0.25 / 200 / (198 / 200))
    assert (one.marks, one.date) == (1, "2026-01-02")
    turn = calibrated([full_turn(250, -1.25)], Calibration(1.01, 0.1, 1), "")
    assert turn.factor == pytest.approx(1.01 * 250 / 248.75)


@given(st.floats(0.85, 1.15), st.lists(st.floats(50, 400), min_size=1, max_size=8))
def test_a_calibrated_rotary_measures_what_is_commanded(gain: float, lengths: list[float]) -> None:
    solved = calibrated([Sighting(a, gain * a) for a in lengths], Calibration(), "")
    rotary = replace(B.ROLLER, calibration=solved)
    sent = wrap(artwork(line(20 + 5j, 120 + 5j)), RoundBody(250, 50), rotary).artwork.marks[0].path.points
    assert abs(sent[1] - sent[0]) * gain == pytest.approx(100)


def test_scatter_widens_the_doubt() -> None:
    calm = calibrated([Sighting(200, 199), Sighting(200, 199)], Calibration(), "")
    wild = calibrated([Sighting(200, 197), Sighting(200, 201)], Calibration(), "")
    assert wild.factor == pytest.approx(calm.factor)
    # by hand: residuals ∓2, s = √8, Student's t for one degree 12.706, over √(2 · 200²), and the factor
    assert wild.error == pytest.approx(12.706 * math.sqrt(8) / math.sqrt(80_000) * 200 / 199)
    assert calm.error < wild.error


@pytest.mark.parametrize("bad", [[], [Sighting(0, 1)], [Sighting(100, -1)], [Sighting(100, 60)]])
def test_measurements_that_cannot_be(bad: list[Sighting]) -> None:
    with pytest.raises(LibraryError) as caught:
        calibrated(bad, Calibration(), "")
    assert caught.value.hint


def test_depth_of_focus_and_flat_width_by_hand() -> None:
    # Rayleigh length π w² / λ (Siegman, Lasers, 1986, from memory): 0.15 mm spot at 10.6 µm
    assert focus_depth(0.15, 10_600) == pytest.approx(math.pi * 0.075**2 / 0.0106)
    assert focus_depth(0.15, 10_600, 2.0) == pytest.approx(focus_depth(0.15, 10_600) / 2)
    # chord 60 on radius 40 has the sagitta 13.5425 (handbook, from memory): in focus if ±6.77 mm are
    assert flat_width(40, 13.5425 / 2) == pytest.approx(60, abs=1e-3)
    with pytest.raises(ValueError, match="positive"):
        focus_depth(0, 450)


def test_the_height_map_is_the_sagitta() -> None:
    rows = height_map(40, 60, 3)
    assert [r.across for r in rows] == pytest.approx([0, 10, 20, 30])
    assert [r.drop for r in rows] == pytest.approx(
        [0, 40 - math.sqrt(1500), 40 - math.sqrt(1200), 13.5425], abs=1e-4
    )
    assert rows[-1].along == pytest.approx(67.845 / 2, abs=1e-3)  # arc of chord 60, r 40 (formula, memory)
    with pytest.raises(ValueError, match="does not fit"):
        height_map(40, 90)
