"""The customer's side: what can be made is numbered once, what cannot is said kindly."""

from __future__ import annotations

import html
import re
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from render.pipeline import stallwork
from render.pipeline.shopfolder import open_ledger
from render.resources import folder
from render.shop import stalltable
from render.shop.ledger import State
from tests.stall.conftest import ROUND_AND_INITIALS, MakerVisit, Visit, opened


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


def test_initials_can_be_had_where_the_thing_suits_them(shop: Path) -> None:
    (shop / "stall.toml").write_text((shop / "stall.toml").read_text() + ROUND_AND_INITIALS)
    with opened(shop) as (visit, maker):
        page = visit.client.get("/thing/coaster").text
        assert "The whole name, or initials?" in page
        assert 'data-room="ring-coaster "' in page, "a second line goes with that design alone"
        assert "initials?" not in visit.client.get("/thing/pet-tag").text
        wish = {"thing": "coaster", "style": "montserrat", "design": "monogram-coaster"}
        plain = visit.draw("Mira Helene Tallis", thing="coaster", style="montserrat")
        assert visit.draw("Mira Helene Tallis", **wish)["svg"] != plain["svg"]
        # the surname in the middle: common practice, no source
        assert re.findall("<b>(.)</b>", visit.check("Mira Helene Tallis", **wish)) == ["M", "T", "H"]
        told = visit.draw("Mira", **{**wish, "design": "ring-coaster"})
        assert "given name and a surname" in told["sorry"]
        assert ("coaster", "") in [(o["thing"], o["design"]) for o in told["others"]]
        assert visit.order("Mira Helene Tallis", **wish) == 1
        assert visit.order("Mira Tallis", second="Lantern House", **{**wish, "design": "ring-coaster"}) == 2
        assert visit.draw("Ada", **{**wish, "design": "../pet-tag"}) == {"error": "begin anew"}
        assert maker.do("load", blank="coaster", machine="diode", remake=0).status_code == 200
    with open_ledger(shop) as ledger:
        terms = [ledger.order(id_).terms.template for id_ in ledger.order_ids()]
        assert terms == ["monogram-coaster", "ring-coaster"]
        assert ledger.pieces(ledger.order_ids()[1])[0].fields == {
            "name": "Mira Tallis",
            "line2": "Lantern House",
        }


def test_a_fault_of_ours_is_told_kindly_and_written_down(
    visit: Visit, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def fails(*_: object) -> None:
        raise ZeroDivisionError("of the letters")

    with monkeypatch.context() as patched:
        patched.setattr(stallwork, "letter_order", fails)
        assert "cannot make exactly that" in visit.draw("Ada")["sorry"]
    assert "of the letters" in caplog.text
    assert visit.draw("Ada")["sorry"] == "", "nothing of it is kept"


def test_round_things_stand_and_turn_as_far_as_the_name_goes(shop: Path) -> None:
    (shop / "stall.toml").write_text((shop / "stall.toml").read_text() + ROUND_AND_INITIALS)
    with opened(shop) as (visit, _):
        told = visit.draw("Ada", thing="tumbler", style="montserrat")
        box = [int(n) for n in re.findall(r'viewBox="0 0 (\d+) (\d+)"', told["svg"])[0]]
        # 72.8 mm across by 100 mm: higher than wide; unrolled it would be more than twice as wide as high
        assert box[0] < box[1]
        assert "<g transform" not in told["svg"], "one side is enough"


@pytest.mark.parametrize(
    "words", [stalltable.BEGIN, (folder("demo") / "market/stall.toml").read_text("utf-8")]
)
def test_what_we_put_out_ourselves_can_be_had(shop: Path, words: str) -> None:
    """The first stall.toml and the demo's: every thing, style and design of them letters a name."""
    (shop / "stall.toml").write_text(words, encoding="utf-8")
    bench = stallwork.Bench.open(shop)
    for thing in bench.stall.thing:
        for design in ("", *thing.monograms):
            for style in thing.styles:
                assert bench.draw(stallwork.Wish(thing.id, style, "Mira Tallis", "", design)).sorry == ""
