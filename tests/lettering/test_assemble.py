"""Shaped lines in place: the right paths in mm, closed, without overlaps, the same whoever asks when."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from render.geometry import CLOSE, CUBIC, LINE, MOVE, QUAD, Affine, Path
from render.geometry.path import POINTS_PER_COMMAND
from render.lettering import assemble as module
from render.lettering.assemble import Assembler, GlyphRun
from render.lettering.batch import BATCH, assemble
from render.lettering.contours import area, closed_contour, outline
from render.lettering.placed import unite_placed
from render.lettering.stitch import Incident
from render.lettering.union import Way
from render.model import Line, SetLine, Setting, Severity
from render.resources import folder
from render.units import to_um

FONT = folder("fonts_open") / "great-vibes" / "GreatVibes_400Regular.ttf"
DATA = FONT.read_bytes()
NAMES = ("Wilhelmina Ost", "Fenn Quarrell", "Bo", "Ana-Maria Thew", "", " ", "Jack O’Dell", "Zoë Ångman")


def shaped(text):
    import uharfbuzz as hb

    font, buffer = hb.Font(hb.Face(DATA)), hb.Buffer()
    buffer.add_str(text)
    buffer.guess_segment_properties()
    hb.shape(font, buffer)
    gids, xs, ys, pens, clusters, x = [], [], [], [], [], 0
    for info, position in zip(buffer.glyph_infos or (), buffer.glyph_positions or (), strict=True):
        gids.append(info.codepoint)
        xs.append(x + position.x_offset)
        ys.append(position.y_offset)
        clusters.append(len(pens))
        pens.append(x)
        x += position.x_advance
    return GlyphRun("font", 1000, tuple(gids), tuple(xs), tuple(ys), tuple(clusters), tuple(pens))


def placed(text, size=10.0, origin=0j, turns=()):
    line = Line(text, Setting("great-vibes"), None, 0, 0.6, 0.3, 0.01)
    return shaped(text), SetLine(line, size, origin, turns)


def assembler():
    fresh = Assembler()
    fresh.add("font", DATA)
    return fresh


def mm2(path):
    """Area of a closed path."""
    total = 0.0
    for contour in path.contours():
        codes = contour.commands[1:-1]
        total -= area([closed_contour(codes, contour.points * 1000)]) / 1e6  # y is down
    return total


def test_a_batch_is_what_its_words_are_one_by_one():
    ours = assembler()
    stitcher = ours._stitchers["font"]
    walks = []
    for k, name in enumerate(NAMES * 4):
        run = shaped(name)
        walks.append((stitcher.walk(run.gids, run.xs, run.ys), 0.01 + 0.001 * k, complex(k, 2 * k)))
    for (walk, scale, origin), path in zip(walks, assemble(stitcher.pool, walks), strict=True):
        places = [complex(x, y) for x, y in zip(walk.xs, walk.ys, strict=True)]
        plain = outline(stitcher.contours(walk.pieces, places))
        expected = plain.transformed(Affine(scale, 0, 0, -scale, origin.real, origin.imag))
        assert path.commands.tolist() == expected.commands.tolist()
        assert np.abs(path.points - expected.points).max(initial=0) < 1e-9
        assert path.is_closed()
    assert assemble(stitcher.pool, []) == []


def test_paths_are_well_formed_and_in_place():
    (path,) = assembler().paths([[placed("Hi", 20, 30 + 40j)]])
    checked = Path.of(path.commands.tolist(), path.points.tolist())
    assert checked == path
    assert path.commands[0] == MOVE
    assert set(path.commands.tolist()) <= {MOVE, LINE, QUAD, CUBIC, CLOSE}
    box = path.bounds()
    assert box.y0 < 40 - 10  # letters stand up from the baseline: y is down
    assert box.y1 == pytest.approx(40, abs=4)


def test_ink_is_that_of_the_raw_drawing():
    """FreeType's outline box of each glyph (PyPI freetype-py), put together."""
    import freetype

    face = freetype.Face(str(FONT))
    run, each = placed("Humbert", 1000.0)
    boxes = []
    for gid, x in zip(run.gids, run.xs, strict=True):
        face.load_glyph(gid, freetype.FT_LOAD_NO_SCALE)
        box = face.glyph.outline.get_bbox()
        boxes.append((box.xMin + x, box.yMin, box.xMax + x, box.yMax))
    low, high = np.array(boxes).min(axis=0), np.array(boxes).max(axis=0)
    box = assembler().paths([[(run, each)]])[0].bounds()
    expected = (low[0], -high[3], high[2], -low[1])
    assert (box.x0, box.y0, box.x1, box.y1) == pytest.approx(expected, abs=1)  # FreeType's are whole units


@given(st.lists(st.sampled_from(NAMES), min_size=1, max_size=BATCH + 3), st.integers(1, 5))
@settings(max_examples=15)
def test_the_same_whatever_came_before_and_whoever_is_beside(names, cut):
    groups = [[placed(name, 7.3, complex(3, k))] for k, name in enumerate(names)]
    together = assembler().paths(groups)
    warm = assembler()
    warm.paths(groups[::-1])
    apart = warm.paths(groups[:cut]) + warm.paths(groups[cut:])
    assert [to_um(p.points).tobytes() for p in together] == [to_um(p.points).tobytes() for p in apart]
    assert [p.commands.tobytes() for p in together] == [p.commands.tobytes() for p in apart]


