"""Directions, against the Unicode Character Database (Debian package unicode-data, 15)."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest

from render.text.bidi import bidi_levels, visual_order

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
