"""Two jobs, and the example's prices, for the tests of money."""

from __future__ import annotations

from decimal import Decimal

from render.shop.prices import Work
from render.shop.prices.settings import example_text, parse_prices

EXAMPLE = parse_prices(example_text(), "example.toml")
WORK = Work("coaster", "Coaster", "slate", "co2", 24, 4, Decimal("61.5"))
CARDS = Work(
    "place-card", "Place card", "card", "co2", 120, 14, Decimal(72), "", 14 * 297 * 210, 120 * 89 * 51
)
