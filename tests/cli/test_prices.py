"""quote, price-list, prices, actual and packing-list, as a person would run them."""

from __future__ import annotations

import json
import tomllib
from decimal import Decimal
from pathlib import Path
from types import SimpleNamespace

import pytest

from render import resources

DEMO = resources.folder("demo")
DAY = ("--date", "2025-06-02")


@pytest.fixture
def shop(monikerf, tmp_path: Path) -> Path:
    folder = tmp_path / "shop"
    folder.mkdir()
    (folder / "prices.toml").write_text(monikerf("prices", "--example").out, encoding="utf-8")
    return folder


@pytest.fixture
def table(tmp_path: Path) -> Path:
    path = tmp_path / "names.csv"
    path.write_text("Name,Table\nAna Morel,Oak\nBo Tanaka,Oak\nZoë O'Neill,Elm\n", encoding="utf-8")
    return path


def test_the_example_is_toml_and_says_that_it_is_one(monikerf, shop: Path) -> None:
    assert tomllib.loads((shop / "prices.toml").read_text("utf-8"))["example"] is True
    told = monikerf("prices", "--shop", shop).out
    assert "margin 40 % = markup 66.7 %" in told
    assert "example figures" in told
    assert "professional" in told


def test_a_quote_adds_up_and_says_where_its_minutes_come_from(monikerf, shop: Path, table: Path) -> None:
    words = ("quote", table, "-t", "place-card", "--shop", shop, "--table", "20,50", "--json")
    answer = monikerf(*words)
    assert answer.code == 0, answer
    values = answer.values
    assert (values["pieces"], values["loads"]) == (3, 1)
    assert values["minutes_from"] == "no recipe: 0.6 min a piece by [things.place-card]"
    assert sum(Decimal(line["amount"]) for line in values["costs"]) == Decimal(values["cost"])
    assert sum(Decimal(line["amount"]) for line in values["charges"]) == Decimal(values["gross"])
    fees = sum(Decimal(fee["amount"]) for fee in values["fees"])
    assert Decimal(values["net"]) - Decimal(values["cost"]) - fees == Decimal(values["profit"])
    # within the margins of A4, turned: (287 + 2) // (51 + 2) × (200 + 2) // (89 + 2) = 5 × 2 cards
    assert [(q["pieces"], q["loads"]) for q in values["quantities"]] == [(20, 2), (50, 5)]
    waste = 100 * (1 - 50 * 89 * 51 / (5 * 297 * 210))
    assert float(values["quantities"][1]["stock_waste_percent"]) == pytest.approx(waste, abs=0.051)
    assert answer.out == monikerf(*words).out


def test_minutes_can_be_given(monikerf, shop: Path, table: Path) -> None:
    words = ("quote", table, "-t", "place-card", "--shop", shop, "--json", "--machine-minutes")
    slow, slower = (monikerf(*words, minutes).values for minutes in ("2", "20.5"))
    assert slower["machine_minutes"] == "61.5"
    assert Decimal(slower["cost"]) > Decimal(slow["cost"])


def test_a_recipe_of_the_shop_gives_the_minutes(monikerf, shop: Path, table: Path) -> None:
    (shop / "recipes").mkdir()
    for operation, more in (("engrave", "interval = 0.1\n"), ("cut", "thickness = 0.3\n")):
        (shop / "recipes" / f"{operation}.toml").write_text(
            f'machine = "diode"\nmaterial = "card"\noperation = "{operation}"\nspeed = 50\npower = 20\n'
            f"date = 2025-05-01\n{more}",  # invented for the test
            encoding="utf-8",
        )
    words = ("quote", table, "-t", "place-card", "--shop", shop, "--machine", "diode", "--json")
    few = monikerf(*words).values
    assert few["minutes_from"] == "worked out from the layout and the shop's recipes"
    many = monikerf(*words, "--quantity", 30).values
    assert 5 < Decimal(many["machine_minutes"]) / Decimal(few["machine_minutes"]) < 20


