"""A quote: what the customer pays and why, and what it leaves the shop."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING, Final

from render.shop.prices.costs import CostLine, Work, cost_lines, total
from render.shop.prices.money import Currency, currency, decimal_text, half_up, percent
from render.shop.prices.solve import Sale, margin_of, markup_of

if TYPE_CHECKING:
    from render.shop.prices.settings import BreakTable, Prices

ROUNDING: Final = (
    "Each line is rounded once, to the smallest unit of the currency, halves up; the price of a piece is "
    "rounded up to the shop's next step, so that the target is met."
)


@dataclass(frozen=True, slots=True)
class Ask:
    """What a customer asks for beside the work itself, and what the shop decides for this one quote.

    Attributes:
        channel: how it is sold; empty: the shop's first channel.
        rush: whether the rush surcharge applies.
        design_minutes: for this order; None takes the usual ones.
        margin: target as a share, instead of the shop's usual one.
    """

    channel: str = ""
    rush: bool = False
    design_minutes: Decimal | None = None
    margin: Fraction | None = None


@dataclass(frozen=True, slots=True)
class Charge:
    """A line that the customer sees; `amount` in minor units, as prices are shown."""

    what: str
    why: str
    amount: int


@dataclass(frozen=True, slots=True)
class Quote:
    """A quote; all amounts in minor units of `currency`.

    Attributes:
        costs: what it costs the shop, line by line.
        unit: price of one piece as it is shown, before breaks and surcharges.
        charges: what the customer sees; they add up to `shown`.
        net, tax, gross: net + tax = gross, which the customer pays.
        fees: what the sales channel keeps: by percent of the gross, and fixed.
        target: the margin that the price of a piece was made for, as a share.
        solved: how the price of a piece was found, in words.
        notes: what the shop should know before it sends the quote.
    """

    work: Work
    currency: Currency
    channel: str
    sale: Sale
    costs: tuple[CostLine, ...]
    unit: int
    charges: tuple[Charge, ...]
    shown: int
    net: int
    tax: int
    gross: int
    fees: tuple[Charge, ...]
    target: Fraction
    solved: str
    notes: tuple[str, ...]

    @property
    def cost(self) -> int:
        """What the order costs, fees apart."""
        return total(self.costs)

    @property
    def profit(self) -> int:
        """What is left: net − costs − fees."""
        return self.net - self.cost - sum(fee.amount for fee in self.fees)

    @property
    def margin(self) -> Fraction:
        """Profit over net price; 0 for a price of nothing."""
        return Fraction(self.profit, self.net) if self.net else Fraction(0)

    @property
    def markup(self) -> Fraction:
        """Profit over everything that was paid out; 0 where nothing was."""
        outlay = self.net - self.profit
        return Fraction(self.profit, outlay) if outlay else Fraction(0)

    @property
    def each(self) -> Fraction:
        """What one piece comes to in the end, as it is shown, exactly."""
        return Fraction(self.shown, self.work.pieces)


def make_quote(work: Work, prices: Prices, ask: Ask | None = None) -> Quote:
    """Price an order.

    The price of a piece meets the target exactly (see :mod:`render.shop.prices.solve`) at this quantity's own
    costs. Then, in this order: the discount of the quantity break, the rush surcharge on what remains, and
    what is missing to the least order. Discounts lower the margin, which is why the margin that is left is
    shown beside the target.

    Raises:
        LibraryError: a price is missing, the channel is unknown, or no price meets the target.
    """
    ask = ask or Ask()
    money = currency(prices.currency)
    name, sale = prices.sale(ask.channel, work.pieces)
    costs = cost_lines(work, prices, ask.design_minutes)
    margin = prices.margin if ask.margin is None else ask.margin
    step, less = prices.steps
    unit = sale.unit_price(total(costs), work.pieces, margin, step, less)
    charges = _charges(work, prices, ask, unit)
    shown = sum(charge.amount for charge in charges)
    net, tax, gross = sale.parts(shown)
    quote = Quote(
        work=work, currency=money, channel=name, sale=sale, costs=costs, unit=unit, charges=charges,
        shown=shown, net=net, tax=tax, gross=gross, fees=_fees(sale, gross, name), target=margin,
        solved=_solved(sale, total(costs), margin, money, unit, work.pieces), notes=(),
    )  # fmt: skip
    return _with_notes(quote, prices)


def _charges(work: Work, prices: Prices, ask: Ask, unit: int) -> tuple[Charge, ...]:
    money = currency(prices.currency)
    goods = unit * work.pieces
    charges = [Charge(work.title, f"{work.pieces} × {money.text(unit)}", goods)]
    discounted, top = break_discount(work.pieces, unit, prices.breaks, beyond=prices.breaks_beyond)
    if discounted:
        why = f"{decimal_text(top.percent)} % from {top.start} pieces"
        if prices.breaks_beyond:
            why = f"on the pieces beyond each step, {why}"
        charges.append(Charge("Quantity discount", why, -discounted))
    so_far = goods - discounted
    if ask.rush and prices.rush.percent:
        extra = half_up(so_far * percent(prices.rush.percent))
        charges.append(
            Charge("Rush", f"{decimal_text(prices.rush.percent)} % of {money.text(so_far)}", extra)
        )
        so_far += extra
    least = half_up(money.minor(prices.minimum.order))
    if so_far < least:
        charges.append(Charge("Up to the least order", f"least order {money.text(least)}", least - so_far))
    return tuple(charges)


def break_discount(
    pieces: int, unit: int, breaks: tuple[BreakTable, ...], *, beyond: bool
) -> tuple[int, BreakTable]:
    """What a quantity takes off, and the highest break that was reached (the zero break, if none).

    Args:
        pieces: how many.
        unit: price of a piece, minor units.
        breaks: in rising order of quantity and percent, beginning with the zero break (from 1, 0 %).
        beyond: True: a break's percent comes off only the pieces from its quantity on, so that more pieces
            never cost less; False: off all pieces.
    """
    reached = [b for b in breaks if pieces >= b.start]
    if not beyond:
        return half_up(pieces * unit * percent(reached[-1].percent)), reached[-1]
    ends = [b.start for b in reached[1:]] + [pieces + 1]
    off = sum(
        ((end - b.start) * percent(b.percent) for b, end in zip(reached, ends, strict=True)), Fraction(0)
    )
    return half_up(unit * off), reached[-1]


def _fees(sale: Sale, gross: int, channel: str) -> tuple[Charge, ...]:
    fees = []
    if sale.fee:
        why = f"{decimal_text(sale.fee * 100, 4)} % of what the customer pays"
        fees.append(Charge(f"fee of {channel}", why, sale.percent_fee(gross)))
    if sale.fixed:
        fees.append(Charge(f"fixed fee of {channel}", "for each sale", sale.fixed))
    return tuple(fees)


def _solved(sale: Sale, costs: int, margin: Fraction, money: Currency, unit: int, pieces: int) -> str:
    """The closed form with this quote's figures, and what it makes of one piece."""
    net = half_up(sale.net_for(costs, margin))
    taken = f" − {decimal_text(sale.fee, 6)} × {decimal_text(1 + sale.tax, 6)}" if sale.fee else ""
    fixed = f"({money.figure(costs)} + {money.figure(sale.fixed)})" if sale.fixed else money.figure(costs)
    price = f"{fixed} ÷ (1 − {decimal_text(margin, 6)}{taken}) = {money.text(net)} without tax"
    each = f"{'with tax, ' if sale.included and sale.tax else ''}by {pieces} and rounded up"
    return f"{price}; {each} {money.text(unit)} each"


