"""Answers: what is written is read back, whatever mail programs do to it; what they destroy is noticed."""

from __future__ import annotations

import html
import textwrap
import unicodedata
import zlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.errors import MonikerfError
from render.proof.answers import (
    PREFIX,
    Answer,
    PieceAnswer,
    check_value,
    folded,
    plain,
    read_answer,
    write_answer,
)

ANSWER = Answer(
    "Lindqvist wedding",
    "We come on Friday - not on Thursday.",
    (
        *(PieceAnswer(f"p{row}", f"{row:08x}", True) for row in range(2, 40)),
        PieceAnswer("p40-2", "deadbeef", False, 'Spell it Osei-Tutu, not "Ossei"; it\'s her name'),
        PieceAnswer("p41", "0badf00d", False, "สมชาย / שלום / Nguyễn Thị Ánh"),
        PieceAnswer("p42", "12345678", False),
    ),
)
TEXT = write_answer(ANSWER)

words = st.text(st.characters(exclude_categories=("Cs", "Cc")), max_size=60)
answers = st.builds(
    Answer,
    words,
    words,
    st.lists(st.tuples(st.booleans(), st.integers(0, 16**PREFIX - 1), words), max_size=9).map(
        lambda said: tuple(
            PieceAnswer(f"p{row}", f"{digest:08x}", right, "" if right else wish)
            for row, (right, digest, wish) in enumerate(said, 2)
        )
    ),
)


def as_said(answer: Answer) -> Answer:
    """What can come back of an answer: free text as one plain line, what is right first."""
    pieces = [PieceAnswer(p.piece, p.digest_prefix, p.right, plain(p.wish)) for p in answer.pieces]
    ordered = sorted(pieces, key=lambda p: not p.right)
    return Answer(plain(answer.order), plain(answer.note), tuple(ordered))


def test_what_is_written_can_be_read_by_a_person() -> None:
    lines = TEXT.splitlines()
    assert lines[0] == "ANSWER TO ORDER {Lindqvist wedding}"
    assert lines[1].startswith("RIGHT p2.00000002 p3.00000003 ")
    assert "CHANGE p42.12345678 {}" in lines
    assert lines[-1].split()[0] == "CHECK"
    assert all(len(line) <= 66 for line in lines if line.startswith("RIGHT"))


@given(answers)
def test_every_answer_comes_back(answer: Answer) -> None:
    assert read_answer(write_answer(answer)) == as_said(answer)


@given(answers, st.integers(20, 78), st.integers(0, 3))
def test_wrapped_and_quoted_answers_come_back(answer: Answer, width: int, quotes: int) -> None:
    wrapped = textwrap.wrap(write_answer(answer), width, break_long_words=False, break_on_hyphens=False)
    sent = "Hello,\r\n\r\n" + "\r\n".join("> " * quotes + line for line in wrapped) + "\r\n-- \r\nKofi"
    read = read_answer(sent)
    assert check_value(read) == check_value(answer)
    assert [p.piece for p in read.pieces] == [p.piece for p in as_said(answer).pieces]


def curly(text: str) -> str:
    return text.replace('"O', "“O").replace('i"', "i”").replace("'", "’").replace(" - ", " – ")


MAILS = {
    "text round it": f"Dear shop,\nhere it is:\n\n{TEXT}\nKind regards\nMarguerite > all\n",
    "quoted": "On Monday someone wrote:\n" + textwrap.indent(TEXT, "> "),
    "quoted deeply": textwrap.indent(TEXT, "> >> > "),
    "quoted without spaces": textwrap.indent(TEXT, ">>>"),
    "quoted, then re-wrapped": textwrap.fill(textwrap.indent(TEXT, "> "), 50, break_on_hyphens=False),
    "wrapped after hyphens": "\n".join(textwrap.wrap(TEXT, 30, break_on_hyphens=True)),
    "on one line": TEXT.replace("\n", " "),
    "one word a line": TEXT.replace(" ", "\n"),
    "carriage returns": TEXT.replace("\n", "\r\n"),
    "old carriage returns": TEXT.replace("\n", "\r"),
    "curly quotes and dashes": curly(TEXT),
    "no-break spaces": TEXT.replace(" ", "\N{NO-BREAK SPACE}"),
    "narrow spaces": TEXT.replace(" ", "\N{NARROW NO-BREAK SPACE}"),
    "no-break hyphens": TEXT.replace("-", "\N{NON-BREAKING HYPHEN}"),
    "decomposed letters": unicodedata.normalize("NFD", TEXT),
    "line breaks of HTML": html.escape(TEXT).replace("\n", "<br>\r\n").replace("  ", "&nbsp; "),
    "paragraphs of HTML": "".join(f"<div class=x>{html.escape(line)}</div>" for line in TEXT.splitlines()),
    "lower case": TEXT.replace("CHECK", "check").replace("RIGHT", "right").replace("ANSWER", "Answer"),
    "byte order mark and unseen marks": "\N{ZERO WIDTH NO-BREAK SPACE}"
    + TEXT.replace("order", "or\N{SOFT HYPHEN}der"),
    "twice": f"{TEXT}\n<html><body>{html.escape(TEXT)}</body></html>",
    "under its subject": f"Subject: Answer to order Lindqvist wedding\n\n{TEXT}",
}


