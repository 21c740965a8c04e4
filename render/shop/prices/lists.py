"""List prices: what one piece, or several, cost over the counter, as they are made in runs."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from render.shop.prices.costs import Work, cost_lines, total
from render.shop.prices.quote import break_discount

if TYPE_CHECKING:
    from render.shop.prices.settings import Prices


@dataclass(frozen=True, slots=True)
class ListPrice:
    """What a quantity comes to over the counter, minor units.

    Attributes:
        shown: the total as prices are shown, with the quantity break.
        cost: their share of the run's costs, rounded up.
        net: the total without tax.
        profit: what is left after costs, fees and tax.
    """

    quantity: int
    shown: int
    cost: int
    net: int
    profit: int

    @property
    def margin(self) -> Fraction:
        """Profit over net price; 0 for a price of nothing."""
        return Fraction(self.profit, self.net) if self.net else Fraction(0)


def list_prices(run: Work, prices: Prices) -> tuple[ListPrice, ...]:
    """The prices of the list's quantities of a thing that is made in runs such as `run`.

    One piece costs its share of a run (set-up, design, box and label included). The price of one meets the
    target in a sale of one; more pieces get the quantity breaks. Least order and rush do not apply.

    Raises:
        LibraryError: a price is missing, the channel is unknown, or no price meets the target.
    """
    costs = total(cost_lines(run, prices, prices.stall.design_minutes))
    step, less = prices.steps
    _, single = prices.sale(prices.stall.channel, 1)
    unit = single.unit_price(_share(costs, 1, run.pieces), 1, prices.margin, step, less)
    listed = []
    for quantity in prices.stall.quantities:
        _, sale = prices.sale(prices.stall.channel, quantity)
        off, _ = break_discount(quantity, unit, prices.breaks, beyond=prices.breaks_beyond)
        shown, cost = quantity * unit - off, _share(costs, quantity, run.pieces)
        listed.append(ListPrice(quantity, shown, cost, sale.parts(shown)[0], sale.profit(shown, cost)))
    return tuple(listed)


def _share(costs: int, quantity: int, run: int) -> int:
    return math.ceil(Fraction(costs * quantity, run))
