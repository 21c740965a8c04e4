"""What each script bears where it is cut out in one piece: gaps kept, bars below, ties near the tops."""

from __future__ import annotations

import pytest
import shapely

from render.fitting.bars import STOUT, THICK_EM, bars, tied_aloft
from render.fitting.closer import brought_together
from render.fitting.habits import LEAST_GAP_EM, Keeping, habit_of
from render.fitting.joining import Asked, join
from render.fitting.solids import region_of_path
from render.geometry import Path
from render.geometry.shapes import rectangle

SIZE = 20.0
LETTERS = [rectangle(0, 0, 5, 20), rectangle(6, 0, 5, 20), rectangle(12, 0, 5, 20)]
SPACE = Path.empty()


@pytest.mark.parametrize("script", ["Hebr", "Armn", "Thai", "Taml"])
def test_letters_that_must_not_touch_keep_a_gap(script: str) -> None:
    moves = brought_together(LETTERS, 1.6, 5, SIZE, [script] * 3, room=10)
    assert moves == pytest.approx([0, -0.4, -0.8])  # 0.07 em is 1.4 mm, and they stood 1 mm apart
    wider = brought_together(LETTERS, 1.6, 5, SIZE, [script] * 3, room=10, grow=0.3)
    assert wider == pytest.approx([0, -1, -2])


@pytest.mark.parametrize(("room", "last"), [(0.0, 0.0), (0.5, -0.5), (9.0, -0.8)])
def test_the_gap_is_kept_as_far_as_there_is_room(room: float, last: float) -> None:
    assert brought_together(LETTERS, 1.6, 5, SIZE, ["Hebr"] * 3, room)[-1] == pytest.approx(last)


@pytest.mark.parametrize("script", ["Arab", "Deva", "Beng"])
def test_what_the_font_joins_or_parts_stays_as_it_is(script: str) -> None:
    assert brought_together(LETTERS, 1.6, 5, SIZE, [script] * 3, room=10) == [0, 0, 0]


@pytest.mark.parametrize("script", ["Latn", "Grek", "Cyrl", "Geor"])
def test_letters_that_may_touch_do(script: str) -> None:
    moves = brought_together(LETTERS, 1.6, 5, SIZE, [script] * 3, room=10)
    assert moves == pytest.approx([0, 1.4, 2.8])  # the gap of 1 mm, and a quarter of a neck
    assert moves == brought_together(LETTERS, 1.6, 5, SIZE)


@pytest.mark.parametrize(
    ("scripts", "kept"),
    [(["Latn"] * 3, 0.14), (["Geor"] * 3, 0.2), (["Hebr"] * 3, 0.2), (["Latn", "Latn", "Hebr"], 0.2)],
)
def test_words_without_capitals_keep_a_wider_space(scripts: list[str], kept: float) -> None:
    words = [rectangle(0, 0, 5, 20), SPACE, rectangle(12, 0, 5, 20)]
    assert 12 - 5 - brought_together(words, 1.6, 5, SIZE, scripts)[-1] == pytest.approx(kept * SIZE)


def test_words_are_kept_apart_though_one_stands_above_the_other() -> None:
    words = [rectangle(0, 0, 5, 9), SPACE, rectangle(8, 11, 5, 9)]
    assert brought_together(words, 1.6, 5, SIZE, ["Hebr"] * 3) == [0, 0, 0]


def test_a_bar_lies_below_each_run_that_keeps_apart() -> None:
    letters = [*LETTERS, SPACE, rectangle(30, 0, 5, 20)]
    (bar,) = bars(letters, ["Hebr", "Hebr", "Hebr", "Hebr", "Latn"], 20, SIZE, 1.5, 99)
    box = bar.bounds()
    assert box.height == pytest.approx(max(THICK_EM * SIZE, STOUT * 1.5))
    assert (box.x0, box.x1) == pytest.approx((-0.99, 17.99))
    assert 19.5 < box.y0 < 20 < box.y1
    assert not bars(letters, ["Latn"] * 5, 20, SIZE, 1.5, 99)
    assert bars(letters, ["Hebr"] * 5, 20, SIZE, 1.5, 20.5)[0].bounds().y1 == pytest.approx(20.5)


@pytest.mark.parametrize(("width", "count"), [(40, 0), (9, 1)])
def test_a_bar_of_the_design_does_as_well(width: float, count: int) -> None:
    own = rectangle(-5, 18, width, 6)
    assert len(bars(LETTERS, ["Hebr"] * 3, 20, SIZE, 1.5, 99, [own])) == count


def test_letters_on_a_bar_are_one_piece_and_still_apart() -> None:
    bar = bars(LETTERS, ["Hebr"] * 3, 20, SIZE, 1.5, 99)
    joined = join(Asked((*LETTERS, *bar), 1.5, baselines=((20, 10),)))
    region = region_of_path(joined.path)
    assert (region.geom_type, joined.ties, joined.faults) == ("Polygon", (), ())
    gap = shapely.box(5.02, -1, 5.98, 19)
    assert region.intersection(gap).area < 0.2


def test_what_does_not_reach_the_bar_is_tied_near_its_top() -> None:
    """As yod is, which at its foot would become another letter."""
    letters = [rectangle(0, 0, 5, 20), rectangle(7, 0, 5, 14)]
    told = tied_aloft(letters, ["Hebr"] * 2, 20, SIZE)
    assert [(box.x0, box.y0, box.x1, box.y1) for box in told] == [(0, 0, 12, 20)]
    (arabic,) = tied_aloft(letters, ["Arab"] * 2, 20, SIZE)
    assert (arabic.y0, arabic.y1) == pytest.approx((15.6, 20))
    for aloft, low, high in (((), 12, 16), (tuple(told), 0, 4)):
        (tie,) = join(Asked(tuple(letters), 1.5, baselines=((20, 10),), aloft=aloft)).ties
        assert low < tie[0].imag < high


def test_unknown_scripts_keep_apart() -> None:
    assert habit_of("Khmr").keeping is Keeping.APART
    assert LEAST_GAP_EM > 0
