"""The customer's side: what can be made is numbered once, what cannot is said kindly."""

from __future__ import annotations

import html
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from render.pipeline.shopfolder import open_ledger
from render.shop.ledger import State
from tests.stall.conftest import MakerVisit, Visit


def test_only_what_is_put_out_is_shown_with_price_and_count(visit: Visit) -> None:
    page = visit.client.get("/").text
    assert "Pet tag" in page
    assert "9.00\N{NO-BREAK SPACE}EUR" in page
    assert "5 left" in page
    assert "coaster" not in page.lower()
    assert visit.client.get("/thing/coaster").status_code == 303


def test_an_order_is_in_the_ledger_exactly_as_it_was_seen(visit: Visit, shop: Path) -> None:
    form = visit.form("Zoë")
    told = visit.send(form).json()
    assert told["number"] == 1
    with open_ledger(shop) as ledger:
        (id_,) = ledger.order_ids()
        (piece,) = ledger.pieces(id_)
        assert (piece.fields["name"], piece.state) == ("Zoë", State.APPROVED)
        assert piece.approved == form["digest"]
        assert ledger.order(id_).price == 900
        assert list(ledger.check()) == []


def test_the_same_key_is_the_same_order(visit: Visit, shop: Path) -> None:
    form = visit.form("Biscuit")
    numbers = {visit.send(form).json()["number"] for _ in range(4)}
    assert numbers == {1}
    other = visit.send({**visit.form("Otis"), "key": form["key"]})
    assert other.status_code == 409
    with open_ledger(shop) as ledger:
        assert len(ledger.order_ids()) == 1


def test_two_tablets_at_once_never_share_a_number_or_oversell(visit: Visit) -> None:
    forms = [visit.form(f"Name {letter}") for letter in "ABCDEFGHIJ"]
    with ThreadPoolExecutor(5) as crowd:
        answers = list(crowd.map(visit.send, forms))
    numbers = sorted(a.json()["number"] for a in answers if a.status_code == 200)
    assert numbers == [1, 2, 3, 4, 5]
    assert [a.status_code for a in answers].count(410) == 5
    assert "all gone today" in visit.client.get("/").text


def test_another_picture_than_the_one_seen_is_not_taken(visit: Visit) -> None:
    form = visit.form("Ada")
    assert visit.send({**form, "name": "Eda"}).status_code == 409
    assert visit.send({**form, "style": "pacifico"}).status_code == 409


@pytest.mark.parametrize(
    ("name", "word"),
    [
        ("", ""),
        ("Maximiliana-Alexandrina Wolkensteinhausen", "too long"),
        ("A" * 61, "letters at most"),
        ("花子", "no letters"),
        ("An\u202ena", "turns the writing"),
        ("An\0na", "nobody can see"),
        ("a" + "\u0301" * 30, "accents"),
    ],
)
def test_what_cannot_be_made_is_said_kindly(visit: Visit, name: str, word: str) -> None:
    told = visit.draw(name)
    assert word in told["sorry"]
    assert told["svg"].startswith("<svg")


def test_what_can_be_made_instead_is_offered(visit: Visit) -> None:
    long = "Maximiliana-Alexandrina Wolk"
    told = visit.draw(long)
    assert "too long" in told["sorry"]
    assert [other["thing"] for other in told["others"]] == ["wallet-patch"]
    for other in told["others"]:
        assert not visit.draw(long, thing=other["thing"], style=other["style"])["sorry"]


def test_what_is_gone_is_not_offered_instead(visit: Visit, maker: MakerVisit) -> None:
    maker.do("pause", thing="wallet-patch")
    assert visit.draw("Maximiliana-Alexandrina Wolk")["others"] == []


def test_the_spelling_stands_there_letter_by_letter(visit: Visit) -> None:
    page = visit.check("O’Néill")
    for letter in "ONéill":
        assert f"<b>{letter}</b>" in page
    assert "<small>apostrophe</small>" in page


def test_no_page_after_it_shows_the_name_again(visit: Visit) -> None:
    form = visit.form("Philippa")
    key = form["key"]
    visit.send(form)
    for path in ("/", "/thing/pet-tag", f"/number/{key}"):
        answer = visit.client.get(path)
        assert "Philippa" not in html.unescape(answer.text)
        assert answer.headers["cache-control"] == "no-store"


def test_without_script_the_form_leads_to_the_number(visit: Visit) -> None:
    form = visit.form("Otis")
    answer = visit.client.post("/order", data=form)
    assert answer.headers["location"] == f"/number/{form['key']}"
    assert '<p class="number">1</p>' in visit.client.get(answer.headers["location"]).text


def test_a_second_line_is_part_of_the_piece(visit: Visit, shop: Path) -> None:
    visit.order("Rex", second="01632 960417")
    with open_ledger(shop) as ledger:
        (piece,) = ledger.pieces(ledger.order_ids()[0])
        assert piece.fields == {"name": "Rex", "phone": "01632 960417"}
