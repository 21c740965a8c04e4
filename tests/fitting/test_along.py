"""Text on a path: SVG's rule, sizes, ends, and the area that limits it."""

import cmath
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.fitting import fit_order
from render.geometry import Affine, Path
from render.geometry.shapes import arc_by_rise, circle, rectangle
from render.model import Align, Hang, Remedy

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


@pytest.mark.parametrize("hangs", list(Hang))
def test_hanging_by_tops_or_middle_moves_the_baseline(measure, ask, hangs):
    """Capitals are 0.7 em high: their tops, middles or feet lie 30 mm from the centre."""
    (fitted,) = fit_order(ask(["HAM"], ROOM, along=RIM, hangs=hangs), measure)
    share = {Hang.BASELINE: 0.0, Hang.MIDDLE: 0.5, Hang.TOPS: 1.0}[hangs]
    size = fitted.lines[0].size
    for at, direction in middles(fitted):
        on_path = at - 1j * direction / size * share * 0.7 * size
        assert abs(on_path) == pytest.approx(30, abs=1e-3)


def test_both_sides_of_a_ring_share_one_band_and_stand_upright(measure, ask):
    other_way = Path(RIM.commands, RIM.points[::-1].copy())  # as side="right" does it
    upper, lower = (
        fit_order(ask(["HAM"], ROOM, along=path, start=start, hangs=Hang.MIDDLE), measure)[0]
        for path, start in ((RIM, 0.5), (other_way, 0.0))
    )
    for fitted, up in ((upper, -1), (lower, 1)):
        (placed,) = fitted.lines
        reach = []
        for (_, advance), turn in zip(placed.line.clusters, placed.turns, strict=True):
            low = turn.apply(np.array([advance / 2 + 0j]))[0]
            high = turn.apply(np.array([advance / 2 - 0.7j]))[0]
            assert (high - low).imag < 0  # upright as seen
            assert low.imag * up > 0
            reach += sorted((abs(low), abs(high)))
        assert min(reach) == pytest.approx(30 - 0.35 * placed.size, abs=1e-3)
        assert max(reach) == pytest.approx(30 + 0.35 * placed.size, abs=1e-3)


@pytest.mark.parametrize("text", ["HAMHAM", "mia lina", "Wim"])
def test_closing_the_round_leaves_equal_spaces(measure, ask, text):
    (fitted,) = fit_order(ask([text], ROOM, along=RIM, closes=True, largest=9.0), measure)
    (placed,) = fitted.lines
    size = placed.size
    at = [cmath.phase(z) for z, _ in middles(fitted)]
    steps = [((b - a) % (2 * math.pi)) * 30 for a, b in zip(at, at[1:] + at[:1], strict=True)]
    advances = [advance * size for _, advance in placed.line.clusters]
    extra = [s - (a + b) / 2 for s, a, b in zip(steps, advances, advances[1:] + advances[:1], strict=True)]
    assert max(extra[:-1]) == pytest.approx(min(extra[:-1]), abs=1e-3)
    assert extra[-1] == pytest.approx(extra[0] + 0.25 * size, abs=1e-3)  # the seam is a word space wider
    assert sum(steps) == pytest.approx(2 * math.pi * 30)


@pytest.mark.parametrize(("path", "sign"), [(RIM, 1), (Path(RIM.commands, RIM.points[::-1].copy()), -1)])
def test_optical_spacing_evens_out_what_the_bend_does(measure, ask, path, sign):
    """At the height that is asked for, letters are as far apart as on a straight line: s = a r / (r + h)."""
    (plain,) = fit_order(ask(["HAMHAM"], ROOM, along=path), measure)
    (even,) = fit_order(ask(["HAMHAM"], ROOM, along=path, optical=1.0), measure)
    size = even.lines[0].size
    assert size == plain.lines[0].size
    ratio = 30 / (30 + sign * 0.35 * size)
    between = [
        sum(abs(b - a) for (a, _), (b, _) in zip(list(middles(f)), list(middles(f))[1:], strict=False))
        for f in (plain, even)
    ]
    assert between[1] / between[0] == pytest.approx(ratio, rel=3e-3)


@pytest.mark.parametrize(("hangs", "first"), [(Hang.BASELINE, 0.0), (Hang.MIDDLE, -0.2)])
def test_on_a_path_a_second_line_follows_a_parallel(measure, ask, hangs, first):
    """A path of radius 30: the lines lie 1.1 em apart, each spaced by the length of its own circle."""
    names = ["Hamam mahamah"]
    asked = ask(names, ROOM, along=arc_by_rise(-20 + 0j, 20 + 0j, 7.6), most_lines=2, hangs=hangs, smallest=6)
    (fitted,) = fit_order(asked, measure)
    assert fitted.remedy is Remedy.BROKEN
    radius = (20**2 + 7.6**2) / (2 * 7.6)
    centre = 1j * (radius - 7.6)
    for number, placed in enumerate(fitted.lines):
        size = placed.size
        own = radius - (first + 1.1 * number) * size
        at = [
            complex(turn.e, turn.f) + complex(turn.a, turn.b) * advance / 2 - centre
            for (_, advance), turn in zip(placed.line.clusters, placed.turns, strict=True)
        ]
        assert [abs(z) for z in at] == pytest.approx([own] * len(at), abs=2e-3)
        advances = [advance * size for _, advance in placed.line.clusters]
        for one, two, a, b in zip(at, at[1:], advances, advances[1:], strict=False):
            assert cmath.phase(two / one) * own == pytest.approx((a + b) / 2, rel=2e-3)
    assert [placed.line.text for placed in fitted.lines] == ["Hamam", "mahamah"]


def test_no_second_line_where_the_path_bends_too_tightly(measure, ask):
    tight = arc_by_rise(-6 + 0j, 6 + 0j, 9)
    (fitted,) = fit_order(ask(["Hamam mahamah"], ROOM, along=tight, most_lines=2, smallest=5), measure)
    assert fitted.remedy is Remedy.HELD