def test_quote_papers_are_the_same_each_time(monikerf, shop: Path, table: Path, tmp_path: Path) -> None:
    for name in ("one", "two"):
        words = ("--out", tmp_path / name, *DAY, "--number", "Q-7", "--title", "Oak & Elm", "--table", "20")
        answer = monikerf("quote", table, "-t", "place-card", "--shop", shop, *words)
        assert answer.code == 0, answer
    for name in ("quote.pdf", "quote.html"):
        assert (tmp_path / "one" / name).read_bytes() == (tmp_path / "two" / name).read_bytes()
    page = (tmp_path / "one" / "quote.html").read_text("utf-8")
    assert "Oak &amp; Elm" in page
    assert "Q-7" in page
    assert "2025-07-02" in page  # 30 days later
    for secret in ("margin", "costs", "spoilt", "profit", "24 EUR"):
        assert secret not in page.partition("<body>")[2]


def test_without_a_table_the_sample_is_quoted(monikerf, shop: Path) -> None:
    values = monikerf("quote", "-t", "coaster", "--quantity", 10, "--shop", shop, "--json").values
    assert values["pieces"] == 10
    assert values["costs"][0]["what"] == "blanks: slate coaster"


def test_what_cannot_be_made_is_not_offered(monikerf, shop: Path) -> None:
    answer = monikerf("quote", "-t", "desk-plate", "--machine", "diode", "--shop", shop)
    assert answer.code == 2
    assert "clear" in answer.err


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--table", "20,x"), "20,50,120"),
        (("--margin", "40", "--markup", "50"), "two ways"),
        (("--margin", "100"), "below 100"),
        (("--machine-minutes", "-3"), "not a number"),
        (("--machine-minutes", "nan"), "not a number"),
        (("--date", "2025-02-30", "--out", "x"), "not a day"),
        (("--channel", "wob"), "did you mean web"),
        (("--template", ""), "no template"),
    ],
)
def test_wrong_words_are_told(monikerf, shop, table, words, said, tmp_path, monkeypatch) -> None:
    monkeypatch.chdir(tmp_path)
    answer = monikerf("quote", table, "-t", "place-card", "--shop", shop, *words)
    assert answer.code == 2
    assert said in answer.err
    assert not (tmp_path / "x").exists()


def test_without_figures_nothing_is_priced(monikerf, table: Path) -> None:
    answer = monikerf("quote", table, "-t", "place-card")
    assert answer.code == 2
    assert "monikerf prices --example" in answer.err


def test_a_price_list_has_every_design_that_can_be_made(monikerf, shop: Path, tmp_path: Path) -> None:
    file = tmp_path / "list.pdf"
    words = ("coaster", "place-card", "--out", file, *DAY, "--shop", shop)
    answer = monikerf("price-list", *words, "--json")
    assert answer.code == 0, answer
    first = file.read_bytes()
    coaster, card = answer.values["offers"]
    assert (coaster["template"], card["template"]) == ("coaster", "place-card")
    each = [Decimal(price["each"]) for price in coaster["prices"]]
    assert [price["quantity"] for price in coaster["prices"]] == [1, 10, 50]
    assert each == sorted(each, reverse=True)
    assert Decimal(coaster["prices"][0]["margin_percent"]) >= 40
    monikerf("price-list", *words)
    assert file.read_bytes() == first


