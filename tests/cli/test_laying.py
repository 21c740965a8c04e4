"""Laying out by the commands: arrangements, a search that is remembered, stock and what is left of it."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
import shapely

from render.geometry.pathtext import parse_path
from render.sheets.footprints import corners_of
from tests.cli.conftest import Run

TOP = Path(__file__).parents[2]
NAMES = ("Ada", "Bo", "Cy", "Éloïse", "Di", "Edda")
BLANK = """title = "Pennant"
source = "made up for a test"
material = "plywood"
thickness = 3
hold = "stock"
markable = { shape = "rectangle", at = [4, 14], width = 28, height = 12 }
outline = { shape = "path", d = "M0 0L60 20L0 40Z" }
stock = { width = 210, height = 130, margin = 5, gap = 2 }
"""
STOCK = """title = "Full sheet"
source = "made up for a test"
material = "plywood"
thickness = 3
width = 600
height = 300
count = 2
"""
TEMPLATE = """<svg xmlns="http://www.w3.org/2000/svg" xmlns:mk="urn:monikerf:template:1"
  width="60mm" height="40mm" viewBox="0 0 60 40" mk:title="Pennant" mk:blank="pennant" mk:sample="name: Ida">
  <desc>A pennant with a name.</desc>
  <rect mk:area="name" x="4" y="14" width="28" height="12" fill="none" stroke="#CC79A7"/>
  <text x="18" y="22" text-anchor="middle" font-family="Pacifico" font-size="8"
    mk:operation="engrave" mk:fit-in="#name">{{ name }}</text>
