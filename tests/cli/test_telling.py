"""How commands speak: JSON in every outcome, numbers that say what they count, lists that stay short."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from render.cli import app
from render.pipeline.packing import parcels_by
from tests.cli.conftest import Run


@pytest.fixture
def shop(monikerf: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("MONIKERF_SHOP", str(tmp_path / "shop"))
    monikerf("open-shop", tmp_path / "shop", "--name", "Shop of the tests")
    return tmp_path / "shop"


@pytest.fixture
def table(tmp_path: Path) -> Path:
    file = tmp_path / "guests.csv"
    file.write_text("Name,Table\nAna Morel,10\nBo Tanaka,2\nCy Obi,2\n", encoding="utf-8")
    return file


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("batch",), "Missing argument 'TABLE'."),
        (("batch", "guests.csv"), "Missing option '--"),
        (("check", "guests.csv", "--fnt", "x"), "No such option: --fnt"),
        (("chek", "guests.csv"), "No such command 'chek'"),
        (("show",), None),
        (("check", "guests.csv", "--quantity", "many"), "Invalid value for '--quantity'"),
        (("check", "guests.csv"), "There is no such file."),
    ],
)
def test_what_is_mistyped_is_told_in_json_too(
    monikerf: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...], said: str | None
) -> None:
    monkeypatch.chdir(tmp_path)
    answer = monikerf(*words, "--json")
    assert answer.code == 2
    error = answer.values["error"]
    assert error["message"].startswith(said or "No such option: --json")
    assert error["hint"]
    plain = monikerf(*words)
    assert plain.code == 2
    assert "Traceback" not in plain.err


def test_help_and_held_back_pieces_keep_their_codes_with_json(monikerf: Run, table: Path) -> None:
    assert monikerf("check", "--help", "--json").code == 0
    assert monikerf("check", table, "--json").code == 0
    table.write_text("Name,Quantity\nAna Morel,1\n,3\n", encoding="utf-8")
    answer = monikerf("check", table, "--json")
    assert answer.code == 1
    assert answer.values["problems"]


@pytest.mark.parametrize("as_json", [False, True])
def test_what_the_system_refuses_and_a_stop_are_told(
    monikerf: Run, table: Path, monkeypatch: pytest.MonkeyPatch, as_json: bool
) -> None:
    import render.intake

    def refuse(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device", "somewhere")

    monkeypatch.setattr(render.intake, "read_table", refuse)
    answer = monikerf("check", table, *["--json"] * as_json)
    assert answer.code == 2
    told = json.loads(answer.out)["error"] if as_json else answer.err
    assert "No space left on device" in str(told)
    assert "Traceback" not in answer.err

    def stop(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(render.intake, "read_table", stop)
    answer = monikerf("check", table, *["--json"] * as_json)
    assert answer.code == app._INTERRUPTED
    assert "nothing is half-written" in answer.err


def test_parcels_of_numbers_say_what_they_count_and_come_in_order(monikerf: Run, table: Path) -> None:
    answer = monikerf("packing-list", table, "--by", "table")
    assert answer.out.splitlines() == ["Table 2: 2 pieces", "  Bo Tanaka, Cy Obi", "Table 10: 1 piece",
                                       "  Ana Morel"]  # fmt: skip


def test_parcels_are_counted_within_words_too() -> None:
    from render.model import Order, Piece

    bags = ("Bag 10", "Bag 2", "", "Annex", "7")
    order = Order("o", tuple(Piece(f"p{n}", n, {"name": "A", "bag": bag}) for n, bag in enumerate(bags)))
    assert [p.name for p in parcels_by(order, "bag")[1]] == [
        "Bag 7",
        "Annex",
        "Bag 2",
        "Bag 10",
        "(not said)",
    ]


def test_a_load_tells_who_has_yet_to_approve(monikerf: Run, shop: Path, table: Path) -> None:
    from render.pipeline.shopfolder import open_ledger

    assert monikerf("take-order", table, "-t", "place-card", "--order", "feast").code == 0
    assert monikerf("proof", "feast", "--no-pictures").code == 0
    with open_ledger(shop) as ledger:
        ledger.approve_unasked("feast", "p002", "a test")
    made = monikerf("load", "feast")
    assert made.code == 0
    assert "feast: 2 pieces are not approved yet, and not on these sheets" in made.out
    assert "p002: drawn, version 1" in (history := monikerf("history", "feast").out)
    assert "; in great-vibes, eb-garamond; largest line 15.5 mm)" in history


def test_a_name_is_not_emptied_by_a_slip(monikerf: Run, shop: Path, table: Path) -> None:
    monikerf("take-order", table, "-t", "place-card", "--order", "feast")
    answer = monikerf("correct", "feast", "p002", "name=")
    assert answer.code == 2
    assert "the name would be empty" in answer.err
    assert monikerf("correct", "feast", "p002", "table=").code == 0


def test_designs_without_a_time_are_left_out_in_one_line(monikerf: Run, tmp_path: Path) -> None:
    prices = tmp_path / "prices.toml"
    prices.write_text(monikerf("prices", "--example").out, encoding="utf-8")
    answer = monikerf("price-list", "--prices", prices, "--out", tmp_path / "list.pdf")
    assert answer.code == 0
    lines = [line for line in answer.out.splitlines() if "left out" in line]
    assert len(lines) == 1
    assert ", cake-topper, " in lines[0]
    assert "Write machine_minutes" in answer.out


def test_an_unknown_template_is_met_by_the_nearest(monikerf: Run, table: Path, tmp_path: Path) -> None:
    words = ("batch", table, "-o", tmp_path / "out", "-t")
    near, far = monikerf(*words, "place-crad"), monikerf(*words, "qqqq")
    assert "Did you mean place-card? monikerf show templates lists them." in near.err
    assert "what to do: monikerf show templates lists them." in far.err


def test_a_picture_must_say_its_kind_before_anything_is_told(monikerf: Run, tmp_path: Path) -> None:
    answer = monikerf("show", "machines", "--picture", tmp_path / "all.pdf", "--json")
    assert answer.code == 2
    assert answer.values["error"]["hint"] == "name it all.png or all.svg"
    (tmp_path / "file").write_text("")
    answer = monikerf("show", "machines", "--picture", tmp_path / "file" / "all.png", "--json")
    assert answer.code == 2
    assert answer.values["error"]["message"]
    assert monikerf("show", "machines", "--picture", tmp_path / "all.svg").out.endswith("all.svg\n")


def test_long_texts_are_cut_short_on_the_screen_and_whole_in_json(monikerf: Run, tmp_path: Path) -> None:
    table = tmp_path / "long.csv"
    table.write_text("Name\n" + "Ab  " * 3000 + "\n", encoding="utf-8")
    said = monikerf("check", table)
    assert max(map(len, said.out.splitlines())) < 200
    assert said.out.endswith("1 piece: 1 needs a look\n")
    assert "Ab Ab Ab" in said.out
    (problem,) = monikerf("check", table, "--json").values["problems"]
    assert len(problem["value"]) > 10_000


def test_an_endless_cell_is_not_told_as_a_wrong_quotation_mark(monikerf: Run, tmp_path: Path) -> None:
    table = tmp_path / "endless.csv"
    table.write_text("Name,Table\nAna,1\n" + "x" * 200_000 + ",2\n", encoding="utf-8")
    answer = monikerf("check", table)
    assert answer.code == 2
    assert "A cell holds more than 131 thousand characters." in answer.err
    assert "row 3" in answer.err


def test_where_nothing_was_made_nothing_is_called_verified(monikerf: Run, tmp_path: Path) -> None:
    table = tmp_path / "han.csv"
    table.write_text("Name\n林美玲\n", encoding="utf-8")
    answer = monikerf("batch", table, "-t", "place-card", "-o", tmp_path / "out")
    assert answer.code == 1
    assert "0 of 1 piece on 0 loads" in answer.out
    assert "Verified" not in answer.out


@pytest.mark.parametrize(
    "words",
    [
        ("jig", "straight-tumbler", "-o", "OUT"),
        ("jig", "pet-tag", "-o", "OUT", "--play", "-1"),
        ("calibrate-rotary", "diode", "--marks", "100=99"),
        ("test-card", "rotary", "--machine", "co2", "--material", "plywood", "-o", "OUT"),
    ],
)
def test_every_refusal_has_a_remedy(
    monikerf: Run, shop: Path, tmp_path: Path, words: tuple[str, ...]
) -> None:
    answer = monikerf(*(tmp_path / "out" if word == "OUT" else word for word in words))
    assert answer.code == 2
    assert "what to do: " in answer.err


def test_an_order_is_not_taken_for_a_table_that_is_missing(monikerf: Run, shop: Path) -> None:
    answer = monikerf("proof", "feast", "-t", "place-card", "--json")
    assert answer.code == 2
    assert answer.values["error"]["message"] == "there is no table feast"
    assert "leave --template out" in answer.values["error"]["hint"]


def test_the_example_of_prices_in_json_is_the_same_text(monikerf: Run) -> None:
    assert monikerf("prices", "--example", "--json").values == {
        "example": monikerf("prices", "--example").out
    }
