"""Prices: exact, monotone, and every line as it says."""

from __future__ import annotations

import ast
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.shop import prices as room
from render.shop.prices import (
    CURRENCIES,
    Ask,
    Sale,
    Work,
    half_up,
    make_quote,
    margin_of,
    markup_of,
)
from render.shop.prices.quote import break_discount
from render.shop.prices.settings import Prices
from tests.shop.priced import CARDS, EXAMPLE, WORK

# ------------------------------------------------------------------ strategies


def decimals(low: int, high: int) -> st.SearchStrategy[Decimal]:
    """Decimals with two places."""
    return st.integers(low * 100, high * 100).map(lambda n: Decimal(n).scaleb(-2))


@st.composite
def settings(draw: st.DrawFn) -> Prices:
    """Prices of a shop, plain or with everything that can be asked of them."""
    starts = sorted(draw(st.sets(st.integers(2, 150), max_size=3)))
    percents = sorted(draw(st.lists(decimals(0, 30), min_size=len(starts), max_size=len(starts))))
    step = draw(st.sampled_from((1, 5, 50, 100)))
    code = draw(st.sampled_from(("EUR", "JPY", "KWD")))
    unit = Decimal(1).scaleb(-CURRENCIES[code].exponent)
    target = {"margin": draw(decimals(0, 60))} if draw(st.booleans()) else {"markup": draw(decimals(0, 150))}
    return Prices.model_validate(
        {
            "currency": code,
            "rates": {k: draw(decimals(0, 60)) for k in ("machine_hour", "hand_hour", "design_hour")},
            "hands": {"clean_minutes_per_piece": draw(decimals(0, 3)), "setup_minutes_per_load": Decimal(4)},
            "design": {"minutes_per_order": draw(decimals(0, 30))},
            "consumables": {"per_piece": draw(decimals(0, 1))},
            "packaging": {"per_order": draw(decimals(0, 4))},
            "things": {"coaster": {"price": draw(decimals(0, 9)), "spoilage": draw(decimals(0, 20))}},
            "channels": {"web": {"percent": draw(decimals(0, 12)), "fixed_per_order": draw(decimals(0, 1))}},
            "tax": {"percent": draw(decimals(0, 25)), "included": draw(st.booleans())},
            "target": target,
            "rush": {"percent": draw(decimals(0, 50))},
            "quantity_breaks": [
                {"from": s, "percent": p} for s, p in zip(starts, percents, strict=True)
            ],
            "breaks_beyond": draw(st.booleans()),
            "minimum": {"order": draw(decimals(0, 40))},
            "rounding": {"step": step * unit, "less": draw(st.integers(0, step - 1)) * unit},
        }
    )  # fmt: skip


@st.composite
def works(draw: st.DrawFn) -> Work:
    return replace(
        WORK,
        pieces=draw(st.integers(1, 200)),
        loads=draw(st.integers(1, 20)),
        machine_minutes=draw(decimals(0, 500)),
    )


asks = st.builds(Ask, channel=st.just("web"), rush=st.booleans())


def plain(prices: Prices) -> Prices:
    """Without breaks, rush and least order: only the target."""
    return prices.model_copy(
        update={"quantity_breaks": (), "minimum": type(prices.minimum)(), "rush": type(prices.rush)()}
    )


# ------------------------------------------------------------------ properties


@given(works(), settings(), asks)
def test_lines_add_up_to_the_last_minor_unit(work: Work, prices: Prices, ask: Ask) -> None:
    quote = make_quote(work, prices, ask)
    assert sum(charge.amount for charge in quote.charges) == quote.shown
    assert quote.net + quote.tax == quote.gross
    assert quote.shown == (quote.gross if prices.tax.included else quote.net)
    fees = sum(fee.amount for fee in quote.fees)
    assert quote.net - sum(line.amount for line in quote.costs) - fees == quote.profit
    for line in quote.costs:  # by Decimal alone, apart from the sums under test
        exact = line.how_much * line.rate * 10**quote.currency.exponent / line.units
        assert abs(exact - line.amount) <= Decimal("0.5000001")
    assert all(isinstance(v, int) for v in (quote.unit, quote.shown, quote.net, quote.gross, quote.profit))


