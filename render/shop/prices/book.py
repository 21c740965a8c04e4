"""Estimate against actual: what a quote reckoned with, and what it took in the end."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import MISSING, asdict, dataclass, fields, replace
from decimal import Decimal
from fractions import Fraction
from typing import Any

from render.errors import LibraryError
from render.shop.prices.costs import Kind
from render.shop.prices.money import decimal_text
from render.shop.prices.quote import Quote
from render.shop.prices.solve import Sale


@dataclass(frozen=True, slots=True)
class Kept:
    """What a quote reckoned with. Minutes count spoilt pieces too; money is in minor units.

    Attributes:
        order: the order's name.
        thing: id of the blank: the kind of thing.
        other_cost: everything but machine and hands: material, design, consumables, packaging and fees.
        net, gross: what the customer was quoted, without tax and with it.
        fee, tax: shares, as ``3/100``: what the channel keeps of the gross, and the tax on the net.
        agreed: what the customer pays in the end, tax and all, where the ledger knows it; never in the book.
    """

    order: str
    thing: str
    pieces: int
    currency: str
    exponent: int
    machine_minutes: Decimal
    hand_minutes: Decimal
    machine_cost: int
    hand_cost: int
    other_cost: int
    net: int
    gross: int = 0
    fee: str = "0"
    tax: str = "0"
    agreed: int | None = None

    @property
    def paid(self) -> int:
        """What the customer pays: what was agreed, else what was quoted."""
        return self.gross if self.agreed is None else self.agreed

    @property
    def as_agreed(self) -> Kept:
        """The same sold for what was agreed: its own tax and fee by percent, all other costs as reckoned.

        A book that was written before prices were agreed says nothing of tax and fees, and stays as it is.
        """
        if self.agreed is None or not self.gross or self.agreed == self.gross:
            return self
        sale = Sale(Fraction(self.fee), 0, Fraction(self.tax), included=True)
        net, _, gross = sale.parts(self.agreed)
        more = sale.percent_fee(gross) - sale.percent_fee(self.gross)
        return replace(self, net=net, gross=gross, other_cost=self.other_cost + more)

    @classmethod
    def of(cls, order: str, quote: Quote) -> Kept:
        """What is worth keeping of a quote."""
        minutes, cost = dict.fromkeys(Kind, Decimal(0)), dict.fromkeys(Kind, 0)
        for line in quote.costs:
            cost[line.kind] += line.amount
            if line.unit == "min":
                minutes[line.kind] += line.how_much
        worked = (Kind.MACHINE, Kind.HANDS)
        other = sum(amount for kind, amount in cost.items() if kind not in worked)
        return cls(
            order, quote.work.thing, quote.work.pieces, quote.currency.code, quote.currency.exponent,
            minutes[Kind.MACHINE], minutes[Kind.HANDS], cost[Kind.MACHINE], cost[Kind.HANDS],
            other + sum(fee.amount for fee in quote.fees), quote.net, quote.gross,
            str(quote.sale.fee), str(quote.sale.tax),
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Actual:
    """What an order took in the end; `spoilt` pieces were begun and not delivered."""

    order: str
    machine_minutes: Decimal
    hand_minutes: Decimal
    spoilt: int = 0


@dataclass(frozen=True, slots=True)
class Compared:
    """Estimate against actual, of one order or of one kind of thing.

    Attributes:
        name: of the order or the kind.
        machine, hands: estimated and actual minutes.
        machine_ratio, hand_ratio: actual over estimated; None where nothing was estimated.
        quoted, paid: what the customer was quoted and what was agreed, minor units, tax and all.
        profit_reckoned, profit_real: minor units; the real one at the price that was agreed, with the minutes
            it took, at the rates of the quote, and everything else as reckoned.
    """

    name: str
    orders: int
    pieces: int
    spoilt: int
    machine: tuple[Decimal, Decimal]
    hands: tuple[Decimal, Decimal]
    quoted: int
    paid: int
    profit_reckoned: int
    profit_real: int

    @property
    def machine_ratio(self) -> Fraction | None:
        """Actual over estimated minutes of the machine."""
        return _ratio(self.machine)

    @property
    def hand_ratio(self) -> Fraction | None:
        """Actual over estimated minutes by hand."""
        return _ratio(self.hands)

    @property
    def advice(self) -> str:
        """What to change in the shop's figures; empty where the estimate was within a tenth."""
        said = []
        for what, ratio in (("machine", self.machine_ratio), ("hand", self.hand_ratio)):
            if ratio is not None and abs(ratio - 1) > Fraction(1, 10):
                said.append(f"{what} minutes took {decimal_text(ratio, 2)} times the estimate")
        return "; ".join(said)


