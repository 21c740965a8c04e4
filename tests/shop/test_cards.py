"""Test cards: cells where they should be, slots of the right width, figures by hand."""

from __future__ import annotations

from itertools import pairwise

import pytest

from render.errors import MonikerfError
from render.geometry import Path
from render.geometry.shapes import rectangle
from render.model import Mark, Operation, Rotary, RotaryKind
from render.shop.cards import Card, Sweep, grid_card, interval_card, letters_card
from render.shop.gauges import (
    KERFS,
    SQUARE,
    SQUARES,
    details_card,
    focus_card,
    kerf_card,
    rotary_card,
)


def write(text: str, size: float, font: str) -> Path:
    """Words as a box a little narrower than real ones."""
    return rectangle(0, -0.7 * size, 0.5 * size * len(text), 0.7 * size)


def marks(card: Card, start: str) -> dict[str, Mark]:
    return {part.id: part.marks[0] for part in card.parts if part.id.startswith(start)}


@pytest.mark.parametrize(
    ("text", "values"),
    [
        ("power=10:60:10", (10, 20, 30, 40, 50, 60)),
        ("speed=50,100,300", (50, 100, 300)),
        ("interval=0.05:0.2:0.05", (0.05, 0.1, 0.15, 0.2)),
        ("passes=3:1:-1", (3, 2, 1)),
        ("power=20:29:5", (20, 25)),
    ],
)
def test_ranges(text: str, values: tuple[float, ...]) -> None:
    assert Sweep.parse(text).values == values


@pytest.mark.parametrize(
    "text",
    ["", "power", "power=", "power=1:2", "power=1:9:0", "power=9:1:1", "power=0:5:1", "speed=a,b",
     "heat=1:2:1", "power=1,1", "speed=1:100:1", "power=nan,1", "power=1e999:1:1"],
)  # fmt: skip
def test_ranges_that_are_none(text: str) -> None:
    with pytest.raises(MonikerfError):
        Sweep.parse(text)


def test_every_cell_of_a_grid_is_a_piece_of_its_own_with_its_settings() -> None:
    rows, columns = Sweep.parse("power=10:30:10"), Sweep.parse("speed=50,100")
    card = grid_card(write, rows, columns, Operation.CUT, title="T")
    assert list(card.cells) == ["a1", "b1", "a2", "b2", "a3", "b3"]
    assert card.cells["b3"] == {"speed": 100, "power": 30}
    titles = {part.id: part.title for part in card.parts}
    assert titles["b3"] == "speed 100 mm/s, power 30 %"
    cells = [marks(card, name)[name] for name in card.cells]
    assert {mark.operation for mark in cells} == {Operation.CUT}
    boxes = [mark.path.bounds() for mark in cells]
    assert all((round(b.width, 6), round(b.height, 6)) == (10, 10) for b in boxes)
    assert not any(a.overlaps(b, 2.9) for i, a in enumerate(boxes) for b in boxes[:i])
    assert all(b.x1 < card.size[0] and b.y1 < card.size[1] for b in boxes)
    with pytest.raises(MonikerfError, match="Both directions"):
        grid_card(write, rows, rows, Operation.CUT, title="T")


def test_patches_hold_lines_at_their_interval() -> None:
    card = interval_card(write, (0.05, 0.2), title="T")
    for name, step in (("i1", 0.05), ("i2", 0.2)):
        ys = sorted({round(y, 6) for y in marks(card, name)[name].path.points.imag})
        assert all(b - a == pytest.approx(step, abs=1e-6) for a, b in pairwise(ys))
        assert ys[-1] - ys[0] == pytest.approx(12)


@pytest.mark.parametrize("thickness", [3.0, 0.3, 18.0])
def test_the_slot_of_the_right_kerf_is_as_wide_as_the_sheet(thickness: float) -> None:
    """Drawn w, a slot comes out w + kerf (by hand: half the kerf is lost on either side)."""
    card = kerf_card(write, thickness, title="T")
    slots = marks(card, "slot-")
    assert len(slots) == (0 if thickness < 0.35 else len(KERFS))
    for mark, kerf in zip(slots.values(), KERFS, strict=False):
        assert mark.path.bounds().width + kerf == pytest.approx(thickness)
        assert mark.path.is_closed()
    steps = [b - a for a, b in pairwise(KERFS)]
    assert steps == pytest.approx([0.05] * len(steps))
    squares = marks(card, "square-")
    assert sum(mark.path.bounds().width - 0.2 for mark in squares.values()) == pytest.approx(
        SQUARES * SQUARE - 10 * 0.2
    )


def test_the_wedge_is_in_the_middle_at_the_usual_focus() -> None:
    card = focus_card(write, 8.0, title="T")
    heights = [part.title for part in card.parts if part.id.startswith("tick-")]
    assert (heights[0], heights[10], heights[-1]) == (
        "height −4.00 mm", "height +0.00 mm", "height +4.00 mm",
    )  # fmt: skip


def test_the_ladder_has_the_widths_it_says() -> None:
    card = details_card(write, title="T")
    for part in card.parts:
        if part.id.startswith("stroke-"):
            assert part.marks[0].path.bounds().width == pytest.approx(float(part.title.split()[1]))
        if part.id.startswith("gap-"):
            left, right = (contour.bounds() for contour in part.marks[0].path.contours())
            assert right.x0 - left.x1 == pytest.approx(float(part.title.split()[1]))


def test_every_font_in_every_size() -> None:
    card = letters_card(write, ("one", "two"), (4.0, 2.5), "Ag", title="T")
    assert list(marks(card, "two-")) == ["two-4", "two-2_5"]
    assert marks(card, "two-2_5")["two-2_5"].path.bounds().height == pytest.approx(0.7 * 2.5)


@pytest.mark.parametrize("axis", ["x", "y"])
@pytest.mark.parametrize(
    ("kind", "turn", "factor"), [(RotaryKind.CHUCK, 360.0, 1.8), (RotaryKind.ROLLER, 0.0, 1.0)]
)
def test_a_turn_and_ten_millimetres(axis: str, kind: RotaryKind, turn: float, factor: float) -> None:
    """200 mm round: a chuck of 360 mm a turn is sent 1.8 mm for each mm of the surface, a roller 1."""
    card = rotary_card(write, Rotary(kind, turn, axis), 200.0, 200.0 * factor, title="T")

    def along(name: str) -> float:
        point = marks(card, name)[name].path.points[0]
        return point.imag if axis == "y" else point.real

    assert along("start") == 0
    assert along("turn") == pytest.approx(200 * factor)
    assert [along(f"mark-{s}") for s in (10, 50)] == pytest.approx([10 * factor, 50 * factor])
    assert card.size["xy".index(axis)] == pytest.approx(200 * factor)


def test_what_needs_a_rotary_says_so() -> None:
    with pytest.raises(MonikerfError, match="no rotary"):
        rotary_card(write, None, 200.0, 200.0, title="T")
    with pytest.raises(MonikerfError, match="at least 70"):
        rotary_card(write, Rotary(RotaryKind.ROLLER), 10.0, 10.0, title="T")
