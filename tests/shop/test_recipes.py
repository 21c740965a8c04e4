"""Recipes, records in the shop's own files, and what timed jobs teach."""

from __future__ import annotations

import tomllib
from dataclasses import replace

import numpy as np
import pytest

from render.errors import LibraryError, MonikerfError
from render.model import Operation, Recipe
from render.shop.calibration import TimedJob, fitted_timing
from render.shop.library import Library
from render.shop.recipes import checked_recipe, new_id, read_recipes, recipe_text, recipes_for
from render.shop.records import own_entry

GOOD = {"machine": "co2", "material": "card", "operation": "cut", "speed": 20, "power": 40,
        "thickness": 0.3, "date": "2026-03-01"}  # fmt: skip


def test_a_recipe_survives_its_file(tmp_path) -> None:
    recipe = checked_recipe("mine", {**GOOD, "batch": "B7", "photo": "photos/b7.jpg", "passes": 2})
    (tmp_path / "recipes").mkdir()
    (tmp_path / "recipes" / "mine.toml").write_text(recipe_text(recipe), encoding="utf-8")
    assert read_recipes(tmp_path) == (recipe,)
    assert (recipe.batch, recipe.photo, recipe.date, recipe.passes) == (
        "B7",
        "photos/b7.jpg",
        "2026-03-01",
        2,
    )
    assert read_recipes(None) == ()


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"speed": 0}, "speed"),
        ({"power": 101}, "power"),
        ({"operation": "guide"}, "never burned"),
        ({"operation": "engrave"}, "interval"),
        ({"interval": 0.1}, "interval"),
        ({"thickness": 0}, "thickness"),
        ({"date": "yesterday"}, "date"),
        ({"passes": 0}, "passes"),
        ({"colour": "red"}, "not known here"),
    ],
)
def test_a_recipe_that_is_wrong(change, told) -> None:
    with pytest.raises(LibraryError, match=told):
        checked_recipe("x", {**GOOD, **change})


def test_the_newest_of_this_machine_material_and_thickness() -> None:
    one = checked_recipe("one", GOOD)
    every = [
        one,
        replace(one, id="two", date="2026-04-01"),
        replace(one, id="three", date="2026-05-01", thickness=0.6),
        replace(one, id="four", date="2026-06-01", machine="diode"),
        Recipe("five", "co2", "card", Operation.ENGRAVE, 100, 10, "2026-01-01", interval=0.1, thickness=2),
    ]
    found = recipes_for(every, "co2", "card", 0.3)
    assert {str(o): r.id for o, r in found.items()} == {"engrave": "five", "cut": "two"}
    assert recipes_for(every, "co2", "card", 1.0).keys() == {Operation.ENGRAVE}
    assert recipes_for(every, "infrared", "card", 0.3) == {}
    assert new_id(one, ["card-cut-co2", "card-cut-co2-2"]) == "card-cut-co2-3"


def test_the_shops_own_file_keeps_comments_and_takes_what_was_measured(tmp_path) -> None:
    library = Library.standard()
    path, text = own_entry(library, "machines", "co2", tmp_path, {"rotary.turn": 361.5, "kerfs.card": 0.15})
    assert path == tmp_path / "library" / "machines" / "co2.toml"
    assert "# burn one line and measure it" in text
    path.parent.mkdir(parents=True)
    path.write_text(text, encoding="utf-8")
    mine = Library.standard(tmp_path / "library").machine("co2")
    assert mine.rotary.turn == 361.5
    assert mine.kerfs == {"card": 0.15}
    assert mine.cautions == library.machine("co2").cautions
    _, again = own_entry(Library.standard(tmp_path / "library"), "machines", "co2", tmp_path, {"spot": 0.2})
    assert tomllib.loads(again)["kerfs"] == {"card": 0.15}


# ---------------------------------------------------------------- timed jobs


def jobs(*pairs: tuple[float, float]) -> list[TimedJob]:
    return [TimedJob(f"j{n}", computed, actual) for n, (computed, actual) in enumerate(pairs)]


def test_exact_jobs_are_found_again() -> None:
    timing = fitted_timing(jobs((100, 135), (200, 255), (400, 495)))  # 15 s + 1.2 × computed
    assert (timing.start, timing.factor, timing.jobs) == (pytest.approx(15), pytest.approx(1.2), 3)
    assert timing.error < 0.12  # two jobs alone give no start, so each is missed a little


def test_against_numpys_least_squares() -> None:
    c, a = np.array([80.0, 300, 520, 900]), np.array([120.0, 380, 610, 1100])
    design = np.stack((np.ones(4), c), 1) / a[:, None]
    start, factor = np.linalg.lstsq(design, np.ones(4), rcond=None)[0]
    timing = fitted_timing(jobs(*zip(c, a, strict=True)))
    assert (timing.start, timing.factor) == (pytest.approx(start), pytest.approx(factor))
    misses = []
    for k in range(4):
        rest = np.arange(4) != k
        s, f = np.linalg.lstsq(design[rest], np.ones(3), rcond=None)[0]
        misses.append(abs(s + f * c[k] - a[k]) / a[k])
    assert timing.error == pytest.approx(max(misses))


def test_few_jobs_teach_a_factor_and_own_up_to_it() -> None:
    one = fitted_timing(jobs((100, 130)))
    assert (one.factor, one.start, one.error) == (pytest.approx(1.3), 0, None)
    two = fitted_timing(jobs((100, 110), (100, 130)))
    assert two.start == 0
    assert two.error == pytest.approx(20 / 110)  # the second predicts 130 where it was 110
    falling = fitted_timing(jobs((100, 90), (200, 200), (300, 320)))
    assert falling.start == 0  # a start below nothing is none
    alike = fitted_timing(jobs((100, 110), (100, 120), (100, 130)))
    assert alike.start == 0
    with pytest.raises(MonikerfError, match="no timed job"):
        fitted_timing([])
    with pytest.raises(MonikerfError, match="longer than nothing"):
        fitted_timing(jobs((0, 5)))