def test_estimate_against_actual(monikerf, shop: Path, table: Path) -> None:
    assert (
        "Kept: none"
        in monikerf("actual", "names", "--machine-minutes", 3, "--hand-minutes", 9, "--shop", shop).err
    )
    kept = monikerf("quote", table, "-t", "place-card", "--shop", shop, "--keep", "--json").values
    said = monikerf(
        "actual",
        "names",
        "--machine-minutes",
        9,
        "--hand-minutes",
        30,
        "--spoilt",
        1,
        "--shop",
        shop,
        "--json",
    )
    assert said.code == 0, said
    (order,), (kind,) = said.values["orders"], said.values["kinds"]
    assert order["profit_reckoned"] == kept["profit"]
    assert order["spoilt"] == 1
    assert "times the estimate" in order["advice"]
    assert kind["name"] == "place-card (EUR)"
    assert kind["machine_minutes"][1] == "9"
    book = json.loads((shop / "quotes.json").read_text("utf-8"))
    assert set(book["quotes"]) == set(book["actuals"]) == {"names"}
    (shop / "quotes.json").write_text("{", "utf-8")
    assert "damaged" in monikerf("actual", "--shop", shop).err


def test_a_company_is_packed_by_department(monikerf, tmp_path: Path) -> None:
    book, out = DEMO / "staff" / "departments.xlsx", tmp_path / "papers"
    answer = monikerf("packing-list", book, "--all-sheets", "--out", out, *DAY, "--json")
    assert answer.code == 0, answer
    parcels = {parcel["name"]: len(parcel["pieces"]) for parcel in answer.values["parcels"]}
    assert parcels == {"Accounts": 18, "Dispatch": 9, "Stores": 16, "Workshop": 17}
    one = monikerf("packing-list", DEMO / "staff" / "staff.xlsx", "--json").values
    assert {p["name"]: len(p["pieces"]) for p in one["parcels"]} == parcels
    assert (answer.values["by"], one["by"], one["files"]) == ("sheet", "department", [])
    assert [p["text"] for p in one["parcels"][0]["pieces"]][:2] == ["Kirsten Bjørklund", "Caoimhe Devenish"]
    assert sorted(p.name for p in out.iterdir()) == ["departments-labels.pdf", "departments-packing.pdf"]
    assert all(p.read_bytes().startswith(b"%PDF-") for p in out.iterdir())


def test_packing_by_something_else(monikerf, table: Path) -> None:
    told = monikerf("packing-list", table, "--by", "table").out
    assert told.startswith("Elm: 1 piece\n  Zoë")
    assert monikerf("packing-list", table, "--by", "surname").out.startswith("M: 1 piece\n  Ana Morel")
    answer = monikerf("packing-list", table, "--by", "house")
    assert answer.code == 2
    assert "name, table" in answer.err
    assert "no shop that could know" in monikerf("packing-list", "feast").err


# ------------------------------------------------------------------ orders of the ledger


