"""Lines, measured and drawn."""

from __future__ import annotations

import cmath
import math
import shutil
import unicodedata
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from render.errors import FontError
from render.geometry import Affine, Box
from render.lettering import Letterer, Shelf
from render.model import Line, Measure, SetLine, Setting
from render.resources import folder

SHELF = Shelf((folder("fonts_open"),))
LETTERER = Letterer(SHELF)
NAMES = {
    "great-vibes": "Zoë & Łukasz",
    "pacifico": "Đặng Affinity",
    "cinzel": "Çağlar Ağa",
    "noto-naskh-arabic": "نور الهدى",
    "noto-sans-devanagari": "क्षितिज ज्योति",
    "noto-sans-thai": "น้ำฝน ปิ่นโต",
    "frank-ruhl-libre": "יִצְחָק Lee",
}


def set_line(line: Line, size: float = 10.0, origin: complex = 0j) -> SetLine:
    return SetLine(line, size, origin)


def close(found: Box, wanted: Box, tolerance: float) -> bool:
    return found.contains(wanted, tolerance) and wanted.contains(found, tolerance)


@pytest.mark.parametrize("name", NAMES)
def test_ink_is_the_box_of_the_outline(name: str) -> None:
    line = LETTERER.line(NAMES[name], Setting(name))
    assert not line.missing
    (path,) = LETTERER.outlines([[set_line(line, 20.0, 5 + 7j)]])
    assert path.is_closed()
    assert line.ink is not None
    assert close(path.bounds(), line.ink.scaled(20).moved(5, 7), 20 / 1000 / 16)


def test_line_is_a_measure() -> None:
    measure: Measure = LETTERER.line
    assert measure("Ada", Setting("caveat")).text == "Ada"


def test_clusters_lie_side_by_side() -> None:
    for name, text in NAMES.items():
        line = LETTERER.line(text, Setting(name))
        ends = [pen + advance for pen, advance in line.clusters]
        assert ends[:-1] == pytest.approx([pen for pen, _ in line.clusters[1:]]), text
        assert line.clusters[0][0] == 0
        assert ends[-1] == pytest.approx(line.advance), text


def test_measures_of_the_font() -> None:
    line = LETTERER.line("Hx", Setting("montserrat"))
    assert line.cap_height == pytest.approx(0.7)
    assert 0.08 < line.thinnest < 0.1  # where arches join their stems
    ink = LETTERER.line("H", Setting("montserrat")).ink
    assert ink is not None
    assert ink.height == pytest.approx(line.cap_height, abs=1e-6)


@pytest.mark.parametrize("text", ["", "  ", "\u200d"])
def test_no_ink(text: str) -> None:
    line = LETTERER.line(text, Setting("caveat"))
    assert line.ink is None
    assert line.missing == ()
    assert LETTERER.outlines([[set_line(line)]])[0].points.size == 0


@pytest.mark.parametrize(
    ("name", "text", "missing"),
    [
        ("cinzel", "Đorđe", ("Đ", "đ")),
        ("pacifico", "Łukasz", ("Ł",)),
        ("lobster", "Jurgis Ųsas", ("Ų",)),
        ("sacramento", "Ștefan", ("Ș",)),
        ("great-vibes", "漢字 Ann", ("漢", "字")),
        ("caveat", "Ann 🎂", ("🎂",)),
        ("caveat", "A\tB", ("\t",)),
        ("noto-sans", "שרה", ("ש", "ר", "ה")),
        ("dancing-script", "Keoʼo", ()),
        ("patrick-hand", "Anne‑Marie", ()),
        ("noto-sans", "Zoe\u0308", ()),
        ("noto-sans", "न\u200dन", ()),
    ],
)
def test_missing(name: str, text: str, missing: tuple[str, ...]) -> None:
    line = LETTERER.line(text, Setting(name))
    assert line.missing == missing
    assert line.text == text


def test_what_is_missing_is_described() -> None:
    line = LETTERER.line("Łukasz", Setting("pacifico"))
    problem = LETTERER.describe_missing(line, row=7, piece="p7")
    assert (problem.row, problem.piece, problem.value) == (7, "p7", "Łukasz")
    assert "LATIN CAPITAL LETTER L WITH STROKE" in problem.message


def test_a_letter_without_ink_is_missing(tmp_path: Path) -> None:
    """A font may map a letter to an empty drawing."""
    from fontTools.ttLib import TTFont
    from fontTools.ttLib.tables._g_l_y_f import Glyph

    font = TTFont(SHELF.entry("patrick-hand").path)
    glyph = font.getBestCmap()[ord("n")]
    font["glyf"].glyphs[glyph] = Glyph()
    font.save(tmp_path / "hollow.ttf")
    letterer = Letterer(Shelf((tmp_path,)))
    assert letterer.line("Ann Bo", Setting("hollow")).missing == ("n",)
    assert letterer.line("Ada Bo", Setting("hollow")).missing == ()


def test_tracking() -> None:
    plain = LETTERER.line("Ada", Setting("montserrat"))
    wide = LETTERER.line("Ada", Setting("montserrat", tracking=0.1))
    assert wide.advance == pytest.approx(plain.advance + 0.3)
    with pytest.raises(ValueError, match="letters that join"):
        LETTERER.line("Ada", Setting("great-vibes", tracking=-0.01))
    assert LETTERER.joined("great-vibes")
    assert not LETTERER.joined("montserrat")


def test_unknown_font_and_feature() -> None:
    with pytest.raises(FontError, match="no font"):
        LETTERER.line("Ada", Setting("nonesuch"))
    with pytest.raises(ValueError, match="not an OpenType feature"):
        LETTERER.line("Ada", Setting("caveat", features=("nonesuch",)))


