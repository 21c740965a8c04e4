"""Variable fonts: instances by HarfBuzz against fontTools, ids, refusals, measures of their own."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import pytest

from render.errors import FontError
from render.lettering import Letterer, Shelf
from render.lettering.axes import axes_of, drawn_for, follows_size, instance, instance_id, split_id
from render.model import Setting
from render.resources import folder

LETTERS = "AVToanßé"


@pytest.fixture(scope="module")
def shelf() -> Shelf:
    return Shelf((folder("fonts_open"),))


@pytest.fixture(scope="module")
def small(shelf: Shelf) -> bytes:
    """A few letters of the variable font, so that fontTools' instancer is quick."""
    from fontTools import subset
    from fontTools.ttLib import TTFont

    font = TTFont(shelf.entry("source-serif").path)
    subsetter = subset.Subsetter(subset.Options(layout_features=["kern"], notdef_outline=True))
    subsetter.populate(text=LETTERS)
    subsetter.subset(font)
    out = io.BytesIO()
    font.save(out)
    return out.getvalue()


def _measures(data: bytes) -> dict[str, tuple[Any, ...]]:
    """Advance and ink box of each letter, and of a kerned pair, by HarfBuzz."""
    import uharfbuzz as hb

    font = hb.Font(hb.Face(data))
    found: dict[str, tuple[Any, ...]] = {}
    for letter in LETTERS:
        gid = font.get_nominal_glyph(ord(letter))
        found[letter] = (font.get_glyph_h_advance(gid), *font.get_glyph_extents(gid))
    buffer = hb.Buffer()
    buffer.add_str("AVTo")
    buffer.guess_segment_properties()
    hb.shape(font, buffer)
    found["AVTo"] = tuple(p.x_advance for p in buffer.glyph_positions)
    return found


@pytest.mark.parametrize(("weight", "size"), [(200, 8), (600, 12), (900, 60), (731, 23.5)])
def test_instances_are_those_of_fonttools(small: bytes, weight: float, size: float) -> None:
    """fontTools 4.x, varLib.instancer: another implementation of OpenType's variations."""
    import uharfbuzz as hb
    from fontTools.ttLib import TTFont
    from fontTools.varLib.instancer import instantiateVariableFont

    values = {"wght": weight, "opsz": size}
    mine = instance(hb.Face(small), values)
    out = io.BytesIO()
    instantiateVariableFont(TTFont(io.BytesIO(small)), values).save(out)
    ours, theirs = _measures(mine), _measures(out.getvalue())
    for what, numbers in ours.items():
        assert numbers == pytest.approx(theirs[what], abs=1), what  # each rounds in its own place
    assert not axes_of(hb.Face(mine))


def test_an_instance_is_a_font_of_its_own(shelf: Shelf) -> None:
    light, bold = shelf.find("source-serif:wght=200"), shelf.find("Source Serif:wght=900")
    assert bold.id == "source-serif:wght=900"
    assert len({light.sha256, bold.sha256, shelf.find("source-serif").sha256}) == 3
    assert shelf.find("source-serif:wght=900") is bold
    assert bold.covered == shelf.find("source-serif").covered
    assert not bold.axes
    assert "source-serif:wght=900" not in shelf.ids()


def test_its_strokes_are_measured_as_for_any_font(shelf: Shelf, tmp_path: Path) -> None:
    letterer = Letterer(shelf, cache=tmp_path)
    light, bold = (letterer.line("Ana", Setting(f"source-serif:wght={w}")) for w in (200, 900))
    assert 0 < light.thinnest < bold.thinnest
    assert bold.advance > light.advance
    assert (tmp_path / f"{shelf.find('source-serif:wght=900').sha256}.json").is_file()


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("source-serif:wdth=75", "no axis 'wdth'"),
        ("source-serif:wght=901", "cannot be set with wght 901"),
        ("source-serif:wght=fat", "cannot be set with wght fat"),
        ("caveat:wght=600", "one weight and width only"),
    ],
)
def test_what_a_font_cannot_do_is_told(shelf: Shelf, name: str, said: str) -> None:
    with pytest.raises(FontError, match=said) as caught:
        shelf.find(name)
    assert caught.value.hint


def test_ids() -> None:
    assert split_id("a:wght=600, opsz=12") == ("a", {"wght": "600", "opsz": "12"})
    assert instance_id("a", {"wght": "600", "opsz": "12"}) == "a:opsz=12,wght=600"
    assert instance_id(*split_id("a")) == "a"


def test_the_optical_size_follows_unless_chosen(shelf: Shelf) -> None:
    assert follows_size(shelf, "source-serif:wght=600")
    assert not follows_size(shelf, "source-serif:opsz=usual")
    assert not follows_size(shelf, "caveat")
    assert drawn_for(shelf, "source-serif:wght=600", 12) == "source-serif:opsz=12,wght=600"
    assert drawn_for(shelf, "source-serif", 200) == "source-serif:opsz=60"
    assert drawn_for(shelf, "source-serif:opsz=20", 12) == "source-serif:opsz=20"
    assert drawn_for(shelf, "caveat", 12) == "caveat"
    usual, whole = shelf.find("source-serif:opsz=usual"), shelf.find("source-serif")
    assert usual.cap_height == whole.cap_height
