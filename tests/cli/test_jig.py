"""Jigs from the command line: cut, used, measured."""

from __future__ import annotations

import re
from pathlib import Path


def test_a_jig_is_cut_and_used(monikerf, tmp_path: Path) -> None:
    """The entry takes the place of the one that travels along: a batch then lies on the jig's own places."""
    shop = tmp_path / "shop"
    shop.mkdir()
    out = tmp_path / "out"
    words = ("jig", "pet-tag", "-o", out, "--columns", 4, "--rows", 2, "--play", 0.3, "--shop", shop)
    made = monikerf(*words, "--json")
    assert made.code == 0, made.err
    assert (out / "jig-pet-tag.svg").is_file()
    assert (shop / "library" / "jigs" / "pet-tag.toml").is_file()
    assert any(line.startswith("Fire") for line in made.values["cautions"])
    table = tmp_path / "pets.csv"
    table.write_text("Name\n" + "\n".join("ABCDEFGHI") + "\n")
    job = monikerf("batch", table, "-t", "pet-tag", "-o", tmp_path / "job", "--shop", shop, "--json")
    assert job.code == 0, job.err
    assert [len(sheet["pieces"]) for sheet in job.values["sheets"]] == [8, 1]


def test_a_measured_jig_is_kept(monikerf, tmp_path: Path) -> None:
    pins = [
        word
        for x, y in ((0, 0), (100, 0), (0, 100), (100, 100))
        for word in ("--pin", f"{x},{y}={x + 1.5},{y - 0.5}")
    ]
    fitted = monikerf("jig-fit", "pet-tag", *pins, "--shop", tmp_path, "--json")
    assert fitted.code == 0, fitted.err
    assert fitted.values["shift"] == [1.5, -0.5]
    text = (tmp_path / "library" / "jigs" / "pet-tag.toml").read_text()
    assert re.search(r"origin = \[5\.5, 3\.5\]", text)  # 4, 4 moved


def test_a_turned_jig_is_not_kept(monikerf, tmp_path: Path) -> None:
    words = ("--pin", "0,0=0,0", "--pin", "100,0=99.96,2.5", "--pin", "0,100=-2.5,99.96")
    answer = monikerf("jig-fit", "pet-tag", *words, "--shop", tmp_path)
    assert answer.code == 1
    assert "turn the jig by -1.4" in answer.out
    assert not (tmp_path / "library").exists()


def test_what_cannot_be_is_refused(monikerf, tmp_path: Path) -> None:
    for words in (
        ("jig", "mug", "-o", tmp_path / "a"),
        ("jig", "pet-tag", "-o", tmp_path / "a", "--columns", 99),
        ("jig", "pet-tag", "-o", tmp_path / "a", "--material", "pvc"),
        ("jig", "pet-tag", "-o", tmp_path / "a", "--machine", "infrared"),
        ("jig-fit", "pet-tag", "--pin", "1,2=3"),
        ("jig-fit", "pet-tag", "--pin", "0,0=0,0", "--pin", "9,9=9,9"),
    ):
        answer = monikerf(*words)
        assert answer.code == 2, words
        assert answer.err
    assert not (tmp_path / "a").exists()
