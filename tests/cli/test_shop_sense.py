"""From a test card to a recipe, from that to a time, from timed loads to a better one; what is refused."""

from __future__ import annotations

import json
import re
import tomllib
from pathlib import Path
from typing import Any

import pytest
from lxml import etree
from PIL import Image

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    folder = tmp_path / "shop"
    folder.mkdir()
    return folder


@pytest.fixture
def table(tmp_path: Path) -> Path:
    path = tmp_path / "names.csv"
    path.write_text("Name\nAna Morel\nBo Tanaka\nZoë O'Neill\n", encoding="utf-8")
    return path


GRID = ("--rows", "power=20:60:20", "--columns", "speed=50,100,200")


def test_from_card_to_recipe(monikerf, shop, tmp_path) -> None:
    words = ("test-card", "grid", "--machine", "diode", "--material", "plywood", "-o", tmp_path / "cards")
    answer = monikerf(*words, *GRID, "--set", "interval=0.1", "--json")
    assert answer.code == 0, answer
    assert answer.values["cautions"][0].startswith("Eyes: eye protection rated for 445 to 455 nm")
    root = etree.parse(tmp_path / "cards" / "test-card-grid.svg").getroot()
    groups = {
        g.get("id"): g.find(f"{SVG}title").text
        for g in root.iter(f"{SVG}g")
        if g.find(f"{SVG}title") is not None
    }
    assert groups["b3-engrave"] == "b3: speed 100 mm/s, power 60 %"
    assert len([name for name in groups if name.endswith("-engrave")]) == 9
    with Image.open(tmp_path / "cards" / "test-card-grid.png") as picture:
        assert picture.width == 2000
    card = tmp_path / "cards" / "test-card-grid.json"
    words = ("--best", "b2", "--date", "2026-03-01", "--batch", "B7", "--photo", "b7.jpg", "--shop", shop)
    assert monikerf("test-read", card, *words).code == 0
    recipe = tomllib.loads((shop / "recipes" / "plywood-engrave-diode.toml").read_text("utf-8"))
    assert (recipe["speed"], recipe["power"], recipe["interval"]) == (100, 40, 0.1)
    assert (recipe["batch"], recipe["photo"], str(recipe["date"])) == ("B7", "b7.jpg", "2026-03-01")
    assert monikerf("recipe", "list", "--shop", shop, "--json").values[0]["id"] == "plywood-engrave-diode"
    assert "plywood-engrave-diode" in monikerf("recipe", "list", "--shop", shop).out


def test_what_the_card_does_not_know_is_asked_for(monikerf, shop, tmp_path) -> None:
    words = ("test-card", "grid", "--machine", "diode", "--material", "plywood", "-o", tmp_path)
    assert monikerf(*words, *GRID).code == 0
    card = tmp_path / "test-card-grid.json"
    lacks = monikerf("test-read", card, "--best", "a1", "--shop", shop)
    assert (lacks.code, "needs interval" in lacks.err) == (2, True)
    assert monikerf("test-read", card, "--best", "z9", "--shop", shop).code == 2
    assert monikerf("test-read", card, "--shop", shop).code == 2
    assert not list(shop.iterdir())
    assert monikerf("test-read", card, "--best", "a1", "--set", "interval=0.1").code == 2  # no shop
    assert monikerf("test-card", "grid", *words[2:]).code == 2  # no ranges: none are invented


def test_what_was_measured_reaches_machine_and_material(monikerf, shop, tmp_path) -> None:
    cards = ("--machine", "co2", "--material", "plywood", "-o", tmp_path)
    assert monikerf("test-card", "kerf", *cards, "--thickness", 3).code == 0
    assert monikerf("test-card", "details", *cards).code == 0
    assert monikerf("test-card", "rotary", *cards, "--circumference", 200).code == 0
    row = ("--row", 98.2)  # (100 - 98.2) / 10 by hand
    assert monikerf("test-read", tmp_path / "test-card-kerf.json", *row, "--shop", shop).code == 0
    fine = ("--stroke", 0.33, "--gap", 0.4)
    assert monikerf("test-read", tmp_path / "test-card-details.json", *fine, "--shop", shop).code == 0
    over = ("--overshoot", 2)
    assert monikerf("test-read", tmp_path / "test-card-rotary.json", *over, "--shop", shop).code == 0
    machine = tomllib.loads((shop / "library" / "machines" / "co2.toml").read_text("utf-8"))
    assert machine["kerfs"] == {"plywood": 0.18}
    assert machine["rotary"]["calibration"]["factor"] == pytest.approx(200 / 202, abs=1e-6)
    assert machine["rotary"]["turn"] == 360  # as its data sheet has it
    material = tomllib.loads((shop / "library" / "materials" / "plywood.toml").read_text("utf-8"))
    assert (material["smallest_stroke"], material["smallest_gap"]) == (0.33, 0.4)
    for card, wrong in (
        ("kerf", ("--kerf", 5)),
        ("details", ("--stroke", -1)),
        ("rotary", ("--overshoot", 99)),
    ):
        assert monikerf("test-read", tmp_path / f"test-card-{card}.json", *wrong, "--shop", shop).code == 2


