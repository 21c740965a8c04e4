"""Every row of two tables of nasty rows: none is dropped, shifted or changed without a word."""

from __future__ import annotations

import importlib.util
import json
import sys
from collections import defaultdict
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from render.intake import IntakeOptions, read_table, take_order
from render.model import Order, Severity

TABLES = Path(__file__).parent / "tables"
BOTH = pytest.mark.parametrize("kind", ["csv", "xlsx"])
MENDING = pytest.mark.parametrize("mend", [False, True], ids=["told", "mended"])


@pytest.fixture(scope="module")
def nasty() -> ModuleType:
    """The module that writes the tables."""
    spec = importlib.util.spec_from_file_location("nasty_rows", Path(__file__).with_name("nasty.py"))
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["nasty_rows"] = module
    spec.loader.exec_module(module)
    return module


def expected(kind: str) -> list[dict[str, Any]]:
    rows: list[dict[str, Any]] = json.loads((TABLES / f"nasty-{kind}.json").read_text(encoding="utf-8"))
    return rows


def order(kind: str, mend: bool) -> Order:
    return take_order(read_table(TABLES / f"nasty.{kind}"), IntakeOptions(mend=mend))


def by_row(values: Any) -> dict[int, list[Any]]:
    rows: dict[int, list[Any]] = defaultdict(list)
    for value in values:
        rows[value.row].append(value)
    return rows


@BOTH
def test_there_are_at_least_300_rows_and_all_are_told_of(kind: str) -> None:
    assert len(expected(kind)) >= 300
    assert {problem.row for problem in order(kind, False).problems} <= {row["line"] for row in expected(kind)}


@BOTH
@MENDING
def test_every_row_has_exactly_the_problems_it_should_have(kind: str, mend: bool) -> None:
    found = by_row(order(kind, mend).problems)
    wrong = {}
    for row in expected(kind):
        codes = " ".join(sorted({problem.code for problem in found[row["line"]]}))
        if codes != row["codes"]:
            wrong[row["line"]] = (codes, row["codes"])
    assert wrong == {}


@BOTH
@MENDING
def test_every_row_is_made_as_often_and_under_the_name_it_should_be(kind: str, mend: bool) -> None:
    made = by_row(order(kind, mend).pieces)
    wrong = {}
    for row in expected(kind):
        name = row["mended" if mend else "kept"]
        names = [piece.fields["name"] for piece in made[row["line"]]]
        if names != [name] * row["pieces"]:
            wrong[row["line"]] = (names, name)
    assert wrong == {}


@BOTH
@MENDING
def test_a_row_is_made_or_stopped_or_blank(kind: str, mend: bool) -> None:
    taken = order(kind, mend)
    made, found = by_row(taken.pieces), by_row(taken.problems)
    for row in expected(kind):
        stopped = any(problem.severity is Severity.STOP for problem in found[row["line"]])
        blank = any(problem.code in ("blank-row", "blank-line") for problem in found[row["line"]])
        assert [bool(made[row["line"]]), stopped, blank].count(True) == 1, row


@BOTH
def test_what_mending_changed_is_told_as_before_and_after(kind: str) -> None:
    plain, mended = order(kind, False), order(kind, True)
    told = by_row(problem for problem in mended.problems if "→" in problem.message)
    changed = 0
    for before, after in zip(plain.pieces, mended.pieces, strict=True):
        assert before.id == after.id
        if before.fields != after.fields:
            changed += 1
            assert all(problem.severity is Severity.NOTE for problem in told[before.row])
            assert told[before.row]
    assert changed > 60


@BOTH
def test_a_proposed_mend_is_shown_before_it_is_applied(kind: str) -> None:
    found = by_row(order(kind, False).problems)
    for row in expected(kind):
        if row["pieces"] and row["kept"] != row["mended"]:
            assert any(f"--mend would make it “{row['mended']}”" in p.hint for p in found[row["line"]]), row


def test_the_tables_are_what_the_module_writes(nasty: ModuleType, tmp_path: Path) -> None:
    nasty = _afresh(nasty)
    nasty.write_all(tmp_path)
    for name in ("nasty.csv", "nasty-csv.json", "nasty-xlsx.json"):
        assert (tmp_path / name).read_bytes() == (TABLES / name).read_bytes()
    again, kept = read_table(tmp_path / "nasty.xlsx"), read_table(TABLES / "nasty.xlsx")
    assert again == kept


def _afresh(module: ModuleType) -> ModuleType:
    """The names are dealt out in order, so the module is run anew."""
    assert module.__spec__ is not None
    assert module.__spec__.loader is not None
    module.__spec__.loader.exec_module(module)
    return module
