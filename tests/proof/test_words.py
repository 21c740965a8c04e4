"""Lines of captions."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from render.proof.pieces import Letter
from render.proof.words import Type, lines_of, shortened

TEXTS = st.text(st.sampled_from("abc de-–\u0301é"), max_size=60)


def _blocks() -> Letter:
    from render.geometry import Path
    from render.proof import Wording

    return lambda text, strong=False: Wording(Path.empty(), 0.5 * len(text))


KIND = Type(_blocks(), 2.0)  # 1 mm a character


def test_lines_break_at_spaces_and_after_hyphens() -> None:
    assert lines_of("Anna Berta", KIND, 10, 3) == ["Anna Berta"]
    assert lines_of("Anna Berta", KIND, 9, 3) == ["Anna", "Berta"]
    assert lines_of("Osei-Tutu x", KIND, 6, 3) == ["Osei-", "Tutu x"]
    assert lines_of("  Anna \t Berta ", KIND, 99, 3) == ["Anna Berta"]
    assert lines_of("", KIND, 10, 3) == []


def test_a_word_wider_than_a_line_is_broken_within() -> None:
    assert lines_of("abcdefgh ij", KIND, 5, 4) == ["abcd", "efgh", "ij"]


def test_what_does_not_fit_ends_in_an_ellipsis() -> None:
    assert lines_of("Anna Berta Cem", KIND, 5, 2) == ["Anna", "Bert…"]
    assert shortened("Anna Berta", KIND, 6) == "Anna…"
    assert shortened("Anna", KIND, 4) == "Anna"


def test_an_accent_stays_with_its_letter() -> None:
    assert shortened("abe\u0301def", KIND, 4) == "ab…"  # not e without its accent
    assert lines_of("abce\u0301f", KIND, 4, 9)[0] == "abc"


@given(TEXTS, st.integers(1, 20))
def test_nothing_is_lost_where_there_are_lines_enough(text: str, width: int) -> None:
    lines = lines_of(text, KIND, width, 1000)
    assert "".join(lines).replace(" ", "") == "".join(text.split())


@given(TEXTS, st.integers(4, 20), st.integers(1, 4))
def test_lines_keep_to_their_width_and_number(text: str, width: int, most: int) -> None:
    lines = lines_of(text, KIND, width, most)
    assert len(lines) <= most
    marks = max((len(run) for run in text.replace("\u0301", "x").split()), default=0) and text.count("\u0301")
    assert all(KIND.width(line) <= max(width, 2 + marks) for line in lines)
