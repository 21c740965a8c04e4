"""The shop's own figures, from ``prices.toml``: read as exact decimals and checked."""

from __future__ import annotations

import difflib
import tomllib
from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from typing import Annotated, Any, Final

from pydantic import BaseModel, Field, ValidationError, model_validator

from render.errors import LibraryError
from render.resources import folder
from render.shop.outlines import Table, Words
from render.shop.prices.money import CURRENCIES, currency, half_up, percent
from render.shop.prices.quote import as_margin
from render.shop.prices.solve import Sale

FILE: Final = "prices.toml"
"""Name of the file in the shop folder."""

_FIGURE: Final = {"allow_inf_nan": False, "max_digits": 15, "decimal_places": 6}
Money = Annotated[Decimal, Field(ge=0, le=1_000_000_000, **_FIGURE)]
Minutes = Annotated[Decimal, Field(ge=0, le=100_000, **_FIGURE)]
Percent = Annotated[Decimal, Field(ge=0, le=1000, **_FIGURE)]
Share = Annotated[Decimal, Field(ge=0, lt=100, **_FIGURE)]
Side = Annotated[Decimal, Field(gt=0, le=100_000, **_FIGURE)]
Text = Annotated[str, Field(max_length=2000)]
Start = Annotated[int, Field(ge=1, le=1_000_000)]


class AboutTable(Table):
    """Who the quote is from: what stands at its head and foot."""

    name: Words = "Your shop"
    lines: tuple[Text, ...] = ()
    foot: Text = ""
    valid_days: Annotated[int, Field(ge=1, le=366)] = 30


class RatesTable(Table):
    """What an hour costs."""

    machine_hour: Money
    hand_hour: Money
    design_hour: Money
    machines: Mapping[str, Money] = Field(default_factory=dict)

    def machine(self, id_: str) -> Decimal:
        """An hour of this machine."""
        return self.machines.get(id_, self.machine_hour)


class HandsTable(Table):
    """Minutes by hand, unless the thing says otherwise."""

    setup_minutes_per_load: Minutes = Decimal(0)
    clean_minutes_per_piece: Minutes = Decimal(0)
    pack_minutes_per_piece: Minutes = Decimal(0)
    pack_minutes_per_order: Minutes = Decimal(0)


class DesignTable(Table):
    """Time at the screen."""

    minutes_per_order: Minutes = Decimal(0)


class ConsumablesTable(Table):
    """What is used up on the way."""

    per_machine_hour: Money = Decimal(0)
    per_piece: Money = Decimal(0)
    per_load: Money = Decimal(0)


class PackagingTable(Table):
    """Bags, boxes, labels."""

    per_piece: Money = Decimal(0)
    per_order: Money = Decimal(0)


class ThingTable(Table):
    """A blank, by its id: what it is called and bought for, and where it differs from the usual.

    `machine` is the id of the machine it is made on, where it is not the first that suits it.
    """

    title: Text = ""
    machine: Text = ""
    price: Money | None = None
    spoilage: Share | None = None
    machine_minutes: Minutes | None = None
    setup_minutes: Minutes | None = None
    clean_minutes: Minutes | None = None
    pack_minutes: Minutes | None = None


class StockTable(Table):
    """A sheet of stock, by the material's id: its price and size (mm) as it is bought."""

    price: Money
    width: Side
    height: Side
    spoilage: Share = Decimal(0)
    keep_offcuts: bool = False

    @property
    def area(self) -> Fraction:
        """Of a whole sheet, mm²."""
        return Fraction(self.width) * Fraction(self.height)


class ChannelTable(Table):
    """Where it is sold, and what that place keeps."""

    title: Text = ""
    percent: Share = Decimal(0)
    fixed_per_order: Money = Decimal(0)
    fixed_per_piece: Money = Decimal(0)


class TaxTable(Table):
    """Tax on sales."""

    name: Words = "Tax"
    percent: Percent = Decimal(0)
    included: bool = False


