"""What each language asks of lettering, by the OpenType layout tag registry and the Unicode Standard."""

from __future__ import annotations

import unicodedata

import pytest

from render.geometry import Box
from render.lettering import Letterer, Shelf
from render.lettering.assemble import GlyphRun
from render.lettering.scripts import prepare
from render.lettering.shaping import Shaped, shape
from render.model import Line, Setting
from render.resources import folder
from render.text.casing import upper

LETTERER = Letterer(Shelf((folder("fonts_open"),)))


def run(font: str, text: str, language: str = "") -> Shaped:
    opened = LETTERER.shelf.find(font)
    return shape(opened, prepare(text, opened.covered, language), font_key="", language=language)


def line(font: str, text: str, language: str = "") -> Line:
    found = LETTERER.line(text, Setting(font, language))
    assert found.missing == ()
    return found


def ink(font: str, text: str, language: str = "") -> Box:
    box = line(font, text, language).ink
    assert box is not None
    return box


def gids(font: str, text: str, language: str = "") -> tuple[int, ...]:
    return run(font, text, language).run.gids


@pytest.mark.parametrize(
    ("font", "language", "letters", "changed"),
    [
        ("lobster", "bg", "вгджзийклптцшщю", 2),
        ("great-vibes", "bg", "вгджзийклптцшщю", 1),
        ("source-sans-3", "bg", "вгджзийклптцшщю", 8),
        ("lobster", "sr", "бгдпт", 1),
        ("montserrat", "sr", "бгдпт", 1),
        ("eb-garamond", "sr", "бгдпт", 1),
    ],
)
def test_local_forms(font: str, language: str, letters: str, changed: int) -> None:
    """Bulgarian and Serbian letters (feature locl) where the font draws them, and only where it is said."""
    plain, local = gids(font, letters, "ru"), gids(font, letters, language)
    assert sum(a != b for a, b in zip(plain, local, strict=True)) >= changed
    assert gids(font, letters) == plain


@pytest.mark.parametrize("font", ["great-vibes", "cinzel", "montserrat", "noto-sans", "patrick-hand"])
def test_romanian_has_commas_and_turkish_cedillas(font: str) -> None:
    assert gids(font, "Şţ", "ro") == gids(font, "Șț")
    assert gids(font, "Ş", "tr") != gids(font, "Ș")


@pytest.mark.parametrize("font", ["great-vibes", "dancing-script", "eb-garamond", "noto-sans"])
@pytest.mark.parametrize("text", ["Nguyễn Thị Ngọc Ánh", "Đỗ Hữu Phước"])
def test_vietnamese_marks_stack(font: str, text: str) -> None:
    """Typed in parts or whole it is the same; the second mark stands above the first, clear of it."""
    parts = unicodedata.normalize("NFD", text)
    assert line(font, parts, "vi").ink == line(font, text, "vi").ink
    assert ink(font, "ễ").y0 < ink(font, "ê").y0 < ink(font, "e").y0
    assert ink(font, "ệ").y1 > ink(font, "ê").y1


def test_arabic_letters_join_by_their_place() -> None:
    """Four forms of ain (The Unicode Standard, 9.2); a zero width non-joiner parts them."""
    font = "noto-naskh-arabic"
    final, medial, initial = gids(font, "ععع")
    isolated = gids(font, "ع")[0]
    assert len({final, medial, initial, isolated}) == 4
    assert gids(font, "ع\u200cع").count(isolated) == 2
    assert line(font, "محمد عثمان ژاله گل").advance > 0


def test_urdu_and_persian_digits_and_letters() -> None:
    font = "noto-naskh-arabic"
    assert line(font, "نور ۴۵۶ ٹڈڑںھہےۓ", "ur").ink is not None
    assert gids(font, "۴", "ur") != gids(font, "۴", "fa")


def test_hebrew_points_lie_by_their_letters() -> None:
    """Marks of zero advance inside the width of their letter, below it or in it."""
    shaped = run("frank-ruhl-libre", "יִצְחָק")
    bare = run("frank-ruhl-libre", "יצחק")
    assert shaped.advance == bare.advance
    assert len(shaped.run.pens) == len(bare.run.pens) == 4
    assert ink("frank-ruhl-libre", "צְ").y1 > ink("frank-ruhl-libre", "צ").y1 + 0.05


def test_devanagari_conjuncts_and_reordering() -> None:
    """The Unicode Standard, 12.1: kssa is one shape, i stands before its letter, reph above the next."""
    font = "noto-sans-devanagari"
    assert len(gids(font, "क्ष")) == 1
    assert gids(font, "नि")[0] != gids(font, "न")[0]
    assert gids(font, "नि")[1] == gids(font, "न")[0]
    assert run(font, "र्म").run.pens == (0,)
    assert ink(font, "र्म").y0 < ink(font, "म").y0


def test_thai_marks_stack() -> None:
    """A tone above a vowel stands higher than above a consonant; sara am gives its ring to the consonant."""
    font = "noto-sans-thai"
    assert ink(font, "ปี่").y0 < ink(font, "ปี").y0 < ink(font, "ป").y0
    assert run(font, "น้ำ").advance == run(font, "นำ").advance
    assert ink(font, "น้ำ").y0 < ink(font, "นำ").y0


@pytest.mark.parametrize(
    ("font", "text", "language"),
    [
        ("noto-sans-armenian", "Արամ Խաչատրյան", "hy"),
        ("noto-sans-georgian", "ნინო ქავთარაძე", "ka"),
        ("noto-sans-bengali", "প্রিয়া চট্টোপাধ্যায়", "bn"),
        ("noto-sans-tamil", "கவிதா ஸ்ரீனிவாசன்", "ta"),
        ("eb-garamond", "Ἀλέξης Παπαδάκης", "el"),
        ("noto-sans", "Žydrūnė Į\u0301", "lt"),
    ],
)
def test_names_and_their_capitals(font: str, text: str, language: str) -> None:
    assert line(font, text, language).ink is not None
    assert line(font, upper(text, language), language).ink is not None


def test_languages_leave_plain_names_alone() -> None:
    for language in ("", "en", "de", "fr", "ru"):
        found = LETTERER._set("Anna Marlow", Setting("great-vibes", language))[1]
        assert isinstance(found, GlyphRun)
        assert found.gids == gids("great-vibes", "Anna Marlow")
