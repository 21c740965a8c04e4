"""Directions, against the Unicode Character Database (Debian package unicode-data, 15)."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from render.text.bidi import base_level, bidi_levels, line_levels, runs_backward, visual_order

UNICODE = Path("/usr/share/unicode")
COMPLETE = "MONIKERF_COMPLETE"
"""Environment variable that makes long comparisons complete."""

BASES = (0, 1, None)


def data_file(name: str) -> list[str]:
    path = UNICODE / name
    if not path.is_file():
        pytest.skip(f"the system has no {path} (package unicode-data)")
    return path.read_text(encoding="utf-8").splitlines()


def check(text: str, base: int | None, levels: list[str], order: list[int]) -> None:
    found = bidi_levels(text, base)
    assert ["x" if w == "x" else str(f) for f, w in zip(found, levels, strict=True)] == levels, (text, base)
    assert [k for k in visual_order(found) if levels[k] != "x"] == order, (text, base)


def test_every_case_of_bidi_character_test() -> None:
    """BidiCharacterTest.txt, complete: levels and visual order, with controls and paired brackets."""
    count = 0
    for line in data_file("BidiCharacterTest.txt"):
        if line and line[0] != "#":
            codes, direction, _, levels, order = line.split(";")
            text = "".join(chr(int(code, 16)) for code in codes.split())
            check(text, BASES[int(direction)], levels.split(), [int(k) for k in order.split()])
            count += 1
    assert count == 91_707


SAMPLES = dict(
    zip(
        (
            *"LR",
            "AL",
            "EN",
            "ES",
            "ET",
            "AN",
            "CS",
            "B",
            "S",
            "WS",
            "ON",
            "NSM",
            "BN",
            "LRE",
            "RLE",
            "LRO",
            "RLO",
            "PDF",
            "LRI",
            "RLI",
            "FSI",
            "PDI",
        ),
        "a\u05d0\u0627"
        + "1+$\u0661,\u2029\t !\u0300\u00ad\u202a\u202b\u202d\u202e\u202c\u2066\u2067\u2068\u2069",
        strict=True,
    )
)
"""One character of each bidirectional class."""


def bidi_cases() -> Iterator[tuple[str, int, list[str], list[int]]]:
    """Text, bits of the base levels, levels and visual order of BidiTest.txt."""
    levels: list[str] = []
    order: list[int] = []
    for line in data_file("BidiTest.txt"):
        if line.startswith("@Levels:"):
            levels = line.split(":")[1].split()
        elif line.startswith("@Reorder:"):
            order = [int(k) for k in line.split(":")[1].split()]
        elif line and line[0] not in "#@":
            names, bits = line.split(";")
            yield "".join(SAMPLES[name] for name in names.split()), int(bits), levels, order


def test_cases_of_bidi_test() -> None:
    """BidiTest.txt, every 40th line; all 490,846 with MONIKERF_COMPLETE."""
    step = 1 if os.environ.get(COMPLETE) else 40
    count = 0
    for number, (text, bits, levels, order) in enumerate(bidi_cases()):
        separated = "\u2029" in text[:-1]  # the file takes such a text for one paragraph
        if number % step == 0 and not separated:
            for bit, base in ((1, None), (2, 0), (4, 1)):
                if bits & bit:
                    check(text, base, levels, order)
                    count += 1
    assert count > 700_000 / step


@pytest.mark.parametrize(
    ("text", "levels"),
    [
        ("", []),
        ("Anna (דוד) Lee", [0] * 6 + [1] * 3 + [0] * 5),
        ("דוד (Lee)", [1] * 5 + [2] * 3 + [1]),
        ("a\u202eb\u202cc", [0, 0, 1, 1, 0]),
        ("\u05d0\u2029a", [1, 1, 0]),
    ],
)
def test_levels(text: str, levels: list[int]) -> None:
    """Reckoned by hand from the rules."""
    assert bidi_levels(text) == levels


LINES = [
    ("(Anna) דוד", 1, None, "(Anna)", "דוד"),
    ("דוד (Anna) 12", 2, None, "(Anna) דוד", "12"),
    ("דוד (Anna) 12", 1, None, "דוד", "12 (Anna)"),
    ("דוד Anna -12", 2, None, "Anna דוד", "-12"),
    ("דוד Anna (12)", 2, None, "Anna דוד", "(12)"),
    ("فاطمة ٣ - Lee!", 2, None, "٣ فاطمة", "!Lee -"),
    ("Anna & דוד!", 1, None, "Anna", "& דוד!"),
    ("Anna & דוד!", 2, None, "Anna &", "דוד!"),
    ("Anna 1 דוד 2", 2, None, "Anna 1", "2 דוד"),
    ("דוד, Anna, 5%", 2, None, "Anna, ,דוד", "5%"),
    ("Lee דוד 12!", 1, "rtl", "Lee", "!12 דוד"),
    ("(Ida) Vale!", 1, "rtl", "(Ida)", "!Vale"),
    ("דוד Anna!", 1, "ltr", "דוד", "Anna!"),
    ("דוד (Anna) 12", 2, "ltr", "דוד (Anna)", "12"),
]
"""A paragraph, after which word it is broken, its direction, and both lines from left to right, the letters
of words in the order of reading. Recorded from Chromium 150: boxes of characters in a narrow paragraph."""


def standing(line: str, levels: list[int]) -> str:
    """A line as it stands, its words from left to right and each of them readable; brackets mirrored."""
    mirror = str.maketrans("()", ")(")
    seen = "".join(line[k].translate(mirror) if levels[k] % 2 else line[k] for k in visual_order(levels))
    return re.sub("[\u05d0-\u05ea\u0621-\u064a]+", lambda word: word[0][::-1], seen)


@pytest.mark.parametrize(("text", "words", "direction", "first", "second"), LINES)
def test_lines_go_by_their_paragraph(
    text: str, words: int, direction: str | None, first: str, second: str
) -> None:
    """Unicode Standard Annex #9, 3.4: levels come from the whole paragraph, L1 and L2 go line by line."""
    parts = text.split(" ")
    one, two = " ".join(parts[:words]), " ".join(parts[words:])
    base = {"ltr": 0, "rtl": 1}.get(direction or "")
    assert standing(one, line_levels(one, "", " " + two, base)) == first
    assert standing(two, line_levels(two, one + " ", "", base)) == second


