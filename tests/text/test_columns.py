"""How characters stand in columns, against Unicode's own file."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from render.text.columns import Stance, stance

KINDS = {"U": Stance.UPRIGHT, "Tu": Stance.UPRIGHT, "Tr": Stance.FORMED, "R": Stance.LIES}


def test_every_character_stands_as_unicode_has_it() -> None:
    """VerticalOrientation.txt (Debian package unicode-data, 15.0)."""
    path = Path("/usr/share/unicode/VerticalOrientation.txt")
    if not path.is_file():
        pytest.skip(f"the system has no {path} (package unicode-data)")
    checked = 0
    for match in re.finditer(r"^([0-9A-F]+)(?:\.\.([0-9A-F]+))?\s*; (\w+)", path.read_text("utf-8"), re.M):
        for code in range(int(match[1], 16), int(match[2] or match[1], 16) + 1):
            if code > 0xFFFF and code % 97:  # whole planes are alike
                continue
            assert stance.__wrapped__(chr(code)) is KINDS[match[3]], hex(code)
            checked += 1
    assert checked > 60_000


@pytest.mark.parametrize(("sign", "wanted"), [("ー", "FORMED"), ("「", "FORMED"), ("っ", "UPRIGHT"),
                                              ("。", "UPRIGHT"), ("1", "LIES"), (" ", "LIES")])  # fmt: skip
def test_signs_that_are_easily_mistaken(sign: str, wanted: str) -> None:
    """Unicode Standard Annex #50, section 5, recalled from memory."""
    assert stance(sign) is Stance[wanted]