def test_a_full_pool_is_begun_anew(monkeypatch):
    groups = [[placed(name)] for name in NAMES]
    expected = assembler().paths(groups)
    ours = assembler()
    ours.paths(groups)
    full = ours._stitchers["font"].pool.points.size
    monkeypatch.setattr("render.lettering.stitch.MOST_POINTS", full - 1)
    assert ours.paths(groups) == expected
    assert ours._stitchers["font"].pool.points.size == full
    monkeypatch.setattr("render.lettering.stitch.MOST_POINTS", 100)
    assert ours.paths(groups[:1]) == expected[:1]
    assert ours._stitchers["font"].pool.points.size < full


def test_lines_that_keep_apart_stay_as_they_are():
    ours = assembler()
    one, two = ours.paths([[placed("Bo")], [placed("Ann", 10, 50j)]])
    (both,) = ours.paths([[placed("Bo"), placed("Ann", 10, 50j)]])
    assert both == Path.joined([one, two])


def test_lines_that_meet_are_united(astray):
    ours = assembler()
    upper, lower = placed("Bo", 10, 0j), placed("Fay", 10, 3j)
    one, two = ours.paths([[upper], [lower]])
    (both,) = ours.paths([[upper, lower]])
    assert both.is_closed()
    assert mm2(both) < mm2(one) + mm2(two) - 0.1
    drawn, united = (_fine(path) for path in (Path.joined([one, two]), both))
    assert astray(drawn, united) < 1e-3
    assert ours.notes() == ()


def _fine(path):
    """A path's contours in thousandths of a mm, y up."""
    return [
        closed_contour(contour.commands[1:-1], contour.points.conj() * 1000) for contour in path.contours()
    ]


def test_clusters_turned_by_nothing_are_the_line():
    ours = assembler()
    run, _ = placed("Nora Lindt")
    turns = tuple(Affine.scale(10).then(Affine.translation(pen / 100, 0)) for pen in run.pens)
    (straight,) = ours.paths([[placed("Nora Lindt")]])
    (turned,) = ours.paths([[placed("Nora Lindt", turns=turns)]])
    assert turned.is_closed()
    assert mm2(turned) == pytest.approx(mm2(straight), rel=1e-3)
    a, b = straight.bounds(), turned.bounds()
    assert (a.x0, a.y0, a.x1, a.y1) == pytest.approx((b.x0, b.y0, b.x1, b.y1), abs=1e-3)


def test_clusters_on_a_circle_are_united(astray):
    ours = assembler()
    run, _ = placed("Nora Lindt")
    turns = tuple(
        Affine.scale(10).then(Affine.translation(0, -40)).then(Affine.rotation(pen / 1000 / 4 * 57.3))
        for pen in run.pens
    )
    (path,) = ours.paths([[placed("Nora Lindt", turns=turns)]])
    alone = [ours.glyph(run.font_key, gid) for gid in run.gids]
    apart = Path.joined(
        outline(glyph.contours).transformed(
            Affine.translation(x - run.pens[cluster], y)
            .then(Affine.flip_y())
            .then(Affine.scale(1 / run.upem))
            .then(turns[cluster])
        )
        for glyph, x, y, cluster in zip(alone, run.xs, run.ys, run.clusters, strict=True)
        if glyph.box is not None
    )
    assert astray(_fine(apart), _fine(path)) > 0  # the parts overlap by themselves
    fine = _fine(path)
    assert astray(fine, fine) < 1e-3  # the whole winds once everywhere
    assert mm2(path) < mm2(apart)


def square(x, side):
    return Path.polygon([complex(x, 0), complex(x + side, 0), complex(x + side, side), complex(x, side)])


@pytest.mark.parametrize(
    ("parts", "expected", "unions"),
    [
        ([square(0, 2), square(1, 2)], 6, 1),
        ([square(0, 2), square(5, 2)], 8, 0),
        ([square(0, 4), square(1, 2)], 16, 1),  # within: the box starts at the same top edge
        ([square(0, 2), square(5, 2), square(1, 5)], 25 + 2 + 2, 1),
        ([], 0, 0),
        ([Path.empty(), square(0, 1)], 1, 0),
    ],
)
def test_uniting_what_is_placed(parts, expected, unions):
    path, ways = unite_placed(parts, 10.0)
    assert abs(mm2(path)) == pytest.approx(expected, rel=1e-3)
    assert len(ways) == unions
    assert set(ways) <= {Way.PLAIN}


def test_notes_name_glyphs_and_font():
    ours = assembler()
    run = shaped("ab")
    incidents = [Incident(run.gids, (0j, 1j), way) for way in Way]
    ours._stitchers["font"].incidents += [*incidents, incidents[0]]
    notes = ours.notes()
    assert [note.severity for note in notes] == [Severity.NOTE] * 3 + [Severity.LOOK]
    assert all("Great Vibes Regular: a + b" in note.message for note in notes)
    assert len({note.code for note in notes}) == 4


def test_what_could_not_be_united_plainly_on_its_place_is_told(monkeypatch):
    monkeypatch.setattr(module, "unite_placed", lambda parts, _: (parts[0], [Way.UNCHECKED, Way.PLAIN]))
    ours = assembler()
    ours.paths([[placed("Bo"), placed("Fay")]])
    (note,) = ours.notes()
    assert note.code == "union-unchecked"


def test_an_unknown_font_is_refused():
    with pytest.raises(KeyError):
        Assembler().paths([[placed("Bo")]])


def test_points_match_commands():
    (path,) = assembler().paths([[placed("Wilhelmina")]])
    assert POINTS_PER_COMMAND[path.commands].sum() == path.points.size
