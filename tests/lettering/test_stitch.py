"""Words stitched from pairs are the union of their glyphs, whatever glyphs meet where."""

from __future__ import annotations

import os

import names
import numpy as np
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from render.geometry import LINE, QUAD
from render.lettering import stitch
from render.lettering.contours import area, closed_contour
from render.lettering.meeting import meet
from render.lettering.outlines import GlyphReader
from render.lettering.pool import Glyph, Pool
from render.lettering.stitch import Stitcher
from render.lettering.union import Way, unite
from render.lettering.weave import AstrayError
from render.resources import folder

COUNT = int(os.environ.get("MONIKERF_NAMES", "8"))
"""Names a font; a thorough check by hand takes hundreds."""

FONTS = sorted(folder("fonts_open").glob("*/*.ttf"))
SCRIPT = folder("fonts_open") / "great-vibes" / "GreatVibes_400Regular.ttf"


class Drawn:
    """A font of given shapes."""

    upem = 1000

    def __init__(self, *glyphs):
        self.glyphs = glyphs

    def contours(self, gid):
        return list(self.glyphs[gid])


def shaped(path, text):
    import uharfbuzz as hb

    font, buffer = hb.Font(hb.Face(path.read_bytes())), hb.Buffer()
    buffer.add_str(text)
    buffer.guess_segment_properties()
    hb.shape(font, buffer)
    gids, xs, ys, x = [], [], [], 0
    for info, position in zip(buffer.glyph_infos, buffer.glyph_positions, strict=True):
        gids.append(info.codepoint)
        xs.append(x + position.x_offset)
        ys.append(position.y_offset)
        x += position.x_advance
    return tuple(gids), tuple(xs), tuple(ys)


def walked(stitcher, gids, xs, ys):
    """What is drawn and what comes of it."""
    places = [complex(x, y) for x, y in zip(xs, ys, strict=True)]
    glyphs = [unite(stitcher.reader.contours(gid)).contours for gid in gids]  # each is filled by itself
    drawn = [c.moved(at) for glyph, at in zip(glyphs, places, strict=True) for c in glyph]
    return drawn, stitcher.contours(stitcher.walk(gids, xs, ys).pieces, places)


@pytest.mark.parametrize("path", FONTS, ids=[path.stem for path in FONTS])
def test_census_names_in_every_font_against_clipper(path, clipped, astray):
    """Names from the US Census of 1990 (PyPI names); regions by Clipper, areas within 0.1 %."""
    names.random.seed(path.stem)
    stitcher = Stitcher(GlyphReader(path.read_bytes()))
    for _ in range(COUNT):
        drawn, united = walked(stitcher, *shaped(path, names.get_full_name()))
        assert area(united) == pytest.approx(clipped(drawn), rel=1e-3)
        assert astray(drawn, united) < 1e-3
    assert not stitcher.incidents


def blob(corners):
    """A contour with curved sides, on whole units."""
    points = [p for corner in corners for p in corner]
    return closed_contour(np.full(len(corners), QUAD, np.uint8), np.array([*points, points[0]]))


near = st.builds(complex, st.integers(-150, 150), st.integers(-150, 150))
blobs = st.lists(st.tuples(near, near), min_size=3, max_size=5, unique=True).map(blob)
fonts = st.lists(st.lists(blobs.filter(bool), min_size=1, max_size=2), min_size=2, max_size=3)
places = st.tuples(st.integers(0, 9), st.integers(0, 400), st.integers(-50, 50))


@given(fonts, st.lists(places, min_size=1, max_size=6))
@settings(max_examples=40, phases=[Phase.explicit, Phase.reuse, Phase.generate])
def test_any_shapes_anywhere(clipped, astray, glyphs, word):
    """Far wilder than any font: everything meets everything, so glyphs must be put together."""
    stitcher = Stitcher(Drawn(*glyphs))
    gids, xs, ys = zip(*[(gid % len(glyphs), x, y) for gid, x, y in word], strict=True)
    drawn, united = walked(stitcher, gids, xs, ys)
    if all(incident.way is not Way.UNCHECKED for incident in stitcher.incidents):
        assert area(united) == pytest.approx(clipped(drawn), rel=3e-3, abs=50)
        assert astray(drawn, united) < 0.01


def polygon(corners):
    return closed_contour(np.full(len(corners) - 1, LINE, np.uint8), np.array(corners, np.complex128))


def square(x, y, side):
    return polygon([complex(x, y), complex(x + side, y), complex(x + side, y + side), complex(x, y + side)])


BAR = [polygon([0, 100, 100 + 10j, 10j])]