@pytest.mark.parametrize("mail", MAILS.values(), ids=list(MAILS))
def test_mail_programs_do_no_harm(mail: str) -> None:
    read = read_answer(mail)
    assert check_value(read) == check_value(ANSWER)
    assert [(p.piece, p.digest_prefix, p.right) for p in read.pieces] == [
        (p.piece, p.digest_prefix, p.right) for p in ANSWER.pieces
    ]
    assert [folded(p.wish) for p in read.pieces] == [folded(p.wish) for p in ANSWER.pieces]


def test_a_wrapped_wish_is_exactly_as_it_was() -> None:
    for name in ("quoted, then re-wrapped", "wrapped after hyphens", "line breaks of HTML", "quoted deeply"):
        assert read_answer(MAILS[name]) == ANSWER, name


MANGLED = {
    "nothing": ("Hello, all is fine!", "no answer in this text"),
    "cut off": (TEXT[: len(TEXT) // 2], "mangled after piece p2"),
    "no check": (TEXT[: TEXT.index("CHECK")], "the line that begins with CHECK"),
    "half a check": (TEXT.strip()[:-1], "8 digits after CHECK"),
    "another digest": (TEXT.replace("00000011", "00000012"), "does not match"),
    "a lost accent": (TEXT.replace("Nguyễn", "Nguyen"), "does not match"),
    "question marks": (TEXT.encode("latin-1", "replace").decode("latin-1"), "does not match"),
    "a lost piece": (TEXT.replace("p17.00000011", ""), "does not match"),
    "right for change": (TEXT.replace("CHANGE p42.12345678 {}", "RIGHT p42.12345678"), "does not match"),
    "another order": (TEXT.replace("Lindqvist", "Lindquist"), "does not match"),
    "twice the piece": (TEXT.replace("p17.00000011", "p2.00000002"), "p2 is answered twice"),
    "a lost brace": (TEXT.replace("{Spell", "Spell"), "braces"),
    "words between": (TEXT.replace("RIGHT p7", "oh well, RIGHT p7"), "“oh” stands where"),
    "two answers": (TEXT + write_answer(Answer("Lindqvist wedding", "", ())), "2 different answers"),
    "a good one and a torn one": (TEXT + TEXT[:90], "mangled"),
}


@pytest.mark.parametrize(("text", "why"), MANGLED.values(), ids=list(MANGLED))
def test_what_is_mangled_is_noticed_and_told(text: str, why: str) -> None:
    with pytest.raises(MonikerfError, match=why) as caught:
        read_answer(text)
    assert caught.value.hint


@given(answers, st.data())
def test_a_changed_letter_is_noticed(answer: Answer, data: st.DataObject) -> None:
    text = write_answer(answer)
    at = data.draw(st.integers(0, len(text) - 1))
    letter = data.draw(st.sampled_from("aZ09é{}"))
    changed = text[:at] + letter + text[at + 1 :]
    try:
        read = read_answer(changed)
    except MonikerfError:
        return
    assert check_value(read) == check_value(answer)
    assert read.order == plain(answer.order)
    assert read == as_said(answer) or (letter in "aZ09é" and text[at].isspace())


def test_the_check_value_is_the_crc_of_what_was_said() -> None:
    # zlib's crc32 is the published one: "123456789" gives cbf43926 (ITU-T V.42, ISO 3309)
    assert zlib.crc32(b"123456789") == 0xCBF43926
    answer = Answer("o", "n", (PieceAnswer("p2", "ab" * 32, False, "w"), PieceAnswer("p3", "cd" * 32, True)))
    said = b"o\n+p3.cdcdcdcd\n-p2.abababab w\n=n"
    assert check_value(answer) == f"{zlib.crc32(said):08x}"


def test_a_line_break_in_a_wish_becomes_a_stroke_and_braces_parentheses() -> None:
    assert plain("Anna\r\n\n  Berthold {B.}\t ") == "Anna / Berthold (B.)"
    assert plain("Cafe\u0301\N{NO-BREAK SPACE}x") == "Café x"


def test_an_endless_text_is_refused_unread() -> None:
    with pytest.raises(MonikerfError, match="too long"):
        read_answer("x" * 1_000_001)
