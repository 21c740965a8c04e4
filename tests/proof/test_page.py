"""The proof page as a file: whole in itself, every word escaped, nothing left out, the same each time."""

from __future__ import annotations

import base64
import hashlib
import re
from dataclasses import replace

import pytest
from lxml import etree, html

from render.proof.page import proof_page
from render.proof.shown import ShopWords, Shown


@pytest.fixture
def page(shown: Shown, blocks: object) -> str:
    return proof_page(shown, blocks).decode()  # type: ignore[arg-type]


def test_the_same_proof_gives_the_same_bytes(shown: Shown, blocks: object, page: str) -> None:
    assert proof_page(shown, blocks).decode() == page  # type: ignore[arg-type]


def test_it_points_at_nothing_outside(page: str) -> None:
    tree = html.fromstring(page)
    places = [
        value for element in tree.iter(etree.Element) for name, value in element.attrib.items()
        if name.rpartition(":")[2] in ("href", "src", "srcset", "action", "data", "poster")
    ]  # fmt: skip
    assert places
    assert all(place.startswith(("#", "mailto:")) for place in places)
    assert not re.search(r"https?:|//[a-z]|url\(|@import", page)
    assert len(tree.xpath("//script")) == len(tree.xpath("//style")) == 1


def test_only_its_own_script_and_style_may_run(page: str) -> None:
    tree = html.fromstring(page)
    policy = tree.xpath("string(//meta[@http-equiv]/@content)")
    assert policy.startswith("default-src 'none'")
    for tag in ("script", "style"):
        text = re.search(rf"<{tag}>(.*?)</{tag}>", page, re.DOTALL)
        assert text is not None
        digest = base64.b64encode(hashlib.sha256(text[1].encode()).digest()).decode()
        assert f"{tag}-src 'sha256-{digest}'" in policy
    assert not tree.xpath("//@style | //@onclick")


def test_names_are_words_and_never_markup(page: str, shown: Shown) -> None:
    tree = html.fromstring(page)
    assert [h.text_content() for h in tree.xpath("//h3")] == [piece.title for piece in shown.drawn]
    assert not tree.xpath("//li[@class='card']//b[text()='&amp;']")
    assert tree.xpath("string(//h1)") == f"Please check: {shown.title}"
    assert tree.xpath("string(//*[@class='later']/li)") == "สมชาย"


def test_each_piece_says_what_is_to_be_known(page: str, shown: Shown) -> None:
    tree = html.fromstring(page)
    cards = {card.get("data-piece"): card for card in tree.xpath("//li[@class='card']")}
    assert list(cards) == [piece.id for piece in shown.drawn]
    for piece in shown.drawn:
        card = cards[piece.id]
        assert card.get("data-digest") == piece.digest
        assert len(card.xpath(".//svg")) == 1
        text = card.text_content()
        assert "Font of the tests, size 7.2 mm" in text
        assert all(note in text for note in piece.notes)
        spelled = card.xpath(".//*[@class='letters']")[0]
        letters = [s.text_content() for s in spelled.xpath("./span[not(@class)]")]
        assert "".join(letters) == re.sub(r"[ .’'&-]", "", piece.title)
    arabic = cards["p003"].xpath(".//h3")[0]
    assert (arabic.get("lang"), arabic.get("dir")) == ("und-Arab", "rtl")


def test_capitals_are_told_only_where_there_are_any(page: str) -> None:
    cards = html.fromstring(page).xpath("//li[@class='card']")
    assert "capitals 5.1 mm high" in cards[0].text_content()
    assert "capitals" not in cards[1].xpath("string(.//*[@class='facts'])")


def test_the_shop_speaks_only_where_it_said_something(shown: Shown, blocks: object, page: str) -> None:
    assert "Please answer by 12 June 2026" in page
    assert 'href="mailto:shop@example.org"' in page
    mute = proof_page(replace(shown, shop=ShopWords(contact="Telephone 12")), blocks).decode()  # type: ignore[arg-type]
    assert "Please answer by" not in mute
    assert 'href="mailto:"' in mute
    assert "Answers go to: Telephone 12" in mute
    assert mute.count("<path") < page.count("<path")  # no watermark


def test_round_things_are_shown_from_both_sides(turning: Shown, blocks: object) -> None:
    page = proof_page(turning, blocks).decode()  # type: ignore[arg-type]
    card = html.fromstring(page).xpath("//li[@class='card']")[0]
    assert [c.text for c in card.xpath(".//figcaption")] == ["front", "back"]
    assert "200 mm round, 80 mm high" in page


def test_what_pieces_share_is_written_once(shown: Shown, blocks: object, page: str) -> None:
    many = replace(shown, pieces=tuple(
        replace(shown.pieces[0], id=f"p{n:03d}") for n in range(2, 122)
    ))  # fmt: skip
    data = proof_page(many, blocks).decode()  # type: ignore[arg-type]
    drawings = sum(len(svg) for svg in re.findall(r"<svg viewBox.*?</svg>", data))
    assert drawings < 120 * 300


def test_a_proof_of_nothing_is_refused(shown: Shown, blocks: object) -> None:
    with pytest.raises(ValueError, match="no pieces"):
        proof_page(replace(shown, pieces=shown.missing), blocks)  # type: ignore[arg-type]
