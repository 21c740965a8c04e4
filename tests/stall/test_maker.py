"""The maker's side: the queue, the load, what came of it, and steps taken back."""

from __future__ import annotations

import html
import re
from pathlib import Path

from render.pipeline.shopfolder import look_over, open_ledger
from render.sheets.reader import read_sheet
from render.shop.ledger import State
from tests.stall.conftest import MakerVisit, Visit

HOSTILE = (
    '<script>alert("x")</script>',
    "'\"><img src=x onerror=alert(1)>",
    "../../etc/passwd",
    "=1+2|cmd",
    "{{ 7*7 }}",
    "]]>&amp;&#x41;",
    "-rf ~ $(true)",
)


def test_the_queue_grows_and_a_load_is_made_and_marked(visit: Visit, maker: MakerVisit, shop: Path) -> None:
    for name in ("Biscuit", "Otis", "Juno"):
        visit.order(name)
    assert "27.00\N{NO-BREAK SPACE}EUR" in maker.board()
    said = maker.do("load", blank="pet-tag", machine="diode", remake=0)
    assert "out/load-0001/sheet.svg" in said.json()["said"]
    assert (shop / "out/load-0001/sheet.svg").is_file()
    assert maker.do("load", blank="pet-tag", machine="diode", remake=0).status_code == 409
    maker.do("failed", load=1, place=2)
    maker.do("made", load=1)
    states = states_of(shop)
    assert states == {1: State.MADE, 2: State.FAILED, 3: State.MADE}
    assert "the last one" in visit.client.get("/").text, "a spoilt blank is gone too"
    maker.do("load", blank="pet-tag", machine="diode", remake=1)
    maker.do("made", load=2)
    maker.do("hand-over", number=2)
    assert states_of(shop)[2] is State.PACKED
    assert look_over(shop)[1] == []


def test_the_last_step_is_taken_back(visit: Visit, maker: MakerVisit, shop: Path) -> None:
    visit.order("Juno")
    maker.do("load", blank="pet-tag", machine="diode", remake=0)
    assert "make load 1" in maker.do("undo").json()["said"]
    with open_ledger(shop) as ledger:
        assert ledger.load(1).state == "dropped"
    maker.do("load", blank="pet-tag", machine="diode", remake=0)
    maker.do("made", load=2)
    maker.do("hand-over", number=1)
    maker.do("undo")
    assert states_of(shop) == {1: State.MADE}


def test_what_was_said_of_a_load_is_unsaid(visit: Visit, maker: MakerVisit, shop: Path) -> None:
    visit.order("Juno")
    visit.order("Otis")
    maker.do("load", blank="pet-tag", machine="diode", remake=0)
    maker.do("failed", load=1, place=1)
    assert "the last one" not in visit.client.get("/").text
    assert "2 left" in visit.client.get("/").text
    maker.do("made", load=1)
    assert states_of(shop) == {1: State.FAILED, 2: State.MADE}
    assert "mark the rest of load 1 as made" in maker.do("undo").json()["said"]
    assert "mark place 1 of load 1 as failed" in maker.do("undo").json()["said"]
    assert states_of(shop) == {1: State.APPROVED, 2: State.APPROVED}
    assert "3 left" in visit.client.get("/").text
    with open_ledger(shop) as ledger:
        assert ledger.load(1).state == "open"
    assert look_over(shop)[1] == []
    maker.do("made", load=1)
    assert states_of(shop) == {1: State.MADE, 2: State.MADE}
    maker.do("hand-over", number=1)
    maker.do("undo")
    maker.do("undo")
    assert states_of(shop)[1] is State.APPROVED


def test_a_paused_thing_cannot_be_had(visit: Visit, maker: MakerVisit) -> None:
    form = visit.form("Ada")
    maker.do("pause", thing="pet-tag")
    assert visit.send(form).status_code == 410
    assert "not just now" in visit.client.get("/").text
    maker.do("resume", thing="pet-tag")
    assert visit.send(form).json()["number"] == 1


def test_a_piece_is_changed_with_the_customer_present(visit: Visit, maker: MakerVisit, shop: Path) -> None:
    visit.order("Katherine")
    assert maker.do("change", number=1, name="Catherine").status_code == 200
    with open_ledger(shop) as ledger:
        (piece,) = ledger.pieces(ledger.order_ids()[0])
        assert (piece.fields["name"], piece.state) == ("Catherine", State.APPROVED)
        assert list(ledger.check()) == []
    assert maker.do("change", number=1, name="An\0n").status_code == 409
    maker.do("undo")
    with open_ledger(shop) as ledger:
        assert ledger.pieces(ledger.order_ids()[0])[0].fields["name"] == "Katherine"


def test_a_cancelled_order_is_gone_and_its_blank_is_there_again(visit: Visit, maker: MakerVisit) -> None:
    visit.order("Ada")
    assert "4 left" in visit.client.get("/").text
    maker.do("cancel", number=1)
    assert "5 left" in visit.client.get("/").text
    assert visit.order("Ada") == 2, "a number is never given twice"


def test_hostile_names_reach_the_sheet_as_nothing_but_letters(
    visit: Visit, maker: MakerVisit, shop: Path
) -> None:
    made = []
    for name in HOSTILE:
        page = visit.check(name, thing="key-tag", style="montserrat")
        assert "<script>alert" not in page
        assert "<img" not in page
        if 'name="digest"' in page:
            assert html.unescape(page).count(name) >= 1
            visit.order(name, thing="key-tag", style="montserrat")
            made.append(name)
    assert len(made) >= 5
    board = maker.board()
    assert "<script" not in board
    assert "<img" not in board
    assert "49" not in re.findall(r'dir="auto">([^<]*)<', board)
    assert maker.do("load", blank="key-tag", machine="diode", remake=0).status_code == 200
    sheet = next((shop / "out/load-0001").glob("*.svg"))
    text = sheet.read_text()
    assert "<script" not in text
    assert "onerror" not in re.sub(r'"[^"]*"|>[^<]*<', "", text)
    groups = read_sheet(sheet.read_bytes()).groups
    assert all(any(name in g.title for g in groups) for name in made)
    assert sorted(p.name for p in shop.parent.iterdir()) == ["shop"]


def states_of(shop: Path) -> dict[int, State]:
    with open_ledger(shop) as ledger:
        return {int(i.rsplit("-", 1)[1]): ledger.pieces(i)[0].state for i in ledger.order_ids()}