def test_a_card_says_what_its_light_will_hardly_do(monikerf, tmp_path) -> None:
    words = ("test-card", "details", "-o", tmp_path, "--material")
    clear = monikerf(*words, "acrylic-cast", "--machine", "diode")
    assert clear.code == 0  # a card is there to try
    assert "blue light passes through clear acrylic" in clear.out
    assert monikerf(*words, "plywood", "--machine", "diode", "--json").values["doubts"] == []


@pytest.mark.parametrize("machine", ["co2", "diode-roller"])
def test_a_turn_that_was_read_off_is_right_the_next_time(monikerf, shop, tmp_path, machine) -> None:
    """Chuck and rollers alike: a thing that went 1.5 % too far is sent less, on the next card too."""
    card = ("--machine", machine, "--material", "steel", "--circumference", 200, "--shop", shop)

    def sent(folder: str) -> float:
        assert monikerf("test-card", "rotary", *card, "-o", tmp_path / folder).code == 0
        svg = (tmp_path / folder / "test-card-rotary.svg").read_text("utf-8")
        turn = re.search(r'id="turn-score">.*?d="M[\d.]+ ([\d.]+)', svg, re.DOTALL)
        assert turn
        return float(turn[1])

    before = sent("one")
    read = ("test-read", tmp_path / "one" / "test-card-rotary.json", "--overshoot", 3, "--shop", shop)
    for _ in range(2):  # read twice, it is the same card: nothing adds up
        assert "0.9852 times" in monikerf(*read).out
    assert sent("two") == pytest.approx(before / 1.015, abs=0.002)


def test_the_smallest_stroke_that_was_read_is_the_one_that_fitting_keeps(
    monikerf, shop, table, tmp_path
) -> None:
    words = ("--machine", "diode", "--material", "card", "-o", tmp_path)
    assert monikerf("test-card", "details", *words).code == 0

    def thin() -> int:
        made = monikerf(
            "batch", table, "-t", "place-card", "-o", tmp_path / "o", "--shop", shop, "--json"
        ).values
        return sum("stroke" in problem["code"] or "thin" in problem["code"] for problem in made["problems"])

    before = thin()
    card = tmp_path / "test-card-details.json"
    assert monikerf("test-read", card, "--stroke", 2.5, "--shop", shop).code == 0
    assert thin() > before


@pytest.mark.parametrize("kind", ["interval", "letters", "focus"])
def test_the_other_cards_are_drawn_and_verified(monikerf, tmp_path, kind) -> None:
    answer = monikerf("test-card", kind, "--machine", "co2", "--material", "slate", "-o", tmp_path)
    assert answer.code == 0
    assert answer.out.index("Eyes:") < answer.out.index("How to use it")
    assert {p.name for p in tmp_path.iterdir()} == {f"test-card-{kind}.{s}" for s in ("svg", "png", "json")}


def recipes(monikerf, shop: Path, material: str = "card", machine: str = "diode") -> None:
    words = (
        "--machine",
        machine,
        "--material",
        material,
        "--power",
        30,
        "--date",
        "2026-03-01",
        "--shop",
        shop,
    )
    engrave = ("--operation", "engrave", "--speed", 100, "--interval", 0.1)
    assert monikerf("recipe", "add", *words, *engrave).code == 0
    assert (
        monikerf("recipe", "add", *words, "--operation", "cut", "--speed", 10, "--thickness", 0.3).code == 0
    )


def test_without_recipes_no_time_and_with_them_one(monikerf, shop, table, tmp_path) -> None:
    words = ("batch", table, "-t", "place-card", "--machine", "diode", "-o", tmp_path / "out")
    bare = monikerf(*words, "--json").values
    (time,) = [sheet["time"] for sheet in bare["sheets"]]
    assert (time["computed_s"], time["missing_recipes"]) == (None, ["engrave", "cut"])
    assert bare["recipes"] == []
    assert "No recipe yet for engraving and cutting" in monikerf(*words).out
    recipes(monikerf, shop)
    answer = monikerf(*words, "--shop", shop)
    assert "card-engrave-diode (tested 2026-03-01)" in answer.out
    report = json.loads((tmp_path / "out" / "report.json").read_text("utf-8"))
    (time,) = [sheet["time"] for sheet in report["sheets"]]
    assert time["computed_s"] == time["expected_s"] > 3 * 280 / 10  # three cards of 280 mm round at 10 mm/s
    assert [part["recipe"] for part in time["operations"]] == ["card-engrave-diode", "card-cut-diode"]
    summary = (tmp_path / "out" / "summary.txt").read_text("utf-8")
    assert summary.startswith("Before anything burns:\n* Eyes:")


