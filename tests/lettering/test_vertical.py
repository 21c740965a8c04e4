"""Columns: Han and kana upright in the forms for columns, other scripts on their side or letter under letter.

The font is built here: ideographs as hollow squares, the long-vowel mark with a form for columns, and Latin.
"""

from __future__ import annotations

import re
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path

import pytest

from render.lettering import Letterer, Shelf
from render.lettering.standins import stand_in
from render.lettering.vertical import VerticalRun
from render.model import Line, SetLine, Setting
from render.resources import folder

GLYPHS = {
    "李": 0x674E,
    "明": 0x660E,
    "花": 0x82B1,
    "マ": 0x30DE,
    "リ": 0x30EA,
    "ー": 0x30FC,
    "A": 65,
    "H": 72,
    "n": 110,
}
LOW, TALL = -120, 880


def square(x0: int, y0: int, x1: int, y1: int, hole: int = 0):
    from fontTools.pens.ttGlyphPen import TTGlyphPen

    pen = TTGlyphPen(None)
    for inset, corners in ((0, (0, 1, 2, 3)), (hole, (3, 2, 1, 0))) if hole else ((0, (0, 1, 2, 3)),):
        every = [(x0 + inset, y0 + inset), (x0 + inset, y1 - inset), (x1 - inset, y1 - inset),
                 (x1 - inset, y0 + inset)]  # fmt: skip
        pen.moveTo(every[corners[0]])
        for corner in corners[1:]:
            pen.lineTo(every[corner])
        pen.closePath()
    return pen.glyph()