</svg>
"""
"""Triangles: two of them turned make nearly a rectangle, which no grid can use."""


@pytest.fixture
def table(tmp_path: Path) -> Path:
    path = tmp_path / "names.csv"
    path.write_text("Name\n" + "\n".join(NAMES) + "\n", encoding="utf-8")
    return path


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, monikerf: Run) -> Path:
    folder = tmp_path / "shop"
    monkeypatch.setenv("MONIKERF_SHOP", str(folder))
    assert monikerf("open-shop", folder).code == 0
    (folder / "library" / "blanks").mkdir(parents=True)
    (folder / "library" / "blanks" / "pennant.toml").write_text(BLANK, encoding="utf-8")
    (folder / "templates" / "pennant.svg").write_text(TEMPLATE, encoding="utf-8")
    return folder


@contextmanager
def read_here() -> Iterator[None]:
    """Sheets are read a second time in this process, since starting another takes seconds."""
    yield None


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr("render.pipeline.loadfiles.SecondReader", read_here)
    monkeypatch.setattr("render.pipeline.files.SecondReader", read_here)
    monkeypatch.setenv("MONIKERF_NOW", "2026-06-15T09:00:00Z")


def test_arrangements_and_their_waste(shop: Path, monikerf: Run, table: Path, tmp_path: Path) -> None:
    found = {}
    for way in ("auto", "rectangles", "nested"):
        words = ("batch", table, "-t", "pennant", "-o", tmp_path / way, "--arrange", way, "--json")
        answer = monikerf(*words)
        assert answer.code == 0, answer.err
        found[way] = answer.values
    stock = {way: values["stock"] for way, values in found.items()}
    assert [values["arranged"] for values in stock.values()] == ["grid", "rectangles", "nested"]
    right = {way: found[way]["sheets"][-1]["stock"]["used_to_mm"] for way in found}
    assert right["nested"] < right["rectangles"] < right["auto"]
    for values in stock.values():
        assert values["pieces_mm2"] == pytest.approx(6 * 1200, rel=0.003)
        assert values["stock_mm2"] == 210 * 130
        assert values["waste_percent"] == pytest.approx(100 * (1 - 7200 / 27300), abs=0.2)
    summary = (tmp_path / "nested" / "summary.txt").read_text("utf-8")
    told = stock["nested"]
    assert f"waste {told['waste_percent']} % ({told['waste_of_used_percent']} % of the part used)" in summary


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (("--arrange", "heap"), "choose from auto, grid"),
        (("--turn", "left"), "choose from auto, never"),
        (("--arrange", "grid", "--seconds", 3), "nothing to search for"),
        (("--stock", "marble"), "there is no sheet of stock"),
        (("--stock", "plywood-4-long"), "mm thick"),
        (("--arrange", "nested", "--first-place", 2), "Only a grid has places"),
    ],
)
def test_what_does_not_go_together_is_refused(
    shop: Path, monikerf: Run, table: Path, tmp_path: Path, words: tuple[object, ...], why: str
) -> None:
    answer = monikerf("batch", table, "-t", "pennant", "-o", tmp_path / "out", *words)
    assert answer.code == 2
    assert why in answer.err
    assert not (tmp_path / "out" / "sheet-1.svg").exists()


def test_pieces_lie_bag_by_bag(shop: Path, monikerf: Run, tmp_path: Path) -> None:
    table = tmp_path / "tables.csv"
    table.write_text("Name,Table\nAda,Oak\nBo,Elm\nCy,oak\nDi,Elm\n", encoding="utf-8")
    words = ("batch", table, "-t", "pennant", "-o", tmp_path / "out", "--by")
    (sheet,) = monikerf(*words, "table", "--json").values["sheets"]
    assert sheet["pieces"] == ["p003", "p005", "p002", "p004"]
    assert monikerf(*words, "shelf").code == 2
    assert monikerf("take-order", table, "--template", "pennant", "--order", "feast").code == 0
    found = load(monikerf, "feast", "--by", "table")
    assert [place["piece"] for place in found["places"]] == ["p003", "p005", "p002", "p004"]


def test_a_search_is_remembered(shop: Path, monikerf: Run, table: Path, tmp_path: Path) -> None:
    words = ("batch", table, "-t", "pennant", "--seconds", 1)
    for name in ("first", "second"):
        assert monikerf(*words, "-o", tmp_path / name).code == 0
    (kept,) = (shop / "nests").glob("*.json")
    sheets = [(tmp_path / name / "sheet-1.svg").read_bytes() for name in ("first", "second")]
    assert sheets[0] == sheets[1]
    kept.write_text("{ spoilt", encoding="utf-8")
    assert monikerf(*words, "-o", tmp_path / "third").code == 0


@pytest.fixture
def orders(shop: Path, monikerf: Run, table: Path) -> Path:
    for order in ("first", "second", "third"):
        words = ("take-order", table, "--template", "pennant", "--order", order)
        assert monikerf(*words).code == 0
    return shop


def load(monikerf: Run, order: str, *words: object) -> dict:
    answer = monikerf("load", order, "--without-approval", "a test", *words, "--json")
    assert answer.code == 0, answer.err
    (found,) = answer.values["loads"]
    return found


def regions(shop: Path, number: int) -> list[shapely.Polygon]:
    values = json.loads((shop / "out" / f"load-{number:04d}" / "laying.json").read_text("utf-8"))
    return [shapely.Polygon(corners_of(parse_path(text))) for text in values["used"]]


def test_what_a_load_leaves_is_kept_and_used_first(monikerf: Run, orders: Path) -> None:
    shop = orders
    load(monikerf, "first", "--stock", "plywood-3")
    assert not (shop / "library" / "stock").exists()  # nothing has been burned yet
    said = monikerf("made", 1, "--failed", 2)
    assert "kept as offcut-0001" in said.out
    (row,) = [r for r in monikerf("show", "stock", "--json").values if r["id"] == "offcut-0001"]
    assert row["how many"] == 1
    second = load(monikerf, "second", "--stock", "offcut-0001")
    third = load(monikerf, "third", "--stock", "offcut-0001", "--arrange", "grid")
    every = [regions(shop, number) for number in (1, 2, 3)]
    assert [len(each) for each in every] == [6, 6, 6]
    for here, there in ((0, 1), (0, 2), (1, 2)):
        near = min(a.distance(b) for a in every[here] for b in every[there])
        assert near > 2 - 0.45  # the gap, less what the kept outlines hold besides
    for each in (second, third):
        file = shop / each["file"]
        before = file.read_bytes()
        file.unlink()
        assert monikerf("load", "--again", each["load"]).code == 0
        assert file.read_bytes() == before
        assert hashlib.sha256(before).hexdigest() == each["sha256"]
    assert "offcut-0001" in monikerf("made", "2-3").out
    library = (shop / "library" / "stock" / "offcut-0001.toml").read_text("utf-8")
    assert "loads = [1, 2, 3]" in library
    assert library.count('"M') == 18
    assert monikerf("made", "2-3", "--json").values["left"] == []  # said twice, counted once


def test_scrap_is_not_kept(monikerf: Run, orders: Path) -> None:
    shop = orders
    load(monikerf, "first")
    assert "offcut" not in monikerf("made", 1, "--scrap").out
    assert not (shop / "library" / "stock").exists()
    load(monikerf, "second", "--arrange", "nested")
    monikerf("made", 2)
    words = ("load", "third", "--without-approval", "a test", "--stock", "offcut-0002", "--json")
    loads = [each["load"] for each in monikerf(*words).values["loads"]]
    monikerf("made", f"{loads[0]}-{loads[-1]}", "--scrap")
    assert not list((shop / "library" / "stock").iterdir())


def test_a_dropped_load_takes_nothing(monikerf: Run, orders: Path) -> None:
    shop = orders
    stock = shop / "library" / "stock"
    stock.mkdir(parents=True)
    text = (TOP / "shared" / "stock" / "plywood-3.toml").read_text("utf-8")
    (stock / "mine.toml").write_text(text + "count = 1\n", encoding="utf-8")
    load(monikerf, "first", "--stock", "mine")
    assert monikerf("made", 1, "--drop", "a test").code == 0
    again = load(monikerf, "second", "--stock", "mine")
    one, two = (regions(shop, number) for number in (1, again["load"]))
    assert min(a.distance(b) for a in one for b in two) == 0  # they lie where the others would have lain


@pytest.mark.parametrize(
    ("template", "words", "why"),
    [
        ("slate-coaster", ("--arrange", "nested"), "lies in a jig, so --arrange has nothing to change"),
        ("slate-coaster", ("--seconds", 2), "lies in a jig, so --seconds has nothing to change"),
        ("slate-coaster", ("--turn", "never"), "lies in a jig, so --turn has nothing to change"),
        ("slate-coaster", ("--stock", "plywood-3-full"), "lies in a jig, so no stock is needed"),
        ("tumbler-band", ("--first-place", 2), "turns in a rotary, so --first-place has nothing to change"),
        ("tumbler-band", ("--stock", "plywood-3-full"), "turns in a rotary, so no stock is needed"),
    ],
)
def test_what_would_change_nothing_is_refused(
    shop: Path, monikerf: Run, table: Path, tmp_path: Path, template: str, words: tuple[object, ...], why: str
) -> None:
    (shop / "library" / "stock").mkdir(exist_ok=True)
    (shop / "library" / "stock" / "plywood-3-full.toml").write_text(STOCK, encoding="utf-8")
    answer = monikerf("batch", table, "-t", template, "-o", tmp_path / "out", *words)
    assert answer.code == 2
    assert why in answer.err
    assert not (tmp_path / "out").exists()


def test_a_load_refuses_it_too(shop: Path, monikerf: Run, table: Path) -> None:
    assert monikerf("take-order", table, "-t", "slate-coaster", "--order", "slates").code == 0
    words = ("load", "slates", "--without-approval", "a test")
    answer = monikerf(*words, "--arrange", "nested")
    assert answer.code == 2
    assert "lies in a jig, so --arrange has nothing to change" in answer.err
    assert monikerf("today", "--json").values["loads"] == []
    assert monikerf(*words).code == 0