class TargetTable(Table):
    """What should be left: a margin or a markup, in percent, never both."""

    margin: Share | None = None
    markup: Percent | None = None

    @model_validator(mode="after")
    def _one(self) -> TargetTable:
        if (self.margin is None) == (self.markup is None):
            raise ValueError(
                "give either margin or markup; they are not the same: a markup of 100 is a margin of 50"
            )
        return self


class RushTable(Table):
    """The surcharge for work that jumps the queue."""

    percent: Percent = Decimal(0)


class BreakTable(Table):
    """A quantity break: from so many pieces on, so much off."""

    start: Start = Field(alias="from")
    percent: Share


class MinimumTable(Table):
    """The least that an order comes to, as prices are shown."""

    order: Money = Decimal(0)


class RoundingTable(Table):
    """How the price of a piece is rounded up: to the next `step`, less `less`."""

    step: Money | None = None
    less: Money = Decimal(0)


class StallTable(Table):
    """How a price list is worked out: pieces are made `run` at a time, from finished designs."""

    channel: Text = ""
    run: Start = 12
    design_minutes: Minutes = Decimal(0)
    quantities: tuple[Start, ...] = (1,)


class Prices(Table):
    """The whole file. All sums of money are in whole units of the currency, times in minutes, sizes in mm."""

    example: bool = False
    currency: Words
    shop: AboutTable = AboutTable()
    rates: RatesTable
    hands: HandsTable = HandsTable()
    design: DesignTable = DesignTable()
    consumables: ConsumablesTable = ConsumablesTable()
    packaging: PackagingTable = PackagingTable()
    things: Mapping[str, ThingTable] = Field(default_factory=dict)
    stock: Mapping[str, StockTable] = Field(default_factory=dict)
    channels: Mapping[str, ChannelTable] = Field(default_factory=dict)
    tax: TaxTable = TaxTable()
    target: TargetTable
    least_margin: Share = Decimal(0)
    rush: RushTable = RushTable()
    quantity_breaks: tuple[BreakTable, ...] = ()
    breaks_beyond: bool = False
    minimum: MinimumTable = MinimumTable()
    rounding: RoundingTable = RoundingTable()
    stall: StallTable = StallTable()

    @model_validator(mode="after")
    def _in_order(self) -> Prices:
        if self.currency not in CURRENCIES:
            raise ValueError(
                "currency: write the three capital letters of ISO 4217, such as EUR, GBP, USD or JPY"
            )
        pairs = [(b.start, b.percent) for b in self.quantity_breaks]
        if any(one[0] >= two[0] or one[1] > two[1] for one, two in pairwise(pairs)):
            raise ValueError(
                "quantity_breaks: each must begin at more pieces, and take no less off, than the one before"
            )
        step, less = self.steps
        if step < 1 or step.denominator != 1 or less.denominator != 1:
            raise ValueError("rounding: step and less must be whole numbers of the currency's smallest unit")
        if less >= step:
            raise ValueError("rounding: less must be smaller than step")
        return self

    @property
    def breaks(self) -> tuple[BreakTable, ...]:
        """The quantity breaks, after one of nothing from the first piece on."""
        zero = BreakTable.model_validate({"from": 1, "percent": Decimal(0)})
        return (zero, *self.quantity_breaks)

    @property
    def margin(self) -> Fraction:
        """The target as a margin, a share."""
        margin = as_margin(self.target.margin, self.target.markup)
        assert margin is not None  # noqa: S101 - checked above
        return margin

    @property
    def steps(self) -> tuple[Fraction, Fraction]:
        """Step and less of rounding, minor units."""
        money, rounding = currency(self.currency), self.rounding
        step = Fraction(1) if rounding.step is None else money.minor(rounding.step)
        return step, money.minor(rounding.less)

    def thing(self, id_: str) -> ThingTable:
        """What the shop says about a blank; an empty table if it says nothing."""
        return self.things.get(id_) or ThingTable()

    def sale(self, channel: str, pieces: int) -> tuple[str, Sale]:
        """The name of the channel, and how a sale of so many pieces goes there.

        An empty channel means the first of the file; a shop that names none sells without fees.

        Raises:
            LibraryError: there is no such channel.
        """
        tax = percent(self.tax.percent)
        if not channel and not self.channels:
            return "direct sale", Sale(tax=tax, included=self.tax.included)
        name = channel or next(iter(self.channels))
        if name not in self.channels:
            near = difflib.get_close_matches(name, self.channels, n=1)
            hint = (
                f"did you mean {near[0]}? " if near else ""
            ) + f"Known: {', '.join(self.channels) or 'none'}"
            raise LibraryError(f"there is no sales channel {name!r} in {FILE}", hint=hint)
        table, money = self.channels[name], currency(self.currency)
        fixed = (
            half_up(money.minor(table.fixed_per_order)) + half_up(money.minor(table.fixed_per_piece)) * pieces
        )
        return table.title or name, Sale(percent(table.percent), fixed, tax, self.tax.included)


