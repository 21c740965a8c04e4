"""Quotes, price lists and packing lists: everything on the page, nothing lost, nothing from elsewhere."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING
from xml.etree import ElementTree

import pytest
from lxml import html

from render.geometry.pathtext import parse_path
from render.model import Artwork, Blank, Mark, Material, Operation
from render.proof.drawnpapers import draw_packing, draw_price_list, draw_quote
from render.proof.htmlpapers import quote_html
from render.proof.papers import (
    Grid,
    Head,
    Offer,
    PackingPaper,
    Parcel,
    Picture,
    PriceListPaper,
    QuotePaper,
    Row,
)

if TYPE_CHECKING:
    from conftest import Blocks

SVG = "{http://www.w3.org/2000/svg}"
LONG = "Wolfeschlegelsteinhausenbergerdorff und Kompanie, Personalisierung aller Art, " * 3


@pytest.fixture
def picture(tag: Blank, wood: Material) -> Picture:
    return Picture(tag, wood, Artwork("p2", "Anna", (Mark(Operation.ENGRAVE, tag.markable),)))


def head(**words: str) -> Head:
    plain = {"shop": "Shop", "kind": "Quote", "title": "Order", "subtitle": "things"} | words
    return Head(lines=("One street",), facts=(("Date", "2025-06-02"),), **plain)


def quote(picture: Picture, text: str = "Place card", rows: int = 3) -> QuotePaper:
    lines = tuple((f"{n} pieces", "1.00 EUR", f"{n}.00 EUR") for n in range(1, rows + 1))
    money = (
        Row(text, f"120 × {text}", "186.00"),
        Row("Total", "", "1 171.12 EUR", total=True),
        Row("of which", "", "2"),
    )
    return QuotePaper(
        head(title=text), (picture,) * 4, money, Grid(text, ("n", "each", "Total"), lines, 1), (text,), text
    )


def shapes_on_page(page: bytes) -> int:
    """How many shapes a page has; all of them lie on it."""
    root = ElementTree.fromstring(page)
    count = 0
    assert {e.tag for e in root.iter()} == {f"{SVG}svg", f"{SVG}rect", f"{SVG}path"}
    for path in root.iter(f"{SVG}path"):
        box = parse_path(path.get("d") or "").bounds()
        assert box.x0 >= -0.01
        assert box.y0 >= 0
        assert box.x1 <= 210.01
        assert box.y1 <= 297
        count += 1
    return count


@pytest.mark.parametrize("text", ["Place card", LONG])
@pytest.mark.parametrize("rows", [3, 200])
def test_a_quote_keeps_to_its_page(picture: Picture, blocks: Blocks, text: str, rows: int) -> None:
    assert shapes_on_page(draw_quote(quote(picture, text, rows), blocks)) > 20
    said = [words for words, _ in blocks.texts]
    assert "1 171.12 EUR" in said
    assert any(words.endswith("more on request") for words in said) == (rows == 200)


def test_a_long_price_list_runs_over_pages_and_loses_nothing(picture: Picture, blocks: Blocks) -> None:
    offers = tuple(
        Offer(picture, f"Thing {n}", LONG if n % 2 else "small", (f"{n}.00", "9.00")) for n in range(30)
    )
    pages = draw_price_list(PriceListPaper(head(), ("each", "from 10"), offers, ("note",), "foot"), blocks)
    assert len(pages) > 2
    for page in pages:
        shapes_on_page(page)
    said = {words for words, _ in blocks.texts}
    assert {f"{n}.00" for n in range(30)} <= said
    assert {f"Thing {n}" for n in range(30)} <= said
    assert f"{len(pages)} of {len(pages)}" in said


def test_every_piece_of_a_packing_list_is_on_it_once(blocks: Blocks) -> None:
    parcels = (
        Parcel("Stores", tuple((f"s1p{n:03d}", f"Name {n}") for n in range(3))),
        Parcel(LONG, tuple((f"s2p{n:03d}", LONG) for n in range(171))),
        *(Parcel(f"Small {n}", ((f"s3p{n:03d}", "Ana"),)) for n in range(40)),
    )
    pages = draw_packing(PackingPaper(head(kind="Packing list"), parcels, "foot"), blocks)
    boxes = 0
    for page in pages:
        shapes_on_page(page)
        boxes += page.count(b'stroke-width="0.2"')
    ids = [id_ for parcel in parcels for id_, _ in parcel.pieces]
    assert boxes == len(ids)
    page_of = [words for words, _ in blocks.texts if re.fullmatch(r"s\dp\d{3}", words)]
    assert sorted(set(page_of)) == sorted(ids)
    assert "continued" in {words for words, _ in blocks.texts}


def test_a_quote_as_html_is_whole_by_itself_and_escaped(picture: Picture) -> None:
    paper = quote(picture, "<script>alert('x')</script> & Söhne")
    page = quote_html(paper)
    assert page == quote_html(paper)
    root = html.fromstring(page)
    assert not root.xpath("//script | //link | //img | //@src | //@href | //@onload")
    outside = re.findall(rb"https?://[^\"'<> ]+", page)
    assert set(outside) == {b"http://www.w3.org/2000/svg"}
    assert b"url(" not in page
    assert root.xpath("//h1")[0].text == "<script>alert('x')</script> & Söhne"
    assert [td.text for td in root.xpath("//tr[@class='total']/td[2]")] == ["1 171.12 EUR"]
    assert root.xpath("//tr[@class='here']/th/text()") == ["2 pieces"]
    assert root.get("lang") == "en"
    assert "Anna" in root.xpath("//figure/@aria-label")[0]


def test_a_quote_without_pictures_and_other_quantities(picture: Picture, blocks: Blocks) -> None:
    plain = QuotePaper(head(), (), (Row("Total", "", "5.00 EUR", total=True),))
    shapes_on_page(draw_quote(plain, blocks))
    assert not html.fromstring(quote_html(plain)).xpath("//figure | //h2 | //footer")
