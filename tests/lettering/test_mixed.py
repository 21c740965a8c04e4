"""Lines in several fonts: cut between words of two scripts, shaped as each alone, set side by side."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.geometry import Affine
from render.lettering import Letterer, Shelf
from render.lettering.faces import scale_to
from render.lettering.mixed import MixedRun, fonts_of, runs_of
from render.model import Line, SetLine, Setting
from render.resources import folder

LETTERER = Letterer(Shelf((folder("fonts_open"),)))
STAND_INS = (
    ("Hebr", "frank-ruhl-libre"),
    ("Grek", "eb-garamond"),
    ("Arab", "noto-naskh-arabic"),
    ("Deva", "noto-sans-devanagari"),
)
FACES = {name: LETTERER.face(name) for name in ("great-vibes", *(font for _, font in STAND_INS))}
SHORT = {
    "G": "great-vibes",
    "h": "frank-ruhl-libre",
    "g": "eb-garamond",
    "a": "noto-naskh-arabic",
    "d": "noto-sans-devanagari",
}


def setting(font: str = "great-vibes", **others: object) -> Setting:
    return Setting(font, stand_ins=STAND_INS, **others)  # type: ignore[arg-type]


def mixed(text: str, how: Setting | None = None) -> tuple[Line, MixedRun]:
    line = LETTERER.line(text, how or setting())
    run = LETTERER._set(text, line.setting)[1]
    assert isinstance(run, MixedRun)
    return line, run


@pytest.mark.parametrize(
    ("text", "fonts"),
    [
        ("Anna דוד", "GGGGGhhh"),
        ("דוד לוי Anna", "hhhhhhhGGGGG"),
        ("דוד, 12", "hhhhhhh"),
        ("דוד, 12 Anna", "hhhhGGGGGGGG"),
        ("בן-דוד & Co", "hhhhhhGGGGG"),
        ("(דוד)", "hhhhh"),
        ("12 דוד 12", "hhhhhhhhh"),
        ("Ida דוד 12", "GGGGhhhGGG"),
        ("Ἀ-Б", "ggG"),
        ("יִצְחָק", "hhhhhhh"),
        ("2024 & 12", "GGGGGGGGG"),
        ("  ", "GG"),
        ("", ""),
    ],
)
def test_which_font_a_character_is_in(text: str, fonts: str) -> None:
    """Marks go with their letter, signs with their word, spaces with both neighbours or the text's font."""
    found = fonts_of(text, "great-vibes", dict(STAND_INS), FACES)
    assert found == [SHORT[letter] for letter in fonts]


WORDS = st.lists(
    st.sampled_from(("Anna", "דוד", "Ἀννα", "نور", "प्रिया", "12", "&", "Lee-נוי", "יִצְ", "\u202bx\u202c")),
    max_size=6,
)


@given(WORDS, st.sampled_from((" ", "  ", "", "-")))
def test_every_character_is_shaped_once(words: list[str], between: str) -> None:
    text = between.join(words)
    runs = list(runs_of(text, fonts_of(text, "great-vibes", dict(STAND_INS), FACES)))
    at = [k for _, parts in runs for part in parts for k in range(part.start, part.stop)]
    assert sorted(at) == list(range(len(text)))
    assert all(a != b for (a, _), (b, _) in itertools.pairwise(runs))


@given(WORDS)
def test_measures_hold_together(words: list[str]) -> None:
    """Clusters lie side by side from 0 to the advance; ink is the box of what is drawn."""
    line, run = mixed(" ".join(words))
    pens = [pen for pen, _ in line.clusters]
    assert pens == sorted(pens)
    assert sum(len(part.run.pens) for part in run.parts) == len(pens)
    (path,) = LETTERER.outlines([[SetLine(line, 20.0, 3 + 4j)]])
    if line.ink is None:
        assert not path
    else:
        found, wanted = path.bounds(), line.ink.scaled(20).moved(3, 4)
        assert found.contains(wanted, 0.01)
        assert wanted.contains(found, 0.01)


def test_a_part_is_what_its_font_draws_alone() -> None:
    """The Hebrew word of a mixed line is the one set by itself, smaller by the scale of the two fonts."""
    line, _ = mixed("Anna דוד")
    alone = LETTERER.line("דוד", Setting("frank-ruhl-libre"))
    latin = LETTERER.line("Anna", Setting("great-vibes"))
    scale = scale_to(FACES["frank-ruhl-libre"], FACES["great-vibes"])
    assert line.ink is not None
    assert alone.ink is not None
    assert line.ink.x1 - 2.0 > 0
    whole, there = LETTERER.outlines([[SetLine(line, 10.0, 0j)], [SetLine(latin, 10.0, 0j)]])
    (hebrew,) = LETTERER.outlines([[SetLine(alone, 10.0 * scale, 0j)]])
    assert whole.points.size == there.points.size + hebrew.points.size
    assert np.allclose(whole.points[: there.points.size], there.points, atol=1e-9)
    rest = whole.points[there.points.size :]
    assert np.allclose(rest - rest[0], hebrew.points - hebrew.points[0], atol=0.005)


