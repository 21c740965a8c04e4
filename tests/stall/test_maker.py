"""The maker's side: the queue, the load, what came of it, and steps taken back."""

from __future__ import annotations

import html
import re
import sys
from contextlib import suppress
from pathlib import Path
from shutil import copytree

import pytest

from render.cli import main
from render.errors import LibraryError
from render.pipeline.shopfolder import look_over, open_ledger
from render.pipeline.stallwork import Bench
from render.sheets.reader import read_sheet
from render.shop.ledger import State
from render.shop.stalltable import read_stall
from tests.stall.conftest import MakerVisit, Visit, opened

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


def test_a_load_is_the_very_one_that_the_command_makes(
    visit: Visit, maker: MakerVisit, shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("Biscuit", "Zoë", "Juno"):
        visit.order(name)
    other = shop.with_name("other")
    copytree(shop, other)
    assert maker.do("load", blank="pet-tag", machine="diode", remake=0).status_code == 200
    with open_ledger(other) as ledger:
        orders = ledger.order_ids()
    monkeypatch.setattr(sys, "argv", ["monikerf", "load", *orders, "--shop", str(other)])
    with suppress(SystemExit):
        main()
    made, commanded = (
        {f.name: f.read_bytes() for f in (folder / "out/load-0001").iterdir() if f.suffix == ".svg"}
        for folder in (shop, other)
    )
    assert made == commanded
    titles = [g.title for g in read_sheet(made["sheet.svg"]).groups if g.operation == "engrave"]
    assert [title.split(": ")[1] for title in titles] == ["Biscuit", "Zoë", "Juno"]


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
    answer = maker.desk(1, name="Catherine", second="01632 960417", style="pacifico")
    assert (answer.status_code, answer.headers["location"]) == (303, "/maker#n1")
    with open_ledger(shop) as ledger:
        (piece,) = ledger.pieces(ledger.order_ids()[0])
        assert (piece.fields, piece.state) == ({"name": "Catherine", "phone": "01632 960417"}, State.APPROVED)
        assert ledger.order(ledger.order_ids()[0]).terms.font == "pacifico"
        assert list(ledger.check()) == []
    assert "nobody can see" in maker.desk(1, name="An\0n").text
    assert "change number 1" in maker.do("undo").json()["said"]
    with open_ledger(shop) as ledger:
        (piece,) = ledger.pieces(ledger.order_ids()[0])
        assert (piece.fields, piece.state) == ({"name": "Katherine"}, State.APPROVED)
        assert ledger.order(ledger.order_ids()[0]).terms.font == "roboto-slab"
        assert list(ledger.check()) == []
    visit.order("Otis", second="01632 960417")
    assert maker.desk(2, second="", style="playfair-display").status_code == 303
    assert maker.do("load", blank="pet-tag", machine="diode", remake=0).status_code == 200
    with open_ledger(shop) as ledger:
        assert ledger.pieces(ledger.order_ids()[1])[0].fields == {"name": "Otis"}
    assert look_over(shop)[1] == []


def test_an_order_is_taken_by_hand_once(visit: Visit, maker: MakerVisit, shop: Path) -> None:
    maker.do("pause", thing="wallet-patch")
    page = maker.client.get("/maker/desk/new/wallet-patch").text
    form = dict(re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)"', page))
    form |= {"name": "Ada", "style": "roboto-slab"}
    for _ in range(2):
        assert maker.client.post("/maker/desk", data=form).headers["location"] == "/maker#n1"
    assert visit.order("Otis") == 2
    assert "Sorry" not in maker.desk("new/pet-tag", name="Juno").text
    assert states_of(shop) == dict.fromkeys((1, 2, 3), State.APPROVED)
    assert "take number 3 in" in maker.do("undo").json()["said"]
    assert list(states_of(shop)) == [1, 2]
    assert maker.client.post("/maker/desk", data={**form, "mark": "x"}).headers["location"] == "/maker"


def test_nobody_comes_to_the_desk_without_the_passphrase(visit: Visit, shop: Path) -> None:
    visit.order("Ada")
    for path in ("/maker/desk/1", "/maker/desk/new/pet-tag"):
        answer = visit.client.get(path)
        assert (answer.status_code, answer.headers["location"]) == (303, "/maker")
    form = {
        "name": "Eda",
        "thing": "pet-tag",
        "style": "roboto-slab",
        "key": "0" * 32,
        "number": "1",
        "mark": "",
    }
    assert visit.client.post("/maker/desk", data=form).headers["location"] == "/maker"
    assert list(states_of(shop)) == [1]


def test_every_step_is_taken_back_after_a_restart(shop: Path) -> None:
    """Everything once, each seen as it was before, the server started anew before every way back."""
    bench = Bench.open(shop)
    with opened(shop, bench) as (visit, maker):
        visit.order("Juno")
        visit.order("Otis")
        looks = [seen(shop, maker)]
        for step in (
            lambda: maker.do("pause", thing="key-tag"),
            lambda: maker.do("resume", thing="key-tag"),
            lambda: maker.desk("new/key-tag", name="Ida"),
            lambda: maker.do("cancel", number=3),
            lambda: maker.desk(1, name="June"),
            lambda: maker.do("load", blank="pet-tag", machine="diode", remake=0),
            lambda: maker.do("drop", load=1),
            lambda: maker.do("load", blank="pet-tag", machine="diode", remake=0),
            lambda: maker.do("failed", load=2, place=1),
            lambda: maker.do("made", load=2, place=1),
            lambda: maker.do("made", load=2),
            lambda: maker.desk(2, name="Otto"),
            lambda: maker.do("cancel", number=2),
            lambda: maker.do("hand-over", number=1),
        ):
            assert step().status_code in (200, 303)
            looks.append(seen(shop, maker))
    said = []
    while len(looks) > 1:
        looks.pop()
        with opened(shop, bench) as (_, maker):
            answer = maker.do("undo")
            assert answer.status_code == 200, answer.json()
            said.append(answer.json()["said"])
            assert seen(shop, maker) == looks[-1], said[-1]
        assert [w for w in look_over(shop)[1] if "has been changed" in w] == []
    with opened(shop, bench) as (_, maker):
        assert maker.do("undo").status_code == 409


def test_what_came_after_makes_a_step_stay(visit: Visit, maker: MakerVisit, shop: Path) -> None:
    visit.order("Juno")
    maker.do("pause", thing="key-tag")
    maker.do("load", blank="pet-tag", machine="diode", remake=0)
    with open_ledger(shop) as ledger:
        ledger.record_outcomes(1)
    assert "too late for: make load 1" in maker.do("undo").json()["error"]
    assert states_of(shop) == {1: State.MADE}
    assert "take Key tag off the table" in maker.do("undo").json()["said"]


def test_a_made_blank_is_spent_even_if_the_order_is_cancelled(visit: Visit, maker: MakerVisit) -> None:
    visit.order("Ada")
    maker.do("load", blank="pet-tag", machine="diode", remake=0)
    maker.do("failed", load=1, place=1)
    maker.do("made", load=1, place=1)
    assert "4 left" in visit.client.get("/").text, "it came out well after all"
    maker.do("cancel", number=1)
    assert "4 left" in visit.client.get("/").text


def test_the_day_is_the_stalls_own(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (shop / "stall.toml").write_text('zone = "Pacific/Auckland"\n' + (shop / "stall.toml").read_text())
    monkeypatch.setenv("MONIKERF_NOW", "2026-06-14T11:59:00Z")  # 23:59 in Auckland, twelve hours ahead
    with opened(shop) as (visit, maker):
        assert visit.order("Ada") == 1
        maker.do("pause", thing="key-tag")
        assert visit.order("Otis") == 2
    monkeypatch.setenv("MONIKERF_NOW", "2026-06-14T12:00:00Z")
    with opened(shop) as (visit, maker):
        assert "No orders yet today" in maker.board()
        assert maker.do("undo").status_code == 409, "yesterday's steps stay"
        assert visit.order("Juno") == 1
        assert "9.00\N{NO-BREAK SPACE}EUR" in maker.board()
    with open_ledger(shop) as ledger:
        assert ledger.order_ids() == ("stall-20260614-001", "stall-20260614-002", "stall-20260615-001")


def test_an_unknown_zone_is_told(shop: Path) -> None:
    (shop / "stall.toml").write_text('zone = "Atlantis/Centre"\n' + (shop / "stall.toml").read_text())
    with pytest.raises(LibraryError, match="Atlantis"):
        read_stall(shop)


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


def seen(shop: Path, maker: MakerVisit) -> tuple[object, ...]:
    """All that matters of the ledger, and the counts on the board."""
    with open_ledger(shop) as ledger:
        pieces = [
            (p.order, p.state, dict(p.fields), p.load, p.approved, p.digest, ledger.order(p.order).terms)
            for id_ in ledger.order_ids()
            for p in ledger.pieces(id_)
        ]
        loads = [
            (each.id, each.state, [p.result for p in each.places]) for each in ledger.loads("open", "done")
        ]
        assert list(ledger.check()) == []
    return pieces, loads, re.findall(r"<dd>(.*?)</dd>|(\d+ left|off the table)", maker.board())


def states_of(shop: Path) -> dict[int, State]:
    with open_ledger(shop) as ledger:
        return {int(i.rsplit("-", 1)[1]): p.state for i in ledger.order_ids() for p in ledger.pieces(i)}
