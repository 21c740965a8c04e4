"""The shelf: finding fonts, folders over folders, and saying what is missing."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from render.errors import FontError
from render.lettering.shelf import LIST, Shelf
from render.model import Severity
from render.resources import folder

OURS = folder("fonts_open")


@pytest.fixture(scope="module")
def shelf() -> Shelf:
    return Shelf((OURS,))


def test_every_font_has_its_licence(shelf: Shelf) -> None:
    assert len(shelf.ids()) == 29
    files = {shelf.entry(name).path for name in shelf.ids()}
    assert files == set(OURS.rglob("*.ttf"))
    for name in shelf.ids():
        entry = shelf.entry(name)
        assert entry.licence_file is not None, name
        text = entry.licence_file.read_text(encoding="utf-8")
        kind = "SIL OPEN FONT LICENSE" if entry.licence == "OFL-1.1" else "Apache License"
        assert kind in text, name
        assert all(character in text for character in entry.reserved), name
        assert bool(entry.reserved) == ("with Reserved Font Name" in text.split("\n-----")[0]), name


@pytest.mark.parametrize(
    "name", ["great-vibes", "Great Vibes", "great vibes", "'Great Vibes'", "GREAT-VIBES"]
)
def test_found_by_id_and_family(shelf: Shelf, name: str) -> None:
    assert shelf.find(name).id == "great-vibes"


def test_found_by_the_family_in_the_file(shelf: Shelf) -> None:
    assert shelf.find("Cinzel Black").id == "cinzel-black"
    assert shelf.find("Source Sans 3 SemiBold").id == "source-sans-3"
    assert shelf.find("source-sans-3").family == "Source Sans 3"


def test_unknown_font_names_its_neighbours(shelf: Shelf) -> None:
    with pytest.raises(FontError, match="no font 'great-vibe'") as caught:
        shelf.find("great-vibe")
    assert "great-vibes" in caught.value.hint
    with pytest.raises(FontError) as caught:
        shelf.find("qqqq")
    assert "show fonts" in caught.value.hint


def test_own_folder_adds_and_overrides(tmp_path: Path) -> None:
    shutil.copy(OURS / "caveat" / "Caveat_700Bold.ttf", tmp_path / "My Hand.ttf")
    shutil.copy(OURS / "allura" / "Allura_400Regular.ttf", tmp_path / "own.ttf")
    (tmp_path / LIST).write_text('[great-vibes]\nfile = "own.ttf"\nlicence = "bought"\n', encoding="utf-8")
    shelf = Shelf((OURS, tmp_path))
    assert shelf.find("my-hand").family == "Caveat"
    assert shelf.find("great-vibes").family == "Allura"
    assert shelf.entry("great-vibes").licence == "bought"
    assert len(shelf.ids()) == 30


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("[a", "not a list of fonts"),
        ("a = 1", "no file"),
        ('[a]\nuse = "x"', "no file"),
        ('[a]\nfile = "a.ttf"\ncolour = "red"', "unknown key 'colour'"),
        ('[a]\nfile = "a.ttf"\nnarrower = "b"', "narrower is not a list of texts"),
        ('[a]\nfile = "a.ttf"\nuse = 3', "use is not a text"),
    ],
)
def test_wrong_lists_are_told(tmp_path: Path, text: str, words: str) -> None:
    (tmp_path / LIST).write_text(text, encoding="utf-8")
    with pytest.raises(FontError, match=words) as caught:
        Shelf((tmp_path,))
    assert LIST in caught.value.place
    assert caught.value.hint


def test_broken_font_is_told_only_when_asked_for(tmp_path: Path) -> None:
    (tmp_path / "broken.ttf").write_bytes(b"\0\1\0\0nothing")
    shelf = Shelf((OURS, tmp_path))
    assert "noto-sans" in shelf.fonts_with("Ω")
    with pytest.raises(FontError, match="part of the file is missing"):
        shelf.find("broken")


def test_fonts_with(shelf: Shelf) -> None:
    assert shelf.fonts_with("שרה") == ("frank-ruhl-libre",)
    assert shelf.fonts_with("ไทย") == ("noto-sans-thai",)
    assert "cinzel" not in shelf.fonts_with("Đ")
    assert shelf.fonts_with("漢") == ()


def test_describe_missing(shelf: Shelf) -> None:
    problem = shelf.describe_missing("łł", "pacifico", row=12, value="Michał")
    assert problem.severity is Severity.STOP
    assert (problem.code, problem.row, problem.value) == ("missing-glyph", 12, "Michał")
    assert "'ł' (U+0142 LATIN SMALL LETTER L WITH STROKE)" in problem.message
    assert "great-vibes" in problem.hint
    assert "more" in problem.hint
    assert "None of the fonts" in shelf.describe_missing("漢", "pacifico").hint


def test_narrower_fonts_are_narrower(shelf: Shelf) -> None:
    from render.lettering.shaping import shape

    def width(name: str) -> float:
        font = shelf.find(name)
        return shape(font, "Alexandra Montgomery", font_key="").advance / font.upem

    pairs = [(name, other) for name in shelf.ids() for other in shelf.entry(name).narrower]
    assert pairs
    for name, other in pairs:
        assert width(other) < width(name), (name, other)
