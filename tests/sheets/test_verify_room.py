"""Pieces keep their distance and stay on the sheet, by their true shape."""

from __future__ import annotations

from dataclasses import replace

import pytest

from render.geometry import Path
from render.geometry.shapes import circle, rectangle
from render.model import Artwork, Mark, Operation, Placement, Sheet
from tests.sheets.verified import findings


def loose(*places: tuple[float, float], gap: float = 2.0, path: Path | None = None) -> Sheet:
    """Pieces at any places, mm, laid out by hand."""
    path = path or circle(10 + 10j, 10)
    placements = tuple(
        Placement(Artwork(f"p{n}", "Disc", (Mark(Operation.CUT, path),)), n, round(x * 1000), round(y * 1000))
        for n, (x, y) in enumerate(places, 1)
    )
    colours = {operation: f"#{n}{n}{n}{n}{n}{n}" for n, operation in enumerate(Operation, 1)}
    return Sheet(1, "By hand", (300, 200), gap, placements, colours)


# centres of discs of radius 10 that lie (17, 17) apart: 24.0416 - 20 = 4.0416 mm between them
@pytest.mark.parametrize(
    ("at", "gap", "codes"),
    [
        ((17, 17), 4.04, set()),
        ((17, 17), 4.05, {"too-near"}),
        ((-17, 17), 4.04, set()),
        ((-17, 17), 4.05, {"too-near"}),
        ((22, 0), 2, set()),
        ((21.99, 0), 2, {"too-near"}),
        ((20, 0), 0, set()),
        ((19.9, 0), 0, {"too-near"}),
        ((0, 0), 0, {"too-near"}),
    ],
)
def test_pieces_keep_the_gap_by_their_true_shape(at, gap, codes, make):
    sheet = loose((50, 50), (50 + at[0], 50 + at[1]), gap=gap)
    assert findings(make.tiny_svg(sheet), sheet) == codes


def test_a_piece_within_another_is_too_near(make):
    outer = loose((50, 50), gap=1, path=rectangle(0, 0, 60, 60)).placements[0]
    inner = loose((0, 0), (70, 70), gap=1).placements[1]
    sheet = replace(loose(gap=1), placements=(outer, inner))
    assert findings(make.tiny_svg(sheet), sheet) == {"too-near"}


@pytest.mark.parametrize(
    ("x", "codes"), [(0, set()), (-0.001, {"off-sheet"}), (280, set()), (280.001, {"off-sheet"})]
)
def test_nothing_reaches_beyond_the_sheet(x, codes, make):
    sheet = loose((x, 100))
    assert findings(make.tiny_svg(sheet), sheet) == codes


def test_handles_that_leave_the_sheet_while_the_curve_does_not_are_allowed(make):
    bow = Path.of([0, 2, 4], [0 + 10j, 20 - 10j, 40 + 10j])  # its top is at y = 0
    sheet = loose((0, 0), path=bow)
    assert findings(make.tiny_svg(sheet), sheet) == set()
    sheet = loose((0, -0.001), path=bow)
    assert findings(make.tiny_svg(sheet), sheet) == {"off-sheet"}
