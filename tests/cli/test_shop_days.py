"""The commands of a shop, typed as a person would: from the table to the bag, and every lock on the way."""

from __future__ import annotations

import hashlib
import json
import re
import runpy
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from render.proof.answers import Answer, PieceAnswer, write_answer
from tests.cli.conftest import Run

TOP = Path(__file__).resolve().parents[2]
NAMES = ("Zoë Lindqvist", "Kwame Boateng", "Siobhán Daly")


def write_table(path: Path, *names: str, table: str = "Oak") -> Path:
    path.write_text("Name,Table\n" + "".join(f"{name},{table}\n" for name in names), encoding="utf-8")
    return path


@contextmanager
def read_here() -> Iterator[None]:
    """Sheets are read a second time in this process, since starting another takes seconds."""
    yield None


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, monikerf: Run) -> Path:
    folder = tmp_path / "shop"
    monkeypatch.setattr("render.pipeline.loadfiles.SecondReader", read_here)
    monkeypatch.setenv("MONIKERF_SHOP", str(folder))
    monkeypatch.setenv("MONIKERF_NOW", "2026-06-15T09:00:00Z")
    assert monikerf("open-shop", folder, "--name", "Kerf & Co").code == 0
    return folder


@pytest.fixture
def feast(shop: Path, tmp_path: Path, monikerf: Run) -> Path:
    """A shop with one order of three tags, its template the shop's own."""
    (shop / "templates" / "pet-tag.svg").write_bytes((TOP / "templates" / "pet-tag.svg").read_bytes())
    table = write_table(tmp_path / "feast.csv", *NAMES)
    assert monikerf("take-order", table, "--template", "pet-tag", "--due", "2026-06-19").code == 0
    return shop


def show(monikerf: Run, order: str = "feast") -> dict[str, str]:
    shown = monikerf("proof", order, "--no-pictures", "--json").values["shown"]
    return {piece["id"]: piece["digest"] for piece in shown}


def answer(
    tmp_path: Path, digests: dict[str, str], wishes: dict[str, str] | None = None, order: str = "feast"
) -> Path:
    wishes = wishes or {}
    pieces = tuple(PieceAnswer(i, d[:8], i not in wishes, wishes.get(i, "")) for i, d in digests.items())
    file = tmp_path / "answer.txt"
    mail = "".join(f"> {line}\r\n" for line in write_answer(Answer(order, "", pieces)).splitlines())
    file.write_text(f"Dear shop,\n\n{mail}\nBest, A.", encoding="utf-8")
    return file


def states(monikerf: Run, order: str = "feast") -> dict[str, str]:
    found = monikerf("today", "--json").values["tasks"]
    return {p["piece"]: p["state"] for task in found for p in task["pieces"] if p["order"] == order}


def test_a_shop_is_opened_once_and_what_is_there_stays(shop: Path, monikerf: Run) -> None:
    settings = shop / "shop.toml"
    assert 'name = "Kerf & Co"' in settings.read_text("utf-8")
    settings.write_text('name = "Mine"\n', encoding="utf-8")
    again = monikerf("open-shop", shop)
    assert (again.code, settings.read_text("utf-8")) == (0, 'name = "Mine"\n')
    assert "all was there" in again.out


def test_without_a_shop_the_commands_say_how_to_make_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, monikerf: Run
) -> None:
    monkeypatch.delenv("MONIKERF_SHOP", raising=False)
    monkeypatch.chdir(tmp_path)
    said = monikerf("today")
    assert said.code == 2
    assert "monikerf open-shop" in said.err
    monikerf("open-shop", tmp_path)
    assert monikerf("today").code == 0  # the current folder is one


def test_the_same_table_twice_changes_nothing_and_a_corrected_one_is_told_first(
    feast: Path, tmp_path: Path, monikerf: Run
) -> None:
    before = len(monikerf("history", "feast", "--json").values["events"])
    again = monikerf("take-order", tmp_path / "feast.csv")
    assert (again.code, "nothing is new" in again.out) == (0, True)
    write_table(tmp_path / "feast.csv", "Zoë Lindkvist", "Kwame Boateng", "Ada Obi", "Ben Obi")
    told = monikerf("take-order", tmp_path / "feast.csv")
    assert told.code == 1
    assert "row 2, p002, changed: name “Zoë Lindqvist” → “Zoë Lindkvist”" in told.out
    assert len(monikerf("history", "feast", "--json").values["events"]) == before
    applied = monikerf("take-order", tmp_path / "feast.csv", "--apply", "--json")
    assert (applied.code, applied.values["applied"]) == (0, True)
    assert sorted(c["kind"] for c in applied.values["changes"]) == ["changed", "gone", "new", "new"]


