"""Job time: textbook cases, brute force, lengths by svgpathtools, an outside trajectory library."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.geometry import Path
from render.geometry.pathtext import parse_path
from render.geometry.shapes import circle, rectangle
from render.model import (
    Artwork,
    Machine,
    Mark,
    Motion,
    Operation,
    Placement,
    Recipe,
    Rotary,
    RotaryKind,
    Sheet,
    Timing,
)
from render.sheets.chords import chain, contour_areas
from render.sheets.motion import along, corner_speeds, profile, seconds_along, seconds_of_moves, trapezoid
from render.sheets.scan import runs, sweep
from render.sheets.timing import motion_of, sheet_time

MOTION = Motion((400.0, 300.0), (3000.0, 2000.0))
ENGRAVE, SCORE, CUT = Operation.ENGRAVE, Operation.SCORE, Operation.CUT


def one(*values: float) -> list[np.ndarray]:
    return [np.array([value]) for value in values]


# ---------------------------------------------------------------- textbook


@pytest.mark.parametrize(
    ("length", "speed", "acceleration", "entry", "leave", "seconds"),
    [
        # uniformly accelerated motion, Halliday, Resnick and Walker, Fundamentals of Physics, ch. 2, by hand:
        (100, 100, 1000, 0, 0, 1.1),  # trapezoid: 0.1 s up over 5 mm, 90 mm at 100 mm/s, 0.1 s down
        (10, 100, 1000, 0, 0, 0.2),  # just a triangle: 5 mm up, 5 mm down
        (5, 100, 1000, 0, 0, math.sqrt(2 / 100)),  # triangle: 2 sqrt(d / a) = 2 sqrt(0.005)
        (0.3, 400, 3000, 0, 0, 0.02),  # 2 sqrt(0.0001)
        (20, 100, 1000, 30, 0, 0.2745),  # 0.07 up over 4.55, 10.45 at 100 (0.1045), 0.1 down over 5
        (50, 100, 1000, 100, 100, 0.5),  # no change of speed
    ],
)
def test_textbook_lines(length, speed, acceleration, entry, leave, seconds) -> None:
    assert trapezoid(*one(length, speed, acceleration, entry, leave))[0] == pytest.approx(seconds, rel=1e-9)


def test_against_ruckig() -> None:
    """PyPI ruckig (time-optimal trajectories, jerk unlimited): the same durations for single moves."""
    ruckig = pytest.importorskip("ruckig")
    rng = np.random.default_rng(7)
    for _ in range(200):
        speed, acceleration = rng.uniform(20, 500), rng.uniform(200, 5000)
        entry, leave = rng.uniform(0, speed, 2)
        least = abs(entry**2 - leave**2) / (2 * acceleration)
        length = least + rng.uniform(0.01, 200)
        ask = ruckig.InputParameter(1)
        ask.current_position, ask.current_velocity, ask.current_acceleration = [0.0], [entry], [0.0]
        ask.target_position, ask.target_velocity, ask.target_acceleration = [length], [leave], [0.0]
        ask.max_velocity, ask.max_acceleration, ask.max_jerk = [speed], [acceleration], [math.inf]
        answer = ruckig.Trajectory(1)
        ruckig.Ruckig(1).calculate(ask, answer)
        ours = trapezoid(*one(length, speed, acceleration, entry, leave))[0]
        assert ours == pytest.approx(answer.duration, rel=1e-6)


# ---------------------------------------------------------------- against brute force

lines = st.lists(
    st.tuples(st.floats(0.05, 40), st.floats(10, 400), st.floats(300, 4000), st.floats(0, 400)),
    min_size=1,
    max_size=8,
)


@given(lines)
def test_a_row_of_lines_against_small_steps(rows) -> None:
    """Speed squared is carried along the way in small steps, forwards and backwards, and ds / v summed."""
    length, fastest, acceleration, corner = (np.array(column) for column in zip(*rows, strict=True))
    ours = profile(length, fastest, acceleration, corner).sum()
    cells = 4000
    ds = np.repeat(length / cells, cells)
    a = np.repeat(acceleration, cells)
    top = np.repeat(fastest**2, cells)
    at = np.concatenate(([0.0], np.minimum(top[1:], top[:-1]), [0.0]))  # limits at the cells' borders
    for k, limit in enumerate(corner[:-1], 1):
        at[k * cells] = min(at[k * cells], limit**2)
    for i in range(ds.size):
        at[i + 1] = min(at[i + 1], at[i] + 2 * a[i] * ds[i])
    for i in range(ds.size - 1, -1, -1):
        at[i] = min(at[i], at[i + 1] + 2 * a[i] * ds[i])
    v = np.sqrt(at)
    brute = (2 * ds / (v[1:] + v[:-1])).sum()
    assert ours == pytest.approx(brute, rel=2e-3)


def test_no_joint_is_passed_faster_than_it_may() -> None:
    """A square: rest, then corners of 90°, where v² = a δ c / (1 − c) with c = cos 45°."""
    square = chain(rectangle(0, 0, 100, 100))
    motion = Motion((100.0, 100.0), (1000.0, 1000.0), corner=0.01)
    c = math.sqrt(0.5)
    corner = math.sqrt(1000 * 0.01 * c / (1 - c))
    got = corner_speeds(square, np.full(4, 1000.0), 0.01)
    assert got.tolist() == pytest.approx([corner] * 3 + [0.0])
    # by hand: first and last side start or end at rest, the two between run from corner to corner
    outer = (100 - corner) / 1000 + 0.1 + (100 - (2 * 100**2 - corner**2) / 2000) / 100
    inner = 2 * (100 - corner) / 1000 + (100 - (100**2 - corner**2) / 1000) / 100
    assert seconds_along(square, motion, math.inf).sum() == pytest.approx(2 * (outer + inner))


def test_a_small_circle_is_as_slow_as_its_curvature_asks() -> None:
    """v² = a r: r = 2 mm and a = 1000 mm/s² allow 44.7 mm/s, however fine the chords are."""
    ring = chain(circle(0j, 2.0))
    equal = Motion((500.0, 500.0), (1000.0, 1000.0))
    speeds = corner_speeds(ring, np.full(ring.start.size, 1000.0), 0.01)[ring.bend]
    assert speeds.min() == pytest.approx(math.sqrt(2000), rel=0.02)
    assert speeds.max() == pytest.approx(math.sqrt(2000), rel=0.05)
    whole = seconds_along(ring, equal, 500.0).sum()
    assert whole > 4 * math.pi / math.sqrt(2000) * 0.97  # never quicker than at that speed all round


def test_limits_of_a_slanting_move() -> None:
    # 3-4-5 by hand: x moves 3/5 of the speed, y 4/5; y with 300 mm/s is met first at 375 mm/s
    assert along(np.array([3 + 4j]), (400.0, 300.0))[0] == pytest.approx(375)
    assert along(np.array([5 + 0j, 5j]), (400.0, 300.0)).tolist() == [400, 300]
    assert seconds_of_moves(np.array([0j, 100 + 0j]), Motion((100.0, 1.0), (1000.0, 1.0))).tolist() == (
        pytest.approx([0, 1.1])
    )


# ---------------------------------------------------------------- lengths


@pytest.mark.parametrize(
    "data",
    [
        "M0 0L10 0L10 5Z",
        "M0 0C10 0 10 20 30 20Q50 20 50 0L0 0Z",
        "M5 5Q20 -30 40 5M60 0C60 40 100 40 100 0",
    ],
)
def test_lengths_are_those_of_svgpathtools(data: str) -> None:
    from svgpathtools import parse_path as second

    assert chain(parse_path(data)).lengths().sum() == pytest.approx(second(data).length(), rel=1e-4)


def test_a_circle_and_nothing() -> None:
    assert chain(circle(5 + 5j, 10)).lengths().sum() == pytest.approx(20 * math.pi, rel=1e-4)
    assert chain(Path.empty()).lengths().size == 0


@given(st.lists(st.complex_numbers(max_magnitude=50), min_size=7, max_size=7))
def test_areas_are_those_of_svgpathtools_chords(points) -> None:
    """Fine chords by svgpathtools, and the shoelace formula."""
    from svgpathtools import CubicBezier, Line, QuadraticBezier

    a, b, c, d, e, f, g = points
    path = Path.of((0, 1, 2, 3, 4), (a, b, c, d, e, f, g))
    parts = (Line(a, b), QuadraticBezier(b, c, d), CubicBezier(d, e, f, g), Line(g, a))
    dots = np.array([part.point(t) for part in parts for t in np.linspace(0, 1, 200, endpoint=False)])
    twice = (dots.conjugate() * np.roll(dots, -1)).imag.sum()
    assert contour_areas(path)[0] == pytest.approx(twice / 2, abs=0.3)
    assert contour_areas(Path.joined((path, rectangle(3, 4, 5, 6)))).tolist()[1] == pytest.approx(30)


# ---------------------------------------------------------------- scan lines


def test_the_runs_of_a_ring_by_hand() -> None:
    """A square of 10 mm with a hole of 4 mm, at 1 mm: 3 whole lines, 4 split ones, 3 whole."""
    hole = rectangle(3, 3, 4, 4)
    path = Path.joined((rectangle(0, 0, 10, 10), Path.polygon(hole.points[::-1])))
    got = runs(chain(path), np.zeros(2, int), np.zeros(1, int), 1.0)
    expected = []
    for k in range(10):
        expected += [(k, 0, 3), (k, 7, 10)] if 3 <= k < 7 else [(k, 0, 10)]
    assert list(zip(got.line.tolist(), got.begin.tolist(), got.end.tolist(), strict=True)) == expected


def test_the_same_way_round_is_filled_by_the_non_zero_rule() -> None:
    path = Path.joined((rectangle(0, 0, 10, 10), rectangle(3, 3, 4, 4)))
    assert runs(chain(path), np.zeros(2, int), np.zeros(1, int), 1.0).burned() == pytest.approx(100)


def test_parts_that_overlap_are_burned_once() -> None:
    path = Path.joined((rectangle(0, 0, 10, 2), Path.polygon(rectangle(5, 0, 10, 2).points[::-1])))
    got = runs(chain(path), np.array([0, 1]), np.zeros(2, int), 1.0)
    assert (got.begin.tolist(), got.end.tolist()) == ([0, 0], [15, 15])
    apart = runs(chain(path), np.array([0, 1]), np.array([0, 1]), 1.0)
    assert apart.group.tolist() == [0, 0, 1, 1]
    assert apart.burned() == pytest.approx(40)


@given(st.integers(0, 10_000))
def test_burned_length_times_interval_is_the_area(seed: int) -> None:
    from shapely import Polygon, union_all

    rng = np.random.default_rng(seed)
    blobs = []
    for _ in range(3):
        turn = (np.arange(9) + rng.uniform(0, 0.9, 9)) * 2 * np.pi / 9  # star-shaped, so simple
        blobs.append(
            complex(*rng.uniform(0, 12, 2)) + rng.uniform(3, 8, 9) * np.exp(1j * turn[:: rng.choice((1, -1))])
        )
    whole = union_all([Polygon(np.stack((b.real, b.imag), 1)).buffer(0) for b in blobs])
    got = runs(chain(Path.joined(map(Path.polygon, blobs))), np.arange(3), np.zeros(3, int), 0.02)
    assert got.burned() * 0.02 == pytest.approx(whole.area, rel=5e-3)


def test_a_block_swept_line_by_line_by_hand() -> None:
    """20 × 1 mm at 0.5 mm is 2 lines; 200 mm/s and 2000 mm/s² run up over 10 mm in 0.1 s."""
    motion = Motion((400.0, 400.0), (2000.0, 2000.0))
    stretches = runs(chain(rectangle(0, 0, 20, 1)), np.zeros(1, int), np.zeros(1, int), 0.5)
    line = 0.1 + 20 / 200 + 0.1
    both = sweep(stretches, 0.5, 200.0, motion, both_ways=True)
    assert both is not None
    assert (both.count, both.run_up, both.first, both.last) == (2, 10, -10 + 0.25j, -10 + 0.75j)
    assert both.seconds == pytest.approx(2 * line + 2 * math.sqrt(0.5 / 2000))
    one_way = sweep(stretches, 0.5, 200.0, motion, both_ways=False)
    assert one_way is not None
    # back over 40 mm and down half a mm: along the slant the acceleration is bounded by x alone
    slant = abs(-40 + 0.5j)
    a = 2000 * slant / 40
    assert one_way.seconds == pytest.approx(2 * line + 2 * math.sqrt(slant / a))


def test_gaps_may_be_hurried_through() -> None:
    path = Path.joined((rectangle(0, 0, 10, 1), rectangle(210, 0, 10, 1)))
    stretches = runs(chain(path), np.zeros(2, int), np.zeros(1, int), 1.0)
    motion = Motion((400.0, 400.0), (2000.0, 2000.0))
    even = sweep(stretches, 1.0, 100.0, motion, both_ways=True)
    quick = sweep(stretches, 1.0, 100.0, replace(motion, hurries=True), both_ways=True)
    assert even is not None
    assert quick is not None
    # from 100 to 400 mm/s and back: 2 × 0.15 s over 2 × 37.5 mm, the other 125 mm at 400 mm/s
    assert even.seconds - quick.seconds == pytest.approx(2.0 - (0.3 + 125 / 400))


# ---------------------------------------------------------------- sheets

LINE = Recipe("line", "m", "card", CUT, speed=20.0, power=50.0, date="2026-01-01", passes=2)
FILL = Recipe("fill", "m", "card", ENGRAVE, speed=100.0, power=30.0, date="2026-01-01", interval=0.5)


def machine(**more: object) -> Machine:
    plain = Machine("m", "M", (400.0, 400.0), "", 0.1, {}, motion=Motion((100.0, 100.0), (1000.0, 1000.0)))
    return replace(plain, **more)  # type: ignore[arg-type]


def sheet(*marks: Mark, copies: int = 1) -> Sheet:
    placements = [Placement(Artwork(f"p{n}", "", marks), n + 1, n * 50_000, 0) for n in range(copies)]
    return Sheet(1, "Sheet", (400.0, 400.0), 2.0, tuple(placements))


def test_two_passes_along_a_line_by_hand() -> None:
    bar = Mark(CUT, Path.polyline((10 + 0j, 30 + 0j)))
    got = sheet_time(sheet(bar), machine(), {CUT: LINE})
    once = 20 / 20 + 20 / 1000  # at 20 mm/s: 0.02 s up and 0.02 s down over 0.2 mm each
    out, again = 2 * math.sqrt(10 / 1000), 2 * 100 / 1000 + (20 - 10) / 100
    home = 2 * 100 / 1000 + (30 - 10) / 100
    assert got.computed == pytest.approx(2 * once + out + again + home)
    (part,) = got.parts
    assert (part.length, part.passes, part.recipe, part.contours) == (20, 2, "line", 1)
    assert part.seconds == pytest.approx(2 * once)


def test_without_a_recipe_no_time_is_told_but_lengths_and_areas_are() -> None:
    marks = (Mark(ENGRAVE, rectangle(0, 0, 10, 4)), Mark(CUT, rectangle(0, 0, 20, 20)))
    got = sheet_time(sheet(*marks, copies=2), machine())
    assert (got.computed, got.expected, got.missing) == (None, None, (ENGRAVE, CUT))
    assert [(p.length, p.area) for p in got.parts] == [(0, 80), (160, 0)]
    assert got.least is not None
    assert got.least > 160 / 100
    half = sheet_time(sheet(*marks), machine(), {CUT: LINE})
    assert (half.computed, half.missing) == (None, (ENGRAVE,))
    unknown = sheet_time(sheet(*marks), machine(motion=None), {CUT: LINE, ENGRAVE: FILL})
    assert (unknown.computed, unknown.least) == (None, None)


def test_timed_jobs_correct_the_time() -> None:
    mark = Mark(CUT, rectangle(0, 0, 20, 20))
    plain = sheet_time(sheet(mark), machine(), {CUT: LINE})
    taught = sheet_time(sheet(mark), machine(timing=Timing(1.2, 5.0, 0.04, 3)), {CUT: LINE})
    assert plain.expected == plain.computed
    assert taught.expected == pytest.approx(5 + 1.2 * plain.computed)
    assert taught.error == 0.04


def test_more_pieces_take_longer_and_a_sweep_over_all_is_not_a_sweep_over_each() -> None:
    mark = Mark(ENGRAVE, rectangle(0, 0, 10, 4))
    together = sheet_time(sheet(mark, copies=3), machine(), {ENGRAVE: FILL})
    apart = machine(motion=Motion((100.0, 100.0), (1000.0, 1000.0), together=False))
    each = sheet_time(sheet(mark, copies=3), apart, {ENGRAVE: FILL})
    assert together.parts[0].length == each.parts[0].length == pytest.approx(3 * 8 * 10)
    # by hand: 0.1 s to run up and out; together 8 lines of 110 mm, each 3 × 8 of 10 mm; 0.5 mm between them
    step = 2 * math.sqrt(0.5 / 1000)
    assert together.parts[0].seconds == pytest.approx(8 * (0.2 + 1.1) + 7 * step)
    # after 8 lines the head stands left of the piece it leaves: 50 mm on and 3.5 mm back
    slant = abs(50 - 3.5j)
    over = slant / (100 * slant / 50) + (100 * slant / 50) / (1000 * slant / 50)
    assert each.parts[0].seconds == pytest.approx(24 * (0.2 + 0.1) + 21 * step + 2 * over)


def test_the_head_rests_between_contours() -> None:
    """Two halves of a straight line, drawn as contours of their own, take as long as two lines."""
    halves = chain(Path.joined((Path.polyline((0j, 50 + 0j)), Path.polyline((50 + 0j, 100 + 0j)))))
    one_line = chain(Path.polyline((0j, 50 + 0j)))
    single = seconds_along(one_line, MOTION, 100.0).sum()
    assert seconds_along(halves, MOTION, 100.0).sum() == pytest.approx(2 * single)
    joined = chain(Path.polyline((0j, 50 + 0j, 100 + 0j)))
    assert seconds_along(joined, MOTION, 100.0).sum() < 2 * single - 0.03


def test_a_rotary_goes_no_faster_than_its_own_axis() -> None:
    roller = machine(rotary=Rotary(RotaryKind.ROLLER, axis="y", fastest=10.0, acceleration=100.0))
    assert motion_of(roller, rotary=True) == Motion((100.0, 10.0), (1000.0, 100.0))
    assert motion_of(roller, rotary=False) == roller.motion
    mark = Mark(CUT, Path.polyline((0j, 50j)))
    slow = sheet_time(sheet(mark), roller, {CUT: LINE}, rotary=True)
    assert slow.parts[0].seconds == pytest.approx(2 * (50 / 10 + 10 / 100))
