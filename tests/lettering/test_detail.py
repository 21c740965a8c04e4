"""What is measured on whole fonts, and the store of measurements."""

from __future__ import annotations

from pathlib import Path

import pytest

from render.lettering import detail
from render.lettering.detail import MEASURED, Detail, Details, measure, polygon_of
from render.lettering.finest import finest_of_letter
from render.lettering.outlines import GlyphReader
from render.lettering.shelf import Shelf
from render.lettering.union import unite
from render.resources import folder

OURS = folder("fonts_open")
SHELF = Shelf((OURS,))


def test_counters_are_holes() -> None:
    """The area of a letter with counters, against the area by Green's theorem."""
    font = SHELF.find("roboto-slab")
    contours = unite(GlyphReader(font.data).contours(font.shaper.get_nominal_glyph(ord("B")))).contours
    from render.lettering.contours import area

    assert polygon_of(contours, chords=64).area == pytest.approx(area(contours), rel=1e-4)


@pytest.mark.parametrize("name", ["patrick-hand", "sacramento"])
def test_shipped_values_are_measured(name: str) -> None:
    font = SHELF.find(name)
    known = Details((OURS,)).of(font)
    found = measure(font)
    assert found.thinnest == pytest.approx(known.thinnest, rel=0.01)
    assert found.joining == pytest.approx(known.joining, abs=0.01)


def test_even_strokes_are_found() -> None:
    """Saira's stems and bars, by FreeType-independent arithmetic: the stem of l is as wide as its box."""
    font = SHELF.find("saira-stencil-one")
    stem = unite(GlyphReader(font.data).contours(font.shaper.get_nominal_glyph(ord("l")))).contours
    x0, _, x1, _ = polygon_of(stem).bounds
    assert finest_of_letter(stem, font.upem)[0] * font.upem == pytest.approx(x1 - x0, rel=0.001)


def test_own_fonts_are_measured_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    font = SHELF.find("caveat")
    calls = []

    def counted(font: object) -> Detail:
        calls.append(font)
        return Detail(0.0675, 0.03)

    monkeypatch.setattr(detail, "measure", counted)
    cache = tmp_path / "deep" / "cache"
    for _ in range(2):
        store = Details((), cache)
        assert store.of(font) == store.of(font) == Detail(0.0675, 0.03)
    assert len(calls) == 1
    (cache / f"{font.sha256}.json").write_text("{broken")
    assert Details((), cache).of(font).thinnest == 0.0675
    assert len(calls) == 2
    assert not list(cache.glob("*.part"))


def test_cache_that_cannot_be_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(detail, "measure", lambda font: Detail(0.1, 0.9))
    blocked = tmp_path / "file"
    blocked.write_text("")
    assert Details((), blocked).of(SHELF.find("caveat")).joined


def test_every_shipped_font_is_measured() -> None:
    import tomllib

    table = tomllib.loads((OURS / MEASURED).read_text(encoding="utf-8"))
    assert list(table) == list(SHELF.ids())
    for name, values in table.items():
        font = SHELF.find(name)
        assert values["sha256"] == font.sha256, name
        assert values["cap_height"] == pytest.approx(font.cap_height, abs=1e-4), name
        assert values["x_height"] == pytest.approx(font.x_height, abs=1e-4), name
    joined = {name for name, values in table.items() if values["joining"] >= 0.5}
    assert joined == {
        "pinyon-script",
        "great-vibes",
        "allura",
        "sacramento",
        "dancing-script",
        "pacifico",
        "lobster",
    }
