"""Names of real people pass untouched; dirt is found and turned back only where that is certain."""

from __future__ import annotations

import re
import unicodedata
from importlib.resources import files
from pathlib import Path

import faker
import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.intake.customs import NAME_CHECKS
from render.intake.hygiene import PLAIN, TEXT_CHECKS, examine
from render.intake.letters import BIDI_CONTROLS, LOOKALIKES, UNSEEN, script_of
from render.intake.mojibake import unscramble

UNICODE_DATA = Path("/usr/share/unicode")
LOCALES = (
    "en_US fr_FR de_DE nl_NL da_DK sv_SE no_NO fi_FI es_ES pt_PT it_IT pl_PL cs_CZ sk_SK hu_HU sl_SI "
    "hr_HR et_EE lv_LV "
    "lt_LT tr_TR uz_UZ yo_NG zu_ZA id_ID ga_IE ro_RO az_AZ vi_VN el_GR ru_RU bg_BG uk_UA mk_MK he_IL "
    "ar_AA fa_IR hi_IN "
    "ne_NP th_TH ko_KR ja_JP zh_CN ta_IN bn_BD hy_AM ka_GE"
)
WESTERN = [*LOCALES.split()[1:14], "tr_TR", "vi_VN", "ru_RU", "el_GR", "lv_LV"]
# What Faker's own lists are known to hold that is truly odd, each seen: a broken letter (tr), Latin
# letters in
# Cyrillic words (bg), vowel signs before any letter (hi), spaces at the ends (az), commas and semicolons
# (ta).
DIRT = {
    "tr_TR": {"broken-accent"},
    "bg_BG": {"look-alike"},
    "hi_IN": {"lone-accent"},
    "az_AZ": {"spaces"},
    "ta_IN": {"comma", "sign", "surname-first"},
    "lv_LV": {"surname-first"},
    "lt_LT": {"surname-first"},
}


def codes(name: str) -> set[str]:
    return {finding.code for finding in examine(name, TEXT_CHECKS + NAME_CHECKS)[1]}


def test_no_census_name_is_changed() -> None:
    """Names of the 1990 US Census, from PyPI ``names`` 0.3."""
    parts = [part for part in files("names").iterdir() if part.name.startswith("dist.")]
    lines = [line for part in parts for line in part.read_text("utf-8").splitlines()]
    odd = {}
    for line in lines:
        name = line.split()[0].capitalize()
        assert PLAIN.match(name)
        kept, findings = examine(name, NAME_CHECKS)
        assert kept == name
        if findings:
            odd[name] = findings[0].code
    assert len(lines) > 90_000
    assert odd == {
        "Null": "empty-word", "Nan": "empty-word", "Na": "empty-word", "True": "empty-word",
        "Guest": "placeholder", "Gast": "placeholder", "Test": "placeholder", "Six": "quantity-in-words",
    }  # fmt: skip


@pytest.mark.parametrize("locale", LOCALES.split())
def test_no_invented_name_of_any_language_is_changed(locale: str) -> None:
    """Faker, seeded; forms of address are noted, never taken away."""
    source = faker.Faker(locale)
    source.seed_instance(11)
    for _ in range(150):
        name = unicodedata.normalize("NFC", source.name())
        found = codes(name) - {"title"}
        assert found <= DIRT.get(locale, set()), name
        if not found:
            assert examine(name, TEXT_CHECKS + NAME_CHECKS)[0] == name


@pytest.mark.parametrize("page", ["cp1252", "latin-1", "mac_roman", "cp850", "cp437", "cp1250", "cp1251"])
def test_misread_names_come_back_right_or_with_all_readings(page: str) -> None:
    """Names of Faker written as UTF-8 and read in another page, never turned into a wrong name."""
    total = right = 0
    for locale in WESTERN:
        source = faker.Faker(locale)
        source.seed_instance(3)
        for name in {unicodedata.normalize("NFC", source.name()) for _ in range(60)}:
            if name.isascii() or "˜" in name:
                continue
            misread = "".join(bytes([byte]).decode(page, "ignore") or chr(byte) for byte in name.encode())
            found = unscramble(unicodedata.normalize("NFC", misread))
            assert name in found, (name, misread)
            total, right = total + 1, right + (found == (name,))
    assert total > 300
    assert right / total > 0.9