def test_language_decides_on_local_forms() -> None:
    """Turkish keeps the dot of an i after f (common practice, no source)."""
    plain = LETTERER.line("Afife", Setting("dancing-script"))
    turkish = LETTERER.line("Afife", Setting("dancing-script", language="tr"))
    assert len(turkish.clusters) == len(plain.clusters) + 1 == 5


def test_outlines_on_a_curve() -> None:
    """Each cluster, its pen at the origin, goes where its own map takes it."""
    line = LETTERER.line("Lee", Setting("noto-sans"))
    angles = [0.0, 40.0, 90.0]
    turns = tuple(
        Affine.scale(8).then(
            Affine.placing(30 * cmath.rect(1, math.radians(a)), cmath.rect(1, math.radians(a + 90)))
        )
        for a in angles
    )
    (path,) = LETTERER.outlines([[SetLine(line, 8.0, 0j, turns)]])
    single = LETTERER.outlines([[set_line(LETTERER.line(c, Setting("noto-sans")), 1.0)] for c in "Lee"])
    boxes = [glyph.transformed(turn).bounds() for glyph, turn in zip(single, turns, strict=True)]
    assert close(path.bounds(), Box.union(boxes), 0.01)


def test_groups_are_united_each_for_itself() -> None:
    line = LETTERER.line("Ada", Setting("noto-sans"))
    apart = LETTERER.outlines([[set_line(line)], [set_line(line, 10.0, 0.5 + 0j)]])
    assert len(apart) == 2
    assert apart[0].commands.size == apart[1].commands.size
    (together,) = LETTERER.outlines([[set_line(line), set_line(line, 10.0, 0.5 + 0j)]])
    assert together.commands.size != 2 * apart[0].commands.size


@settings(max_examples=60)
@given(
    st.text(st.sampled_from("aäfiLtéĐ ’-mQ"), max_size=12),
    st.sampled_from(["pacifico", "noto-sans", "lobster"]),
)
def test_any_text_has_ink_where_it_is_drawn(text: str, name: str) -> None:
    line = LETTERER.line(text, Setting(name))
    (path,) = LETTERER.outlines([[set_line(line, 1.0)]])
    if line.ink is None:
        assert not path
    else:
        assert close(path.bounds(), line.ink, 1 / 1000 / 16)


def test_lines_are_kept_and_repeatable() -> None:
    first = LETTERER.line("Ada", Setting("allura"))
    assert LETTERER.line("Ada", Setting("allura")) is first
    assert Letterer(SHELF).line("Ada", Setting("allura")) == first


def test_normal_form_does_not_matter() -> None:
    composed = LETTERER.line("Çağlar", Setting("noto-sans"))
    taken_apart = LETTERER.line(unicodedata.normalize("NFD", "Çağlar"), Setting("noto-sans"))
    assert taken_apart.clusters == composed.clusters
    assert taken_apart.ink == composed.ink


def test_own_fonts_are_measured_and_kept(tmp_path: Path) -> None:
    shutil.copy(SHELF.entry("patrick-hand").path, tmp_path / "own.ttf")
    data = (tmp_path / "own.ttf").read_bytes()
    (tmp_path / "own.ttf").write_bytes(data + b"\0\0\0\0")  # another file than the one on the list
    letterer = Letterer(Shelf((tmp_path,)), cache=tmp_path / "cache")
    line = letterer.line("Ada", Setting("own"))
    assert line.thinnest == pytest.approx(LETTERER.line("Ada", Setting("patrick-hand")).thinnest)
    assert len(list((tmp_path / "cache").iterdir())) == 1


def test_no_note_without_need() -> None:
    fresh = Letterer(SHELF)
    fresh.outlines([[set_line(fresh.line("Ada Lee", Setting("noto-sans")))]])
    assert fresh.notes() == ()


def test_cubic_outlines(tmp_path: Path) -> None:
    """A font with CFF outlines, made here: a disc of cubics in place of A."""
    from fontTools.fontBuilder import FontBuilder
    from fontTools.pens.t2CharStringPen import T2CharStringPen

    pen = T2CharStringPen(600, None)
    k = 300 * 4 / 3 * math.tan(math.pi / 8)
    pen.moveTo((600, 300))
    pen.curveTo((600, 300 + k), (300 + k, 600), (300, 600))
    pen.curveTo((300 - k, 600), (0, 300 + k), (0, 300))
    pen.curveTo((0, 300 - k), (300 - k, 0), (300, 0))
    pen.curveTo((300 + k, 0), (600, 300 - k), (600, 300))
    pen.closePath()
    disc = pen.getCharString()
    builder = FontBuilder(1000, isTTF=False)
    builder.setupGlyphOrder([".notdef", "A"])
    builder.setupCharacterMap({ord("A"): "A"})
    builder.setupCFF("Invented", {}, {".notdef": disc, "A": disc}, {})
    builder.setupHorizontalMetrics({".notdef": (600, 0), "A": (600, 0)})
    builder.setupHorizontalHeader()
    builder.setupNameTable({"familyName": "Invented", "styleName": "Regular"})
    builder.setupOS2()
    builder.setupPost()
    builder.save(tmp_path / "disc.otf")
    letterer = Letterer(Shelf((tmp_path,)))
    line = letterer.line("AA", Setting("Invented"))
    assert line.ink is not None
    assert close(line.ink, Box(0, -0.6, 1.2, 0), 1e-4)
    assert line.thinnest == pytest.approx(0.6, rel=0.01)
    (path,) = letterer.outlines([[set_line(line)]])
    assert close(path.bounds(), Box(0, -6, 12, 0), 1e-3)
