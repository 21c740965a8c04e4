"""What an order costs the shop: one line for each thing that is used up, each how much × how dear."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction
from typing import TYPE_CHECKING

from render.errors import LibraryError
from render.shop.prices.money import Currency, currency, decimal_text, half_up, percent, rounded

if TYPE_CHECKING:
    from render.shop.prices.settings import Prices, ThingTable


class Kind(StrEnum):
    """What a cost is for."""

    BLANK = "blank"
    STOCK = "stock"
    MACHINE = "machine"
    HANDS = "hands"
    DESIGN = "design"
    CONSUMABLES = "consumables"
    PACKAGING = "packaging"


@dataclass(frozen=True, slots=True)
class Work:
    """What there is to do, as figures.

    Attributes:
        thing: id of the blank.
        title: what a person calls it.
        material, machine: their ids.
        pieces: how many are delivered.
        loads: how many times the machine is loaded.
        machine_minutes: of all loads, without anything that is made again.
        minutes_from: where the machine's minutes come from, in words.
        stock_mm2: area of stock that is taken from the shelf; 0 for ready-made things.
        pieces_mm2: what the pieces take of it; the rest is waste.
    """

    thing: str
    title: str
    material: str
    machine: str
    pieces: int
    loads: int
    machine_minutes: Decimal
    minutes_from: str = ""
    stock_mm2: int = 0
    pieces_mm2: int = 0


@dataclass(frozen=True, slots=True)
class CostLine:
    """One cost: `how_much` `unit` at `rate` per `per` (which holds `units` of the unit) makes `amount`.

    Attributes:
        how_much: rounded to thousandths before it is multiplied, so that the line can be checked by hand.
        rate: in whole currency units.
        amount: minor units, rounded half up.
    """

    kind: Kind
    what: str
    how_much: Decimal
    unit: str
    rate: Decimal
    per: str
    units: int
    amount: int

    @classmethod
    def of(
        cls,
        money: Currency,
        kind: Kind,
        what: str,
        how_much: Fraction,
        unit: str,
        rate: Decimal,
        *,
        per: str = "",
        units: int = 1,
    ) -> CostLine:
        """Work the line out."""
        much = rounded(how_much)
        amount = half_up(money.minor(Fraction(much) * Fraction(rate) / units))
        return cls(kind, what, much, unit, rate, per or unit, units, amount)

    def sum(self, money: Currency) -> str:
        """The line as a sum: ``42.5 min × 18 EUR per hour = 12.75 EUR``."""
        much = f"{decimal_text(self.how_much)} {self.unit}"
        rate = f"{decimal_text(self.rate, 6)} {money.code}"
        return f"{much} × {rate} per {self.per} = {money.text(self.amount)}"


def total(lines: Iterable[CostLine]) -> int:
    """What the lines come to, minor units."""
    return sum(line.amount for line in lines)


def cost_lines(work: Work, prices: Prices, design_minutes: Decimal | None = None) -> tuple[CostLine, ...]:
    """Everything an order costs, fees of the sale apart.

    Of things that spoil, more are begun than delivered: to have `n` good ones where a share s is spoilt,
    n / (1 − s) are begun on average. What is spoilt costs its blank or stock, its minutes on the machine and
    its minutes by hand again, and its share of another load: the whole of one in a rotary, where each piece
    is a load of its own.

    Args:
        work: what there is to do.
        prices: the shop's own figures.
        design_minutes: for this order; None takes the usual ones.

    Raises:
        LibraryError: the shop has no price for the blank or the stock.
    """
    thing = prices.thing(work.thing)
    spoilt = _spoilt_share(work, prices, thing)
    design = prices.design.minutes_per_order if design_minutes is None else design_minutes
    lines = [
        *_material(work, prices, thing, spoilt),
        *_machine(work, prices, spoilt),
        *_hands(work, prices, thing, spoilt),
        _hours(prices, Kind.DESIGN, "design time", Fraction(design), prices.rates.design_hour),
        *_small_things(work, prices, spoilt),
    ]
    return tuple(line for line in lines if line.how_much)


def again(pieces: int | Fraction, spoilt: Fraction) -> Fraction:
    """How many more must be begun so that `pieces` are good: n/(1−s) − n."""
    return Fraction(pieces) / (1 - spoilt) - pieces


def _spoilt_share(work: Work, prices: Prices, thing: ThingTable) -> Fraction:
    if thing.spoilage is not None:
        return percent(thing.spoilage)
    stock = prices.stock.get(work.material)
    return percent(stock.spoilage) if work.stock_mm2 and stock else Fraction(0)


def _material(work: Work, prices: Prices, thing: ThingTable, spoilt: Fraction) -> Iterator[CostLine]:
    money = currency(prices.currency)
    if thing.price is not None:
        name, much = work.title.lower(), Fraction(work.pieces)
        yield CostLine.of(money, Kind.BLANK, f"blanks: {name}", much, "pc", thing.price)
        more = again(much, spoilt)
        yield CostLine.of(money, Kind.BLANK, f"blanks for spoilt ones: {name}", more, "pc", thing.price)
    elif not work.stock_mm2:
        raise _no_price(f"things.{work.thing}", f"the blank {work.thing}", "price = 1.20")
    if not work.stock_mm2:
        return
    stock = prices.stock.get(work.material)
    if stock is None:
        example = "price = 0.35, width = 297, height = 210"
        raise _no_price(f"stock.{work.material}", f"a sheet of {work.material}", example)
    sheet = stock.area
    waste = 1 - Fraction(work.pieces_mm2, work.stock_mm2)
    size = f"{decimal_text(stock.width)} × {decimal_text(stock.height)} mm"
    taken = Fraction(work.stock_mm2) / sheet
    what = f"stock: {work.material}, {size}, {decimal_text(waste * 100, 0)} % waste"
    yield CostLine.of(money, Kind.STOCK, what, taken, "sheet", stock.price)
    what = f"stock for spoilt ones: {work.material}"
    yield CostLine.of(money, Kind.STOCK, what, again(taken, spoilt), "sheet", stock.price)


def _machine(work: Work, prices: Prices, spoilt: Fraction) -> Iterator[CostLine]:
    rate = prices.rates.machine(work.machine)
    minutes = Fraction(work.machine_minutes)
    yield _hours(prices, Kind.MACHINE, f"machine: {work.machine}", minutes, rate)
    yield _hours(prices, Kind.MACHINE, "machine for spoilt ones", again(minutes, spoilt), rate)


def _hands(work: Work, prices: Prices, thing: ThingTable, spoilt: Fraction) -> Iterator[CostLine]:
    hands, rate = prices.hands, prices.rates.hand_hour
    begun, loads = work.pieces + again(work.pieces, spoilt), work.loads + again(work.loads, spoilt)
    each = hands.clean_minutes_per_piece if thing.clean_minutes is None else thing.clean_minutes
    pack = hands.pack_minutes_per_piece if thing.pack_minutes is None else thing.pack_minutes
    load = hands.setup_minutes_per_load if thing.setup_minutes is None else thing.setup_minutes
    wipe = f"{decimal_text(each)} min × {decimal_text(begun)} pc"
    for what, minutes in (
        (f"setting up, {decimal_text(load)} min × {decimal_text(loads)} loads", Fraction(load) * loads),
        (f"weeding and cleaning, {wipe}", Fraction(each) * begun),
        (f"packing, {decimal_text(pack)} min × {work.pieces} pc", Fraction(pack) * work.pieces),
        ("packing, for the order", Fraction(hands.pack_minutes_per_order)),
    ):
        yield _hours(prices, Kind.HANDS, what, minutes, rate)


def _small_things(work: Work, prices: Prices, spoilt: Fraction) -> Iterator[CostLine]:
    used, packing, money = prices.consumables, prices.packaging, currency(prices.currency)
    minutes = Fraction(work.machine_minutes)
    begun, loads = work.pieces + again(work.pieces, spoilt), work.loads + again(work.loads, spoilt)
    minutes += again(minutes, spoilt)
    yield _hours(
        prices, Kind.CONSUMABLES, "power, filter, wear of the machine", minutes, used.per_machine_hour
    )
    for kind, what, much, unit, rate in (
        (Kind.CONSUMABLES, "masking, cleaner, cloths", begun, "pc", used.per_piece),
        (Kind.CONSUMABLES, "what each load uses up", loads, "load", used.per_load),
        (Kind.PACKAGING, "packaging of each piece", Fraction(work.pieces), "pc", packing.per_piece),
        (Kind.PACKAGING, "box and label", Fraction(1), "order", packing.per_order),
    ):
        if rate:
            yield CostLine.of(money, kind, what, much, unit, rate)


def _hours(prices: Prices, kind: Kind, what: str, minutes: Fraction, rate: Decimal) -> CostLine:
    money = currency(prices.currency)
    return CostLine.of(money, kind, what, minutes, "min", rate, per="hour", units=60)


def _no_price(table: str, what: str, example: str) -> LibraryError:
    return LibraryError(
        f"the shop has no price for {what}",
        hint=f"add a table [{table}] with {example} (your own figures) to prices.toml",
    )
