"""Compact path data: the same shape, read by another reader; what is alike is written once."""

from __future__ import annotations

import warnings

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from render.geometry import Path
from render.geometry.path import CLOSE, CUBIC, LINE, MOVE, QUAD
from render.geometry.shapes import circle, rectangle
from render.proof.sketch import PER_MM, Shared, Sketch, compact_data

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import svgpathtools

points = st.builds(complex, st.floats(-300, 300), st.floats(-300, 300))
draws = st.one_of(
    st.tuples(st.just(LINE), points),
    st.tuples(st.just(QUAD), points, points),
    st.tuples(st.just(CUBIC), points, points, points),
)
contours = st.tuples(points, st.lists(draws, min_size=1, max_size=6), st.booleans())


Contour = tuple[complex, list[tuple[object, ...]], bool]


def path_of(parts: list[Contour]) -> Path:
    commands: list[int] = []
    pool: list[complex] = []
    for start, steps, closed in parts:
        commands += [MOVE, *(int(step[0]) for step in steps), *([CLOSE] if closed else [])]  # type: ignore[call-overload]
        pool += [start, *(p for step in steps for p in step[1:])]  # type: ignore[misc]
    return Path(np.array(commands, np.uint8), np.array(pool, np.complex128))


@given(st.lists(contours, min_size=1, max_size=4))
def test_another_reader_finds_the_same_points(parts: list[Contour]) -> None:
    path = path_of(parts)
    grid = np.rint(path.points.view(np.float64) * PER_MM).view(np.complex128)
    first = path.first_points()
    wanted = []
    for command, at in zip(path.commands.tolist(), first.tolist(), strict=True):
        step = {LINE: grid[at : at + 1], QUAD: grid[at : at + 2], CUBIC: grid[at : at + 3]}.get(command)
        if step is not None and (command != LINE or step[0] != grid[at - 1]):
            wanted.append([complex(p) for p in step])
    read = []
    for segment in svgpathtools.parse_path(compact_data(path)):
        names = [n for n in ("control", "control1", "control2", "end") if hasattr(segment, n)]
        read.append([complex(getattr(segment, name)) for name in names])
    closing = iter(wanted)
    missing = next(closing, None)
    for step in read:  # the reader adds the straight line home of a closed contour
        if step == missing:
            missing = next(closing, None)
    assert missing is None


def test_the_form_of_the_data() -> None:
    assert compact_data(rectangle(1, 2, 3, 4)) == "m100 200 300 0 0 400-300 0z"
    two = Path.joined((rectangle(0, 0, 1, 1), rectangle(5, 5, 1, 1)))
    assert compact_data(two) == "m0 0 100 0 0 100-100 0zm500 500 100 0 0 100-100 0z"
    curve = Path.of((MOVE, QUAD, CUBIC), (0, 1, 1 + 1j, 1 + 2j, 2 + 3j, 3 + 3j))
    assert compact_data(curve) == "m0 0q100 0 100 100c0 100 100 200 200 200"


def test_what_is_alike_is_written_once() -> None:
    sketches = [Sketch() for _ in range(3)]
    for sketch in sketches:
        sketch.draw(circle(5 + 5j, 3), {"fill": "#123456", "stroke_width": 0.2})
    sketches[2].draw(rectangle(0, 0, 1, 1), {"fill": "#000000"})
    shared = Shared(sketches)
    assert shared.definitions().count("<path") == 1
    assert shared.svg(sketches[0]) == shared.svg(sketches[1]) == '<use href="#g0"/>'
    assert shared.svg(sketches[2]).startswith('<use href="#d0" fill="#123456" stroke-width="20"/><path ')
