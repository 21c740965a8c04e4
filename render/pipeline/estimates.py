"""The book of quotes in the shop folder: what was reckoned with, and what it took."""

from __future__ import annotations

import difflib
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from render.errors import LibraryError
from render.shop.prices import Actual, Kept, Quote
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


def pairs(shop: Path) -> tuple[tuple[Kept, Actual], ...]:
    """Every order of which both are known, by name.

    Raises:
        LibraryError: the book is damaged.
    """
    book, place = _read(shop), str(shop / FILE)
    both = sorted(book["quotes"].keys() & book["actuals"].keys())
    return tuple((kept_from(book["quotes"][n], place), actual_from(book["actuals"][n], place)) for n in both)


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
