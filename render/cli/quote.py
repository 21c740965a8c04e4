"""`monikerf quote`: what an order costs, what it is sold for, and why; and the customer's page of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from render.cli.asking import open_shop_ledger
from render.cli.options import AllSheets, AsJson, Columns, Delimiter, Encoding, Mend, SheetName, Shop
from render.cli.subject import WHAT, subject_of
from render.cli.tell import console, print_json, progress_bar
from render.errors import MonikerfError

if TYPE_CHECKING:
    from fractions import Fraction

    from rich.table import Table

    from render.model import Problem
    from render.pipeline.estimates import Agreed
    from render.pipeline.offers import Papers
    from render.shop.ledger import LedgerOrder, Terms
    from render.shop.prices import Quote
    from render.shop.prices.settings import Prices

PricesFile = Annotated[
    Path | None,
    typer.Option("--prices", metavar="FILE", help="Your prices; else the shop folder's prices.toml."),
]
Day = Annotated[
    str | None, typer.Option("--date", metavar="YYYY-MM-DD", help="The day on the paper; else today.")
]


def quote(
    what: Annotated[
        str | None,
        typer.Argument(metavar=f"[{WHAT}]", help="An order of the ledger, or a customer's table; without "
                       "either, the template's sample."),
    ] = None,
    template: Annotated[
        str, typer.Option("--template", "-t", metavar="ID", help="The design, where no order says it.")
    ] = "",
    quantity: Annotated[
        int | None, typer.Option(min=1, max=100_000, help="Pieces; else as many as the table asks for.")
    ] = None,
    quantities: Annotated[
        str, typer.Option("--table", metavar="20,50,120", help="What these quantities would cost, too.")
    ] = "",
    out: Annotated[
        Path | None,
        typer.Option("--out", "-o", metavar="FOLDER", help="Write quote.pdf and quote.html."),
    ] = None,
    channel: Annotated[
        str, typer.Option(metavar="ID", help="Where it is sold; else the first of your prices.")
    ] = "",
    rush: Annotated[bool, typer.Option("--rush", help="With the surcharge for haste.")] = False,
    margin: Annotated[str, typer.Option(metavar="PERCENT", help="Target margin, if not the usual.")] = "",
    markup: Annotated[str, typer.Option(metavar="PERCENT", help="Target markup, if not the usual.")] = "",
    machine_minutes: Annotated[
        str, typer.Option(metavar="MINUTES", help="Machine time of one piece, instead of working it out.")
    ] = "",
    design_minutes: Annotated[str, typer.Option(metavar="MINUTES", help="Design time of this order.")] = "",
    machine: Annotated[str | None, typer.Option(metavar="ID", help="The machine.")] = None,
    blank: Annotated[str | None, typer.Option(metavar="ID", help="The thing to mark.")] = None,
    title: Annotated[str, typer.Option(metavar="TEXT", help="The order's name; else the table's.")] = "",
    number: Annotated[str, typer.Option(metavar="TEXT", help="The quote's number.")] = "",
    day: Day = None,
    keep: Annotated[
        bool, typer.Option("--keep", help="Keep it in the shop folder, to compare with what it took.")
    ] = False,
    agree: Annotated[
        bool, typer.Option("--agree", help="Agreed: keep it, and write its total to the order.")
    ] = False,
    column: Columns = None,
    mend: Mend = False,
    encoding: Encoding = None,
    delimiter: Delimiter = None,
    table_sheet: SheetName = None,
    all_sheets: AllSheets = False,
    prices: PricesFile = None,
    shop: Shop = None,
    as_json: AsJson = False,
) -> None:  # fmt: skip
    """Say what an order costs the shop, what the customer pays, and what is left, every line explained.

    Minutes come from the real layout and your recipes where there are any, else from your prices, and it says
    which. Money is exact: each line is rounded once, halves up.
    """
    from render import pipeline
    from render.pipeline.offers import Occasion, quote_files, quote_paper, quote_values
    from render.pipeline.quoting import job_at, reckon, sample_order
    from render.shop.prices import Ask, make_quote

    subject = subject_of(
        what, shop, column, mend, table_sheet, all_sheets, encoding=encoding, delimiter=delimiter
    ) if what else None  # fmt: skip
    known = subject.known if subject else None
    if agree and quantity:
        raise MonikerfError("a price is agreed for the whole order", hint="leave --quantity out")
    terms = _terms(known, template, agree)
    own = prices_of(prices, shop)
    ask = Ask(channel, rush, number_in(design_minutes, "--design-minutes"), target_in(margin, markup))
    with progress_bar(shown=not as_json) as progress:
        workshop = pipeline.Workshop.open(shop)
        job = job_at(workshop, own, replace(
            terms, blank=blank or terms.blank, machine=machine or terms.machine
        ))  # fmt: skip
        order = subject.order if subject else sample_order(job)
        name = known.id if known else title or order.name
        asked = [quantity or max(1, len(order.pieces)), *_quantities(quantities)]
        each, pins = number_in(machine_minutes, "--machine-minutes"), subject.pins if subject else {}
        reckoned = reckon(order, job, workshop, own, asked, progress, each, pins)
    first, *others = (make_quote(work, own, ask) for work in reckoned.works)
    not_counted = _not_counted(order.problems) if quantity is None else []
    files: list[Path] = []
    if out is not None:
        occasion = Occasion(day_in(day), number)
        heading = title or (known.customer if known else "") or name
        paper = quote_paper(heading, first, others, job, reckoned.artworks, own, occasion)
        files = _write(out, quote_files(paper, workshop.letterer(), occasion))
    if keep or agree:
        _keep(shop, name, first, agree)
    agreed = _agreed(known, first, agree)
    if as_json:
        values = quote_values(first) | {"order": name, "quantities": [quote_values(q) for q in others]}
        values |= {"files": [str(f) for f in files], "not_counted": not_counted}
        print_json(values | {"agreed": agreed and agreed.values})
    else:
        _tell(name, first, others, files)
        if agreed:
            console().print(agreed.told, markup=False, style="bold")
        _tell_not_counted(not_counted)
    if not_counted:
        raise typer.Exit(1)


def _terms(known: LedgerOrder | None, template: str, agree: bool) -> Terms:
    """What is made: as the order says, or of the template that was named.

    Raises:
        MonikerfError: neither says it, or both do, or a price is to be agreed for what the ledger has not.
    """
    from render.shop.ledger import Terms

    if known is not None:
        if template and template != known.terms.template:
            hint = "change the order first: monikerf take-order with --template and --apply"
            raise MonikerfError(f"{known.id} is an order of {known.terms.template}", hint=hint)
        return known.terms
    if agree:
        hint = "take it in first: monikerf take-order; then quote the order"
        raise MonikerfError("a price is agreed for an order of the ledger", hint=hint)
    if not template:
        raise MonikerfError(
            "no template was named", hint="add --template; they are in: monikerf show templates"
        )
    return Terms(template, "", "")


def _agreed(known: LedgerOrder | None, quote: Quote, now: bool) -> Agreed | None:
    """The price that the ledger has for the order, beside what it is quoted at; None where there is none."""
    from render.pipeline.estimates import Agreed

    if known is None:
        return None
    if now:
        return Agreed(quote.gross, quote.currency.code, quote)
    return None if known.price is None else Agreed(known.price, known.currency, quote)


def prices_of(file: Path | None, shop: Path | None) -> Prices:
    """The shop's figures: of the file that was named, else of the shop folder, that one also where we are.

    Raises:
        MonikerfError: there are none, or they are wrong.
    """
    from render.shop.prices.settings import FILE, load_prices

    if file is None and shop is None:
        raise MonikerfError(
            "without your figures nothing can be priced",
            hint=f"monikerf prices --example > {FILE}, put in your own, and name the file with --prices",
        )
    return load_prices(file or Path(str(shop)) / FILE)


def number_in(text: str, option: str) -> Decimal | None:
    """An exact number of what was typed; None for nothing.

    Raises:
        MonikerfError: it is not a number of zero or more.
    """
    if not text:
        return None
    try:
        value = Decimal(text.strip())
    except InvalidOperation:
        value = Decimal(-1)
    if not value.is_finite() or not 0 <= value <= 1_000_000:
        raise MonikerfError(f"{option} {text!r} is not a number", hint="write it like 12 or 7.5")
    return value


def target_in(margin: str, markup: str) -> Fraction | None:
    """The target as a margin, a share; None for the usual one.

    Raises:
        MonikerfError: it is no number, 100 or more, or both were given.
    """
    from render.shop.prices.quote import as_margin

    if margin and markup:
        raise MonikerfError(
            "--margin and --markup are two ways to say the same", hint="give only one of them"
        )
    wanted = number_in(margin, "--margin")
    if wanted is not None and wanted >= 100:
        raise MonikerfError("a margin is below 100 percent", hint="a markup may be more: --markup")
    return as_margin(wanted, number_in(markup, "--markup"))


def day_in(text: str | None) -> date:
    """The day that was typed, or today.

    Raises:
        MonikerfError: it is no day.
    """
    try:
        return date.fromisoformat(text) if text else date.today()
    except ValueError as error:
        raise MonikerfError(f"--date {text!r} is not a day", hint="write it like 2025-06-30") from error


def _quantities(text: str) -> list[int]:
    numbers = [part.strip() for part in text.split(",") if part.strip()]
    if not all(part.isascii() and part.isdigit() and 0 < int(part) <= 100_000 for part in numbers):
        raise MonikerfError(f"--table {text!r} is not a list of quantities", hint="write it like 20,50,120")
    return [int(part) for part in numbers]


def _not_counted(problems: Sequence[Problem]) -> list[str]:
    """Rows of the table that are held back, and so are not among the pieces; each as words."""
    from render.model import Severity

    rows = {(p.row, p.message) for p in problems if p.severity is Severity.STOP and p.row is not None}
    return [f"row {row}: {message}" for row, message in sorted(rows)]


def _tell_not_counted(rows: Sequence[str]) -> None:
    if rows:
        console().print(f"! Not counted, since they are held back ({len(rows)}):", style="yellow")
        console().print("\n".join(f"    {row}" for row in rows[:10]), markup=False)


def _write(folder: Path, papers: Papers) -> list[Path]:
    from render.writers.files import ready_folder, write_atomically

    ready_folder(folder)
    files = [folder / "quote.pdf", folder / "quote.html"]
    for file, data in zip(files, (papers.pdf, papers.html), strict=True):
        write_atomically(file, data)
    return files


def _keep(shop: Path | None, name: str, quote: Quote, agree: bool) -> None:
    from render.pipeline.estimates import keep_quote

    if shop is None:
        raise MonikerfError("--keep needs a shop folder", hint="name it with --shop")
    keep_quote(shop, name, quote)
    if agree:
        with open_shop_ledger(shop) as (_, ledger):
            ledger.agree(name, quote.gross, quote.currency.code)


def _tell(name: str, quote: Quote, others: Sequence[Quote], files: Sequence[Path]) -> None:
    from rich.table import Table
    from rich.text import Text

    from render.pipeline.offers import ASK_LOCALLY, left_text
    from render.shop.prices.quote import ROUNDING

    say, money, work = console(), quote.currency, quote.work
    loads = "load" if work.loads == 1 else "loads"
    say.print(
        Text(f"{name}: {work.pieces} × {work.title} in {work.loads} {loads} on {work.machine}", style="bold")
    )
    say.print(
        Text(f"Machine time: {work.machine_minutes.normalize():f} min ({work.minutes_from})", style="dim")
    )
    lines = Table(box=None, pad_edge=False, header_style="bold", show_edge=False)
    for heading in ("what it costs you", "how"):
        lines.add_column(heading, overflow="fold")
    lines.add_column(money.code, justify="right")
    for line in quote.costs:
        lines.add_row(line.what, line.sum(money).rpartition(" = ")[0], money.figure(line.amount))
    for fee in quote.fees:
        lines.add_row(fee.what, fee.why, money.figure(fee.amount))
    lines.add_row("all costs", "", money.figure(quote.net - quote.profit), style="bold")
    lines.add_row()
    lines.add_row("what the customer pays", "", "", style="bold")
    for charge in quote.charges:
        lines.add_row(charge.what, charge.why, money.figure(charge.amount))
    if quote.tax:
        lines.add_row("of which tax" if quote.sale.included else "tax", "", money.figure(quote.tax))
    lines.add_row("total", "", money.figure(quote.gross), style="bold")
    say.print(lines, soft_wrap=False)
    say.print(Text(f"Left for the shop: {left_text(quote)}", style="bold"))
    say.print(f"Price of a piece: {quote.solved}", markup=False)
    if others:
        say.print(_table([quote, *others]), soft_wrap=False)
    for note in quote.notes:
        say.print(Text(f"! {note}", style="yellow"))
    say.print(Text(f"{ROUNDING} {ASK_LOCALLY}", style="dim"))
    if files:
        say.print("written: " + ", ".join(map(str, files)), markup=False)


def _table(quotes: Sequence[Quote]) -> Table:
    from rich.table import Table

    from render.shop.prices import half_up
    from render.shop.prices.quote import share_text

    table = Table(box=None, pad_edge=False, header_style="bold", title="what other quantities would cost")
    for heading in ("pieces", "loads", "machine min", "each", "total", "costs", "left", "margin"):
        table.add_column(heading, justify="right")
    for q in sorted({q.work.pieces: q for q in quotes}.values(), key=lambda q: q.work.pieces):
        money = q.currency
        table.add_row(
            *(str(q.work.pieces), str(q.work.loads), f"{q.work.machine_minutes:.1f}"),
            *map(money.figure, (half_up(q.each), q.gross, q.net - q.profit, q.profit)),
            share_text(q.margin),
        )
    return table