def test_fonts_agree_in_apparent_size() -> None:
    """Between equal x-heights and equal capitals; by capitals where small letters are capitals."""
    hebrew, script, capitals = (LETTERER.face(n) for n in ("frank-ruhl-libre", "great-vibes", "cinzel"))
    ratios = [
        getattr(script.font, height) / getattr(hebrew.font, height) for height in ("x_height", "cap_height")
    ]
    assert min(ratios) < scale_to(hebrew, script) < max(ratios)
    assert scale_to(hebrew, hebrew) == 1
    assert scale_to(hebrew, capitals) == pytest.approx(capitals.font.cap_height / hebrew.font.cap_height)


@pytest.mark.parametrize("text", ["Nok-नाम", "AnnaΑθηνά", "Annaדוד", "Anna Ἀλέξης", "David דוד"])
def test_parts_do_not_touch(text: str) -> None:
    """Where two fonts meet the outlines stay apart: what is drawn together is what is drawn apart."""
    line, run = mixed(text)
    (path,) = LETTERER.outlines([[SetLine(line, 10.0, 0j)]])
    apart = [LETTERER._assembler.paths([[placed]])[0] for placed in run.placed(SetLine(line, 10.0, 0j))]
    assert path.points.size == sum(part.points.size for part in apart)
    inked = [part.bounds() for part in apart if part]
    near = [right.x0 - left.x1 for left, right in itertools.pairwise(inked)]
    assert all(-3.0 < gap < 6.0 for gap in near)


def test_a_mixed_line_along_a_path() -> None:
    """With clusters in their straight places it is the straight line."""
    line, _ = mixed("Anna דוד प्रिया")
    turns = tuple(Affine(10, 0, 0, 10, 10 * pen, 0) for pen, _ in line.clusters)
    bent, straight = LETTERER.outlines([[SetLine(line, 10.0, 0j, turns)], [SetLine(line, 10.0, 0j)]])
    assert bent.bounds().contains(straight.bounds(), 0.01)
    assert straight.bounds().contains(bent.bounds(), 0.01)


def test_the_skyline_covers_the_ink() -> None:
    line, _ = mixed("Anna דוד")
    sky = LETTERER.skyline(line)
    assert sky is not None
    assert line.ink is not None
    assert sky.tops.min() == pytest.approx(line.ink.y0, abs=0.01)
    assert sky.bottoms.max() == pytest.approx(line.ink.y1, abs=0.01)
    assert (sky.first + sky.tops.size) / 32 >= line.ink.x1 > (sky.first + sky.tops.size - 1) / 32


def test_what_none_of_the_fonts_has_is_missing() -> None:
    line, _ = mixed("Anna 李 דוד")
    assert line.missing == ("李",)


def test_tracking_and_word_space_reach_every_part() -> None:
    plain, wide = (mixed("Ida Ἀννα", setting("montserrat", tracking=t))[0] for t in (0.0, 0.1))
    assert wide.advance - plain.advance == pytest.approx(0.8, abs=0.02)
    with pytest.raises(ValueError, match="letters that join"):
        mixed("Ida نور", setting("montserrat", tracking=0.1))


def test_the_thinnest_stroke_is_that_of_the_finest_part() -> None:
    line, _ = mixed("Ida דוד")
    assert line.thinnest == FACES["great-vibes"].thinnest
    assert line.cap_height == FACES["great-vibes"].font.cap_height


@pytest.mark.parametrize(
    ("text", "setting", "scripts"),
    [
        ("Zoë", Setting("great-vibes"), "Latn Latn Latn"),
        ("דוד!", Setting("frank-ruhl-libre"), "Hebr Hebr Hebr Hebr"),
        ("12", Setting("great-vibes"), "Latn Latn"),
        ("Al דו", Setting("frank-ruhl-libre"), "Latn Latn Latn Hebr Hebr"),
        ("דו Al", Setting("frank-ruhl-libre"), "Latn Latn Hebr Hebr Hebr"),
        ("Al דו", Setting("great-vibes", stand_ins=STAND_INS), "Latn Latn Latn Hebr Hebr"),
        ("प्रिया", Setting("noto-sans"), "Deva Deva"),
    ],
)
def test_the_script_of_each_cluster(text: str, setting: Setting, scripts: str) -> None:
    """Unicode Standard Annex #24; clusters stand from left to right."""
    line = LETTERER.line(text, setting)
    assert LETTERER.scripts_of(line) == tuple(scripts.split())
    assert len(line.clusters) == len(scripts.split())
