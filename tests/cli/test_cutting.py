"""How pieces are cut, as it is asked for on the command line, and what is told of it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

MACHINES = Path(__file__).parents[2] / "shared" / "machines"


@contextmanager
def read_here() -> Iterator[None]:
    """Sheets are read a second time in this process, since starting another takes seconds."""
    yield None


@pytest.fixture
def table(tmp_path: Path) -> Path:
    path = tmp_path / "crew.csv"
    path.write_text("Name\nAda\nBo\nCy\nDee\n", encoding="utf-8")
    return path


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, monikerf) -> Path:
    folder = tmp_path / "shop"
    monkeypatch.setattr("render.pipeline.loadfiles.SecondReader", read_here)
    monkeypatch.setenv("MONIKERF_SHOP", str(folder))
    monkeypatch.setenv("MONIKERF_NOW", "2026-06-15T09:00:00Z")
    assert monikerf("open-shop", folder, "--name", "Kerf & Co").code == 0
    return folder


def measured(shop: Path, kerf: float) -> None:
    """A machine of the shop's own, on which the kerf of plywood has been measured."""
    own = (
        (MACHINES / "diode.toml")
        .read_text("utf-8")
        .replace("[motion]", f"[kerfs]\nplywood = {kerf}\n\n[motion]", 1)
    )
    folder = shop / "library" / "machines"
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "diode.toml").write_text(own, "utf-8")


def test_a_batch_tells_how_it_is_cut(monikerf, table: Path, tmp_path: Path) -> None:
    words = ("batch", table, "-t", "key-tag", "-o", tmp_path / "out", "--json")
    plain = monikerf(*words).values
    assert (plain["cutting"]["kerf"], plain["cutting"]["kerf_mm"]) == ("unknown", None)
    travel = plain["sheets"][0]["travel"]
    assert 0 < travel["after_mm"] <= travel["before_mm"]
    asked = monikerf(*words, "--kerf", "0.2", "--tabs", "3x0.6", "--lead-in", "1", "--apart", "40").values
    assert asked["cutting"] == {
        "kerf_mm": 0.2, "kerf": "given", "tolerance_mm": 0.003,
        "tabs": 3, "tab_width_mm": 0.6, "lead_in_mm": 1.0, "apart_mm": 40.0,
    }  # fmt: skip
    assert [p["digest"] for p in asked["pieces"]] == [p["digest"] for p in plain["pieces"]]
    none = monikerf(*words, "--kerf", "none", "--tabs", "none").values["cutting"]
    assert (none["kerf"], none["kerf_mm"], none["tabs"]) == ("given", 0.0, 0)


@pytest.mark.parametrize(
    "words",
    [
        ("--kerf", "0,2"),
        ("--kerf", "-1"),
        ("--kerf", "9"),
        ("--tabs", "3"),
        ("--tabs", "3x0"),
        ("--lead-in", "x"),
    ],
)
def test_what_cannot_be_meant_is_refused(
    monikerf, table: Path, tmp_path: Path, words: tuple[str, str]
) -> None:
    answer = monikerf("batch", table, "-t", "key-tag", "-o", tmp_path / "out", *words)
    assert answer.code == 2 or answer.code == 1
    assert words[0] in answer.err
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    ("template", "words", "told"),
    [
        ("tumbler-band", ("--kerf", "0.2"), "--kerf changes nothing here: nothing of this job is cut."),
        ("place-card", ("--kerf", "0.2"), None),
        ("place-card", ("--kerf", "none"), None),
        ("slate-coaster", ("--tabs", "2x1", "--lead-in", "1"),
         "--tabs and --lead-in change nothing here: nothing of this job is cut."),
        ("slate-coaster", ("--tabs", "none"), None),
    ],
)  # fmt: skip
def test_what_changes_nothing_is_told(
    monikerf, table: Path, tmp_path: Path, template: str, words: tuple[str, ...], told: str | None
) -> None:
    answer = monikerf("batch", table, "-t", template, "-o", tmp_path / "out", *words, "--dry-run", "--json")
    said = [(p["severity"], p["message"]) for p in answer.values["problems"] if p["code"] == "idle-option"]
    assert said == ([("note", told)] if told else [])


def test_a_load_writes_what_a_batch_writes_and_again_the_same(shop: Path, table: Path, monikerf) -> None:
    """The kerf that a load was cut with is kept beside it: measuring another later does not change it."""
    measured(shop, 0.2)
    assert monikerf("take-order", table, "--template", "key-tag", "--due", "2026-06-19").code == 0
    words = (
        "--without-approval",
        "trial",
        "--machine",
        "diode",
        "--format",
        "svg,dxf,pdf",
        "--split",
        "operation",
    )
    (load,) = monikerf("load", "crew", *words, "--run-list", "--json").values["loads"]
    home = (shop / load["file"]).parent
    assert {f.name for f in home.iterdir()} >= {
        *("sheet.svg", "sheet.dxf", "sheet.pdf", "sheet-engrave.svg", "sheet-cut.svg"),
        *("run-list.pdf", "summary.txt"),
    }
    assert "Kerf: 0.2 mm allowed for, as measured for Birch plywood on diode" in (
        home / "summary.txt"
    ).read_text("utf-8")
    before = (shop / load["file"]).read_bytes()
    measured(shop, 0.1)
    (home / "sheet.dxf").unlink()
    again = monikerf("load", "--again", 1, "--format", "dxf")
    assert again.code == 0, again.err
    assert (shop / load["file"]).read_bytes() == before
    assert (home / "sheet.dxf").is_file()
