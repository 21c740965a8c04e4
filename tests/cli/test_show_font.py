"""`monikerf show font`: what a font can do, as text, JSON and picture; and the list with its hands."""

from __future__ import annotations

from pathlib import Path

import pytest

from render.lettering.single_stroke import HANDS
from tests.cli.conftest import Run


def test_all_about_a_font(monikerf: Run, tmp_path: Path) -> None:
    picture = tmp_path / "new" / "ana.svg"
    answer = monikerf("show", "font", "Allura", "--sample", "Ana", "--picture", picture)
    assert answer.code == 0
    for said in ("western Latin", "OFL-1.1", "salt, ss01", "forms for the end of a word", "Birch plywood"):
        assert said in answer.out
    assert picture.read_bytes().startswith(b"<svg")


def test_as_json(monikerf: Run) -> None:
    values = monikerf("show", "font", "source-serif", "--sample", "Ida 7", "--json").values
    assert [axis["tag"] for axis in values["axes"]] == ["wght", "opsz"]
    codes = [code for form in values["forms"] for code in form["codes"]]
    assert {"smcp", "onum", "wght=200", "wght=900", "opsz=8", "opsz=60"} <= set(codes)
    strokes = [each["stroke_mm"] for each in values["smallest"]]
    assert strokes == sorted(strokes)
    for each in values["smallest"]:
        share = values["thinnest_share_of_capitals"]
        assert each["capitals_mm"] * share == pytest.approx(each["stroke_mm"], rel=0.01)
    assert "PVC" not in str(values["smallest"])


def test_an_instance_and_a_hand(monikerf: Run, tmp_path: Path) -> None:
    values = monikerf("show", "font", "source-serif:wght=700", "--json").values
    assert (values["id"], values["axes"]) == ("source-serif:wght=700", [])
    picture = tmp_path / "hand.png"
    answer = monikerf("show", "font", "joined-hand", "--sample", "Ana", "--picture", picture)
    assert answer.code == 0
    assert picture.read_bytes().startswith(b"\x89PNG")


def test_no_such_font(monikerf: Run) -> None:
    answer = monikerf("show", "font", "alura")
    assert answer.code == 2
    assert "Did you mean allura?" in answer.err


def test_the_list_has_the_hands(monikerf: Run) -> None:
    rows = {row["id"]: row for row in monikerf("show", "fonts", "--json").values}
    assert set(HANDS) <= set(rows)
    assert rows["line-script"]["joins"] is True
