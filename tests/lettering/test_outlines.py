"""Glyphs are read as the font draws them, whatever kind of curves it has."""

from __future__ import annotations

import io

import numpy as np
import pytest
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.qu2cuPen import Qu2CuPen
from fontTools.pens.t2CharStringPen import T2CharStringPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTFont

from render.geometry import CUBIC, LINE, QUAD
from render.lettering.contours import area, closed_contour
from render.lettering.outlines import GlyphReader
from render.lettering.stitch import Stitcher
from render.lettering.union import Way, unite
from render.resources import folder

FONTS = sorted(folder("fonts_open").glob("*/*.ttf"))
SCRIPT = folder("fonts_open") / "great-vibes" / "GreatVibes_400Regular.ttf"


def by_freetype(face, gid):
    """The glyph's contours in font units, by FreeType (PyPI freetype-py)."""
    import freetype

    face.load_glyph(gid, freetype.FT_LOAD_NO_SCALE)
    found = []

    def at(*points):
        return [complex(p.x, p.y) for p in points]

    def move(to, _):
        found.append(([], at(to)))

    def draw(code):
        def drawn(*points):
            found[-1][0].append(code)
            found[-1][1].extend(at(*points[:-1]))

        return drawn

    face.glyph.outline.decompose(
        None, move_to=move, line_to=draw(LINE), conic_to=draw(QUAD), cubic_to=draw(CUBIC)
    )
    return [closed_contour(np.array(codes, np.uint8), np.array(points)) for codes, points in found if codes]


@pytest.mark.parametrize("path", FONTS, ids=[path.stem for path in FONTS])
def test_outlines_are_freetypes(path):
    """Every point; FreeType rounds the points it puts in the middle between two controls to whole units."""
    import freetype

    face, reader = freetype.Face(str(path)), GlyphReader(path.read_bytes())
    compared = 0
    for gid in range(1, min(face.num_glyphs, 300), 7):
        ours, theirs = reader.contours(gid), by_freetype(face, gid)
        theirs = [contour for contour in theirs if contour is not None]
        assert len(ours) == len(theirs)
        for a, b in zip(ours, theirs, strict=True):
            if a.codes.size == b.codes.size:  # rounding may make a tiny segment vanish
                assert a.codes.tolist() == b.codes.tolist()
                assert np.abs(a.points - b.points).max() <= 1
                compared += 1
    assert compared > 20


def cff(path, text):
    """The letters of a TrueType font as a font with cubic curves, by fontTools."""
    source = TTFont(path)
    glyphs, cmap = source.getGlyphSet(), source.getBestCmap()
    order = [".notdef", *(cmap[ord(letter)] for letter in text)]
    programs = {}
    for name in order:
        pen = T2CharStringPen(glyphs[name].width, glyphs)
        glyphs[name].draw(Qu2CuPen(pen, 0.5, all_cubic=True))
        programs[name] = pen.getCharString()
    builder = FontBuilder(source["head"].unitsPerEm, isTTF=False)
    builder.setupGlyphOrder(order)
    builder.setupCharacterMap({ord(letter): cmap[ord(letter)] for letter in text})
    builder.setupCFF("Cubic", {"FullName": "Cubic"}, programs, {})
    builder.setupHorizontalMetrics({name: (glyphs[name].width, 0) for name in order})
    builder.setupHorizontalHeader(ascent=900, descent=-300)
    builder.setupNameTable({"familyName": "Cubic", "styleName": "Regular", "fullName": "Cubic"})
    builder.setupOS2()
    builder.setupPost()
    file = io.BytesIO()
    builder.save(file)
    return file.getvalue()


def test_cubic_fonts_unite_like_quadratic_ones(clipped, astray):
    letters = "abcdeghlmnorstuwABDKMRW"
    cubic, quadratic = GlyphReader(cff(SCRIPT, letters)), GlyphReader(SCRIPT.read_bytes())
    names = {name: gid for gid, name in enumerate(TTFont(SCRIPT).getGlyphOrder())}
    for gid in range(1, len(letters) + 1):
        drawn = cubic.contours(gid)
        assert {LINE, CUBIC} >= {code for c in drawn for code in c.codes.tolist()}
        outcome = unite(drawn)
        assert outcome.way is Way.PLAIN
        assert astray(drawn, outcome.contours) < 1e-3
        twin = unite(quadratic.contours(names[cubic.name(gid)]))
        assert area(outcome.contours) == pytest.approx(area(twin.contours), rel=0.01)


def test_words_in_cubic_fonts_are_stitched(clipped, astray):
    letters = "abcdeghlmnorstuwABDKMRW"
    stitcher = Stitcher(GlyphReader(cff(SCRIPT, letters)))
    widths = TTFont(io.BytesIO(cff(SCRIPT, letters)))["hmtx"]
    for word in ("Marta", "Wendel", "Bosse", "Rhodan", "Kathe", "Dorcas", "Amhurst"):
        gids = tuple(letters.index(letter) + 1 for letter in word)
        ends = np.cumsum([widths[stitcher.reader.name(gid)][0] for gid in gids])
        xs, ys = (0, *ends[:-1].tolist()), (0,) * len(gids)
        pieces = stitcher.walk(gids, xs, ys).pieces
        united = stitcher.contours(pieces, [complex(x) for x in xs])
        drawn = [c.moved(x) for gid, x in zip(gids, xs, strict=True) for c in stitcher.reader.contours(gid)]
        assert area(united) == pytest.approx(clipped(drawn), rel=1e-3)
        assert astray(drawn, united) < 1e-3
    assert not stitcher.incidents


def variable():
    """A font with one letter, a square of 100 units that grows to 300 with its weight."""
    pen = TTGlyphPen(None)
    for at, draw in zip(
        ((0, 0), (0, 100), (100, 100), (100, 0)), (pen.moveTo, *[pen.lineTo] * 3), strict=True
    ):
        draw(at)
    pen.closePath()
    builder = FontBuilder(1000, isTTF=True)
    builder.setupGlyphOrder([".notdef", "a"])
    builder.setupCharacterMap({97: "a"})
    builder.setupGlyf({".notdef": TTGlyphPen(None).glyph(), "a": pen.glyph()})
    builder.setupHorizontalMetrics({".notdef": (500, 0), "a": (500, 0)})
    builder.setupHorizontalHeader(ascent=800, descent=-200)
    builder.setupNameTable({"familyName": "Growing", "styleName": "Regular"})
    builder.setupOS2()
    builder.setupPost()
    builder.setupFvar([("wght", 100, 100, 900, "Weight")], [])
    from fontTools.ttLib.tables.TupleVariation import TupleVariation

    deltas = [(0, 0), (0, 200), (200, 200), (200, 0), (0, 0), (0, 0), (0, 0), (0, 0)]
    builder.setupGvar({"a": [TupleVariation({"wght": (0, 1, 1)}, deltas)]})
    file = io.BytesIO()
    builder.save(file)
    return file.getvalue()


@pytest.mark.parametrize(("weight", "side"), [(None, 100), (100, 100), (500, 200), (900, 300)])
def test_variable_fonts(weight, side):
    reader = GlyphReader(variable(), variation={"wght": weight} if weight else None)
    assert area(unite(reader.contours(1)).contours) == pytest.approx(side**2, rel=1e-3)


def test_blank_glyphs_have_no_contours():
    reader = GlyphReader(SCRIPT.read_bytes())
    space = TTFont(SCRIPT).getGlyphID("space")
    assert reader.contours(space) == []
    assert reader.name(space) == "space"
    assert reader.title == "Great Vibes Regular"
    assert reader.upem == 1000
