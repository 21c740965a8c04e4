"""The settings of prices: exact, marked, and told where they are wrong."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import pytest

from render.errors import LibraryError
from render.shop.prices import (
    Ask,
    Sale,
    make_quote,
)
from render.shop.prices.costs import cost_lines
from render.shop.prices.settings import example_text, load_prices, parse_prices
from tests.shop.priced import CARDS, EXAMPLE, WORK


@pytest.mark.parametrize(
    ("change", "message", "place"),
    [
        (("margin = 40", "margin = 40\nmarkup = 50"), "either margin or markup", "target"),
        (('currency = "EUR"', 'currency = "EURO"'), "ISO 4217", ""),
        (("machine_hour = 9.00", "machine_hour = -9"), "greater than or equal to 0", "rates.machine_hour"),
        (("machine_hour = 9.00", ""), "this key is missing", "rates.machine_hour"),
        (("spoilage = 4 #", "spoiled = 4 #"), "not known here", "things.coaster.spoiled"),
        (("from = 100", "from = 50"), "quantity_breaks", ""),
        (("step = 0.05", "step = 0.005"), "smallest unit", ""),
        (("less = 0", "less = 0.05"), "smaller than step", ""),
        (("machine_hour = 9.00", "machine_hour = 9,00"), "not TOML", ""),
        (("machine_hour = 9.00", "machine_hour = nan"), "finite", "rates.machine_hour"),
    ],
)
def test_wrong_settings_are_told_with_key_and_remedy(
    change: tuple[str, str], message: str, place: str
) -> None:
    text = example_text().replace(*change, 1)
    assert text != example_text()
    with pytest.raises(LibraryError) as error:
        parse_prices(text, "prices.toml")
    assert message in error.value.message
    assert error.value.place == ("prices.toml, key " + place if place else "prices.toml")


def test_figures_of_the_file_are_exact() -> None:
    assert EXAMPLE.stock["card"].price == Decimal("0.28")
    assert EXAMPLE.things["coaster"].price == Decimal("1.10")


def test_every_figure_of_the_example_is_marked_or_plain_size() -> None:
    for line in example_text().splitlines():
        key, equals, rest = line.partition("=")
        money = equals and not key.lstrip().startswith("#") and any(c.isdigit() for c in rest.split("#")[0])
        if money and key.strip() not in (
            "machine",
            "width",
            "height",
            "less",
            "design_minutes",
            "per_load",
            "least_margin",
        ):
            assert "# example" in line, line


def test_what_is_missing_names_the_table_to_add(tmp_path: Path) -> None:
    with pytest.raises(LibraryError, match="no price for the blank vase") as error:
        make_quote(replace(WORK, thing="vase"), EXAMPLE)
    assert "[things.vase]" in error.value.hint
    with pytest.raises(LibraryError, match="no price for a sheet of cork") as error:
        make_quote(replace(CARDS, material="cork"), EXAMPLE)
    assert "[stock.cork]" in error.value.hint
    with pytest.raises(LibraryError) as error:
        make_quote(WORK, EXAMPLE, Ask(channel="wob"))
    assert "did you mean web" in error.value.hint
    with pytest.raises(LibraryError) as error:
        load_prices(tmp_path / "prices.toml")
    assert "--example" in error.value.hint


def test_a_target_that_cannot_be_met_is_refused() -> None:
    sale = Sale(Fraction(1, 10), 0, Fraction(1, 5))
    with pytest.raises(LibraryError, match="no price reaches"):
        sale.net_for(100, Fraction(88, 100))
    assert sale.net_for(100, Fraction(87, 100)) == 10000  # 1 / (1 - 0.87 - 0.12)


def test_a_piece_that_is_spoilt_in_a_rotary_is_set_up_again() -> None:
    """By hand: of 25 begun 4 % are spoilt, which leaves 24; each is a load of 4 minutes' setting up."""
    lines = cost_lines(replace(WORK, pieces=24, loads=24), EXAMPLE)
    (setting_up,) = (line for line in lines if line.what.startswith("setting up"))
    assert setting_up.what == "setting up, 4 min × 25 loads"
    assert setting_up.how_much == 100
