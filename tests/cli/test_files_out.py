"""Which files a batch writes: formats, parts, half-used jigs."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

DEMO = Path(__file__).parents[2] / "demo"


@pytest.fixture
def table(tmp_path: Path) -> Path:
    path = tmp_path / "guests.csv"
    path.write_text("Name\nAda\nBo\nCy\n", encoding="utf-8")
    return path


def test_formats_and_parts_by_operation(monikerf, table: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    words = ("batch", table, "-t", "place-card", "-o", out)
    answer = monikerf(*words, "--format", "svg,dxf,dxf-r12,pdf", "--split", "operation", "--json")
    assert answer.code == 0, answer.err
    parts = ["sheet-1-engrave.svg", "sheet-1-cut.svg"]
    assert answer.values["other_files"] == ["sheet-1.dxf", "sheet-1-r12.dxf", "sheet-1.pdf", *parts]
    whole = (out / "sheet-1.svg").read_text()
    paths = [p for part in parts for p in re.findall(r'd="[^"]+"', (out / part).read_text())]
    assert paths
    assert set(paths) <= set(re.findall(r'd="[^"]+"', whole))
    assert monikerf(*words).code == 0
    left = {f.name for f in out.iterdir()}
    assert left == {"sheet-1.svg", "proof.png", "report.json", "summary.txt"}


def test_parts_by_piece(monikerf, table: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    answer = monikerf("batch", table, "-t", "place-card", "-o", out, "--split", "piece", "--json")
    assert answer.values["other_files"] == [f"sheet-1-p00{n}.svg" for n in (2, 3, 4)]
    titles = re.findall(r"<title>(p\d+): ", (out / "sheet-1-p003.svg").read_text())
    assert set(titles) == {"p003"}


@pytest.mark.parametrize(("option", "value"), [("--format", "svg,png"), ("--split", "colour")])
def test_what_is_not_known_is_refused(monikerf, table: Path, tmp_path: Path, option: str, value: str) -> None:
    answer = monikerf("batch", table, "-t", "place-card", "-o", tmp_path / "out", option, value)
    assert answer.code == 2
    assert "choose from" in answer.err
    assert not (tmp_path / "out").exists()


def test_a_half_used_jig_begins_later(monikerf, table: Path, tmp_path: Path) -> None:
    words = ("batch", table, "-t", "pet-tag", "-o", tmp_path / "out", "--json")
    plain = monikerf(*words).values["sheets"]
    later = monikerf(*words, "--first-place", 8).values["sheets"]
    assert [len(s["pieces"]) for s in plain] == [3]
    assert [len(s["pieces"]) for s in later] == [2, 1]
    assert monikerf(*words, "--first-place", 10).code == 2


def test_the_run_list_begins_with_safety_and_counts_every_place(
    monikerf, table: Path, tmp_path: Path
) -> None:
    out = tmp_path / "out"
    answer = monikerf("batch", table, "-t", "place-card", "-o", out, "--run-list", "--json")
    assert answer.code == 0, answer.err
    assert answer.values["other_files"] == ["run-list.pdf", "run-list.png"]
    assert (out / "run-list.pdf").read_bytes().startswith(b"%PDF")
    again = tmp_path / "again"
    assert monikerf("batch", table, "-t", "place-card", "-o", again, "--run-list").code == 0
    for name in ("run-list.pdf", "run-list.png"):
        assert (out / name).read_bytes() == (again / name).read_bytes()
