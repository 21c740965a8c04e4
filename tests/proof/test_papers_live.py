"""Quote and price list in a real Chromium: without a network, on a phone and on paper's width, by axe."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from render.model import Artwork, Blank, Mark, Material, Operation
from render.proof.htmlpapers import price_list_html, quote_html
from render.proof.papers import Grid, Head, Offer, Picture, PriceListPaper, QuotePaper, Row

pytest.importorskip("playwright.sync_api", reason="playwright is not installed")

from playwright.sync_api import Browser

RULES = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}
LONG = "Donaudampfschifffahrtsgesellschaft & Söhne, <b>gravierte</b> Tischkarten"


@pytest.fixture
def papers(tag: Blank, wood: Material) -> dict[str, bytes]:
    picture = Picture(tag, wood, Artwork("p2", "Anna", (Mark(Operation.ENGRAVE, tag.markable),)))
    facts = (("Number", "Q-2026-000123"), ("Valid until", "2026-07-02"))
    head = Head("Heron Lane Workshop", ("3 Heron Lane",), "Quote", facts, LONG, f"{LONG} · 89 × 51 mm")
    money = (Row(LONG, "120 × 1 234.50 EUR", "148 140.00"), Row("Total", "", "148 140.00 EUR", total=True))
    rows = tuple((n, "1 234.50 EUR", "148 140.00 EUR") for n in ("20", "1200"))
    grid = Grid("In other quantities", ("Pieces", "each, rounded, without tax", "Total with tax"), rows, 1)
    quote = QuotePaper(head, (picture,) * 3, money, grid, (LONG,), LONG)
    offers = (Offer(picture, LONG, LONG, ("1 234.50", "12.42", "9.00")),) * 3
    listed = PriceListPaper(head, ("each", "each from 10", "each from 50"), offers, (LONG,), LONG)
    return {"quote": quote_html(quote), "list": price_list_html(listed)}


@pytest.mark.parametrize("kind", ["quote", "list"])
def test_axe_finds_nothing_and_a_narrow_screen_holds_it(
    papers: dict[str, bytes], browser: Browser, tmp_path: Path, kind: str
) -> None:
    axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="axe is not installed").Axe()
    file = tmp_path / "paper.html"
    file.write_bytes(papers[kind])
    context = browser.new_context(offline=True)
    page = context.new_page()
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(file.as_uri())
    for width in (320, 768):
        page.set_viewport_size({"width": width, "height": 800})
        result = axe.run(page, options=RULES)
        assert result.violations_count == 0, json.dumps(result.response["violations"])[:3000]
        assert page.evaluate("document.documentElement.scrollWidth") <= width  # WCAG 2.2, 1.4.10
        for amount in page.get_by_text("1 234.50").all():
            assert amount.is_visible()
    assert page.locator("b").count() == 0  # words stay words
    page.evaluate("document.querySelectorAll('th').forEach((e) => e.style.color = '#ddd')")
    assert axe.run(page, options=RULES).violations_count > 0  # it would find something
    context.close()
    assert asked == [file.as_uri()]