def test_timed_loads_correct_what_is_computed(monikerf, shop, table, tmp_path) -> None:
    recipes(monikerf, shop)
    timed = []
    for count in (1, 2, 3):
        table.write_text("Name\n" + "".join(f"Ana {n}\n" for n in range(count)), encoding="utf-8")
        out = tmp_path / f"out{count}"
        words = (
            "batch",
            table,
            "-t",
            "place-card",
            "--machine",
            "diode",
            "-o",
            out,
            "--shop",
            shop,
            "--json",
        )
        computed = monikerf(*words).values["sheets"][0]["time"]["computed_s"]
        timed += ["--timed", f"{out / 'sheet-1.svg'}={20 + 1.25 * computed:.2f}"]
    answer = monikerf("calibrate-time", "diode", *timed, "--date", "2026-03-02", "--shop", shop, "--json")
    assert answer.code == 0, answer
    assert answer.values["timing"]["factor"] == pytest.approx(1.25, abs=1e-3)
    assert answer.values["timing"]["start"] == pytest.approx(20, abs=0.5)
    time = monikerf(*words).values["sheets"][0]["time"]
    assert time["expected_s"] == pytest.approx(20 + 1.25 * time["computed_s"], abs=1)
    assert time["error"] == answer.values["timing"]["error"] or time["error"] == pytest.approx(
        answer.values["timing"]["error"], abs=1e-4
    )
    assert "timed loads were off by up to" in monikerf(*words[:-1]).out
    for wrong in ("nowhere/sheet-1.svg=10:00", f"{out / 'sheet-9.svg'}=10:00", f"{out / 'sheet-1.svg'}=soon"):
        assert monikerf("calibrate-time", "diode", "--timed", wrong, "--shop", shop).code == 2
    assert monikerf("calibrate-time", "co2", *timed[:2], "--shop", shop).code == 2  # made for another machine


def test_what_must_never_burn_is_refused_before_anything_is_written(monikerf, shop, table, tmp_path) -> None:
    own = shop / "library" / "blanks"
    own.mkdir(parents=True)
    from render.resources import folder

    text = (folder("shared") / "blanks" / "place-card.toml").read_text("utf-8")
    (own / "place-card.toml").write_text(
        text.replace('material = "card"', 'material = "pvc"'), encoding="utf-8"
    )
    answer = monikerf("batch", table, "-t", "place-card", "-o", tmp_path / "out", "--shop", shop)
    assert answer.code == 2
    assert "hydrogen chloride" in answer.err
    assert not (tmp_path / "out").exists()
    words = ("--machine", "co2", "--material", "pvc")
    assert monikerf("test-card", "letters", *words, "-o", tmp_path / "out").code == 2
    fields = ("--operation", "score", "--speed", 5, "--power", 5, "--shop", shop)
    assert monikerf("recipe", "add", *words, *fields).code == 2


def test_a_light_that_passes_through_makes_no_sheet(monikerf, table, tmp_path) -> None:
    words = ("batch", table, "-t", "desk-plate", "-o", tmp_path / "out")
    answer = monikerf(*words, "--machine", "diode")
    assert answer.code == 1
    assert "blue light passes through clear acrylic" in answer.out
    assert "co2" in answer.out
    assert not list((tmp_path / "out").glob("sheet-*"))
    assert monikerf(*words, "--machine", "co2").code == 0
    assert monikerf(*words).code == 0  # of itself it takes a machine whose light suits


def test_the_materials_are_listed(monikerf) -> None:
    answer = monikerf("show", "materials")
    assert "REFUSED" in answer.out
    rows = {row["id"]: row for row in monikerf("show", "materials", "--json").values}
    assert rows["acrylic-cast"]["blue-diode"] == "no / no"


def test_single_strokes_have_no_thinnest_stroke(monikerf: Any, tmp_path: Path) -> None:
    table, out = tmp_path / "guests.csv", tmp_path / "out"
    table.write_text("Name\nIda Vale\n", "utf-8")
    assert monikerf("batch", table, "-t", "pen-line", "-o", out).code == 0
    assert "inf mm" not in (out / "summary.txt").read_text("utf-8")
    assert "Infinity" not in (out / "report.json").read_text("utf-8")