def test_what_was_approved_is_what_is_made(feast: Path, tmp_path: Path, monikerf: Run) -> None:
    refused = monikerf("load", "feast")
    assert refused.code == 2
    assert "3 drafted" in refused.err
    digests = show(monikerf)
    said = monikerf(
        "answer", answer(tmp_path, digests, {"p003": '"Kwame Boateng-Daly"', "p004": "a bit larger"})
    )
    assert said.code == 0
    assert "1 approved, 2 to change" in said.out
    assert "nothing changed" in monikerf("answer", tmp_path / "answer.txt").out
    corrected = monikerf("correct", "feast", "--as-wished", "--json").values
    assert [p["text"] for p in corrected["corrected"]] == ["Kwame Boateng-Daly"]
    assert [p["wish"] for p in corrected["left"]] == ["a bit larger"]
    assert monikerf("correct", "feast", "p004", "name=Siobhán Daly").code == 0
    second = show(monikerf)
    assert set(second) == {"p003", "p004"}
    late = monikerf("answer", answer(tmp_path, {"p003": digests["p003"], "p004": second["p004"]}), "--json")
    assert late.code == 1
    reasons = {p["piece"]: p["reason"] for p in late.values["pieces"]}
    assert reasons == {"p003": "it speaks of version 1; the newest is version 2", "p004": None}
    monikerf("answer", answer(tmp_path, {"p003": second["p003"]}))
    loaded = monikerf("load", "feast", "--json").values["loads"]
    assert [p["piece"] for p in loaded[0]["places"]] == ["p002", "p003", "p004"]
    sheet = (feast / loaded[0]["file"]).read_bytes()
    assert hashlib.sha256(sheet).hexdigest() == loaded[0]["sha256"]
    assert b"feast-p003: Kwame Boateng-Daly" in sheet
    summary = (feast / loaded[0]["file"]).with_name("summary.txt").read_text("utf-8")
    assert "Before anything burns" in summary
    assert "2  feast/p003  Kwame Boateng-Daly" in summary


def test_a_template_that_has_changed_since_stops_the_load_and_shows_both(
    feast: Path, tmp_path: Path, monikerf: Run
) -> None:
    monikerf("answer", answer(tmp_path, show(monikerf)))
    template = feast / "templates" / "pet-tag.svg"
    template.write_text(
        re.sub(r'font-family="[^"]*"', 'font-family="noto-sans"', template.read_text("utf-8")), "utf-8"
    )
    stopped = monikerf("load", "feast")
    assert stopped.code == 2
    assert "would not come out as approved: feast/p002 (Zoë Lindqvist)" in stopped.err
    assert (feast / "out" / "changed.png").read_bytes().startswith(b"\x89PNG")
    assert not list((feast / "out").glob("*/*.svg"))
    assert set(states(monikerf).values()) == {"approved"}
    made = monikerf("load", "feast", "--without-approval", "told by telephone", "--json")
    assert len(made.values["loads"][0]["places"]) == 3
    told = [e["told"] for e in monikerf("history", "feast/p002", "--json").values["events"]]
    assert any("approved without the customer's answer: told by telephone" in line for line in told)


def test_orders_alike_share_a_load_and_failures_are_made_again(
    feast: Path, tmp_path: Path, monikerf: Run
) -> None:
    monikerf("take-order", write_table(tmp_path / "other.csv", "Ada Obi"), "-t", "pet-tag")
    monikerf("answer", answer(tmp_path, show(monikerf)))
    monikerf("answer", answer(tmp_path, show(monikerf, "other"), order="other"))
    (load,) = monikerf("load", "feast", "other", "--json").values["loads"]
    assert [(p["order"], p["piece"]) for p in load["places"]][-1] == ("other", "p002")
    assert "lies on load 1" in monikerf("correct", "other", "p002", "name=Ada").err
    assert "2 failed" in monikerf("made", 1, "--failed", "2,4").out
    again = monikerf("load", "feast", "other", "--remake", "--first-place", 3, "--json").values["loads"][0]
    assert [(p["place"], p["order"], p["piece"]) for p in again["places"]] == [
        (3, "feast", "p003"),
        (4, "other", "p002"),
    ]
    assert monikerf("made", 2).code == 0
    packed = monikerf("packed", "feast", "--bag", "box 1")
    assert "3 packed; all is packed" in packed.out
    wrong = monikerf("packed", "feast", "p003", "--undo", "--json")
    assert wrong.values["changed"][0]["state"] == "made"


