"""Shaping, against HarfBuzz's own command line tool (Debian package libharfbuzz-bin)."""

from __future__ import annotations

import itertools
import re
import shutil
import string
import subprocess
from pathlib import Path

import pytest

from render.lettering.scripts import prepare
from render.lettering.shaping import Shaped, feature_ranges, parse_feature, shape
from render.lettering.shelf import Shelf
from render.resources import folder

SHELF = Shelf((folder("fonts_open"),))
END = 0xFFFFFFFF

NAMES = """Đặng Thùy
Çağlar İpek
Łukasz Żak
O’Neill
Zoë Färber
Þórdís Ægisdóttir
Affinity Fifi Raffle
Jean-François Lœuillet
Ștefan Țurcanu
Ivana Šimůnek
Ķēniņš Ģirts
Åse Bjørk
AVA WATTS
Tyler & Tove
Αθηνά Παπαδάκη
Юлія Щербак
Ђорђе Његуш
שרה לוי
יִצְחָק
نور الهدى
گلاره پژوهش
محمد لالا
ज्योति श्रीवास्तव
क्षितिज ढूँढा
ณัฐวุฒิ ศรีสุข
น้ำฝน ปิ่นโต
1234567890 (ab)
Grünwald, G. & M.""".splitlines()
"""Invented names with what shaping has to do: marks, ligatures, kerning, joining, reordering."""

GLYPH = re.compile(r"(\d+)=(\d+)(?:@(-?\d+),(-?\d+))?\+(-?\d+)")


def oracle(path: Path, texts: list[str], tmp_path: Path) -> list[list[tuple[int, ...]]]:
    """For each text the tool's glyphs in visual order: id, cluster, dx, dy, advance."""
    if shutil.which("hb-shape") is None:
        pytest.skip("the system has no hb-shape (package libharfbuzz-bin)")
    listing = tmp_path / "names.txt"
    listing.write_text("\n".join(texts), encoding="utf-8")
    command = ["hb-shape", str(path), f"--text-file={listing}", "--no-glyph-names", "--language=en"]
    answer = subprocess.run(command, capture_output=True, text=True, check=True, encoding="utf-8").stdout
    return [
        [tuple(int(n or 0) for n in match.groups()) for match in GLYPH.finditer(line)]
        for line in answer.splitlines()
    ]


@pytest.mark.parametrize("name", SHELF.ids())
def test_same_glyphs_in_the_same_places_as_the_tool(name: str, tmp_path: Path) -> None:
    font = SHELF.find(name)
    texts = [text for text in NAMES if not font.lacks(text)]
    assert len(texts) > 5
    for text, glyphs in zip(texts, oracle(SHELF.entry(name).path, texts, tmp_path), strict=True):
        found = shape(font, text, font_key="k", language="en")
        pens = [0, *itertools.accumulate(advance for *_, advance in glyphs)]
        assert found.run.gids == tuple(gid for gid, *_ in glyphs), text
        assert found.run.xs == tuple(p + dx for p, (_, _, dx, _, _) in zip(pens, glyphs, strict=False)), text
        assert found.run.ys == tuple(dy for _, _, _, dy, _ in glyphs), text
        assert found.advance == pens[-1], text
        assert found.characters == tuple(k for k, _ in itertools.groupby(c for _, c, *_ in glyphs)), text


def run(name: str, text: str, **options: object) -> Shaped:
    font = SHELF.find(name)
    return shape(font, prepare(text, font.covered), font_key="k", **options)  # type: ignore[arg-type]


def test_a_ligature_is_one_cluster() -> None:
    found = run("playfair-display", "Raffi")
    assert len(found.run.gids) == len(found.run.pens) == 3
    assert found.characters == (0, 1, 2)


@pytest.mark.parametrize("name", [n for n in SHELF.ids() if "Latn" in SHELF.entry(n).scripts])
def test_turkish_keeps_the_dot_of_i(name: str) -> None:
    """No ligature swallows an i, whatever letter it follows."""
    for letter in string.ascii_letters:
        found = run(name, f"{letter}i", language="tr-TR")
        assert found.characters == (0, 1), letter
    assert run(name, "Raffi", language="tr").characters == (0, 1, 2, 3, 4)


def test_turkish_matters() -> None:
    assert len(run("dancing-script", "fi").run.gids) == 1
    assert len(run("dancing-script", "fi", language="tr").run.gids) == 2


def test_tracking_moves_clusters_and_splits_ligatures() -> None:
    plain, wide = (
        run("playfair-display", "fino", features=("-liga",)),
        run("playfair-display", "fino", tracking=50),
    )
    assert wide.run.gids == plain.run.gids
    assert [w - p for w, p in zip(wide.run.xs, plain.run.xs, strict=True)] == [0, 50, 100, 150]
    assert wide.advance == plain.advance + 200
    assert wide.run.pens == wide.run.xs


def test_tracking_refused_where_letters_join() -> None:
    with pytest.raises(ValueError, match="letters that join"):
        run("noto-sans", "Anna", tracking=1, joined=True)
    with pytest.raises(ValueError, match="letters that join"):
        run("noto-naskh-arabic", "نور", tracking=-5)
    with pytest.raises(ValueError, match="letters that join"):
        run("noto-sans-devanagari", "ज्योति", tracking=5)


def test_mixed_directions_stand_side_by_side() -> None:
    alone, mixed = run("frank-ruhl-libre", "שרה"), run("frank-ruhl-libre", "Lee שרה")
    assert mixed.run.gids[-3:] == alone.run.gids
    assert mixed.characters == (0, 1, 2, 3, 6, 5, 4)
    assert list(mixed.run.pens) == sorted(mixed.run.pens)
    backward = run("frank-ruhl-libre", "שרה Lee")
    assert backward.characters == (4, 5, 6, 3, 2, 1, 0)


def test_word_end_forms_by_range() -> None:
    """HarfBuzz gives Latin letters no initial or final forms by itself."""
    assert feature_ranges("Anna Lee-Ray", "", ("fina",), tracked=False) == {"fina": [(3, 4, 1), (11, 12, 1)]}
    assert feature_ranges("Anna", "", ("init",), tracked=False) == {"init": [(0, 1, 1)]}
    plain, formed = run("allura", "Anna").run.gids, run("allura", "Anna", features=("fina",)).run.gids
    assert plain[:-1] == formed[:-1]
    assert plain[-1] != formed[-1]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("liga", ("liga", 0, END, 1)),
        ("+liga", ("liga", 0, END, 1)),
        ("-liga", ("liga", 0, END, 0)),
        ("swsh=2", ("swsh", 0, END, 2)),
        ("ss01[3:5]=2", ("ss01", 3, 5, 2)),
        ("kern[3]=0", ("kern", 3, 4, 0)),
        ("kern[:4]", ("kern", 0, 4, 1)),
        ("kern[4:]", ("kern", 4, END, 1)),
    ],
)
def test_feature_notation(text: str, expected: tuple[str, int, int, int]) -> None:
    """HarfBuzz's documentation of hb_feature_from_string."""
    assert parse_feature(text) == expected


@pytest.mark.parametrize("text", ["", "lig", "ligature", "liga=", "liga=x", "liga[", "[3]=1"])
def test_no_feature(text: str) -> None:
    with pytest.raises(ValueError, match="not an OpenType feature"):
        parse_feature(text)
