from __future__ import annotations

import dataclasses
import hashlib
import struct

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from render import model
from render.geometry import Affine, Path
from render.geometry.shapes import circle, line, rectangle
from render.model import Artwork, Mark, Operation, Placement

SQUARE = rectangle(1, 2, 3, 4)


def artwork(*marks: Mark, piece: str = "p2", title: str = "Amelie") -> Artwork:
    return Artwork(piece, title, marks)


def test_the_digest_is_what_its_description_says() -> None:
    # built here a second time by the words of the docstring, with struct instead of numpy
    sha = hashlib.sha256()
    sha.update(b"engrave\0" + struct.pack("<q", 5) + bytes([0, 1, 1, 1, 4]))
    corners = [(1000, 2000), (4000, 2000), (4000, 6000), (1000, 6000)]
    points = b"".join(struct.pack("<qq", *corner) for corner in corners)
    sha.update(struct.pack("<q", len(points)) + points)
    assert artwork(Mark(Operation.ENGRAVE, SQUARE)).digest() == sha.hexdigest()


def test_the_digest_sees_what_is_burned_and_only_that() -> None:
    plain = artwork(Mark(Operation.ENGRAVE, SQUARE))
    same = artwork(Mark(Operation.GUIDE, line(0, 9)), *plain.marks, piece="p3", title="Bruno")
    assert same.digest() == plain.digest()
    others = [
        artwork(Mark(Operation.CUT, SQUARE)),
        artwork(Mark(Operation.ENGRAVE, SQUARE.moved(0.001, 0))),
        artwork(*plain.marks, Mark(Operation.SCORE, line(0, 9))),
        artwork(Mark(Operation.ENGRAVE, Path.polyline(SQUARE.points))),
        artwork(),
    ]
    assert len({plain.digest(), *(other.digest() for other in others)}) == 6


def test_the_digest_does_not_see_what_rounding_takes_away() -> None:
    plain = artwork(Mark(Operation.ENGRAVE, SQUARE))
    assert artwork(Mark(Operation.ENGRAVE, SQUARE.moved(0.0004, -0.0004))).digest() == plain.digest()


def test_the_digest_follows_the_order_of_burning_not_of_marks() -> None:
    cut, engrave = Mark(Operation.CUT, circle(5, 3)), Mark(Operation.ENGRAVE, SQUARE)
    assert artwork(cut, engrave).digest() == artwork(engrave, cut).digest()


def test_two_paths_cannot_pass_for_one() -> None:
    # the same bytes, split differently between operations
    one = artwork(Mark(Operation.ENGRAVE, Path.joined([line(0, 1), line(2, 3)])))
    two = artwork(Mark(Operation.ENGRAVE, line(0, 1)), Mark(Operation.SCORE, line(2, 3)))
    assert one.digest() != two.digest()


um = st.integers(-500_000, 500_000)


@given(um, um, st.integers(0, 7))
def test_a_placement_turns_clockwise_and_moves_exactly(x: int, y: int, quarters: int) -> None:
    art = artwork(Mark(Operation.CUT, SQUARE))
    placed = Placement(art, 1, x, y, quarters).path_um(SQUARE)
    turned = SQUARE.transformed(Affine.rotation(90 * quarters)).moved(x / 1000, y / 1000)
    assert placed.dtype == np.int64
    assert np.abs(placed / 1000 - np.stack((turned.points.real, turned.points.imag), 1)).max() < 1e-9


def test_every_value_is_frozen_and_slotted() -> None:
    values = [v for v in vars(model).values() if dataclasses.is_dataclass(v)]
    assert len(values) > 15
    for value in values:
        assert value.__dataclass_params__.frozen, value  # type: ignore[union-attr]
        assert "__slots__" in vars(value), value
        assert value.__doc__, value


def test_a_point_that_is_not_finite_has_no_digest() -> None:
    broken = Path(np.array([0, 1], np.uint8), np.array([0, complex("nan")]))
    with pytest.raises(ValueError, match="not a finite"):
        artwork(Mark(Operation.SCORE, broken)).digest()