@pytest.fixture(scope="module")
def fonts(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder of fonts as a shop has it, with a font for Han and kana."""
    from fontTools.feaLib.builder import addOpenTypeFeaturesFromString
    from fontTools.fontBuilder import FontBuilder

    names = {character: f"g{code:04X}" for character, code in GLYPHS.items()}
    order = [".notdef", "space", *names.values(), "long.vert"]
    builder = FontBuilder(1000)
    builder.setupGlyphOrder(order)
    builder.setupCharacterMap({32: "space"} | {GLYPHS[c]: name for c, name in names.items()})
    shapes = dict.fromkeys(order, square(60, -60, 940, 820, 90))
    shapes |= {"space": square(0, 0, 0, 0), names["ー"]: square(100, 330, 900, 430)}
    shapes |= {"long.vert": square(450, -20, 550, 780)}
    shapes |= {names[c]: square(40, 0, 600, 720, 80) for c in "AH"} | {
        names["n"]: square(40, 0, 460, 500, 80)
    }
    widths = dict.fromkeys(order, 1000) | {"space": 300, names["A"]: 640, names["H"]: 640, names["n"]: 500}
    from fontTools.pens.ttGlyphPen import TTGlyphPen

    shapes["space"] = TTGlyphPen(None).glyph()
    builder.setupGlyf(shapes)
    left = {name: getattr(glyph, "xMin", 0) for name, glyph in builder.font["glyf"].glyphs.items()}
    builder.setupHorizontalMetrics({name: (width, left[name]) for name, width in widths.items()})
    builder.setupHorizontalHeader(ascent=TALL, descent=LOW)
    builder.setupVerticalHeader(ascent=500, descent=-500)
    builder.setupVerticalMetrics(dict.fromkeys(order, (1000, 0)))
    builder.setupNameTable({"familyName": "Test Han", "styleName": "Regular"})
    builder.setupOS2(sTypoAscender=TALL, sTypoDescender=LOW)
    builder.setupPost()
    addOpenTypeFeaturesFromString(
        builder.font,
        "languagesystem DFLT dflt; languagesystem kana dflt;"
        f"feature vert {{ sub {names['ー']} by long.vert; }} vert;",
    )
    place = tmp_path_factory.mktemp("fonts")
    builder.save(place / "test-han.ttf")
    return place


@pytest.fixture(scope="module")
def letterer(fonts: Path) -> Letterer:
    return Letterer(Shelf((folder("fonts_open"), fonts)))


def test_han_and_kana_of_a_name_stand_in_together(letterer: Letterer) -> None:
    """A font for Han takes over for it, in one font with kana, and never for Latin letters."""
    setting = stand_in(letterer, letterer.line("Anna 李マリー", Setting("great-vibes")))
    assert setting is not None
    assert setting.stand_ins == (("Hani", "test-han"),)
    assert stand_in(letterer, letterer.line("Anna 李佐", Setting("great-vibes"))) is None
    bare = Setting("noto-naskh-arabic")
    assert letterer.line("HAn", Setting("test-han")).missing == ()
    other = stand_in(letterer, replace(letterer.line("HAn", bare), missing=("A",)))
    assert other is not None
    assert "test-han" not in dict(other.stand_ins).values()


def column(letterer: Letterer, text: str, stand: str = "mixed", **others) -> tuple[Line, VerticalRun]:
    line = letterer.line(text, Setting("test-han", vertical=stand, **others))
    run = letterer._set(line.text, line.setting)[1]
    assert isinstance(run, VerticalRun)
    return line, run


def test_a_line_of_han_in_a_font_of_the_shop(letterer: Letterer) -> None:
    line = letterer.line("李明", Setting("test-han"))
    assert line.missing == ()
    assert line.advance == 2.0
    assert letterer.line("李明", Setting("great-vibes")).missing == ("李", "明")


def test_a_column_of_han(letterer: Letterer) -> None:
    line, run = column(letterer, "李明花")
    assert line.advance == 3.0
    assert line.ink is not None
    assert line.ink.height > 2.5 > 1.0 > line.ink.width
    assert line.ink.centre.x == pytest.approx(0.0)
    assert [part.lying for part in run.parts] == [False]
    (path,) = letterer.outlines([[SetLine(line, 10.0, 5 + 7j)]])
    wanted = line.ink.scaled(10).moved(5, 7)
    assert path.bounds().contains(wanted, 0.01)
    assert wanted.contains(path.bounds(), 0.01)


def test_the_long_vowel_has_its_form_for_columns(letterer: Letterer) -> None:
    """The feature vert (OpenType feature registry): on by itself in columns, never in lines."""
    upright = letterer.line("ー", Setting("test-han", vertical="mixed")).ink
    level = letterer.line("ー", Setting("test-han")).ink
    assert upright is not None
    assert level is not None
    assert upright.height > upright.width
    assert level.height < level.width


def test_latin_lies_on_its_side_or_stands(letterer: Letterer) -> None:
    """CSS Writing Modes Level 4, 5.1: a turn of 90 degrees clockwise, or letter under letter."""
    line, run = column(letterer, "李An明")
    assert [part.lying for part in run.parts] == [False, True, False]
    assert line.advance == pytest.approx(1 + 0.64 + 0.5 + 1)
    assert line.ink is not None
    (whole,) = letterer.outlines([[SetLine(line, 10.0, 0j)]])
    assert line.ink.scaled(10).contains(whole.bounds(), 0.01)
    assert whole.bounds().contains(line.ink.scaled(10), 0.01)
    lying = letterer.line("A", Setting("test-han", vertical="mixed")).ink
    flat = letterer.line("A", Setting("test-han")).ink
    assert lying is not None
    assert flat is not None
    assert (lying.width, lying.height) == pytest.approx((flat.height, flat.width))
    assert lying.centre.x == pytest.approx(0.0)
    standing, run = column(letterer, "An", "upright")
    assert [part.lying for part in run.parts] == [False]
    assert standing.advance == 2.0


def test_letters_that_join_never_stand(letterer: Letterer) -> None:
    run = letterer._set("نور", Setting("noto-naskh-arabic", vertical="upright"))[1]
    assert isinstance(run, VerticalRun)
    assert [part.lying for part in run.parts] == [True]


def test_tracking_and_stand_ins(letterer: Letterer) -> None:
    wide, _ = column(letterer, "李明", tracking=0.2)
    assert wide.advance == pytest.approx(2.4)
    both, run = column(letterer, "李 дом", stand_ins=(("Cyrl", "montserrat"),))
    assert both.missing == ()
    assert len({part.run.font_key for part in run.parts}) == 2
    assert column(letterer, "李 дом")[0].missing == ("д", "о", "м")


def test_same_glyphs_as_the_tool(letterer: Letterer, fonts: Path) -> None:
    """HarfBuzz's own hb-shape (Debian package libharfbuzz-bin), from top to bottom."""
    if shutil.which("hb-shape") is None:
        pytest.skip("the system has no hb-shape (package libharfbuzz-bin)")
    command = ["hb-shape", "--direction=ttb", "--no-glyph-names", str(fonts / "test-han.ttf"), "マリー"]
    answer = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    found = re.findall(r"(\d+)=\d+(?:@(-?\d+),(-?\d+))?\+(-?\d+)(?:,(-?\d+))?", answer)
    _, run = column(letterer, "マリー")
    (part,) = run.parts
    pen = 0
    for (gid, dx, dy, _, advance), ours, x, y in zip(
        found, part.run.gids, part.run.xs, part.run.ys, strict=True
    ):
        assert (ours, x, y) == (int(gid), int(dx or 0), pen + int(dy or 0))
        pen += int(advance or 0)
