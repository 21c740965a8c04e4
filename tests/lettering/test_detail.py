"""Thinnest strokes on shapes whose thickness is known, and the store of measurements."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity
from shapely.geometry import Point, Polygon, box

from render.lettering import detail
from render.lettering.detail import MEASURED, Detail, Details, K, measure, polygon_of, thinnest_stroke
from render.lettering.outlines import GlyphReader
from render.lettering.shelf import Shelf
from render.lettering.union import unite
from render.resources import folder

OURS = folder("fonts_open")
SHELF = Shelf((OURS,))


@settings(max_examples=25)
@given(st.floats(0.5, 45), st.floats(0, 90))
def test_bar(thickness: float, turn: float) -> None:
    bar = affinity.rotate(box(0, 0, 100, thickness), turn)
    assert thinnest_stroke(bar) == pytest.approx(thickness, rel=0.01)


@pytest.mark.parametrize("thickness", [1, 4, 15, 40])
def test_ring(thickness: float) -> None:
    ring = Point(0, 0).buffer(60, quad_segs=64) - Point(0, 0).buffer(60 - thickness, quad_segs=64)
    assert thinnest_stroke(ring) == pytest.approx(thickness, rel=0.01)


@pytest.mark.parametrize("thickness", [1, 4, 15, 30])
def test_neck(thickness: float) -> None:
    neck = box(0, 0, 60, 60) | box(60, 20, 100, 20 + thickness) | box(100, 0, 160, 60)
    assert thinnest_stroke(neck) == pytest.approx(thickness, rel=0.01)


@pytest.mark.parametrize(("degrees", "end"), [(8, 2), (14, 3), (20, 4)])
def test_cut_off_wedge(degrees: float, end: float) -> None:
    """A wedge of angle a cut off where it is e wide loses K r² at the r worked out here.

    The whole tip of the wedge would lose c r², c = cot(a/2) - (π - a)/2; the end that was cut away, e²/(4
    tan(a/2)), is missing from it. So r = e / (2 √(tan(a/2) (c - K))), if the disc stays off the cut.
    """
    angle = math.radians(degrees)
    slope = math.tan(angle / 2)
    lost = 1 / slope - (math.pi - angle) / 2
    expected = end / (2 * math.sqrt(slope * (lost - K)))
    touches = expected / math.sin(angle / 2) * math.cos(angle / 2) ** 2  # where the disc touches the sides
    length = 400.0
    half = end / 2 + slope * length
    wedge = Polygon([(0, -end / 2), (length, -half), (length, half), (0, end / 2)])
    found = thinnest_stroke(wedge) / 2
    if touches > end / 2 / slope:  # else the cut's corners are lost first
        assert found <= expected * 1.01
    assert end / 2 <= found * 1.01


@pytest.mark.parametrize("degrees", [35, 60, 90])
def test_blunt_tips_do_not_count(degrees: float) -> None:
    half = 100 * math.tan(math.radians(degrees / 2))
    assert thinnest_stroke(Polygon([(0, 0), (100, -half), (100, half)])) > 20


def test_sharp_tips_thin_out_to_nothing() -> None:
    assert thinnest_stroke(Polygon([(0, 0), (100, -8), (100, 8)])) == 0


def test_short_parts_can_be_overlooked() -> None:
    serif = box(0, 0, 100, 40) | box(100, 0, 120, 4)
    assert thinnest_stroke(serif) == pytest.approx(4, rel=0.01)
    assert thinnest_stroke(serif, short=30) == pytest.approx(40, rel=0.01)


def test_nothing_has_no_thickness() -> None:
    assert thinnest_stroke(Polygon()) == 0


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
    reader = GlyphReader(font.data)
    stem = polygon_of(unite(reader.contours(font.shaper.get_nominal_glyph(ord("l")))).contours)
    x0, _, x1, _ = stem.bounds
    assert thinnest_stroke(stem) == pytest.approx(x1 - x0, rel=0.01)


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
