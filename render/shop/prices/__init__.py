"""What work costs and what it is sold for: exact, every line explained.

Figures come in as decimals and are multiplied as exact fractions; each line is rounded once, to whole minor
units of the currency, halves up. From there on everything is whole numbers, so that lines always add up.
"""

from render.shop.prices.book import Actual, Kept, by_kind, compare
from render.shop.prices.costs import CostLine, Work, cost_lines, total
from render.shop.prices.money import CURRENCIES, Currency, currency, half_up
from render.shop.prices.quote import Ask, Charge, Quote, make_quote
from render.shop.prices.solve import Sale, margin_of, markup_of

__all__ = [
    "CURRENCIES",
    "Actual",
    "Ask",
    "Charge",
    "CostLine",
    "Currency",
    "Kept",
    "Quote",
    "Sale",
    "Work",
    "by_kind",
    "compare",
    "cost_lines",
    "currency",
    "half_up",
    "make_quote",
    "margin_of",
    "markup_of",
    "total",
]