@given(st.text(st.characters(categories=["L"], max_codepoint=0x24F), max_size=12))
def test_mending_twice_is_mending_once(name: str) -> None:
    once = examine(unicodedata.normalize("NFC", name), TEXT_CHECKS)[0]
    again = examine(once, TEXT_CHECKS)[0]
    assert examine(again, TEXT_CHECKS)[0] == again


@given(st.text(max_size=20))
def test_any_text_is_examined_and_every_mend_is_told(text: str) -> None:
    mended, findings = examine(text, TEXT_CHECKS + NAME_CHECKS)
    assert (mended != text) <= any(finding.mended is not None for finding in findings)


@given(st.from_regex(PLAIN, fullmatch=True))
def test_in_a_plain_text_there_is_nothing_to_find(text: str) -> None:
    assert examine(text, TEXT_CHECKS) == (text, [])


def test_lookalikes_are_of_two_scripts_and_one_case() -> None:
    for script, pairs in LOOKALIKES.items():
        for other, own in pairs.items():
            assert script_of(own) == script
            assert script_of(other) != script
            assert other.isupper() == own.isupper()


@pytest.mark.parametrize(
    ("name", "mended", "code"),
    [
        ("Аnna", "Anna", "look-alike"),
        ("Mария", "Мария", "look-alike"),
        ("Ελέvη", "Ελένη", "look-alike"),
        ("Сара Weberlin", "Capa Weberlin", "look-alike"),
        ("Вера Oбухова", "Вера Обухова", "look-alike"),
        ("Anжa", "Anжa", "mixed-scripts"),
        ("ZoÃ«", "Zoë", "mojibake"),
        ("ZoÃƒÂ«", "Zoë", "mojibake"),
        ("FranÃ§ois", "François", "mojibake"),
        ("Zo√´", "Zoë", "mojibake"),
        ("N˜zamett˜n", "N˜zamett˜n", "broken-accent"),
        ("Zo?e", "Zo?e", "lost-letter"),
        ("O´Hanrahan", "O'Hanrahan", "accent-for-apostrophe"),
        ("Werlen-Arnsruh, van", "van Werlen-Arnsruh", "surname-first"),
        ("Bo\u202eaz", "Boaz", "direction-character"),
    ],
)
def test_one_by_one(name: str, mended: str, code: str) -> None:
    text, findings = examine(name, TEXT_CHECKS + NAME_CHECKS)
    assert (text, [finding.code for finding in findings]) == (mended, [code])


@pytest.mark.parametrize(
    "name",
    [
        "O'Brannagh",
        "می‌خواهم",
        "क्‍षमा",
        "D’Arvit",
        "ʻIolani",
        "👩‍🚀",
        "L·lull",
        "Գևորգ",
        "Äsel",
        "Łękaž",
        "Anna Вера",
        "Tom Лю",
    ],
)
def test_what_belongs_to_a_name_stays(name: str) -> None:
    assert examine(unicodedata.normalize("NFC", name), TEXT_CHECKS) == (
        unicodedata.normalize("NFC", name),
        [],
    )


def property_of(file: str, name: str) -> set[int]:
    """The code points with a property in one of the Unicode Character Database's files."""
    path = UNICODE_DATA / file
    if not path.exists():
        pytest.skip(f"the Unicode Character Database ({file}) is not installed; Debian: unicode-data")
    points: set[int] = set()
    for first, last, prop in re.findall(
        r"^([0-9A-F]+)(?:\.\.([0-9A-F]+))?\s*;\s*(\w+)", path.read_text("utf-8"), re.M
    ):
        if prop == name:
            points |= set(range(int(first, 16), int(last or first, 16) + 1))
    return points


def test_controls_of_direction_are_those_of_unicode() -> None:
    assert {ord(char) for char in BIDI_CONTROLS} == property_of("PropList.txt", "Bidi_Control")


def test_what_is_not_seen_is_ignorable_by_unicode() -> None:
    ignorable = property_of("DerivedCoreProperties.txt", "Default_Ignorable_Code_Point")
    assert {ord(char) for char in UNSEEN} <= ignorable


def test_scripts_are_those_of_unicode() -> None:
    for script in ("Latin", "Greek", "Cyrillic"):
        points = property_of("Scripts.txt", script)
        ours = {point for point in range(0x250) if script_of(chr(point)) == script.upper()}
        letters = {p for p in points if p < 0x250 and unicodedata.category(chr(p)) in ("Lu", "Ll", "Lt")}
        assert letters - {0xAA, 0xBA} == ours - {p for p in ours if unicodedata.category(chr(p)) == "Lo"}
