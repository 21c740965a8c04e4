"""Scripts, against the Unicode Character Database (Debian package unicode-data, 15)."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.lettering.scripts import Stretch, prepare, script_of, stretches, uncovered

UNICODE = Path("/usr/share/unicode")


def data_file(name: str) -> str:
    path = UNICODE / name
    if not path.is_file():
        pytest.skip(f"the system has no {path} (package unicode-data)")
    return path.read_text(encoding="utf-8")


def test_scripts_agree_with_unicode() -> None:
    """Scripts.txt, every assigned character."""
    from fontTools.unicodedata import script_name

    checked = 0
    for match in re.finditer(r"^([0-9A-F]+)(?:\.\.([0-9A-F]+))?\s*;\s*(\w+)", data_file("Scripts.txt"), re.M):
        first, last = int(match[1], 16), int(match[2] or match[1], 16)
        for code in range(first, last + 1):
            assert script_name(script_of(chr(code))).replace(" ", "_") == match[3], hex(code)
            checked += 1
    assert checked > 149_000


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("", ()),
        ("Zoë", (Stretch(0, 3, "Latn"),)),
        ("12", (Stretch(0, 2, "Latn"),)),
        ("Αθηνά", (Stretch(0, 5, "Grek"),)),
        ("שרה", (Stretch(0, 3, "Hebr", True),)),
        ("שרה Lee", (Stretch(4, 7, "Latn"), Stretch(0, 4, "Hebr", True))),
        ("Lee שרה", (Stretch(0, 4, "Latn"), Stretch(4, 7, "Hebr", True))),
        ("نور 12", (Stretch(4, 6, "Arab"), Stretch(0, 4, "Arab", True))),
        ("Иван Lee", (Stretch(0, 5, "Cyrl"), Stretch(5, 8, "Latn"))),
        ("Ann (דוד)", (Stretch(0, 5, "Latn"), Stretch(5, 8, "Hebr", True), Stretch(8, 9, "Hebr"))),
        ("A\u202eB\u202cC", (Stretch(0, 2, "Latn"), Stretch(2, 4, "Latn", True), Stretch(4, 5, "Latn"))),
    ],
)
def test_stretches(text: str, expected: tuple[Stretch, ...]) -> None:
    assert stretches(text) == expected


@given(st.text(max_size=30))
def test_stretches_cover_each_character_once(text: str) -> None:
    at = [k for stretch in stretches(text) for k in range(stretch.start, stretch.stop)]
    assert sorted(at) == list(range(len(text)))


def test_stand_ins_only_where_needed() -> None:
    assert prepare("Anne‐Marie", set("AnMarie-")) == "Anne-Marie"
    assert prepare("Anne‐Marie", set("AnMarie-‐")) == "Anne‐Marie"
    assert prepare("Keoʼo ʻi", set("Keo‘’ i")) == "Keo’o ‘i"
    assert prepare("Zoe\u0308", set("Zoë")) == "Zoë"
    assert prepare("GROẞ", set("GROS")) == "GROSS"
    assert prepare("GROẞ", set("GROSẞ")) == "GROẞ"


def test_romanian_letters_have_their_comma() -> None:
    assert prepare("Ştefan", set("ȘŞtefan"), "ro-RO") == "Ștefan"
    assert prepare("Ştefan", set("ȘŞtefan"), "tr") == "Ştefan"
    assert prepare("Ştefan", set("Ştefan"), "ro") == "Ştefan"


def test_uncovered() -> None:
    letters = set("Zoë Ss\u0327ı\u0300")
    assert uncovered("Zoë", letters) == ()
    assert uncovered("Şş", letters) == ()  # put together from its parts
    assert uncovered("Şş", letters, wrong={"Ş"}) == ("Ş",)
    assert uncovered("Şş", letters, places=lambda letter: letter == "ş") == ("Ş",)
    assert uncovered("o\u0300S\u0300", letters, places=lambda letter: letter == "S\u0300") == ("\u0300",)
    assert uncovered("o\u0301", letters) == ("\u0301",)
    assert uncovered("\u0301", letters) == ("\u0301",)
    assert uncovered("Ja\u200dn\u200c", letters) == ("J", "a", "n")
    assert uncovered("ŁŁ\t\n", letters) == ("Ł", "\t", "\n")
