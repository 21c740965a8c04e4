"""Path, the curves' exact bounds, and reading path data: also as svgpathtools sees them."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from render.geometry import CLOSE, CUBIC, LINE, MOVE, QUAD, Affine, Path
from render.geometry.curves import FLATTEN_TOLERANCE_MM, chords_needed, evaluate, split_at
from render.geometry.path import POINTS_PER_COMMAND
from render.geometry.pathtext import parse_path
from render.geometry.shapes import rectangle

coordinate = st.integers(-400, 400).map(lambda quarter: quarter / 4)
point = st.builds(complex, coordinate, coordinate)


@st.composite
def paths(draw: st.DrawFn, closed: bool | None = None) -> Path:
    """One to three contours of lines and curves of every degree."""
    commands: list[int] = []
    pool: list[complex] = []
    for _ in range(draw(st.integers(1, 3))):
        drawn = draw(st.lists(st.sampled_from([LINE, QUAD, CUBIC]), min_size=1, max_size=4))
        close = draw(st.booleans()) if closed is None else closed
        commands += [MOVE, *drawn] + [CLOSE] * close
        count = 1 + int(POINTS_PER_COMMAND[drawn].sum())
        pool += draw(st.lists(point, min_size=count, max_size=count))
    return Path(np.array(commands, np.uint8), np.array(pool, np.complex128))


def as_text(path: Path) -> str:
    """Plain SVG path data, written here by the simplest means."""
    text, first = [], path.first_points()
    for command, at in zip(path.commands, first, strict=True):
        numbers = (
            f"{z.real!r} {z.imag!r}" for z in path.points[at : at + POINTS_PER_COMMAND[command]].tolist()
        )
        text.append("MLQCZ"[command] + " ".join(numbers))
    return " ".join(text)


def segments(path: Path) -> list[np.ndarray]:
    """Control points of every drawn segment, the lines home included."""
    found = []
    for contour in path.contours():
        for command, at in zip(contour.commands, contour.first_points(), strict=True):
            if command in (LINE, QUAD, CUBIC):
                found.append(contour.points[at - 1 : at + POINTS_PER_COMMAND[command]])
            elif command == CLOSE:
                found.append(contour.points[[-1, 0]])
    return found


def outside_view(path: Path) -> Any:
    from svgpathtools import parse_path as read

    return read(as_text(path))


@given(paths())
@settings(max_examples=60)
def test_bounds_agree_with_svgpathtools(path: Path) -> None:
    box = path.bounds()
    x0, x1, y0, y1 = outside_view(path).bbox()
    assert (box.x0, box.y0, box.x1, box.y1) == pytest.approx((x0, y0, x1, y1), abs=1e-6)


@given(paths())
def test_bounds_hold_every_point_drawn_and_are_reached(path: Path) -> None:
    drawn = np.concatenate([evaluate(segment, np.linspace(0, 1, 401)) for segment in segments(path)])
    box = path.bounds()
    sampled = (drawn.real.min(), drawn.imag.min(), drawn.real.max(), drawn.imag.max())
    exact = (box.x0, box.y0, box.x1, box.y1)
    outward = np.subtract(sampled, exact) * (1, 1, -1, -1)
    assert outward.min() >= -1e-9
    assert outward.max() <= 0.01  # 401 samples of a curve some 300 mm long


def test_a_control_point_far_away_does_not_widen_the_box() -> None:
    # a quadratic reaches half way to its control point, a cubic three quarters (Bernstein form at t = 1/2)
    assert Path.of([MOVE, QUAD], [0, 5 + 10j, 10]).bounds().y1 == 5
    assert Path.of([MOVE, CUBIC], [0, 10j, 10 + 10j, 10]).bounds().y1 == 7.5


@given(paths())
def test_a_mirror_and_quarter_turns_carry_the_box_along(path: Path) -> None:
    box = path.bounds()
    turned = path.transformed(Affine.rotation(90)).bounds()
    assert (turned.x0, turned.y0, turned.x1, turned.y1) == pytest.approx((-box.y1, box.x0, -box.y0, box.x1))
    mirrored = path.transformed(Affine.mirror_x()).bounds()
    assert (mirrored.x0, mirrored.x1) == pytest.approx((-box.x1, -box.x0))


@given(paths())
def test_contours_put_together_again_are_the_path(path: Path) -> None:
    contours = list(path.contours())
    assert Path.joined(contours) == path
    assert all(contour.commands[0] == MOVE for contour in contours)
    assert path.is_closed() == all(contour.commands[-1] == CLOSE for contour in contours)
    assert hash(Path.joined(contours)) == hash(path)


@given(paths())
@settings(max_examples=60)
def test_path_data_reads_back(path: Path) -> None:
    read = parse_path(as_text(path))
    drawn = [s for s in segments(read) if not (s == s[0]).all()]
    meant = [s for s in segments(path) if not (s == s[0]).all()]
    assert len(drawn) == len(meant)
    assert all(np.allclose(d, m) for d, m in zip(drawn, meant, strict=True))
    assert read.is_closed() == path.is_closed()


@pytest.mark.parametrize(
    ("data", "length"),
    [
        ("M0 0H10V10H0Z", 40),
        ("m1 1 h10 v10 h-10 z m20 0 l3 4", 45),
        ("M0,0 10,0 10,10", 20),
        ("M0 0 A5 5 0 0 1 10 0", 15.708),
        ("M0 0 a5 5 0 1 0 0.001 0z", 31.416),
        ("M0 0C0 10 10 10 10 0S20-10 20 0", None),
        ("M0 0Q5 10 10 0T20 0", None),
        ("M.5.5l1e1-.5", None),
    ],
)
def test_every_kind_of_path_data_as_svgpathtools_reads_it(data: str, length: float | None) -> None:
    from svgpathtools import parse_path as read

    ours, theirs = parse_path(data), read(data)
    x0, x1, y0, y1 = theirs.bbox()
    box = ours.bounds()
    assert (box.x0, box.y0, box.x1, box.y1) == pytest.approx((x0, y0, x1, y1), abs=0.002)
    steps = np.linspace(0, 1, 2001)
    drawn = sum(float(np.abs(np.diff(evaluate(s, steps))).sum()) for s in segments(ours))
    assert drawn == pytest.approx(theirs.length(), rel=3e-4)
    if length is not None:
        assert drawn == pytest.approx(length, rel=3e-4)


@pytest.mark.parametrize(
    "data",
    [
        "hello",
        "M0",
        "M0 0L1",
        "L1 1",
        "M0 0 L1e999 0",
        "M0 0 Lnan 0",
        "10 10",
        "M0 0 X1 1",
        "M0 0 L5 foo 5",
        "M0 0L1 1;",
        "M0 0 C1 1 2 2",
        "M0 0 L1 1Z 5 5",
        "M0 0 L٣ 1",
        "M0 0 A1 1 0 2 0 5 5",
        "#",
    ],
)
def test_what_is_not_path_data_is_refused(data: str) -> None:
    with pytest.raises(ValueError, match="path data"):
        parse_path(data)


@pytest.mark.parametrize("data", ["", "  ", "M3 4", "M3 4M5 6"])
def test_moves_alone_draw_nothing(data: str) -> None:
    assert not parse_path(data)


@pytest.mark.parametrize(
    ("commands", "points", "why"),
    [
        ([LINE], [1], "begin with a move"),
        ([MOVE, LINE, CLOSE, LINE], [0, 1, 2], "begin with a move"),
        ([MOVE, CUBIC], [0, 1, 2], "do not match"),
        ([MOVE, 7], [0, 1], "unknown"),
        ([MOVE, LINE], [0, complex("inf")], "not finite"),
    ],
)
def test_what_is_not_a_path_is_refused(commands: list[int], points: list[complex], why: str) -> None:
    with pytest.raises(ValueError, match=why):
        Path.of(commands, points)


def test_paths_cannot_be_changed() -> None:
    path = rectangle(0, 0, 1, 1)
    with pytest.raises(ValueError, match="read-only"):
        path.points[0] = 9
    with pytest.raises(ValueError, match="read-only"):
        path.commands[0] = 9


def test_the_empty_path() -> None:
    empty = Path.empty()
    assert not empty
    assert empty == Path.joined([]) == Path.of([], [])
    assert list(empty.contours()) == []
    assert empty.is_closed()
    with pytest.raises(ValueError, match="no bounds"):
        empty.bounds()


curves = st.lists(point, min_size=2, max_size=4).map(lambda pool: np.array(pool, np.complex128))


@given(curves, st.floats(0, 1))
def test_a_split_curve_is_the_curve(curve: np.ndarray, t: float) -> None:
    left, right = split_at(curve, t)
    u = np.linspace(0, 1, 9)
    assert np.allclose(evaluate(left, u), evaluate(curve, u * t), atol=1e-9)
    assert np.allclose(evaluate(right, u), evaluate(curve, t + u * (1 - t)), atol=1e-9)
    assert left[-1] == right[0]


@given(curves, st.sampled_from([FLATTEN_TOLERANCE_MM, 0.1, 1.0]))
@settings(max_examples=60)
def test_chords_stay_within_the_tolerance(curve: np.ndarray, tolerance: float) -> None:
    from shapely import LineString
    from shapely import points as as_points

    chords = evaluate(curve, np.linspace(0, 1, chords_needed(curve, tolerance) + 1))
    line = LineString(np.stack((chords.real, chords.imag), 1))
    fine = evaluate(curve, np.linspace(0, 1, 1500))
    assert line.distance(as_points(fine.real, fine.imag)).max() <= tolerance * (1 + 1e-6) + 1e-9  # type: ignore[union-attr]
