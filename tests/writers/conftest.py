"""A small sheet with a bit of everything, for the tests of this room."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest

from render.geometry import CLOSE, CUBIC, LINE, MOVE, QUAD, Path
from render.geometry.path import POINTS_PER_COMMAND
from render.geometry.shapes import circle, line, rectangle
from render.model import Artwork, Mark, Operation, Placement, Sheet


def read_path(data: str) -> Path:
    """Path data of absolute M L Q C Z only, read letter by letter; anything else fails."""
    commands: list[int] = []
    points: list[complex] = []
    assert re.fullmatch(r"(?:[MLQC][-\d. ]+|Z)+", data)
    for letter, numbers in re.findall(r"([MLQCZ])([^MLQCZ]*)", data):
        values = [float(n) for n in numbers.split()]
        assert len(values) == 2 * int(POINTS_PER_COMMAND["MLQCZ".index(letter)])
        commands.append("MLQCZ".index(letter))
        points += [complex(x, y) for x, y in zip(values[::2], values[1::2], strict=True)]
    return Path.of(commands, points)


@pytest.fixture(name="read_path")
def read_path_fixture() -> Callable[[str], Path]:
    return read_path


def leaf() -> Path:
    """A closed shape of lines, a quadratic and a cubic, with a round hole that turns the other way."""
    outer = Path.of(
        [MOVE, LINE, QUAD, CUBIC, CLOSE],
        [10 + 5j, 24 + 5j, 33 + 5j, 33 + 12.3456j, 33 + 20j, 12.5 + 24j, 10 + 14j],
    )
    hole = circle(18 + 12j, 3)
    back = Path(hole.commands, hole.points[::-1].copy())
    return Path.joined((outer, back))


def card(piece: str, title: str) -> Artwork:
    """A card with an engraved leaf and bar, a scored line, a guide, a hole and an outline."""
    marks = (
        Mark(Operation.CUT, Path.joined((circle(4 + 4j, 1.5), rectangle(0, 0, 40, 30, 3)))),
        Mark(Operation.ENGRAVE, leaf()),
        Mark(Operation.ENGRAVE, rectangle(10, 26, 20, 1.5)),
        Mark(Operation.SCORE, line(8 + 2j, 32 + 2j)),
        Mark(Operation.GUIDE, line(20 + 0j, 20 + 30j)),
    )
    return Artwork(piece, title, marks)


@pytest.fixture
def two_cards() -> Sheet:
    """Two cards, one turned a quarter, on 100 × 50 mm."""
    return Sheet(
        1,
        "Two cards",
        (100, 50),
        2,
        (
            Placement(card("p2", "Zoë & Łukasz <3"), 1, 5_000, 5_000),
            Placement(card("p3-2", "محمد"), 2, 90_000, 5_000, 1),
        ),
    )
