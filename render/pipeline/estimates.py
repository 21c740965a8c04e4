"""The book of quotes in the shop folder: what was reckoned with, and what it took."""

from __future__ import annotations

import difflib
import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

from render.errors import LibraryError
from render.pipeline.shopfolder import open_ledger
from render.shop.ledger import FILE as LEDGER
from render.shop.prices import Actual, Kept, Quote, currency
from render.shop.prices.book import actual_from, kept_from, to_values
from render.writers.files import ready_folder, write_atomically

FILE: Final = "quotes.json"
"""In the shop folder; written whole or not at all."""


def keep_quote(shop: Path, order: str, quote: Quote) -> None:
    """Keep what a quote reckoned with, in place of an earlier one of the same order.

    Raises:
        OutputError: the shop folder cannot be written to.
        LibraryError: the book is damaged.
    """
    book = _read(shop)
    book["quotes"][order] = to_values(Kept.of(order, quote))
    _write(shop, book)


def record_actual(shop: Path, actual: Actual) -> None:
    """Write down what an order took, in place of what was said of it before.

    Raises:
        LibraryError: there is no kept quote of this order, or the book is damaged.
        OutputError: the shop folder cannot be written to.
    """
    book = _read(shop)
    if actual.order not in book["quotes"]:
        near = difflib.get_close_matches(actual.order, book["quotes"], n=1)
        known = ", ".join(sorted(book["quotes"])) or "none"
        hint = f"did you mean {near[0]}? " if near else "keep one first: monikerf quote … --keep. "
        raise LibraryError(f"no quote of {actual.order!r} was kept", hint=f"{hint}Kept: {known}")
    book["actuals"][actual.order] = to_values(actual)
    _write(shop, book)


@dataclass(frozen=True, slots=True)
class Agreed:
    """What a customer agreed to pay, minor units of a currency, beside what is quoted."""

    price: int
    currency: str
    quote: Quote

    @property
    def _more(self) -> int | None:
        """How much more than the quote; None where the currencies differ."""
        return self.price - self.quote.gross if self.currency == self.quote.currency.code else None

    @property
    def values(self) -> dict[str, str | None]:
        """As plain values for JSON."""
        money, more = currency(self.currency), self._more
        return {
            "amount": money.plain(self.price),
            "currency": self.currency,
            "more_than_quoted": None if more is None else money.plain(more),
        }

    @property
    def told(self) -> str:
        """In words."""
        money, more = currency(self.currency), self._more
        if more is None:
            beside = "in another currency than this quote"
        elif more:
            beside = f"{money.text(abs(more))} {'more' if more > 0 else 'less'} than this quote"
        else:
            beside = "as this quote has it"
        return f"Agreed: {money.text(self.price)}, {beside}"


def pairs(shop: Path) -> tuple[tuple[Kept, Actual], ...]:
    """Every order of which both are known, by name; with the price agreed, where the ledger knows one.

    Raises:
        LibraryError: the book is damaged.
    """
    book, place = _read(shop), str(shop / FILE)
    both = sorted(book["quotes"].keys() & book["actuals"].keys())
    agreed = _agreed(shop)
    return tuple(
        (_sold(kept_from(book["quotes"][n], place), agreed.get(n)), actual_from(book["actuals"][n], place))
        for n in both
    )


def _agreed(shop: Path) -> dict[str, tuple[int, str]]:
    """The price of each order of the ledger that has one, and its currency."""
    if not (shop / LEDGER).is_file():
        return {}
    with open_ledger(shop) as ledger:
        orders = [ledger.order(id_) for id_ in ledger.order_ids()]
    return {order.id: (order.price, order.currency) for order in orders if order.price is not None}


def _sold(kept: Kept, agreed: tuple[int, str] | None) -> Kept:
    return replace(kept, agreed=agreed[0]) if agreed and agreed[1] == kept.currency else kept


def spoilt_of(shop: Path, order: str) -> int | None:
    """How many times a piece of an order failed, as the ledger has it; None where it has no such order."""
    if not (shop / LEDGER).is_file():
        return None
    with open_ledger(shop) as ledger:
        if order not in ledger.order_ids():
            return None
        return sum(event.kind in ("failed", "failed again") for event in ledger.history(order))


def _read(shop: Path) -> dict[str, dict[str, Any]]:
    file = shop / FILE
    try:
        book = json.loads(file.read_text(encoding="utf-8"))
        if not all(isinstance(book[part], dict) for part in ("quotes", "actuals")):
            raise TypeError
    except FileNotFoundError:
        return {"quotes": {}, "actuals": {}}
    except (OSError, ValueError, KeyError, TypeError) as error:
        hint = "take the file from your backup, or move it away to begin a new one"
        raise LibraryError("the book of quotes is damaged", hint=hint, place=str(file)) from error
    return {"quotes": book["quotes"], "actuals": book["actuals"]}


def _write(shop: Path, book: Mapping[str, Any]) -> None:
    text = json.dumps(book, ensure_ascii=False, indent=1, sort_keys=True) + "\n"
    write_atomically(ready_folder(shop) / FILE, text.encode())
