"""Quotes and price lists, put into words and onto paper in the shop's name."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction
from typing import TYPE_CHECKING, Any, Final

from render.errors import counted
from render.model import Artwork, Blank, Hold
from render.pipeline.proofs import Captions
from render.proof.drawnpapers import draw_price_list, draw_quote
from render.proof.htmlpapers import price_list_html, quote_html
from render.proof.papers import Grid, Head, Offer, Picture, PriceListPaper, QuotePaper, Row
from render.shop.prices import Currency, Quote, Work, currency, half_up
from render.shop.prices.lists import ListPrice
from render.shop.prices.money import decimal_text
from render.shop.prices.quote import ROUNDING, share_text, target_text
from render.units import format_mm
from render.writers.pages import pages_pdf

if TYPE_CHECKING:
    from render.lettering import Letterer
    from render.pipeline.workshop import Job
    from render.shop.prices.settings import Prices

ASK_LOCALLY: Final = (
    "About tax, insurance and registration ask a professional where you live; Monikerf only does sums."
)


@dataclass(frozen=True, slots=True)
class Occasion:
    """When and under which number something is offered; both may be empty."""

    day: date | None = None
    number: str = ""

    def facts(self, valid_days: int) -> tuple[tuple[str, str], ...]:
        """Label and text, as they stand at the head of a quote."""
        facts = [("Number", self.number)] if self.number else []
        if self.day is not None:
            facts.append(("Date", self.day.isoformat()))
            facts.append(("Valid until", (self.day + timedelta(days=valid_days)).isoformat()))
        return tuple(facts)


def quote_paper(
    name: str,
    quote: Quote,
    others: Sequence[Quote],
    job: Job,
    artworks: Sequence[Artwork],
    prices: Prices,
    occasion: Occasion,
) -> QuotePaper:
    """What the customer gets to see: no costs, no margin.

    Args:
        name: of the order.
        quote: the one that is offered.
        others: the same in other quantities, for the small table; may hold `quote` itself.
        job: what is made.
        artworks: pieces to show.
        prices: the shop's figures, for its name and words.
        occasion: date and number.
    """
    shop = prices.shop
    kind = "Quote (example figures)" if prices.example else "Quote"
    size = _size(job.blank)
    facts = (counted(quote.work.pieces, "piece"), quote.work.title, job.material.title, size)
    subtitle = "  ·  ".join(facts)
    head = Head(shop.name, shop.lines, kind, occasion.facts(shop.valid_days), name, subtitle)
    pictures = tuple(Picture(job.blank, job.material, a) for a in _shown(artworks))
    return QuotePaper(head, pictures, _rows(quote, prices), _grid(quote, others), _notes(prices), shop.foot)


def _shown(artworks: Sequence[Artwork]) -> Sequence[Artwork]:
    """Up to three pieces: the first, one from the middle, the last."""
    if len(artworks) <= 3:
        return artworks
    return (artworks[0], artworks[len(artworks) // 2], artworks[-1])


def _size(blank: Blank) -> str:
    if blank.hold is Hold.ROTARY and blank.body is not None:
        body = blank.body
        return f"{format_mm(body.circumference, 1)} mm round, {format_mm(body.height, 1)} mm high"
    box = blank.outline.bounds()
    return f"{format_mm(box.width, 1)} × {format_mm(box.height, 1)} mm"


def _rows(quote: Quote, prices: Prices) -> tuple[Row, ...]:
    money = quote.currency
    rows = [Row(c.what, c.why, money.figure(c.amount)) for c in quote.charges]
    rate = f"{decimal_text(prices.tax.percent)} %"
    if prices.tax.percent and not prices.tax.included:
        rows.append(Row("Without tax", "", money.figure(quote.net)))
        rows.append(Row(prices.tax.name, f"{rate} of {money.text(quote.net)}", money.figure(quote.tax)))
    rows.append(Row("Total", "", money.text(quote.gross), total=True))
    if prices.tax.percent and prices.tax.included:
        rows.append(Row(f"of which {prices.tax.name}", rate, money.figure(quote.tax)))
    return tuple(rows)


def _grid(quote: Quote, others: Sequence[Quote]) -> Grid | None:
    if not others:
        return None
    money = quote.currency
    every = sorted({q.work.pieces: q for q in (*others, quote)}.items())
    rows = tuple((str(n), money.text(half_up(q.each)), money.text(q.gross)) for n, q in every)
    here = next(i for i, (n, _) in enumerate(every) if n == quote.work.pieces)
    headings = ("Pieces", "each, rounded", "Total")
    if quote.tax and not quote.sale.included:
        headings = ("Pieces", "each, rounded, without tax", "Total with tax")
    return Grid("The same in other quantities", headings, rows, here)


def _notes(prices: Prices) -> tuple[str, ...]:
    notes = []
    if prices.tax.percent:
        included = "include" if prices.tax.included else "do not include"
        end = "" if prices.tax.included else "; it is added above"
        notes.append(
            f"Prices of pieces {included} {prices.tax.name} of {decimal_text(prices.tax.percent)} %{end}."
        )
    return tuple(notes)


@dataclass(frozen=True, slots=True)
class Papers:
    """A paper as files."""

    pdf: bytes
    html: bytes


def quote_files(paper: QuotePaper, letterer: Letterer, occasion: Occasion) -> Papers:
    """The quote as a one-page PDF, its words as outlines, and as HTML.

    Raises:
        OutputError: libcairo is missing here.
    """
    page = draw_quote(paper, Captions(letterer))
    title = f"{paper.head.kind}: {paper.head.title}"
    day = occasion.day.isoformat() if occasion.day else ""
    pdf = pages_pdf([page], title=title, author=paper.head.shop, date=day)
    return Papers(pdf, quote_html(paper))


@dataclass(frozen=True, slots=True)
class Listed:
    """One design on the price list: what it is, a piece to show, the work of a run, and its prices."""

    job: Job
    artwork: Artwork
    run: Work
    prices: tuple[ListPrice, ...]

    def values(self, money: Currency) -> dict[str, Any]:
        """As plain values for JSON."""
        return {
            "template": self.job.template.id,
            "thing": self.job.blank.id,
            "run": self.run.pieces,
            "minutes_from": self.run.minutes_from,
            "prices": [
                {
                    "quantity": p.quantity,
                    "each": money.plain(each_of(p)),
                    "total": money.plain(p.shown),
                    "cost": money.plain(p.cost),
                    "profit": money.plain(p.profit),
                    "margin_percent": decimal_text(p.margin * 100, 2),
                }
                for p in self.prices
            ],
        }


def each_of(price: ListPrice) -> int:
    """One piece of a listed quantity, minor units, rounded half up."""
    return half_up(Fraction(price.shown, price.quantity))


def price_list_files(
    listed: Sequence[Listed], prices: Prices, letterer: Letterer, occasion: Occasion, title: str
) -> Papers:
    """The price list as a PDF, its words as outlines, and as HTML.

    Raises:
        OutputError: libcairo is missing here.
    """
    paper = _price_list(listed, prices, occasion, title)
    day = occasion.day.isoformat() if occasion.day else ""
    pages = draw_price_list(paper, Captions(letterer))
    pdf = pages_pdf(pages, title=title, author=prices.shop.name, date=day)
    return Papers(pdf, price_list_html(paper))


def _price_list(listed: Sequence[Listed], prices: Prices, occasion: Occasion, title: str) -> PriceListPaper:
    shop = prices.shop
    kind = "Price list (example figures)" if prices.example else "Price list"
    facts = (("Date", occasion.day.isoformat()),) if occasion.day else ()
    quantities = tuple("each" if n == 1 else f"each from {n}" for n in prices.stall.quantities)
    money = currency(prices.currency)
    shared = Counter(each.run.title for each in listed)
    offers = tuple(_offer(each, money, alone=shared[each.run.title] == 1) for each in listed)
    notes = []
    if prices.tax.percent:
        included = "included" if prices.tax.included else "not included"
        notes.append(f"{prices.tax.name} of {decimal_text(prices.tax.percent)} % is {included}.")
    subtitle = f"Made with your names; prices in {prices.currency}"
    head = Head(shop.name, shop.lines, kind, facts, title, subtitle)
    return PriceListPaper(head, quantities, offers, tuple(notes), shop.foot)


def _offer(listed: Listed, money: Currency, *, alone: bool) -> Offer:
    """One design; where others are made on the same thing, its own title tells it from them."""
    job = listed.job
    note = f"{job.material.title}, {_size(job.blank)}"
    if not alone:
        note = f"{job.template.title}  ·  {note}"
    texts = tuple(money.figure(each_of(price)) for price in listed.prices)
    return Offer(Picture(job.blank, job.material, listed.artwork), listed.run.title, note, texts)


# ------------------------------------------------------------------ for the shop's own eyes


def quote_values(quote: Quote) -> dict[str, Any]:
    """A quote as plain values for JSON: money as decimals in text, shares in percent."""
    money, work = quote.currency, quote.work
    return {
        "currency": money.code,
        "pieces": work.pieces,
        "thing": work.thing,
        "material": work.material,
        "machine": work.machine,
        "loads": work.loads,
        "machine_minutes": str(work.machine_minutes),
        "minutes_from": work.minutes_from,
        "stock_mm2": work.stock_mm2,
        "stock_waste_percent": _waste(quote),
        "costs": [
            {"kind": str(line.kind), "what": line.what, "how_much": str(line.how_much), "unit": line.unit,
             "rate": str(line.rate), "per": line.per, "amount": money.plain(line.amount),
             "sum": line.sum(money)}
            for line in quote.costs
        ],
        "cost": money.plain(quote.cost),
        "price_of_a_piece": money.plain(quote.unit),
        "solved": quote.solved,
        "charges": [{"what": c.what, "why": c.why, "amount": money.plain(c.amount)} for c in quote.charges],
        "net": money.plain(quote.net),
        "tax": money.plain(quote.tax),
        "gross": money.plain(quote.gross),
        "each": money.plain(half_up(quote.each)),
        "channel": quote.channel,
        "fees": [{"what": f.what, "why": f.why, "amount": money.plain(f.amount)} for f in quote.fees],
        "profit": money.plain(quote.profit),
        "target": target_text(quote.target),
        "margin_percent": decimal_text(quote.margin * 100, 2),
        "markup_percent": decimal_text(quote.markup * 100, 2),
        "rounding": ROUNDING,
        "notes": [*quote.notes, ASK_LOCALLY],
    }  # fmt: skip


def _waste(quote: Quote) -> str | None:
    work = quote.work
    if not work.stock_mm2:
        return None
    return decimal_text((1 - Fraction(work.pieces_mm2, work.stock_mm2)) * 100, 1)


def left_text(quote: Quote) -> str:
    """What remains for the shop, in one line."""
    return (
        f"{quote.currency.text(quote.profit)}: margin {share_text(quote.margin)}, "
        f"markup {share_text(quote.markup)} (target: {target_text(quote.target)})"
    )