def test_a_bar_through_a_bar_of_its_own_kind():
    stitcher = Stitcher(Drawn(BAR))
    _, united = walked(stitcher, (0, 0, 0), (0, 50, 100), (0, 0, 0))
    assert area(united) == pytest.approx(2000)
    assert len(united) == 1
    assert not stitcher.incidents


def test_glyphs_that_lie_apart_do_not_meet():
    pool = Pool()
    a, b = Glyph.of(BAR, pool), Glyph.of([square(20, 20, 5)], pool)
    assert meet(a, b, 0j, pool) is None
    assert meet(a, b, 2000 + 0j, pool) is None


def test_what_lies_within_is_swallowed_whichever_comes_first():
    stitcher = Stitcher(Drawn([square(0, 0, 100)], [square(30, 30, 10)]))
    for gids in ((0, 1), (1, 0)):
        _, united = walked(stitcher, gids, (0, 0), (0, 0))
        assert area(united) == 10_000
        assert len(united) == 1


def test_a_counter_stays_open_around_what_lies_in_it():
    frame = [square(0, 0, 100), square(20, 20, 60).reversed()]
    stitcher = Stitcher(Drawn(frame, [square(40, 40, 10)]))
    _, united = walked(stitcher, (0, 1), (0, 0), (0, 0))
    assert area(united) == 10_000 - 3600 + 100


def test_a_hole_between_two_glyphs_is_kept():
    bracket = [0, 60, 60 + 20j, 20 + 20j, 20 + 80j, 60 + 80j, 60 + 100j, 100j]
    post = [50 - 10j, 70 - 10j, 70 + 110j, 50 + 110j]
    stitcher = Stitcher(Drawn([polygon(bracket)], [polygon(post)]))
    _, united = walked(stitcher, (0, 1), (0, 0), (0, 0))
    assert len(united) == 2
    assert area(united) == pytest.approx(60 * 20 * 2 + 20 * 60 + 20 * 120 - 2 * 10 * 20)


def test_meetings_side_by_side():
    """Pinyon's W reaches into i and l so that two meetings follow each other on one contour of the l."""
    path = folder("fonts_open") / "pinyon-script" / "PinyonScript_400Regular.ttf"
    stitcher = Stitcher(GlyphReader(path.read_bytes()))
    drawn, united = walked(stitcher, *shaped(path, "Willa"))
    assert area(united) == pytest.approx(area(unite(drawn).contours), rel=1e-3)
    assert not stitcher.incidents


def test_a_walk_gone_astray_is_united_at_once_and_told(monkeypatch, astray):
    def lost(*_):
        raise AstrayError

    monkeypatch.setattr(stitch, "weave", lost)
    stitcher = Stitcher(GlyphReader(SCRIPT.read_bytes()))
    run = shaped(SCRIPT, "Mo llan")
    drawn, united = walked(stitcher, *run)
    assert astray(drawn, united) < 1e-3
    (incident,) = stitcher.incidents
    assert incident.way is Way.PLAIN
    assert set(incident.gids) <= set(run[0])


def test_a_wrong_meeting_is_told(monkeypatch):
    monkeypatch.setattr("render.lettering.union.CHECKS", ((8, -1.0),))
    stitcher = Stitcher(GlyphReader(SCRIPT.read_bytes()))
    stitcher.walk(*shaped(SCRIPT, "an"))
    assert {incident.way for incident in stitcher.incidents} == {Way.UNCHECKED}


def test_walks_do_not_depend_on_what_was_walked_before():
    runs = [shaped(SCRIPT, name) for name in ("Thomasina Wray", "Fred Wittl", "Bo Offley")]
    once = [walked(Stitcher(GlyphReader(SCRIPT.read_bytes())), *run)[1] for run in runs]
    stitcher = Stitcher(GlyphReader(SCRIPT.read_bytes()))
    for run in reversed(runs):
        walked(stitcher, *run)
    for run, expected in zip(runs, once, strict=True):
        united = walked(stitcher, *run)[1]
        assert [c.points.tobytes() for c in united] == [c.points.tobytes() for c in expected]


def test_ink_is_the_box_of_the_outline():
    stitcher = Stitcher(GlyphReader(SCRIPT.read_bytes()))
    run = shaped(SCRIPT, "Fjord Quigley")
    from render.lettering.contours import outline

    box = outline(walked(stitcher, *run)[1]).bounds()
    assert stitcher.ink(*run) == pytest.approx((box.x0, box.y0, box.x1, box.y1), abs=0.02)
    assert stitcher.ink(*shaped(SCRIPT, "  ")) is None


def test_a_line_has_its_limit():
    with pytest.raises(ValueError, match="too many"):
        Stitcher(Drawn(BAR)).walk((0,) * 20_000, (0,) * 20_000, (0,) * 20_000)
