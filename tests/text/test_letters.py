"""Letters and line ends, against the Unicode Character Database (Debian package unicode-data, 15)."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.text.letters import graphemes, line_ends, unspaced

AUXILIARY = Path("/usr/share/unicode/auxiliary")


def cases(name: str) -> Iterator[tuple[str, list[int]]]:
    """Each text of a test file, and the places where it may be broken."""
    path = AUXILIARY / name
    if not path.is_file():
        pytest.skip(f"the system has no {path} (package unicode-data)")
    for line in path.read_text(encoding="utf-8").splitlines():
        text, places = "", []
        for token in line.partition("#")[0].split():
            if token == "÷":
                places.append(len(text))
            elif token != "×":
                text += chr(int(token, 16))
        if text:
            yield text, places


def test_every_case_of_grapheme_break_test() -> None:
    count = 0
    for text, places in cases("GraphemeBreakTest.txt"):
        ends = [0]
        for letter in graphemes(text):
            ends.append(ends[-1] + len(letter))
        assert ends == places, text
        assert "".join(graphemes(text)) == text
        count += 1
    assert count == 602


CHANGED_SINCE = {
    "LB20a (16.0): no break after a hyphen at the start of a word": re.compile(r"-\u0308?[#§\U00050005ก]"),
    "LB15c, LB15d and LB25 (16.0): a dot or comma before a figure goes with it": re.compile(
        r"[.,]\u0308?[0-9]"
    ),
    "LB15a (15.1): only an initial quotation mark holds on to what follows its space": re.compile(
        '["\u00ab]\u0308? +[(\u2329{\u0308]|[({][\u00ab]'
    ),
    "LB21a (16.0): a hyphen between two Hebrew letters": re.compile("א-א"),
}
"""Rules of UAX #14 that are younger than the test file, which is of 15.0, and what they speak of."""


def test_every_case_of_line_break_test() -> None:
    """Complete: 7,623 as the file has it; the other 31 fall to rules changed after 15.0, each named."""
    other: dict[str, int] = dict.fromkeys(CHANGED_SINCE, 0)
    count = 0
    for text, places in cases("LineBreakTest.txt"):
        count += 1
        if [*line_ends(text), len(text)] != places:
            other[next(rule for rule, speaks in CHANGED_SINCE.items() if speaks.search(text))] += 1
    assert count == 7_654
    assert sum(other.values()) == 31
    assert all(other.values()), other


LETTERS = "abzÀéßŁōАиЖΆωςẞệ"
WORDS = st.from_regex(f"(?:[{LETTERS}]{{1,4}}([-’'][{LETTERS}]{{1,4}}){{0,2}}[.,]?|&)", fullmatch=True)


@given(st.lists(WORDS, min_size=1, max_size=5), st.sampled_from((" ", "  ")))
def test_the_quick_way_for_plain_names_agrees_with_the_library(words: list[str], space: str) -> None:
    from uniseg.linebreak import line_break_boundaries

    text = space.join(words)
    assert list(line_ends(text)) == [k for k in line_break_boundaries(text) if 0 < k < len(text)]


@pytest.mark.parametrize(
    ("text", "lines"),
    [
        ("Anna-Lena Vale", ["Anna-", "Lena ", "Vale"]),
        ("Anna\u00a0Lena Vale", ["Anna\u00a0Lena ", "Vale"]),
        ("Jean\u2011Luc", ["Jean\u2011Luc"]),
        ("Ida & Otto", ["Ida ", "& ", "Otto"]),
        ("山田 花子", ["山", "田 ", "花", "子"]),
        ("김 민준", ["김 ", "민", "준"]),
        ("น้ำฝน ปิ่นโต", ["น้ำฝน ", "ปิ่นโต"]),
        ("Tisch 3-4 (Ost)", ["Tisch ", "3-4 ", "(Ost)"]),
        ("Mia/Noa", ["Mia/", "Noa"]),
    ],
)
def test_where_lines_may_end(text: str, lines: list[str]) -> None:
    """UAX #14: GL, WJ and numbers hold together, ideographs and syllables may part; Thai at spaces."""
    ends = (0, *line_ends(text), len(text))
    assert [text[a:b] for a, b in pairwise(ends)] == lines


@pytest.mark.parametrize(
    ("text", "letters"),
    [
        ("Zoe\u0308", ["Z", "o", "e\u0308"]),
        ("नि", ["नि"]),
        ("น้ำ", ["น้ำ"]),
        ("יִצְ", ["יִ", "צְ"]),
        ("👩🏽\u200d🚀A", ["👩🏽\u200d🚀", "A"]),
        ("", []),
    ],
)
def test_letters_are_kept_whole(text: str, letters: list[str]) -> None:
    """UAX #29, extended grapheme clusters."""
    assert list(graphemes(text)) == letters


@pytest.mark.parametrize(
    ("text", "writing"),
    [("สวัสดีปีใหม่ทุกคน", "Thai"), ("ສະບາຍດີປີໃໝ່", "Lao"), ("សួស្តីឆ្នាំថ្មី", "Khmer"), ("မင်္ဂလာပါ", "Burmese"),
     ("Ana ฿5", ""), ("नमस्ते", "")],
)  # fmt: skip
def test_writing_without_spaces_is_broken_at_spaces_only(text: str, writing: str) -> None:
    """No dictionary is at hand, so nothing is torn (Unicode Standard Annex #14, class SA, rule LB1)."""
    assert unspaced(text) == writing
    if writing:
        assert line_ends(text) == ()
        assert line_ends(f"{text} {text}") == (len(text) + 1,)


def test_writing_without_spaces_is_all_that_is_of_class_sa() -> None:
    """LineBreak.txt (Debian package unicode-data, 15): letters of the four scripts, and none but those."""
    path = Path("/usr/share/unicode/LineBreak.txt")
    if not path.is_file():
        pytest.skip(f"the system has no {path} (package unicode-data)")
    checked = 0
    for match in re.finditer(
        r"^([0-9A-F]{4})(?:\.\.([0-9A-F]{4}))?;(\w+)\s+# (\w)", path.read_text("utf-8"), re.M
    ):
        for code in range(int(match[1], 16), int(match[2] or match[1], 16) + 1):
            in_scripts = 0x0E00 <= code < 0x0F00 or 0x1000 <= code < 0x10A0 or 0x1780 <= code < 0x1800
            if in_scripts and match[4] == "L":
                assert bool(unspaced(chr(code) * 2)) == (match[3] == "SA"), hex(code)
                checked += 1
    assert checked > 200
