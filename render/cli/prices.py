"""`monikerf prices`, `price-list` and `actual`: the shop's figures, its list, and the truth afterwards."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from render.cli.options import AsJson, Shop
from render.cli.quote import Day, PricesFile, day_in, number_in, prices_of
from render.cli.tell import console, print_json, progress_bar
from render.errors import MonikerfError

if TYPE_CHECKING:
    from render.shop.prices.book import Compared


def prices(
    example: Annotated[
        bool,
        typer.Option("--example", help="Print an example of prices.toml, its figures invented."),
    ] = False,
    file: PricesFile = None,
    shop: Shop = None,
    as_json: AsJson = False,
) -> None:
    """Check your figures, or print an example to put them into."""
    from render.pipeline.offers import ASK_LOCALLY
    from render.shop.prices.money import percent
    from render.shop.prices.quote import share_text, target_text
    from render.shop.prices.settings import example_text

    if example:
        if as_json:
            print_json({"example": example_text()})
        else:
            typer.echo(example_text(), nl=False)
        return
    own = prices_of(file, shop)
    if as_json:
        import json

        print_json(json.loads(own.model_dump_json(by_alias=True)))
        return
    say = console()
    counts = f"{len(own.things)} things, {len(own.stock)} kinds of stock, in {own.currency}"
    say.print(f"{own.shop.name}: {counts}", markup=False)
    least = share_text(percent(own.least_margin))
    say.print(f"Target: {target_text(own.margin)}; a quote that leaves less than {least} says so.")
    say.print(f"Sold at: {', '.join(own.channels) or 'direct sale only'}", markup=False)
    if own.example:
        say.print(
            "! These are example figures: put in your own, and take out example = true.", style="yellow"
        )
    say.print(ASK_LOCALLY, style="dim")


def price_list(
    templates: Annotated[
        list[str] | None,
        typer.Argument(metavar="[TEMPLATE]...", help="The designs on it; else all that have prices."),
    ] = None,
    out: Annotated[
        Path, typer.Option("--out", "-o", metavar="FILE.pdf", help="Where it goes, and beside it as HTML.")
    ] = Path("price-list.pdf"),
    title: Annotated[str, typer.Option(help="What it says at the head.")] = "Your name on it",
    day: Day = None,
    file: PricesFile = None,
    shop: Shop = None,
    as_json: AsJson = False,
) -> None:
    """Write a price list for the stall from the same prices as every quote."""
    from render.pipeline import Workshop
    from render.pipeline.offers import Occasion, each_of, price_list_files
    from render.pipeline.pricelist import price_designs
    from render.shop.prices import currency
    from render.writers.files import ready_folder, write_atomically

    own = prices_of(file, shop)
    workshop = Workshop.open(shop)
    with progress_bar(shown=not as_json) as progress:
        listed, left_out = price_designs(templates or (), workshop, own, progress)
    occasion, money = Occasion(day_in(day)), currency(own.currency)
    papers = price_list_files(listed, own, workshop.letterer(), occasion, title)
    files = (out, out.with_suffix(".html"))
    ready_folder(out.parent)
    for name, data in zip(files, (papers.pdf, papers.html), strict=True):
        write_atomically(name, data)
    if as_json:
        rows = [each.values(money) for each in listed]
        lacking = {id_: error.message for id_, error in left_out.items()}
        print_json({"files": [str(f) for f in files], "offers": rows, "left_out": lacking})
        return
    say = console()
    for each in listed:
        texts = ", ".join(f"{p.quantity}: {money.text(each_of(p))}" for p in each.prices)
        say.print(f"{each.job.template.id}: {texts}", markup=False)
    _tell_left_out(left_out)
    say.print("written: " + ", ".join(map(str, files)), markup=False)


def _tell_left_out(left_out: Mapping[str, MonikerfError]) -> None:
    """The designs without a price: those whose time nobody knows in one line, with what mends them all."""
    from render.pipeline.quoting import UnknownTimeError

    say = console()
    timeless = [id_ for id_, error in left_out.items() if isinstance(error, UnknownTimeError)]
    if timeless:
        text = f"· left out, as nobody knows how long they take: {', '.join(timeless)}"
        say.print(text, markup=False, style="dim")
        say.print("    Write machine_minutes for the thing into your prices, or keep recipes.", style="dim")
    for id_, error in left_out.items():
        if id_ not in timeless:
            say.print(f"· left out: {id_} ({error.message})", markup=False, style="dim")


def actual(
    order: Annotated[
        str | None, typer.Argument(metavar="[ORDER]", help="The order; without it, all are shown.")
    ] = None,
    machine_minutes: Annotated[str, typer.Option(metavar="MINUTES", help="What the machine took.")] = "",
    hand_minutes: Annotated[
        str, typer.Option(metavar="MINUTES", help="What your hands took, packing and all.")
    ] = "",
    spoilt: Annotated[
        int | None, typer.Option(min=0, help="Pieces that were spoilt; else what the ledger counted.")
    ] = None,
    shop: Shop = None,
    as_json: AsJson = False,
) -> None:
    """Write down what an order really took, and compare: per order and per kind of thing."""
    from render.pipeline.estimates import pairs, record_actual, spoilt_of
    from render.shop.prices import Actual, by_kind, compare

    if shop is None:
        raise MonikerfError("what an order took is kept in the shop folder", hint="name it with --shop")
    if order is not None:
        machine, hands = (
            number_in(machine_minutes, "--machine-minutes"),
            number_in(hand_minutes, "--hand-minutes"),
        )
        if machine is None or hands is None:
            hint = "give --machine-minutes and --hand-minutes, as your watch says"
            raise MonikerfError("both times are needed to compare", hint=hint)
        spoilt = spoilt_of(shop, order) or 0 if spoilt is None else spoilt
        record_actual(shop, Actual(order, machine, hands, spoilt))
    elif machine_minutes or hand_minutes or spoilt is not None:
        raise MonikerfError("whose minutes are these?", hint="name the order: monikerf actual ORDER …")
    both = pairs(shop)
    orders, kinds = [compare(k, a) for k, a in both], by_kind(both)
    money = {k.order: k for k, _ in both} | {f"{k.thing} ({k.currency})": k for k, _ in both}
    if as_json:
        print_json(
            {
                "orders": [_values(c, money[c.name]) for c in orders],
                "kinds": [_values(c, money[c.name]) for c in kinds],
            }
        )
        return
    if not both:
        console().print("No order has both a kept quote and its actual minutes yet.")
        return
    console().print(
        "What it came to / what was reckoned with, in minutes; prices as agreed / as quoted.", style="dim"
    )
    _tell("order", orders, money)
    _tell("kind", kinds, money)


def _values(compared: Compared, kept: Any) -> dict[str, Any]:
    from render.shop.prices import Currency
    from render.shop.prices.money import decimal_text

    money = Currency(kept.currency, kept.exponent)
    ratios = {"machine_ratio": compared.machine_ratio, "hand_ratio": compared.hand_ratio}
    return {
        "name": compared.name, "orders": compared.orders,
        "pieces": compared.pieces, "spoilt": compared.spoilt,
        "machine_minutes": [str(v) for v in compared.machine],
        "hand_minutes": [str(v) for v in compared.hands],
        **{key: None if ratio is None else decimal_text(ratio) for key, ratio in ratios.items()},
        "currency": money.code, "quoted": money.plain(compared.quoted), "paid": money.plain(compared.paid),
        "profit_reckoned": money.plain(compared.profit_reckoned),
        "profit_real": money.plain(compared.profit_real), "advice": compared.advice,
    }  # fmt: skip


def _tell(what: str, every: Sequence[Compared], money: dict[str, Any]) -> None:
    from rich.table import Table

    from render.shop.prices import Currency
    from render.shop.prices.money import decimal_text

    table = Table(box=None, pad_edge=False, header_style="bold")
    table.add_column(what, overflow="fold")
    for heading in ("pieces", "spoilt", "machine", "hands", "price", "left"):
        table.add_column(heading, justify="right", no_wrap=True)
    for c in every:
        kept = money[c.name]
        unit = Currency(kept.currency, kept.exponent)
        minutes = [f"{decimal_text(real, 1)} / {decimal_text(due, 1)}" for due, real in (c.machine, c.hands)]
        sums = ((c.paid, c.quoted), (c.profit_real, c.profit_reckoned))
        told = [f"{unit.figure(real)} / {unit.figure(due)}" for real, due in sums]
        table.add_row(c.name, str(c.pieces), str(c.spoilt), *minutes, *told)
    console().print(table, soft_wrap=False)
    for c in every:
        if c.advice:
            console().print(f"! {c.name}: {c.advice}", markup=False, style="yellow")
