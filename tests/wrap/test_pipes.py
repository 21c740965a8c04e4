"""Round things of published sizes: steel pipes as cylinders, unrolled and turned.

Outside diameters by nominal size are those of ASME B36.10M, "Welded and Seamless Wrought Steel Pipe",
recalled from memory, and compared with the table of that standard in the open library fluids (C. Bell).
"""

from __future__ import annotations

import math
from typing import Final

import pytest

from render.geometry import Path
from render.geometry.shapes import rectangle
from render.model import Artwork, Blank, Hold, Mark, Operation, Rotary, RotaryKind, RoundBody, Stock
from render.shop.rounds import CALIPER_MM, BodyTable
from render.wrap import wrap
from render.wrap.still import SleeveWrapper

PIPES: Final = {
    0.5: 21.3, 0.75: 26.7, 1: 33.4, 1.25: 42.2, 1.5: 48.3, 2: 60.3, 2.5: 73.0, 3: 88.9, 4: 114.3, 6: 168.3,
    8: 219.1,
}  # fmt: skip
"""Outside diameter in mm by nominal pipe size in inches."""


def body(diameter: float, **more: object) -> RoundBody:
    """As a person would write it: the diameter by caliper."""
    return BodyTable.model_validate({"diameter": diameter, "height": 100, **more}).value()


def test_the_sizes_are_those_of_the_standard() -> None:
    fluids = pytest.importorskip("fluids", reason="fluids is not installed")
    published = {size: round(fluids.nearest_pipe(NPS=size, schedule="40")[2] * 1000, 3) for size in PIPES}
    assert published == PIPES


@pytest.mark.parametrize("diameter", PIPES.values())
def test_a_pipe_unrolls_to_pi_times_its_diameter(diameter: float) -> None:
    pipe = body(diameter, surface="sleeve", sleeve={})
    width, height = pipe.drawn
    outline = rectangle(0, 0, width, height)
    blank = Blank(
        "s", "Sleeve", outline, (), (), outline, "felt", 1, Hold.STOCK, stock=Stock(900, 300), body=pipe
    )
    cut = SleeveWrapper.of(blank).cut.outline.bounds()
    assert (cut.width, cut.height) == pytest.approx((math.pi * diameter, 100), abs=5e-7)


@pytest.mark.parametrize("diameter", PIPES.values())
def test_a_pipe_turns_once_for_pi_times_its_diameter(diameter: float) -> None:
    pipe = body(diameter)
    line = Path.polyline([0j, complex(math.pi * diameter, 0)])
    piece = Artwork("p1", "", (Mark(Operation.SCORE, line),))
    for rotary, sent in (
        (Rotary(RotaryKind.CHUCK, turn=360.0), 360.0),
        (Rotary(RotaryKind.ROLLER), math.pi * diameter),
    ):
        wrapped = wrap(piece, pipe, rotary)
        begin, end = wrapped.artwork.marks[0].path.points
        assert abs(end - begin) == pytest.approx(sent)
        assert wrapped.numbers.degrees == pytest.approx(360)
    assert pipe.error == pytest.approx(math.pi * CALIPER_MM)
