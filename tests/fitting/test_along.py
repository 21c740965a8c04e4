"""Text on a path: SVG's rule, sizes, ends, and the area that limits it."""

import cmath
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.fitting import fit_order
from render.geometry import Affine, Path
from render.geometry.shapes import circle, rectangle
from render.model import Align, Remedy

RIM = circle(0, 30).transformed(Affine.rotation(90))  # begins at the bottom, runs clockwise over the left
ROOM = circle(0, 45)
STRAIGHT = Path.polyline((0 + 10j, 60 + 10j))
SHEET = rectangle(0, -10, 60, 40)

words = st.lists(st.text("aceimnoghlpWÄ", min_size=1, max_size=12), min_size=1, max_size=8)


def middles(fitted):
    """For each cluster: where the middle of its advance lies on its baseline, and its direction, in mm."""
    (placed,) = fitted.lines
    for (_, advance), turn in zip(placed.line.clusters, placed.turns, strict=True):
        at = complex(turn.e, turn.f) + complex(turn.a, turn.b) * advance / 2
        yield at, complex(turn.a, turn.b)


def test_a_straight_path_is_plain_setting(measure, ask):
    (fitted,) = fit_order(ask(["Anna"], SHEET, along=STRAIGHT), measure)
    (placed,) = fitted.lines
    assert placed.size == 12
    for (x, _), turn in zip(placed.line.clusters, placed.turns, strict=True):
        assert (turn.a, turn.b, turn.c, turn.d) == pytest.approx((12, 0, 0, 12))
        assert (turn.e, turn.f) == pytest.approx((placed.origin.real + x * 12, 10))
    ink = placed.line.ink
    assert placed.origin.real + 12 * (ink.x0 + ink.x1) / 2 == pytest.approx(30)


@pytest.mark.parametrize(
    ("align", "start", "x"), [(Align.START, 0, 0.0), (Align.MIDDLE, 0.4, 24.0), (Align.END, 1, 60.0)]
)
def test_alignment_on_a_path_goes_by_ink(measure, ask, align, start, x):
    requests = ask(["fa", "Anna"], rectangle(-9, -9, 90, 60), along=STRAIGHT, start=start, align=align)
    for fitted in fit_order(requests, measure):
        (placed,) = fitted.lines
        ink = placed.line.ink.scaled(placed.size).moved(placed.origin.real, placed.origin.imag)
        edge = {Align.START: ink.x0, Align.MIDDLE: ink.centre.x, Align.END: ink.x1}[align]
        assert edge == pytest.approx(x)


@given(words, st.floats(0, 1))
def test_on_a_circle_middles_lie_on_it_turned_to_the_tangent(measure, ask, names, start):
    for fitted in fit_order(ask(names, ROOM, along=RIM, start=start), measure):
        (placed,) = fitted.lines
        for at, direction in middles(fitted):
            assert abs(at) == pytest.approx(30, abs=1e-3)
            assert abs(direction) == pytest.approx(placed.size)
            assert direction / placed.size == pytest.approx(1j * at / 30, abs=1e-4)
        for turn in placed.turns:  # no letter is mirrored or stretched
            assert turn.determinant() == pytest.approx(placed.size**2)


def test_steps_along_the_circle_are_those_of_the_pen(measure, ask):
    (fitted,) = fit_order(ask(["Wim"], ROOM, along=RIM), measure)
    first, second, third = (cmath.phase(at) % (2 * math.pi) for at, _ in middles(fitted))
    size = fitted.lines[0].size
    assert (second - first) * 30 == pytest.approx((0.6 + 0.3) / 2 * size, rel=1e-4)
    assert (third - second) * 30 == pytest.approx((0.3 + 0.9) / 2 * size, rel=1e-4)


def test_start_half_way_is_the_top_of_this_circle(measure, ask):
    (fitted,) = fit_order(ask(["Anna"], ROOM, along=RIM), measure)
    outer = [at for at, _ in middles(fitted)]
    assert sum(outer).real == pytest.approx(0, abs=1e-3)
    assert all(at.imag < 0 for at in outer)  # y is down: above the middle


def test_a_closed_path_wraps_around_but_never_runs_into_itself(measure, ask):
    (fitted,) = fit_order(ask(["Ham" * 11], ROOM, along=RIM, start=0.0), measure)
    (placed,) = fitted.lines
    length = 2 * math.pi * 30
    assert placed.size < 12
    assert (placed.line.ink.width + 0.5) * placed.size == pytest.approx(length, abs=0.3)
    assert any(at.real < 0 for at, _ in middles(fitted))
    assert any(at.real > 0 for at, _ in middles(fitted))


def test_too_long_for_the_path_gets_its_remedy(measure, ask):
    names = ["Anna", "Ben", "Clara", "Doro", "Hamam" * 5]
    fitted = fit_order(ask(names, SHEET, along=STRAIGHT), measure)
    assert [f.remedy for f in fitted] == [Remedy.NONE] * 4 + [Remedy.SMALLER]
    assert {f.lines[0].size for f in fitted[:-1]} == {12}
    fitted = fit_order(ask(names, SHEET, along=STRAIGHT, narrower=("narrow",), smallest=9), measure)
    assert fitted[-1].remedy is Remedy.HELD
    assert "path" in fitted[-1].problems[0].message


def test_the_area_limits_what_stands_on_the_path(measure, ask):
    room = circle(0, 34)
    (fitted,) = fit_order(ask(["Anna"], room, along=RIM), measure)
    (placed,) = fitted.lines
    assert 5 < placed.size < 4 / 0.7  # 4 mm are left outside the path; letters are 0.7 em high
    ink = placed.line.ink
    for (_, advance), turn in zip(placed.line.clusters, placed.turns, strict=True):
        for x in (0.05, advance - 0.05):
            corner = complex(turn.e, turn.f) + complex(turn.a, turn.b) * complex(x, ink.y0)
            assert abs(corner) <= 34


@given(words)
def test_a_ring_holds_its_text(measure, ask, names):
    hole = circle(0, 26)
    ring = Path.joined((circle(0, 36), Path(hole.commands, hole.points[::-1])))
    for fitted in fit_order(ask(names, ring, along=RIM), measure):
        for placed in fitted.lines:
            ink, last = placed.line.ink, len(placed.turns) - 1
            for i, ((x, advance), turn) in enumerate(zip(placed.line.clusters, placed.turns, strict=True)):
                left, right = (ink.x0 - x if i == 0 else 0.0), (ink.x1 - x if i == last else advance)
                for corner in (complex(a, b) for a in (left, right) for b in (ink.y0, ink.y1)):
                    assert abs(complex(turn.e, turn.f) + complex(turn.a, turn.b) * corner) < 36.001
                low = complex(turn.e, turn.f) + complex(turn.a, turn.b) * complex((left + right) / 2, ink.y1)
                assert abs(low) > 25.999