def test_a_load_can_be_given_up_or_written_once_more(feast: Path, tmp_path: Path, monikerf: Run) -> None:
    monikerf("answer", answer(tmp_path, show(monikerf)))
    (load,) = monikerf("load", "feast", "--json").values["loads"]
    sheet = feast / load["file"]
    before = sheet.read_bytes()
    assert monikerf("doctor").code == 0
    sheet.write_bytes(before.replace(b"M", b"m", 1))
    said = monikerf("doctor")
    assert (said.code, "has been changed since it was verified" in said.out) == (1, True)
    sheet.unlink()
    assert monikerf("load", "--again", 1).code == 0
    assert sheet.read_bytes() == before
    assert monikerf("made", 1, "--drop", "the card was damp").code == 0
    assert monikerf("load", "feast", "--json").values["loads"][0]["load"] == 2


def test_the_packing_list_and_its_labels_can_be_read(feast: Path, tmp_path: Path, monikerf: Run) -> None:
    zxingcpp = pytest.importorskip("zxingcpp")
    image = pytest.importorskip("PIL.Image")
    papers = monikerf("packing-list", "feast", "--by", "table", "--json").values
    (oak,) = papers["parcels"]
    assert (oak["name"], [p["id"] for p in oak["pieces"]]) == ("Oak", ["p003", "p004", "p002"])
    assert papers["not_made"] == dict.fromkeys(("p002", "p003", "p004"), "drafted")
    labels = Path(papers["files"][1])
    first = labels.read_bytes()
    monikerf("packing-list", "feast", "--by", "table")
    assert labels.read_bytes() == first
    subprocess.run(["pdftoppm", "-r", "150", "-png", labels, tmp_path / "labels"], check=True)
    (picture,) = tmp_path.glob("labels*.png")
    read = zxingcpp.read_barcodes(image.open(picture))
    assert sorted(code.text for code in read) == ["feast/p002", "feast/p003", "feast/p004"]


def test_by_surname_the_last_word_counts_where_the_table_has_none(feast: Path, monikerf: Run) -> None:
    parcels = monikerf("packing-list", "feast", "--by", "surname", "--json").values["parcels"]
    assert [p["name"] for p in parcels] == ["B", "D", "L"]


def test_a_backup_is_checked_and_a_note_is_in_the_history(feast: Path, tmp_path: Path, monikerf: Run) -> None:
    assert monikerf("note", "feast/p002", "tie it with green ribbon").code == 0
    assert "note: tie it with green ribbon" in monikerf("history", "feast/p002").out
    saved = monikerf("backup", tmp_path / "safe" / "copy.sqlite", "--json")
    assert saved.values["events"] > 3
    assert (tmp_path / "safe" / "copy.sqlite").read_bytes().startswith(b"SQLite format 3")
    assert [f.name for f in (tmp_path / "safe").iterdir()] == ["copy.sqlite"]


def test_today_says_what_waits_and_what_is_late(
    feast: Path, monkeypatch: pytest.MonkeyPatch, monikerf: Run
) -> None:
    assert "3 to show to the customer (monikerf proof): feast 3" in monikerf("today").out
    monkeypatch.setenv("MONIKERF_NOW", "2026-06-20T09:00:00Z")
    assert "LATE, was due 2026-06-19: feast" in monikerf("today").out


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("history", "nobody"), "no order or piece nobody"),
        (("correct", "feast", "p002"), "not said what is to be corrected"),
        (("correct", "feast", "p002", "nickname=Z"), "has no field nickname"),
        (("made", "x"), "not a list of numbers"),
        (("made", "9"), "there is no load 9"),
        (("packed", "feast", "p002"), "p002 is drafted, and cannot become packed"),
        (("take-order", "feast.csv", "--due", "Friday"), "is not a day"),
        (("take-order", "feast.csv", "--price", "12.345"), "is no amount"),
        (("take-order", "feast.csv", "--order", "Ä"), "cannot be the id"),
        (("load",), "no order is named"),
        (("answer", "feast.csv"), "there is no answer in this text"),
    ],
)
def test_what_cannot_be_done_is_refused_in_words(
    feast: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    monikerf: Run,
    words: tuple[str, ...],
    says: str,
) -> None:
    monkeypatch.chdir(tmp_path)
    if "Ä" in words:
        words = (*words, "--template", "pet-tag")
    said = monikerf(*words)
    assert said.code == 2
    assert says in said.err
    assert "Traceback" not in said.err
    assert "error" in json.loads(monikerf(*words, "--json").out)


@pytest.mark.slow
def test_the_wedding_is_told_to_its_end(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("MONIKERF_SHOP", "")
    monkeypatch.setenv("MONIKERF_NOW", "")
    monkeypatch.setattr(sys, "argv", ["story.py", str(tmp_path / "shop")])
    runpy.run_path(str(TOP / "demo" / "wedding" / "story.py"), run_name="__main__")
    told = capsys.readouterr().out
    for line in (
        "117 approved, 3 to change",
        "3 pieces shown",
        "8 made, 2 failed",
        "120 packed; all is packed",
    ):
        assert line in told
    assert told.rstrip().endswith("Nothing waits.")
