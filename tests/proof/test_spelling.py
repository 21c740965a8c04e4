"""Letters as a reader counts them, direction and language."""

from __future__ import annotations

import pytest

from render.proof.spelling import direction, language, signs


@pytest.mark.parametrize(
    ("text", "count"),
    [
        ("Zoë", 3), ("Zoe\u0308", 3), ("Nguyễn", 6), ("สมชาย", 5), ("กำ", 1), ("น้ำ", 1),
        ("मीरा", 2), ("محمد", 4), ("بن‌عم", 4), ("각", 1), ("\u1100\u1161\u11a8", 1), ("", 0),
        ("\N{FAMILY}\N{EMOJI MODIFIER FITZPATRICK TYPE-4}", 1), ("\U0001f1e9\U0001f1ea\U0001f1eb", 2),
        ("\U0001f469\u200d\U0001f680", 1), ("O’B", 3),
    ],
)  # fmt: skip
def test_letters_are_counted_as_a_reader_does(text: str, count: int) -> None:
    found = [sign.text for sign in signs(text)]
    assert len(found) == count
    assert "".join(found) == text


def test_signs_that_could_be_mistaken_are_named() -> None:
    assert [(s.text, s.name) for s in signs("O’B")] == [("O", ""), ("’", "apostrophe"), ("B", "")]
    assert [s.name for s in signs("' -")] == ["straight apostrophe", "space", "hyphen"]


@pytest.mark.parametrize(
    ("text", "way", "tag"),
    [
        ("Søren", "ltr", "und-Latn"), ("محمد", "rtl", "und-Arab"), ("(שלום)", "rtl", "und-Hebr"),
        ("สมชาย", "ltr", "und-Thai"), ("मीरा", "ltr", "und-Deva"), ("12", "ltr", "und"), ("", "ltr", "und"),
    ],
)  # fmt: skip
def test_direction_and_language(text: str, way: str, tag: str) -> None:
    assert direction(text) == way
    assert language(text) == tag
    assert language(text, "tr") == "tr"
