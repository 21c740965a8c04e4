"""Outlines kept from run to run are the same outlines; a file that is of no use does no harm."""

from __future__ import annotations

import numpy as np
import pytest

from render.lettering import keep
from render.lettering.assemble import Assembler, GlyphRun
from render.lettering.keep import file_of, load, save
from render.lettering.outlines import GlyphReader
from render.lettering.stitch import Incident, Stitcher
from render.lettering.union import Way
from render.model import Line, SetLine, Setting
from render.resources import folder

# Cinzel Decorative's swashes make composites, Great Vibes many meetings.
FONTS = [
    folder("fonts_open") / "great-vibes" / "GreatVibes_400Regular.ttf",
    folder("fonts_open") / "cinzel-decorative" / "CinzelDecorative_700Bold.ttf",
]
NAMES = ("Fenwick Quail", "Rarra Raqka", "Zoë Åkerlund", "KRARQA", "Bo")


def runs(path):
    import uharfbuzz as hb

    font = hb.Font(hb.Face(path.read_bytes()))
    for name in NAMES:
        buffer = hb.Buffer()
        buffer.add_str(name)
        buffer.guess_segment_properties()
        hb.shape(font, buffer)
        x, gids, xs = 0, [], []
        for info, position in zip(buffer.glyph_infos, buffer.glyph_positions, strict=True):
            gids.append(info.codepoint)
            xs.append(x + position.x_offset)
            x += position.x_advance
        yield tuple(gids), tuple(xs), (0,) * len(xs)


def learned(path):
    stitcher = Stitcher(GlyphReader(path.read_bytes()))
    return stitcher, [stitcher.walk(*run) for run in runs(path)]


@pytest.mark.parametrize("path", FONTS, ids=[path.stem for path in FONTS])
def test_what_is_kept_is_the_same(path, tmp_path, monkeypatch):
    stitcher, walks = learned(path)
    stitcher.incidents.append(Incident((1, 2), (0j, 3 + 4j), Way.FLATTENED))
    assert save(stitcher, tmp_path / "a" / "kept.npz")
    again = Stitcher(GlyphReader(path.read_bytes()))
    assert load(again, tmp_path / "a" / "kept.npz")
    monkeypatch.setattr("render.lettering.stitch.unite", None)  # nothing is united again
    monkeypatch.setattr("render.lettering.stitch.meet", None)
    assert [again.walk(*run).pieces for run in runs(path)] == [walk.pieces for walk in walks]
    assert again.pool.points.tobytes() == stitcher.pool.points.tobytes()
    assert again.pool.codes.tobytes() == stitcher.pool.codes.tobytes()
    assert again.pool.segments.tobytes() == stitcher.pool.segments.tobytes()
    assert again.composites == stitcher.composites
    assert again.incidents == stitcher.incidents
    assert {gid: glyph.box for gid, glyph in again.glyphs.items()} == {
        gid: glyph.box for gid, glyph in stitcher.glyphs.items()
    }
    assert [file.name for file in (tmp_path / "a").iterdir()] == ["kept.npz"]


def test_what_was_kept_can_be_added_to(tmp_path):
    path = FONTS[0]
    all_runs = list(runs(path))
    first = Stitcher(GlyphReader(path.read_bytes()))
    first.walk(*all_runs[0])
    save(first, tmp_path / "kept.npz")
    second = Stitcher(GlyphReader(path.read_bytes()))
    load(second, tmp_path / "kept.npz")
    for run, expected in zip(all_runs, learned(path)[1], strict=True):
        walk = second.walk(*run)
        places = [complex(x) for x in walk.xs]
        fresh = learned(path)[0]
        ours, theirs = second.contours(walk.pieces, places), fresh.contours(expected.pieces, places)
        assert [c.points.tobytes() for c in ours] == [c.points.tobytes() for c in theirs]


def test_files_of_no_use_are_left_alone(tmp_path, monkeypatch):
    stitcher, _ = learned(FONTS[1])
    file = tmp_path / "kept.npz"
    save(stitcher, file)
    whole = file.read_bytes()

    def useless():
        fresh = Stitcher(GlyphReader(FONTS[1].read_bytes()))
        return not load(fresh, file) and not fresh.glyphs and not fresh.pool.points.size

    for spoiled in (b"", b"not a file", whole[: len(whole) // 2], whole[:-30]):
        file.write_bytes(spoiled)
        assert useless()
    for at in range(200, len(whole), len(whole) // 25):
        changed = bytearray(whole)
        changed[at] ^= 0xFF
        file.write_bytes(changed)
        fresh = Stitcher(GlyphReader(FONTS[1].read_bytes()))
        if load(fresh, file):  # the byte was none of the data's
            assert fresh.pool.points.tobytes() == stitcher.pool.points.tobytes()
            assert fresh.meetings == stitcher.meetings
    file.write_bytes(whole)
    monkeypatch.setattr(keep, "FORMAT", 0)
    assert useless()
    file.unlink()
    assert useless()


def test_a_folder_that_cannot_be_written_is_no_matter(tmp_path):
    stitcher, _ = learned(FONTS[1])
    (tmp_path / "file").write_text("in the way")
    assert not save(stitcher, tmp_path / "file" / "kept.npz")
    (tmp_path / "kept.npz").mkdir()
    assert not save(stitcher, tmp_path / "kept.npz")
    assert sorted(found.name for found in tmp_path.iterdir()) == ["file", "kept.npz"]


def test_an_assembler_keeps_what_is_new(tmp_path):
    (gids, xs, ys), *_ = runs(FONTS[0])
    line = Line("Fenwick Quail", Setting("great-vibes"), None, 0, 0.6, 0.3, 0.01)
    group = [[(GlyphRun("key", 1000, gids, xs, ys), SetLine(line, 10, 0j))]]

    def drawn(cache):
        ours = Assembler(cache=cache)
        ours.add("key", FONTS[0].read_bytes())
        (path,) = ours.paths(group)
        ours.keep()
        return path

    plain = drawn(None)
    assert not list(tmp_path.iterdir())
    first = drawn(tmp_path)
    file = file_of(tmp_path, "key")
    stamp = file.stat().st_mtime_ns
    second = drawn(tmp_path)
    assert file.stat().st_mtime_ns == stamp  # nothing was new
    for path in (first, second):
        assert np.array_equal(path.points, plain.points)
        assert np.array_equal(path.commands, plain.commands)