def _with_notes(quote: Quote, prices: Prices) -> Quote:
    from dataclasses import replace

    notes = []
    if prices.example:
        notes.append("These are example figures: put your own into prices.toml, and take out example = true.")
    least = percent(prices.least_margin)
    if quote.margin < least:
        notes.append(
            f"The margin left, {share_text(quote.margin)}, is below your least of {share_text(least)}."
        )
    cheaper = _cheaper_break(quote, prices)
    if cheaper:
        notes.append(f"{cheaper} pieces would cost the customer less than {quote.work.pieces}: offer them.")
    return replace(quote, notes=tuple(notes))


def _cheaper_break(quote: Quote, prices: Prices) -> int:
    """The next break's quantity, where at the same price of a piece it would come to less; else 0."""

    def goods(pieces: int) -> int:
        off, _ = break_discount(pieces, quote.unit, prices.breaks, beyond=prices.breaks_beyond)
        return pieces * quote.unit - off

    here = goods(quote.work.pieces)
    more = (b.start for b in prices.breaks if b.start > quote.work.pieces)
    return next((start for start in more if goods(start) < here), 0)


def share_text(share: Fraction) -> str:
    """A share as percent with one decimal, such as ``37.5 %``."""
    return f"{decimal_text(share * 100, 1)} %"


def target_text(margin: Fraction) -> str:
    """Margin and markup side by side, since they are easily confused."""
    return f"margin {share_text(margin)} = markup {share_text(markup_of(margin))}"


def as_margin(margin: Decimal | None, markup: Decimal | None) -> Fraction | None:
    """The margin, as a share, of a target given in percent as either; None if neither is given."""
    if markup is not None:
        return margin_of(percent(markup))
    return None if margin is None else percent(margin)
