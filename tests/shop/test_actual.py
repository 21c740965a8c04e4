"""What a job really took, beside its quote."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.errors import LibraryError
from render.shop.prices import (
    Ask,
    Kept,
    Quote,
    make_quote,
)
from render.shop.prices.book import Actual, by_kind, compare, kept_from, to_values
from tests.shop.priced import CARDS, EXAMPLE, WORK


def kept_of(quote: Quote, order: str = "wedding") -> Kept:
    return Kept.of(order, quote)


def test_estimate_against_actual_at_the_rates_of_the_quote() -> None:
    kept = kept_of(make_quote(WORK, EXAMPLE))
    same = compare(kept, Actual("wedding", kept.machine_minutes, kept.hand_minutes))
    assert same.profit_real == same.profit_reckoned == make_quote(WORK, EXAMPLE).profit
    assert same.machine_ratio == same.hand_ratio == 1
    assert same.advice == ""
    slow = compare(kept, Actual("wedding", kept.machine_minutes * 2, kept.hand_minutes, 3))
    assert slow.profit_reckoned - slow.profit_real == kept.machine_cost
    assert slow.advice == "machine minutes took 2 times the estimate"


@given(st.integers(0, 10**7), st.sampled_from(["", "web"]))
def test_at_the_price_agreed_tax_and_fees_follow(agreed: int, channel: str) -> None:
    quote = make_quote(WORK, EXAMPLE, Ask(channel=channel))
    kept = replace(kept_of(quote), agreed=agreed)
    told = compare(kept, Actual("wedding", kept.machine_minutes, kept.hand_minutes))
    assert (told.quoted, told.paid, told.profit_reckoned) == (quote.gross, agreed, quote.profit)
    assert told.profit_real == replace(quote.sale, included=True).profit(agreed, quote.cost)


def test_kinds_of_things_are_added_up() -> None:
    first, second = kept_of(make_quote(WORK, EXAMPLE)), kept_of(make_quote(CARDS, EXAMPLE), "cards")
    pairs = [(k, Actual(k.order, k.machine_minutes, k.hand_minutes, 1)) for k in (first, second, first)]
    coaster, card = by_kind(pairs)
    assert (coaster.name, coaster.orders, coaster.pieces, coaster.spoilt) == ("coaster (EUR)", 2, 48, 2)
    assert coaster.profit_real == 2 * compare(*pairs[0]).profit_real
    assert card.pieces == 120


def test_a_kept_quote_comes_back_as_it_was_and_damage_is_told() -> None:
    kept = kept_of(make_quote(WORK, EXAMPLE))
    values: dict[str, Any] = to_values(kept)
    assert kept_from(values, "quotes.json") == kept
    before_prices_were_agreed = {k: v for k, v in values.items() if k not in ("gross", "fee", "tax")}
    assert replace(kept_from(before_prices_were_agreed, "quotes.json"), agreed=1).as_agreed.net == kept.net
    with pytest.raises(LibraryError, match="damaged"):
        kept_from(values | {"machine_minutes": "long"}, "quotes.json")