def compare(kept: Kept, actual: Actual) -> Compared:
    """One order: what was reckoned against what it took."""
    reckoned = kept.net - kept.machine_cost - kept.hand_cost - kept.other_cost
    machine = _scaled(kept.machine_cost, kept.machine_minutes, actual.machine_minutes)
    hands = _scaled(kept.hand_cost, kept.hand_minutes, actual.hand_minutes)
    sold = kept.as_agreed
    return Compared(
        kept.order, 1, kept.pieces, actual.spoilt,
        (kept.machine_minutes, actual.machine_minutes), (kept.hand_minutes, actual.hand_minutes),
        kept.gross, kept.paid, reckoned, sold.net - machine - hands - sold.other_cost,
    )  # fmt: skip


def by_kind(pairs: Iterable[tuple[Kept, Actual]]) -> tuple[Compared, ...]:
    """The same per kind of thing, minutes and money added up; kinds in order of their ids.

    Orders in another currency than a kind's first are a kind of their own.
    """
    groups: dict[str, list[Compared]] = {}
    for kept, actual in pairs:
        groups.setdefault(f"{kept.thing} ({kept.currency})", []).append(compare(kept, actual))
    return tuple(_added(name, groups[name]) for name in sorted(groups))


def _added(name: str, each: list[Compared]) -> Compared:
    return Compared(
        name, len(each), sum(c.pieces for c in each), sum(c.spoilt for c in each),
        _pairs_added([c.machine for c in each]), _pairs_added([c.hands for c in each]),
        sum(c.quoted for c in each), sum(c.paid for c in each),
        sum(c.profit_reckoned for c in each), sum(c.profit_real for c in each),
    )  # fmt: skip


def _pairs_added(pairs: list[tuple[Decimal, Decimal]]) -> tuple[Decimal, Decimal]:
    return sum((p[0] for p in pairs), Decimal(0)), sum((p[1] for p in pairs), Decimal(0))


def _ratio(pair: tuple[Decimal, Decimal]) -> Fraction | None:
    return Fraction(pair[1]) / Fraction(pair[0]) if pair[0] else None


def _scaled(cost: int, reckoned: Decimal, real: Decimal) -> int:
    """The cost at the same rate for other minutes, rounded half up; unchanged where none were reckoned."""
    from render.shop.prices.money import half_up

    return half_up(Fraction(cost) * Fraction(real) / Fraction(reckoned)) if reckoned else cost


def to_values(value: Kept | Actual) -> dict[str, Any]:
    """As plain values for JSON; decimals as text, what is not known left out."""
    values = {key: str(v) if isinstance(v, Decimal) else v for key, v in asdict(value).items()}
    return {key: v for key, v in values.items() if v is not None}


def kept_from(values: Mapping[str, Any], place: str) -> Kept:
    """A kept quote from the values of :func:`to_values`.

    Raises:
        LibraryError: they are damaged.
    """
    return Kept(**_from(Kept, values, place))


def actual_from(values: Mapping[str, Any], place: str) -> Actual:
    """An actual from the values of :func:`to_values`.

    Raises:
        LibraryError: they are damaged.
    """
    return Actual(**_from(Actual, values, place))


def _from(kind: type[Kept] | type[Actual], values: Mapping[str, Any], place: str) -> dict[str, Any]:
    try:
        return {
            f.name: Decimal(values[f.name]) if f.type == "Decimal" else type(values[f.name])(values[f.name])
            for f in fields(kind)
            if f.name in values or f.default is MISSING
        }
    except (KeyError, TypeError, ValueError, ArithmeticError) as error:
        hint = "take the file from your backup; Monikerf writes it whole or not at all"
        raise LibraryError("the book of quotes is damaged", hint=hint, place=place) from error