def test_lines_of_bidi_character_test() -> None:
    """Every 7th paragraph of BidiCharacterTest.txt broken in its middle: the file's levels, L1 once more."""
    ending = (*"\t \u2029\u2066\u2067\u2068\u2069",)
    count = 0
    for line in data_file("BidiCharacterTest.txt")[::7]:
        if not line or line[0] == "#":
            continue
        codes, direction, level, told, _ = line.split(";")
        text, levels = "".join(chr(int(code, 16)) for code in codes.split()), told.split()
        if "\u2029" in text[:-1]:
            continue
        place = stop = len(text) // 2
        while stop and (text[stop - 1] in ending or levels[stop - 1] == "x"):
            stop -= 1
            levels[stop] = level if levels[stop] != "x" else "x"
        base = BASES[int(direction)]
        found = line_levels(text[:place], "", text[place:], base)
        found += line_levels(text[place:], text[:place], "", base)
        assert ["x" if w == "x" else str(f) for f, w in zip(found, levels, strict=True)] == levels, text
        count += 1
    assert count > 12_000


def test_what_is_plain_is_told_from_what_runs_backward() -> None:
    assert [runs_backward(text) for text in ("Zoë", "Anna", "דוד", "a\u202eb", "Ζωή")] == [
        False,
        False,
        True,
        True,
        False,
    ]
    assert [base_level(text) for text in ("(12)", "12 דוד Anna", "\u2067דוד\u2069 Anna")] == [0, 1, 0]
