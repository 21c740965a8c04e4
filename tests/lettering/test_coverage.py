"""Names of the world, wholly lettered.

Sources: PyPI `names` (surnames and first names of the US Census of 1990), PyPI `Faker` (seeded, first and
last names by locale), the Unicode Character Database for what a letter with marks is made of.
"""

from __future__ import annotations

import unicodedata
from functools import cache

import pytest

from render.lettering import Letterer, Shelf
from render.lettering.scripts import stretches
from render.model import Setting
from render.resources import folder

SHELF = Shelf((folder("fonts_open"),))
LETTERER = Letterer(SHELF)
LATIN = [name for name in SHELF.ids() if "Latn" in SHELF.entry(name).scripts]
AT_ONCE = 100

LOCALES = [
    "en_US",
    "fr_FR",
    "de_DE",
    "nl_NL",
    "da_DK",
    "sv_SE",
    "no_NO",
    "fi_FI",
    "is_IS",
    "es_ES",
    "pt_PT",
    "it_IT",
    "pl_PL",
    "cs_CZ",
    "sk_SK",
    "hu_HU",
    "sl_SI",
    "hr_HR",
    "et_EE",
    "lv_LV",
    "lt_LT",
    "tr_TR",
    "uz_UZ",
    "yo_NG",
    "ha_NG",
    "zu_ZA",
    "id_ID",
    "ga_IE",
    "ro_RO",
    "az_AZ",
    "vi_VN",
    "el_GR",
    "ru_RU",
    "bg_BG",
    "uk_UA",
    "mk_MK",
    "he_IL",
    "ar_SA",
    "fa_IR",
    "hi_IN",
    "ne_NP",
    "th_TH",
    "hy_AM",
    "ka_GE",
    "bn_BD",
    "ta_IN",
]

CINZEL = ("cinzel", "cinzel-black", "cinzel-decorative")
GAPS = {
    "pl_PL": {"Łł": ("pinyon-script", "dancing-script", "pacifico")},
    "hr_HR": {"Đđ": CINZEL},
    "ro_RO": {"ȘșȚț": ("sacramento",)},
    "az_AZ": {"Əə": ("sacramento", "patrick-hand", "frank-ruhl-libre", *CINZEL)},
    "vi_VN": {"ĐƠƯđĩũơưạầặễ": ("sacramento", "caveat", "frank-ruhl-libre", *CINZEL)},
}
"""What fonts are known not to have, of the letters that these locales' names use."""


@cache
def census() -> list[str]:
    names = pytest.importorskip("names")
    found = set()
    for key in ("last", "first:female", "first:male"):
        with open(names.FILES[key], encoding="ascii") as file:
            found |= {line.split()[0].title() for line in file if line.strip()}
    return sorted(found)


def test_the_census_is_whole() -> None:
    assert len(census()) > 91_000


@pytest.mark.parametrize("font", LATIN)
def test_census_names_in_every_latin_family(font: str) -> None:
    """Shaped a hundred to a line, with a space between, since only the letters count here."""
    every = census()
    letterer = Letterer(SHELF, kept=1)
    for begin in range(0, len(every), AT_ONCE):
        line = letterer.line(" ".join(every[begin : begin + AT_ONCE]), Setting(font))
        assert line.missing == (), line.text
        assert line.ink is not None


@cache
def invented(locale: str) -> list[str]:
    faker = pytest.importorskip("faker").Faker(locale)
    faker.seed_instance(20)
    return sorted({f"{faker.first_name()} {faker.last_name()}" for _ in range(120)})


def scripts(text: str) -> set[str]:
    return {stretch.script for stretch in stretches(unicodedata.normalize("NFC", text))}


@pytest.mark.parametrize("locale", LOCALES)
def test_names_of_a_locale_where_a_font_claims_the_script(locale: str) -> None:
    tried = 0
    gaps = {(c, font) for letters, fonts in GAPS.get(locale, {}).items() for c in letters for font in fonts}
    for name in invented(locale):
        for font in (f for f in SHELF.ids() if scripts(name) <= set(SHELF.entry(f).scripts)):
            line = LETTERER.line(name, Setting(font))
            assert not [c for c in line.missing if (c, font) not in gaps], (name, font)
            tried += 1
    assert tried >= len(invented(locale)) / 2


@pytest.mark.parametrize("locale", LOCALES)
def test_every_name_has_a_font(locale: str) -> None:
    lettered = [name for name in invented(locale) if SHELF.fonts_with(name)]
    assert len(lettered) >= len(invented(locale)) - 1


@pytest.mark.parametrize("font", LATIN)
def test_no_covered_letter_carries_a_mark_too_many(font: str) -> None:
    """A letter whose marks all hang below, by its Unicode decomposition, stands no higher than its base."""
    opened = SHELF.find(font)

    def top(character: str) -> float:
        return float(
            opened.shaper.get_glyph_extents(opened.shaper.get_nominal_glyph(ord(character))).y_bearing
        )

    checked = 0
    for character in sorted(opened.covered):
        base, *marks = unicodedata.normalize("NFD", character)
        below = marks and all(unicodedata.combining(mark) in (202, 220) for mark in marks)
        if below and base.isascii() and base in opened.covered and character != "ģ":
            assert top(character) - top(base) < 0.03 * opened.upem, character
            checked += 1
    assert checked >= 10


def test_marks_are_placed_by_the_font_or_not_at_all() -> None:
    """Seen as pictures: HarfBuzz's guess puts the dot of Caveat's ạ beside it."""
    assert SHELF.find("caveat").lacks("Đặng") == ("ặ",)
    assert SHELF.find("caveat").lacks("Ngọc") == ()
    assert SHELF.find("frank-ruhl-libre").lacks("Ǧǧ") == ()
    assert SHELF.find("montserrat").lacks("ọ̀") == ()
    assert SHELF.find("patrick-hand").lacks("ọ̀") == ("\u0300",)