@given(works(), settings(), asks, st.sampled_from(("machine", "hand", "design", "blank", "fee", "minutes")))
def test_a_higher_cost_never_gives_a_lower_price(work: Work, prices: Prices, ask: Ask, dearer: str) -> None:
    raw = prices.model_dump(by_alias=True)
    if dearer == "minutes":
        work_after = replace(work, machine_minutes=work.machine_minutes + Decimal("0.37"))
    else:
        work_after = work
        table, key = {
            "machine": (raw["rates"], "machine_hour"), "hand": (raw["rates"], "hand_hour"),
            "design": (raw["rates"], "design_hour"), "blank": (raw["things"]["coaster"], "price"),
            "fee": (raw["channels"]["web"], "fixed_per_order"),
        }[dearer]  # fmt: skip
        table[key] += Decimal("0.13")
    raw["target"] = {k: v for k, v in raw["target"].items() if v is not None}
    after = make_quote(work_after, Prices.model_validate(raw), ask)
    before = make_quote(work, prices, ask)
    assert after.unit >= before.unit
    assert after.gross >= before.gross


@given(works(), settings(), asks)
def test_quoting_twice_gives_the_same(work: Work, prices: Prices, ask: Ask) -> None:
    assert make_quote(work, prices, ask) == make_quote(work, prices, ask)


@given(works(), settings())
def test_the_margin_is_reached_after_fees_and_no_step_earlier(work: Work, prices: Prices) -> None:
    prices = plain(prices)
    quote = make_quote(work, prices, Ask(channel="web"))
    assert quote.profit >= quote.target * quote.net
    step, _ = prices.steps
    one_less = (quote.unit - int(step)) * work.pieces
    if one_less > 0:  # rounding of tax and fee may be worth one unit each
        net = quote.sale.parts(one_less)[0]
        assert quote.sale.profit(one_less, quote.cost) < quote.target * net + 2


@given(works(), settings())
def test_the_price_of_a_piece_ends_as_the_shop_wishes(work: Work, prices: Prices) -> None:
    step, less = prices.steps
    assert (make_quote(work, prices, Ask(channel="web")).unit + less) % step == 0


@given(settings(), st.integers(1, 250), st.integers(1, 5000))
def test_breaks_never_raise_the_price_of_a_piece(prices: Prices, pieces: int, unit: int) -> None:
    def goods(n: int) -> int:
        return n * unit - break_discount(n, unit, prices.breaks, beyond=prices.breaks_beyond)[0]

    # one unit of rounding on the whole is allowed for: 1/n on a piece
    assert Fraction(goods(pieces + 1) - 1, pieces + 1) <= Fraction(goods(pieces), pieces)
    if prices.breaks_beyond:
        assert goods(pieces + 1) >= goods(pieces) - 1
    assert goods(pieces) <= pieces * unit


@given(st.fractions(0, 50), st.fractions(0, Fraction(99, 100)))
def test_margin_and_markup_are_each_others_mirror(markup: Fraction, margin: Fraction) -> None:
    assert markup_of(margin_of(markup)) == markup
    assert margin_of(markup_of(margin)) == margin


@given(st.fractions(-(10**12), 10**12))
def test_halves_go_away_from_zero(value: Fraction) -> None:
    from decimal import ROUND_HALF_UP

    scaled = Fraction(round(value * 8), 8)  # eighths are exact decimals, halves among them
    told = (Decimal(scaled.numerator) / Decimal(scaled.denominator)).quantize(Decimal(1), ROUND_HALF_UP)
    assert half_up(scaled) == told


# ------------------------------------------------------------------ worked by hand


def test_a_price_worked_by_hand() -> None:
    # costs 60.00, 8.5 % of the gross and 0.30 to the channel, tax 20 % in the price, margin 40 %:
    # P = 60.30 / (1 - 0.4 - 0.085 * 1.2) = 60.30 / 0.498 = 121.0843..., gross 145.3012, ten at 14.54 each;
    # then gross 145.40, tax 24.23, net 121.17, fee 12.36 + 0.30, profit 48.51, margin 40.03 %
    sale = Sale(Fraction(85, 1000), 30, Fraction(1, 5), included=True)
    assert sale.net_for(6000, Fraction(2, 5)) == Fraction(6030) / Fraction(498, 1000)
    assert sale.unit_price(6000, 10, Fraction(2, 5)) == 1454
    assert sale.parts(14540) == (12117, 2423, 14540)
    assert sale.percent_fee(14540) == 1236
    assert sale.profit(14540, 6000) == 4851


