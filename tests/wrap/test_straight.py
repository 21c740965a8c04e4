"""The straight cylinder: figures, orientation, limits, and the way there and back."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.errors import LibraryError
from render.geometry import Path
from render.geometry.shapes import circle, rectangle
from render.model import Artwork, Mark, Operation, Rotary, RotaryKind, RoundBody, Severity
from render.wrap import CAUTIONS, Wrapper, wrap

TUMBLER = RoundBody(circumference=230.0, height=100.0, seam=10.0)
CHUCK_Y = Rotary(RotaryKind.CHUCK, turn=360.0, axis="y")
CHUCK_X = Rotary(RotaryKind.CHUCK, turn=360.0, axis="x")
ROLLER = Rotary(RotaryKind.ROLLER, axis="y")

rotaries = st.builds(
    Rotary,
    st.sampled_from(RotaryKind),
    turn=st.floats(1, 1000),
    axis=st.sampled_from("xy"),
)
bodies = st.builds(RoundBody, st.floats(5, 1000), st.floats(5, 1000))
places = st.complex_numbers(max_magnitude=2000, allow_nan=False, allow_infinity=False)


def artwork(*paths: Path, operation: Operation = Operation.ENGRAVE) -> Artwork:
    return Artwork("p2", "Tumbler", tuple(Mark(operation, path) for path in paths))


def codes(wrapped) -> list[tuple[str, str]]:
    return [(problem.code, str(problem.severity)) for problem in wrapped.problems]


def test_chuck_figures_by_hand():
    wrapped = wrap(artwork(rectangle(57.5, 20, 115, 30)), TUMBLER, CHUCK_Y)
    numbers = wrapped.numbers
    assert numbers.diameter == pytest.approx(73.2113, abs=1e-4)  # 230 / pi
    assert numbers.factor == pytest.approx(360 / 230)
    assert numbers.turn == pytest.approx(360)
    assert numbers.surface == pytest.approx((115, 30))
    assert numbers.machine == pytest.approx((180, 30))
    assert numbers.degrees == pytest.approx(180)
    assert wrapped.problems == ()
    box = wrapped.artwork.marks[0].path.bounds()  # the rim is at x = 100
    assert (box.x0, box.y0, box.x1, box.y1) == pytest.approx((50, 90, 80, 270))


def test_roller_keeps_the_surface_length():
    wrapped = wrap(artwork(rectangle(50, 20, 100, 30)), TUMBLER, ROLLER)
    assert (wrapped.numbers.factor, wrapped.numbers.turn) == (1.0, 230.0)
    assert wrapped.numbers.machine == pytest.approx((100, 30))
    assert wrapped.numbers.surface == pytest.approx((100, 30))


def test_the_axis_decides_what_is_stretched():
    mark = artwork(rectangle(50, 20, 100, 30))
    box = wrap(mark, TUMBLER, CHUCK_X).artwork.marks[0].path.bounds()
    assert (box.x0, box.y0) == pytest.approx((50 * 360 / 230, 20))
    assert (box.width, box.height) == pytest.approx((100 * 360 / 230, 30))


@given(bodies, rotaries, st.booleans())
def test_lettering_is_never_mirrored(body, rotary, half_turned):
    assert Wrapper.of(body, rotary, half_turned=half_turned).turning.placed.determinant() > 0


@given(bodies, rotaries, st.booleans(), st.lists(places, min_size=1, max_size=20))
def test_there_and_back(body, rotary, half_turned, some):
    wrapper = Wrapper.of(body, rotary, half_turned=half_turned)
    points = np.array(some)
    _, drawn = wrapper.map_at(None)
    machine = wrapper.turning.to_machine(drawn.to_surface(points))
    assert np.abs(drawn.to_drawing(wrapper.turning.to_surface(machine)) - points).max() < 1e-9


@given(bodies, rotaries, st.booleans())
def test_the_whole_surface_lies_from_zero_and_makes_one_turn(body, rotary, half_turned):
    surface = rectangle(0, 0, body.circumference, body.height)
    wrapped = wrap(artwork(surface), body, rotary, half_turned=half_turned)
    box = wrapped.artwork.marks[0].path.bounds()
    turn = rotary.turn if rotary.kind is RotaryKind.CHUCK else body.circumference
    expected = (turn, body.height) if rotary.axis == "x" else (body.height, turn)
    assert (box.x0, box.y0) == pytest.approx((0, 0), abs=1e-9)
    assert (box.x1, box.y1) == pytest.approx(expected)
    assert wrapped.numbers.degrees == pytest.approx(360)
    assert wrapped.problems == ()  # no seam: all round is allowed


@given(bodies, rotaries)
def test_the_surface_under_the_beam_is_true(body, rotary):
    """What the machine is sent, turned into angles and back into places on the cylinder, is the drawing."""
    drawn = circle(complex(body.circumference / 2, body.height / 2), min(body.circumference, body.height) / 4)
    sent = wrap(artwork(drawn), body, rotary).artwork.marks[0].path.points
    turn = rotary.turn if rotary.kind is RotaryKind.CHUCK else body.circumference
    around, along = (sent.real, sent.imag) if rotary.axis == "x" else (sent.imag, body.height - sent.real)
    angle, radius = 2 * math.pi * around / turn, body.circumference / (2 * math.pi)
    assert np.allclose(angle * radius, drawn.points.real, atol=1e-8)
    assert np.allclose(along, drawn.points.imag, atol=1e-8)


@pytest.mark.parametrize(
    ("path", "expected"),
    [
        (rectangle(5, 10, 220, 30), []),
        (rectangle(5, 10, 220.01, 30), [("wider-than-the-turn", "stop")]),
        (rectangle(4, 10, 100, 30), [("across-the-seam", "look")]),
        (rectangle(140, 10, 86, 30), [("across-the-seam", "look")]),
        (rectangle(50, 0, 100, 100), []),
        (rectangle(50, 0, 100, 100.01), [("off-the-height", "stop")]),
        (rectangle(50, -1, 100, 30), [("off-the-height", "stop")]),
        (rectangle(0, -1, 230, 130), [("wider-than-the-turn", "stop"), ("off-the-height", "stop")]),
    ],
)
def test_limits(path, expected):
    assert codes(wrap(artwork(path), TUMBLER, CHUCK_Y)) == expected


def test_problems_name_the_piece_and_the_figures():
    (problem,) = wrap(artwork(rectangle(0, 10, 225, 30)), TUMBLER, CHUCK_Y).problems
    assert problem.severity is Severity.STOP
    assert problem.piece == "p2"
    assert "225 mm wide" in problem.message
    assert "220 mm are free" in problem.message
    assert problem.hint


def test_guides_do_not_count_and_nothing_is_fine():
    guide = artwork(rectangle(0, 0, 500, 500), operation=Operation.GUIDE)
    for piece in (guide, artwork()):
        wrapped = wrap(piece, TUMBLER, CHUCK_Y)
        assert wrapped.problems == ()
        assert wrapped.numbers.surface == (0, 0)


def test_curves_stay_curves():
    drawn = circle(100 + 50j, 20)
    sent = wrap(artwork(drawn), TUMBLER, CHUCK_Y).artwork.marks[0].path
    assert np.array_equal(sent.commands, drawn.commands)


@pytest.mark.parametrize(
    ("body", "rotary"),
    [
        (RoundBody(0, 100), CHUCK_Y),
        (RoundBody(math.nan, 100), ROLLER),
        (RoundBody(230, 0), ROLLER),
        (TUMBLER, Rotary(RotaryKind.CHUCK, turn=0)),
        (TUMBLER, Rotary(RotaryKind.ROLLER, axis="z")),
    ],
)
def test_impossible_devices_are_refused(body, rotary):
    with pytest.raises(LibraryError):
        wrap(artwork(rectangle(0, 0, 1, 1)), body, rotary)


def test_cautions_come_along():
    words = " ".join(wrap(artwork(), TUMBLER, ROLLER).cautions)
    assert wrap(artwork(), TUMBLER, ROLLER).cautions == CAUTIONS
    assert all(word in words for word in ("slip", "lens", "sealed or filled", "fumes"))