@pytest.fixture
def taken(monikerf, shop: Path, table: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A shop with an order of three cards, and the shop's folder as the current one."""
    monkeypatch.setenv("MONIKERF_NOW", "2026-06-15T09:00:00Z")
    assert monikerf("open-shop", shop).code == 0
    words = ("take-order", table, "-t", "place-card", "--order", "feast", "--due", "2026-06-19")
    assert monikerf(*words, "--shop", shop).code == 0
    monkeypatch.chdir(shop)
    return shop


def test_an_order_is_quoted_as_its_table_is(monikerf, taken: Path, table: Path) -> None:
    of_table = monikerf("quote", table, "-t", "place-card", "--table", "20,50,120", "--json")
    of_order = monikerf("quote", "feast", "--table", "20,50,120", "--json")
    assert (of_table.code, of_order.code) == (0, 0), of_order
    assert of_table.values | {"order": "feast"} == of_order.values
    assert [q["pieces"] for q in of_order.values["quantities"]] == [20, 50, 120]
    assert of_order.values["agreed"] is None


def test_the_price_agreed_stays_with_the_order(monikerf, taken: Path) -> None:
    quoted = monikerf("quote", "feast", "--json").values
    assert (
        monikerf("take-order", taken.parent / "names.csv", "--order", "feast", "--price", "17.00").code == 0
    )
    again = monikerf("quote", "feast", "--keep", "--json").values
    more = Decimal(17) - Decimal(quoted["gross"])
    assert again["agreed"] == {"amount": "17.00", "currency": "EUR", "more_than_quoted": str(more)}
    assert "price agreed 17.00" in monikerf("history", "feast").out
    assert monikerf("history", "feast", "--json").values["price"] == {"amount": "17.00", "currency": "EUR"}
    (due,) = monikerf("today", "--json").values["due"]
    assert due["price"]["amount"] == "17.00"
    assert "17.00" in monikerf("today").out
    minutes = ("--machine-minutes", quoted["machine_minutes"], "--hand-minutes", 1)
    (order,) = monikerf("actual", "feast", *minutes, "--json").values["orders"]
    assert (order["quoted"], order["paid"], order["spoilt"]) == (quoted["gross"], "17.00", 0)
    agreed = monikerf("quote", "feast", "--agree", "--json").values
    assert agreed["agreed"]["amount"] == agreed["gross"] == quoted["gross"]
    assert quoted["gross"] in monikerf("history", "feast").out
    (now,) = monikerf("actual", "--json").values["orders"]
    # the shop's prices hold 20 % tax, and the channel keeps no percentage: 1.20 more leaves 1.00 more
    assert now["profit_reckoned"] == order["profit_reckoned"]
    tax = Decimal(agreed["tax"]) / Decimal(agreed["net"])
    assert abs(Decimal(order["profit_real"]) - Decimal(now["profit_real"]) - more / (1 + tax)) < Decimal(
        "0.01"
    )


def test_what_failed_counts_as_spoilt(monikerf, taken: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from render.pipeline.estimates import spoilt_of
    from render.shop.ledger import Ledger

    seen = [SimpleNamespace(kind=kind) for kind in ("made", "failed", "failed again")]
    monkeypatch.setattr(Ledger, "history", lambda *_: seen)
    assert (spoilt_of(taken, "feast"), spoilt_of(taken, "wedding")) == (2, None)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("feast", "-t", "coaster"), "an order of place-card"),
        (("feast", "--mend"), "--mend is about tables"),
        (("feats",), "did you mean feast"),
        (("feast", "--agree", "--quantity", "4"), "whole order"),
        (("-t", "coaster", "--agree"), "order of the ledger"),
    ],
)
def test_what_an_order_cannot_be_quoted_with_is_told(monikerf, taken: Path, words, said: str) -> None:
    answer = monikerf("quote", *words)
    assert answer.code == 2
    assert said in answer.err


def test_a_workbook_of_departments_is_one_order(monikerf, taken: Path) -> None:
    book = DEMO / "staff" / "departments.xlsx"
    assert monikerf("take-order", book, "-t", "key-tag", "--all-sheets", "--json").values["pieces"] == 60
    parcels = monikerf("packing-list", "departments", "--json").values["parcels"]
    assert {p["name"]: len(p["pieces"]) for p in parcels}["Stores"] == 16
    assert monikerf("quote", "departments", "--json").values["pieces"] == 60


def test_one_quote_for_all_sheets(monikerf, shop: Path) -> None:
    words = ("quote", DEMO / "staff" / "departments.xlsx", "-t", "key-tag", "--shop", shop, "--json")
    assert monikerf(*words, "--all-sheets").values["pieces"] == 60
    assert monikerf(*words, "--table-sheet", "Stores").values["pieces"] == 16
    both = monikerf(*words, "--all-sheets", "--table-sheet", "Stores")
    assert both.code == 2


def test_rows_that_are_held_back_are_not_counted_and_told(monikerf, shop: Path, table: Path) -> None:
    table.write_text("Name,Quantity\nAna,2\nBo,many\n", encoding="utf-8")
    words = ("quote", table, "-t", "place-card", "--shop", shop)
    answer = monikerf(*words, "--json")
    assert answer.code == 1
    assert answer.values["pieces"] == 2
    assert [row[:5] for row in answer.values["not_counted"]] == ["row 3"]
    assert "Not counted" in monikerf(*words).out
    assert monikerf(*words, "--quantity", 3).code == 0