def test_a_markup_of_a_hundred_is_a_margin_of_fifty_also_after_fees() -> None:
    raw = plain(EXAMPLE).model_dump(by_alias=True) | {"target": {"markup": Decimal(100)}}
    quote = make_quote(WORK, Prices.model_validate(raw), Ask(channel="web"))
    assert quote.target == Fraction(1, 2)
    assert Fraction(1, 2) <= quote.margin < Fraction(51, 100)
    assert 1 <= quote.markup < Fraction(105, 100)


def test_spoilt_blanks_are_bought_on_top() -> None:
    # 24 good ones at 4 % spoilage: 24 / 0.96 = 25 begun, one more than delivered, at 1.10
    lines = {line.what: line for line in make_quote(WORK, EXAMPLE).costs}
    assert lines["blanks: coaster"].amount == 2640
    assert lines["blanks for spoilt ones: coaster"].how_much == 1
    assert lines["blanks for spoilt ones: coaster"].amount == 110
    assert lines["machine for spoilt ones"].how_much == Decimal("2.563")  # 61.5 / 24, thousandths half up
    assert lines["machine: co2"].sum(CURRENCIES["EUR"]) == (
        "61.5 min × 12 EUR per hour = 12.30\N{NO-BREAK SPACE}EUR"
    )


def test_stock_is_charged_with_its_waste() -> None:
    lines = [line for line in make_quote(CARDS, EXAMPLE).costs if line.kind == "stock"]
    assert lines[0].how_much == 14
    assert lines[0].amount == 392  # 14 × 0.28
    waste = 100 - 100 * 120 * 89 * 51 / (14 * 297 * 210)
    assert f"{waste:.0f} % waste" in lines[0].what


def test_more_for_less_is_told() -> None:
    # 49 at full price against 50 at 5 % off: 50 × 0.95 = 47.5
    quote = make_quote(replace(WORK, pieces=49), EXAMPLE)
    assert any("50 pieces would cost the customer less than 49" in note for note in quote.notes)
    beyond = EXAMPLE.model_copy(update={"breaks_beyond": True})
    assert not any("would cost" in note for note in make_quote(replace(WORK, pieces=49), beyond).notes)


def test_the_least_order_is_filled_up_and_said() -> None:
    quote = make_quote(
        replace(WORK, pieces=1, loads=1, machine_minutes=Decimal(1)), EXAMPLE, Ask(design_minutes=Decimal(0))
    )
    assert quote.shown == 2500
    assert quote.charges[-1].what == "Up to the least order"


def test_example_figures_say_so() -> None:
    assert "example figures" in make_quote(WORK, EXAMPLE).notes[0]


def test_currencies_are_those_of_the_standard() -> None:
    from iso4217 import Currency as Published  # the table of ISO 4217, published by its maintenance agency

    published = {c.code: c.exponent for c in Published}
    both = published.keys() & CURRENCIES.keys()
    assert {code: CURRENCIES[code].exponent for code in both} == {code: published[code] for code in both}
    assert len(both) > 150
    assert len(CURRENCIES) - len(both) <= 3  # codes come and go: the table may be a few months older or newer


@pytest.mark.parametrize(
    ("code", "minor", "text"),
    [
        ("EUR", 123456, "1\N{NARROW NO-BREAK SPACE}234.56\N{NO-BREAK SPACE}EUR"),
        ("JPY", 980, "980\N{NO-BREAK SPACE}JPY"),
        ("KWD", -5, "\N{MINUS SIGN}0.005\N{NO-BREAK SPACE}KWD"),
    ],
)
def test_amounts_are_written_by_their_minor_unit(code: str, minor: int, text: str) -> None:
    assert CURRENCIES[code].text(minor) == text


# ------------------------------------------------------------------ no float


def test_there_is_no_float_in_the_room() -> None:
    for file in sorted(Path(room.__file__).parent.glob("*.py")):
        tree = ast.parse(file.read_text("utf-8"))
        for node in ast.walk(tree):
            assert not (isinstance(node, ast.Constant) and isinstance(node.value, float)), file
            assert not (isinstance(node, ast.Name) and node.id == "float"), file


def test_discount_then_rush_then_least_order() -> None:
    # 100 × 1.00 EUR less 8 % = 92.00; rush 25 % of that = 23.00; together 115.00, 5.00 short of 120
    from render.shop.prices.quote import _charges

    prices = EXAMPLE.model_copy(update={"minimum": type(EXAMPLE.minimum)(order=Decimal(120))})
    charges = _charges(replace(WORK, pieces=100), prices, Ask(rush=True), 100)
    assert [c.amount for c in charges] == [10000, -800, 2300, 500]
