"""Papers of the shop as pages: the looks of a quote, a price list and a packing list."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from render.proof.palette import INK, MUTED
from render.proof.papers import Grid, Offer, PackingPaper, Parcel, PriceListPaper, QuotePaper, Row
from render.proof.pieces import Letter
from render.proof.sheetpaper import (
    BIG,
    BOTTOM,
    INNER,
    LEADING,
    MARGIN,
    NORMAL,
    RIGHT,
    SMALL,
    Page,
    draw_foot,
    draw_head,
    square,
)
from render.proof.things import Look
from render.proof.words import lines_of

BAND: Final = 50.0
"""Height of the strip of pictures, mm."""
OFFER: Final = 20.8
"""Height of a row of the price list, mm."""
_NAME: Final = 4.0
_PRICE: Final = 20.0
_LINE: Final = 7.4
_PARCEL_LINE: Final = 5.6
_COLUMNS: Final = 2
_BETWEEN: Final = 10.0
_FRESH: Final = MARGIN + 6
"""Where the content of a page without a head begins, mm."""
_MOST_ROWS: Final = int((BOTTOM - _FRESH - 10) // _PARCEL_LINE)
"""Rows of a parcel that a fresh page has room for: such a parcel is not parted."""


def draw_quote(paper: QuotePaper, letter: Letter) -> bytes:
    """A quote on one page, as SVG with outlines only.

    What does not fit the page (very many other quantities) is left off from the end of their table, and the
    table says so.
    """
    page = Page(letter)
    draw_head(page, paper.head)
    if paper.pictures:
        _draw_pictures(page, paper)
    after = False
    for row, following in zip(paper.rows, (*paper.rows[1:], None), strict=True):
        _draw_row(page, row, small=after, ruled=following is None or not following.total)
        after = after or row.total
    page.y += 6
    if paper.grid is not None:
        _draw_grid(page, paper.grid)
    y = page.y + 3
    for note in paper.notes:
        if y < BOTTOM - SMALL:
            y = page.block(note, MARGIN, y, INNER, SMALL, colour=MUTED, most=3) + 0.8
    draw_foot(page, paper.foot)
    return page.svg()


def _draw_pictures(page: Page, paper: QuotePaper) -> None:
    shown = paper.pictures[:3]
    page.band(page.y, BAND)
    room = (INNER - 8 * (len(shown) - 1)) / len(shown)
    for index, picture in enumerate(shown):
        page.thing(picture, MARGIN + index * (room + 8), page.y + 6, (room, BAND - 12))
    page.y += BAND + 10


def _draw_row(page: Page, row: Row, *, small: bool, ruled: bool) -> None:
    """A line of money; small ones explain the total above them."""
    if row.total:
        page.y += 2.2
        page.band(page.y - 6.8, 10.6, MARGIN - 4, INNER + 8)
        page.put(row.what, MARGIN, page.y, BIG, strong=True, room=INNER * 0.55)
        page.put(row.amount, RIGHT, page.y, BIG, strong=True, right=True)
        page.y += _LINE + 2
        return
    size, colour = (SMALL, MUTED) if small else (NORMAL, INK)
    wide = page.put(row.what, MARGIN, page.y, size, colour=colour, room=INNER * 0.42)
    amount = page.put(row.amount, RIGHT, page.y, size, colour=colour, right=True)
    at = max(MARGIN + INNER * 0.44, MARGIN + wide + 4)
    page.put(row.how, at, page.y, size, colour=MUTED, room=RIGHT - amount - 4 - at)
    if ruled and not small:
        page.rule(page.y + 2.3)
    page.y += size * LEADING if small else _LINE


def _draw_grid(page: Page, grid: Grid) -> None:
    page.y += 3
    page.put(grid.title, MARGIN, page.y, NORMAL * 1.1, strong=True)
    page.y += 6.4
    step = INNER / len(grid.headings)
    edges = [MARGIN + step * (n + 1) for n in range(len(grid.headings))]
    edges[0] = MARGIN
    for number, heading in enumerate(grid.headings):
        page.put(heading, edges[number], page.y, SMALL, colour=MUTED, right=number > 0, room=step)
    page.rule(page.y + 1.6)
    page.y += 5.6
    fit = max(1, int((BOTTOM - page.y - 12) / 5.6))
    for index, row in enumerate(grid.rows[:fit]):
        for number, text in enumerate(row):
            strong = index == grid.here
            size = NORMAL * 1.06 if strong else NORMAL
            page.put(text, edges[number], page.y, size, strong=strong, right=number > 0, room=step)
        page.y += 5.6
    if len(grid.rows) > fit:
        page.put(f"and {len(grid.rows) - fit} more on request", MARGIN, page.y, SMALL, colour=MUTED)
        page.y += 5.6


def draw_price_list(paper: PriceListPaper, letter: Letter) -> tuple[bytes, ...]:
    """A price list, as one SVG a page: each thing with its picture, its name and its prices."""
    return tuple(page.svg() for page in _numbered(list(_price_pages(paper, letter)), paper.foot))


def _price_pages(paper: PriceListPaper, letter: Letter) -> Iterator[Page]:
    page = Page(letter)
    draw_head(page, paper.head)
    _draw_headings(page, paper)
    for offer in paper.offers:
        if page.y + OFFER > BOTTOM:
            yield page
            page = Page(letter)
            page.y += 4
            _draw_headings(page, paper)
        _draw_offer(page, offer)
    y = page.y + 6
    for note in paper.notes:
        y = page.block(note, MARGIN, y, INNER, SMALL, colour=MUTED, most=3) + 0.8
    yield page


def _price_edges(count: int) -> list[float]:
    """Where each column of prices ends."""
    step = min(26.0, 78.0 / count)
    return [RIGHT - step * (count - 1 - n) for n in range(count)]


def _draw_headings(page: Page, paper: PriceListPaper) -> None:
    if len(paper.quantities) > 1:
        for text, edge in zip(paper.quantities, _price_edges(len(paper.quantities)), strict=True):
            page.put(text, edge, page.y, SMALL, colour=MUTED, right=True, room=26)
    page.rule(page.y + 2)
    page.y += 4


def _draw_offer(page: Page, offer: Offer) -> None:
    room = 34.0
    page.band(page.y, OFFER - 2.6, MARGIN, room)
    page.thing(offer.picture, MARGIN + 2, page.y + 2, (room - 4, OFFER - 6.6))
    edges = _price_edges(len(offer.prices))
    left = MARGIN + room + 6
    words = edges[0] - _PRICE - left
    middle = page.y + (OFFER - 2.6) / 2
    names = lines_of(offer.name, page.type(_NAME, strong=True), words, 2)
    notes = lines_of(offer.note, page.type(SMALL), words, 2)
    y = middle - (len(names) * _NAME * 1.25 + len(notes) * SMALL * LEADING) / 2 - _NAME * 0.3
    for line in names:
        y += _NAME * 1.25
        page.put(line, left, y, _NAME, strong=True, room=words)
    y += 0.6
    for line in notes:
        y += SMALL * LEADING
        page.put(line, left, y, SMALL, colour=MUTED, room=words)
    for number, (text, edge) in enumerate(zip(offer.prices, edges, strict=True)):
        size = BIG if number == 0 else NORMAL
        page.put(text, edge, middle + 1.4, size, strong=number == 0, right=True, room=_PRICE + 6)
    page.y += OFFER
    page.rule(page.y - 1.3)
    page.y += 1.3


def draw_packing(paper: PackingPaper, letter: Letter) -> tuple[bytes, ...]:
    """A packing list, as one SVG a page: each parcel under its name, a box to tick before each piece."""
    return tuple(page.svg() for page in _numbered(list(_packing_pages(paper, letter)), paper.foot))


def _packing_pages(paper: PackingPaper, letter: Letter) -> Iterator[Page]:
    page = Page(letter)
    draw_head(page, paper.head)
    for parcel in paper.parcels:
        left = list(parcel.pieces)
        begun = False
        while left or not begun:
            rows = int((BOTTOM - page.y - 10) // _PARCEL_LINE)
            wanted = -(-len(left) // _COLUMNS)
            if rows < min(2, wanted) or rows < wanted <= _MOST_ROWS:
                yield page
                page = Page(letter)
                page.y = _FRESH
                continue
            here, left = left[: rows * _COLUMNS], left[rows * _COLUMNS :]
            _draw_parcel(page, parcel, here, "continued" if begun else f"{len(parcel.pieces)} pc")
            begun = True
    yield page


def _draw_parcel(page: Page, parcel: Parcel, here: list[tuple[str, str]], note: str) -> None:
    page.y += 3
    page.put(parcel.name, MARGIN, page.y, BIG, strong=True, room=INNER - 30)
    page.put(note, RIGHT, page.y, NORMAL, colour=MUTED, right=True)
    page.rule(page.y + 2, colour=INK, thick=0.25)
    page.y += 8
    column = (INNER - _BETWEEN * (_COLUMNS - 1)) / _COLUMNS
    rows = -(-len(here) // _COLUMNS)
    for index, (id_, text) in enumerate(here):
        side, row = divmod(index, rows)
        x, y = MARGIN + side * (column + _BETWEEN), page.y + row * _PARCEL_LINE
        box: Look = {"fill": "none", "stroke": MUTED, "stroke_width": 0.2}
        page.canvas.draw(square(x, y, 3.2), box)
        wide = page.put(id_, x + column, y, SMALL, colour=MUTED, right=True)
        page.put(text, x + 5.4, y, NORMAL, room=column - wide - 8)
    page.y += rows * _PARCEL_LINE + 5


def _numbered(pages: list[Page], foot: str) -> list[Page]:
    for number, page in enumerate(pages, 1):
        draw_foot(page, foot, f"{number} of {len(pages)}" if len(pages) > 1 else "")
    return pages
