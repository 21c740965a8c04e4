"""The price that leaves a wished margin after fees and tax, solved exactly.

Let C be all costs, k the fixed fees, f the share of the gross that the sales channel keeps, t the rate of
tax, P the price without tax. The customer pays G = P (1 + t), the channel keeps F = f G + k, and the shop is
left with the profit

    E = P − C − k − f (1 + t) P.

Margin is the share of the price that is profit, m = E / P. Solved for P:

    P = (C + k) / (1 − m − f (1 + t)).

Markup is the share of the outlay that is profit, u = E / (P − E). Since P = E / m, it follows that
u = m / (1 − m) and m = u / (1 + u): a markup of 100 % is a margin of 50 %, whatever the fees are. (Derived
here.) Where the denominator is not positive, no price reaches the margin: fees and margin eat all of it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from render.errors import LibraryError
from render.shop.prices.money import half_up

LEAST_LEFT: Final = Fraction(1, 100)
"""Margin and fees must leave at least this share of the price for the costs."""


def margin_of(markup: Fraction) -> Fraction:
    """The margin of a markup, both as shares: m = u / (1 + u)."""
    return markup / (1 + markup)


def markup_of(margin: Fraction) -> Fraction:
    """The markup of a margin below 1, both as shares: u = m / (1 − m)."""
    return margin / (1 - margin)


@dataclass(frozen=True, slots=True)
class Sale:
    """How a sale is taxed and what the channel keeps; shares exact, amounts in minor units.

    Attributes:
        fee: share of the gross (what the customer pays, tax and all).
        fixed: fee of the sale, whatever it comes to.
        tax: rate.
        included: whether the prices shown hold the tax already.
    """

    fee: Fraction = Fraction(0)
    fixed: int = 0
    tax: Fraction = Fraction(0)
    included: bool = False

    def parts(self, shown: int) -> tuple[int, int, int]:
        """Net, tax and gross of a total as it is shown, minor units; the tax is rounded half up."""
        if self.included:
            tax = half_up(shown * self.tax / (1 + self.tax))
            return shown - tax, tax, shown
        tax = half_up(shown * self.tax)
        return shown, tax, shown + tax

    def percent_fee(self, gross: int) -> int:
        """What the channel keeps by percent, rounded half up."""
        return half_up(gross * self.fee)

    def profit(self, shown: int, costs: int) -> int:
        """What is left of a shown total after tax, fees and costs."""
        net, _tax, gross = self.parts(shown)
        return net - self.percent_fee(gross) - self.fixed - costs

    def net_for(self, costs: int, margin: Fraction) -> Fraction:
        """The exact price without tax, in minor units, that leaves the margin: (C + k) / (1 − m − f (1 + t)).

        Raises:
            LibraryError: margin and fees leave (almost) nothing of the price for the costs.
        """
        left = 1 - margin - self.fee * (1 + self.tax)
        if left < LEAST_LEFT:
            raise LibraryError(
                "no price reaches this target: margin and fees together take almost all of it",
                hint="lower the margin or markup, or leave the channel whose fees are so high",
            )
        return (costs + self.fixed) / left

    def unit_price(
        self,
        costs: int,
        pieces: int,
        margin: Fraction,
        step: Fraction = Fraction(1),
        less: Fraction = Fraction(0),
    ) -> int:
        """The least price of a piece, as it is shown, that leaves the margin on all of them.

        It is rounded *up* to the next multiple of `step`, less `less` (both in minor units: 100 and 5 make
        prices end in 95), and up once more where the rounding of tax and fee would miss the margin by a unit.
        It never falls when the costs rise: the closed form does not, and a price that suffices for higher
        costs suffices for lower ones.

        Raises:
            LibraryError: no price reaches the margin.
        """
        exact = self.net_for(costs, margin) * (1 + self.tax if self.included else 1) / pieces
        count = math.ceil((exact + less) / step)
        while True:
            price = math.ceil(count * step - less)
            if price >= 0 and self.profit(price * pieces, costs) >= margin * self.parts(price * pieces)[0]:
                return price
            count += 1
