"""Things longer than the bed, from the table to what is made: each is one load of several sections."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from render.pipeline.loadnames import sheet_files
from render.proof.answers import Answer, PieceAnswer, write_answer
from tests.cli.conftest import Run

NAMES = ("The Old Orchard", "Nguyễn & Wilhelmina Featherstonehaugh")
SECTIONS = [f"sheet-{n}-of-4.svg" for n in range(1, 5)]


@contextmanager
def read_here() -> Iterator[None]:
    """Sheets are read a second time in this process, since starting another takes seconds."""
    yield None


@pytest.fixture
def signs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, monikerf: Run) -> Path:
    """A shop with two porch signs, taken in, shown and approved."""
    folder = tmp_path / "shop"
    monkeypatch.setattr("render.pipeline.loadfiles.SecondReader", read_here)
    monkeypatch.setattr("render.pipeline.files.SecondReader", read_here)
    monkeypatch.setenv("MONIKERF_SHOP", str(folder))
    monkeypatch.setenv("MONIKERF_NOW", "2026-06-15T09:00:00Z")
    assert monikerf("open-shop", folder).code == 0
    table = tmp_path / "porch.csv"
    table.write_text("Name\n" + "\n".join(NAMES) + "\n", encoding="utf-8")
    assert monikerf("take-order", table, "--template", "porch-sign").code == 0
    shown = monikerf("proof", "porch", "--no-pictures", "--json").values["shown"]
    says = tuple(PieceAnswer(piece["id"], piece["digest"][:8], True, "") for piece in shown)
    answer = tmp_path / "answer.txt"
    answer.write_text(write_answer(Answer("porch", "", says)), encoding="utf-8")
    assert monikerf("answer", answer).code == 0
    return folder


def loaded(monikerf: Run, *words: object) -> list[dict]:
    answer = monikerf("load", "porch", *words, "--json")
    assert answer.code == 0, answer.err
    return answer.values["loads"]


def of_load(shop: Path, number: int) -> dict[str, bytes]:
    return {f.name: f.read_bytes() for f in (shop / "out" / f"load-{number:04d}").glob("*.svg")}


def test_each_sign_is_a_load_of_sections_that_is_made_and_made_again(signs: Path, monikerf: Run) -> None:
    answer = monikerf("load", "porch", "--json")
    assert answer.code == 0, answer.err
    loads = answer.values["loads"]
    assert [[p["piece"] for p in load["places"]] for load in loads] == [["p002"], ["p003"]]
    assert [p["code"] for p in answer.values["problems"]].count("in-sections") == 2
    for load in loads:
        files = of_load(signs, load["load"])
        assert sorted(files) == SECTIONS
        assert [Path(f).name for f in load["files"]] == SECTIONS
        assert hashlib.sha256(b"".join(files[name] for name in SECTIONS)).hexdigest() == load["sha256"]
        summary = (signs / "out" / f"load-{load['load']:04d}" / "summary.txt").read_text("utf-8")
        assert all(name in summary for name in SECTIONS)
        assert "until its crosses lie under those of the next" in summary
    assert monikerf("doctor").code == 0
    assert monikerf("load", "porch").code == 2  # both are spoken for
    assert "0 made, 1 failed" in monikerf("made", 1, "--failed", 1).out
    assert "1 made" in monikerf("made", 2).out
    (again,) = loaded(monikerf, "--remake")
    assert (again["load"], [p["piece"] for p in again["places"]]) == (3, ["p002"])
    assert of_load(signs, 3) == of_load(signs, 1)
    assert monikerf("made", 3).code == 0
    assert monikerf("packed", "porch").code == 0
    events = monikerf("history", "porch/p002", "--json").values["events"]
    kinds = [event["kind"] for event in events]
    assert kinds[-5:] == ["laid out", "failed", "laid out", "made", "packed"]


def test_they_are_what_batch_writes(signs: Path, monikerf: Run, tmp_path: Path) -> None:
    loaded(monikerf, "--kerf", 0.3)
    words = ("batch", tmp_path / "porch.csv", "-t", "porch-sign", "-o", tmp_path / "out", "--kerf", 0.3)
    assert monikerf(*words).code == 0
    for number, name in enumerate(SECTIONS, 1):
        plain = (tmp_path / "out" / f"sheet-{number}.svg").read_text("utf-8")
        mine = of_load(signs, 1)[name].decode().replace("porch-p002", "p002")
        assert mine == plain


def test_sections_are_written_again_as_they_were_whatever_the_kerf_is_by_now(
    signs: Path, monikerf: Run
) -> None:
    loaded(monikerf, "--kerf", 0.3)
    before = of_load(signs, 2)
    spoilt = signs / "out" / "load-0002" / SECTIONS[2]
    spoilt.write_bytes(before[SECTIONS[2]].replace(b"M", b"M1", 1))
    said = monikerf("doctor")
    assert said.code != 0
    assert "load 2 has been changed" in said.out + said.err
    spoilt.unlink()
    assert "load 2 is not there" in (lambda a: a.out + a.err)(monikerf("doctor"))
    assert monikerf("load", "--again", 2, "--format", "svg,dxf", "--run-list").code == 0
    assert of_load(signs, 2) == before
    beside = {f.name for f in (signs / "out" / "load-0002").iterdir()}
    assert {"run-list.pdf", *(name.replace("svg", "dxf") for name in SECTIONS)} <= beside
    assert monikerf("doctor").code == 0
    assert json.loads((signs / "out" / "load-0002" / "laying.json").read_text("utf-8"))["sections"]


def test_no_load_is_known_where_one_of_its_sections_is_not_as_meant(
    signs: Path, monikerf: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    from render.pipeline import files

    plain, count = files.sheet_svg, []

    def spoilt(sheet) -> bytes:
        count.append(sheet)
        data = plain(sheet)
        return data.replace(b" M", b" M1", 1).replace(b'd="M', b'd="M1', 1) if len(count) == 7 else data

    monkeypatch.setattr(files, "sheet_svg", spoilt)
    assert monikerf("load", "porch").code == 2
    assert len(count) == 7  # the third section of the second sign
    assert not list((signs / "out").glob("*load*"))
    monkeypatch.setattr(files, "sheet_svg", plain)
    assert len(loaded(monikerf)) == 2


def test_what_has_no_meaning_for_sections_is_refused(signs: Path, monikerf: Run) -> None:
    told = "is longer than the bed and passes through, so {} has nothing to change"
    for words in (("--first-place", 2), ("--arrange", "nested"), ("--turn", "always")):
        assert told.format(words[0]) in monikerf("load", "porch", *words).err
    shelf = signs / "library" / "stock"
    shelf.mkdir(parents=True, exist_ok=True)
    material, thickness = "pine", 18
    from render.pipeline.workshop import Workshop

    blank = Workshop.open().library.blank("porch-sign")
    material, thickness = blank.material, blank.thickness
    text = f'title = "Boards"\nsource = "made up"\nmaterial = "{material}"\nthickness = {thickness}\n'
    (shelf / "boards.toml").write_text(text + "width = 2000\nheight = 300\nmargin = 5\ngap = 2\n", "utf-8")
    assert told.format("--stock") in monikerf("load", "porch", "--stock", "boards").err


def test_names_of_sections() -> None:
    assert sheet_files("out/load-0001/sheet.svg") == ("out/load-0001/sheet.svg",)
    assert sheet_files("sheet-1-of-2.svg") == ("sheet-1-of-2.svg", "sheet-2-of-2.svg")
    assert sheet_files("a/sheet-2-of-2.svg") == ("a/sheet-2-of-2.svg",)