def example_text() -> str:
    """The documented example, every figure of it invented, to be saved as ``prices.toml`` and replaced."""
    return (folder("shared") / "prices" / "example.toml").read_text(encoding="utf-8")


def load_prices(file: Path) -> Prices:
    """The shop's figures.

    Raises:
        LibraryError: the file is missing, is not TOML, or a key is wrong; with the key and what is allowed.
    """
    try:
        text = file.read_text(encoding="utf-8")
    except FileNotFoundError as error:
        hint = f"write an example with: monikerf prices --example > {FILE}; then put in your own figures"
        raise LibraryError("the shop's prices are not there", hint=hint, place=str(file)) from error
    except (OSError, UnicodeDecodeError) as error:
        hint = "save it as text in UTF-8 and make it readable"
        raise LibraryError(f"cannot be read as text ({error})", hint=hint, place=str(file)) from error
    return parse_prices(text, str(file))


def parse_prices(text: str, place: str) -> Prices:
    """The figures in the text of a file, numbers read as exact decimals.

    Raises:
        LibraryError: as for :func:`load_prices`.
    """
    try:
        raw = tomllib.loads(text, parse_float=Decimal)
    except tomllib.TOMLDecodeError as error:
        hint = 'a line is: key = value, text in "quotes", a number without a currency'
        raise LibraryError(f"is not TOML: {error}", hint=hint, place=place) from error
    try:
        return Prices.model_validate(raw)
    except ValidationError as error:
        raise _complaint(error, place) from error


def _complaint(error: ValidationError, place: str) -> LibraryError:
    """The first thing that is wrong, for a person."""
    first = error.errors()[0]
    parts = [str(part) for part in first["loc"]]
    words = {"extra_forbidden": "this key is not known here", "missing": "this key is missing"}
    message = first["msg"].removeprefix("Value error, ").replace("Input should be", "it must be")
    hint = ""
    if first["type"] in words:
        message, table = words[first["type"]], _table_at(parts[:-1])
        hint = "keys here: " + ", ".join(field.alias or name for name, field in table.model_fields.items())
    key = ".".join(parts)
    return LibraryError(message, hint=hint, place=f"{place}, key {key}" if key else place)


def _table_at(parts: list[str]) -> type[BaseModel]:
    """The table in which a key stands."""
    table: type[BaseModel] = Prices
    for part in parts:
        field = next((f for n, f in table.model_fields.items() if part in (n, f.alias)), None)
        inner = _model_in(field.annotation) if field else None
        table = inner or table
    return table


def _model_in(annotation: Any) -> type[BaseModel] | None:
    """The table that an annotation speaks of, also within Mapping[...] and tuple[...]."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    return next((m for a in getattr(annotation, "__args__", ()) if (m := _model_in(a))), None)
