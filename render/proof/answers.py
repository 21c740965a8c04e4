"""The customer's answer as a short plain text: written by the proof page, read back after its way by mail.

::

    ANSWER TO ORDER {Lindqvist wedding}
    RIGHT p2.1a2b3c4d p3.5e6f7081 p5-2.99aabbcc
    CHANGE p4.deadbeef {Please write Søren}
    NOTE {We come on Friday}
    CHECK 0c8e1f52

A piece is named by its id and the first digits of the digest that was shown; a piece that is not named is
not answered. Free text stands in braces, which no mail program touches. Layout means nothing. The check value
is the CRC-32 (as in zlib and ISO 3309) of what was said, after folding away what mail programs change: it
notices a mangled answer; it is no signature. ``answers.js`` beside this file writes the same text.
"""

from __future__ import annotations

import html
import itertools
import re
import unicodedata
import zlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final

from render.errors import MonikerfError

PREFIX: Final = 8
"""How many digits of a digest an answer holds: a changed piece has the same ones once in 4 × 10⁹."""

LONGEST: Final = 1_000_000
"""An answer of more characters is refused unread."""

_COLUMNS: Final = 66
_SPACES: Final = r"\t\n\x0b\x0c\r \x85\xa0\u1680\u2000-\u200a\u2028\u2029\u202f\u205f\u3000"
_SPACE: Final = re.compile(f"[{_SPACES}]+")
_BREAK: Final = re.compile(r"[ \t]*(?:\r\n|[\r\n\x0b\x0c\x85\u2028\u2029])[ \t]*")
_UNSEEN: Final = re.compile(r"[\x00-\x08\x0e-\x1f\x7f\xad\u200b\u2060\ufeff]")
_LOST: Final = re.compile(r"[\u200e\u200f\u202a-\u202e\u2066-\u2069]")
_FOLDS: Final = (
    (re.compile("[‘’‚‛′`´ʼ]"), "'"),
    (re.compile("[“”„‟″«»]|''"), '"'),
    (re.compile("[‐‑‒–—―−]|-+"), "-"),
    (re.compile("-+"), "-"),
    (re.compile("…"), "..."),
)

_BEGIN: Final = re.compile(r"ANSWER\s+TO\s+ORDER\s*(?=\{)", re.IGNORECASE)
_DASHES: Final = re.compile("[‐‑‒–—―−]")
_TOKEN: Final = re.compile(
    r"\s*(?:(?P<piece>[^\s{}.]+)\.(?P<digest>[0-9a-f]{8})(?![^\s{}])|(?P<word>[^\s{}]+)|\{(?P<text>[^{}]*)\})",
    re.IGNORECASE,
)
_CHECK: Final = re.compile(r"[0-9a-f]{8}", re.IGNORECASE)
_AGAIN: Final = "ask for it again, best by the page's copy button or as a photo of the printed page"


@dataclass(frozen=True, slots=True)
class PieceAnswer:
    """What was said about one piece.

    Attributes:
        piece: its id.
        digest_prefix: the first :data:`PREFIX` hexadecimal digits of the digest shown.
        right: whether it may be made as shown.
        wish: what should be changed; empty where it is right, and may be empty where it is not.
    """

    piece: str
    digest_prefix: str
    right: bool
    wish: str = ""


@dataclass(frozen=True, slots=True)
class Answer:
    """An answer to the proof of an order; pieces that were not answered are not in it."""

    order: str
    note: str
    pieces: tuple[PieceAnswer, ...]


def plain(text: str) -> str:
    """Free text as an answer can carry it: one line, line breaks as " / ", braces as parentheses, NFC."""
    text = _UNSEEN.sub("", unicodedata.normalize("NFC", text))
    lines = (_SPACE.sub(" ", line).strip(" ") for line in _BREAK.split(text))
    return " / ".join(line for line in lines if line).replace("{", "(").replace("}", ")")


def write_answer(answer: Answer) -> str:
    """The answer as text, lines of at most 66 characters but for wishes, ending in a line break."""
    lines = [f"ANSWER TO ORDER {{{plain(answer.order)}}}"]
    line = ""
    for said in answer.pieces:
        if said.right:
            token = f"{said.piece}.{said.digest_prefix[:PREFIX]}"
            if line and len(line) + len(token) < _COLUMNS:
                line += f" {token}"
            else:
                lines += [line] if line else []
                line = f"RIGHT {token}"
    lines += [line] if line else []
    lines += [
        f"CHANGE {said.piece}.{said.digest_prefix[:PREFIX]} {{{plain(said.wish)}}}"
        for said in answer.pieces
        if not said.right
    ]
    lines += [f"NOTE {{{plain(answer.note)}}}"] if plain(answer.note) else []
    return "\n".join([*lines, f"CHECK {check_value(answer)}", ""])


def check_value(answer: Answer) -> str:
    """Eight hexadecimal digits that change with anything a mail program should not have changed."""
    said = [folded(answer.order)]
    said += [f"+{p.piece}.{p.digest_prefix[:PREFIX].lower()}" for p in answer.pieces if p.right]
    said += [
        f"-{p.piece}.{p.digest_prefix[:PREFIX].lower()} {folded(p.wish)}"
        for p in answer.pieces
        if not p.right
    ]
    said.append(f"={folded(answer.note)}")
    return f"{zlib.crc32(chr(10).join(said).encode('utf-8', 'surrogatepass')):08x}"


def folded(text: str) -> str:
    """Free text without the differences that mail programs make: quotes, dashes, spaces, unseen marks."""
    text = _LOST.sub("", plain(text))
    for pattern, instead in _FOLDS:
        text = pattern.sub(instead, text)
    return _SPACE.sub(" ", text).strip(" ")


def read_answer(text: str) -> Answer:
    """Read an answer out of a mail or message, whatever stands round it.

    Quoting with ``>``, changed line breaks, quotes, dashes and spaces, and HTML are undone; of several ways
    to undo them the one that the check value confirms is taken. The same answer twice is one answer.

    Raises:
        MonikerfError: there is no answer, more than one, or it was mangled; the message says what is wrong.
    """
    if len(text) > LONGEST:
        raise MonikerfError("the text is far too long for an answer", hint="give only the message itself")
    found: dict[int, Answer] = {}
    errors: dict[int, MonikerfError] = {}
    for reading in _readings(text):
        for number, start in enumerate(_BEGIN.finditer(reading)):
            if number not in found:
                try:
                    found[number] = _Block(reading, start.end()).answer()
                except MonikerfError as error:
                    errors.setdefault(number, error)
        if found and errors.keys() <= found.keys():
            break
    return _the_one(found, errors)


def _the_one(found: dict[int, Answer], errors: dict[int, MonikerfError]) -> Answer:
    """The answer that all the text's answers, counted from its top, agree on."""
    for number, error in errors.items():
        if number not in found:
            raise error
    said = {(folded(answer.order), check_value(answer)) for answer in found.values()}
    if len(said) > 1:
        raise MonikerfError(
            f"the text holds {len(said)} different answers", hint="give only the one that counts"
        )
    if not found:
        raise MonikerfError(
            "there is no answer in this text: it should hold a line that begins with ANSWER TO ORDER",
            hint=_AGAIN,
        )
    return found[0]


def _readings(text: str) -> Iterator[str]:
    """The text with what mail programs did undone in one way after the other, the likeliest first."""
    known: set[str] = set()
    for choice in itertools.product((_as_is, _without_html), _QUOTES, _JOINS):
        reading = text
        for undo in choice:
            reading = undo(reading)
        if reading not in known:
            known.add(reading)
            yield reading


def _as_is(text: str) -> str:
    return text


def _without_html(text: str) -> str:
    lines = re.sub(r"(?i)<(?:br|/?p|/?div|/?li|/?tr|/?blockquote)\b[^<>]*>", "\n", text)
    return html.unescape(re.sub(r"</?[a-zA-Z][^<>]*>", "", lines))


Undo = Callable[[str], str]
_QUOTES: Final[tuple[Undo, ...]] = (
    lambda text: re.sub(r"(?m)^[ \t\xa0]*(?:[>|][ \t\xa0]?)+", "", text),
    lambda text: re.sub(r"[ \t\xa0]*(?:>[ \t\xa0]?)+", " ", text),
    _as_is,
)
_JOINS: Final[tuple[Undo, ...]] = (
    lambda text: _BREAK.sub(" ", text),
    lambda text: _BREAK.sub(" ", re.sub(rf"([-‐–/]){_BREAK.pattern}", r"\1", text)),
    lambda text: _BREAK.sub(" ", re.sub(rf"([^\x00-\x7f]){_BREAK.pattern}(?=[^\x00-\x7f])", r"\1", text)),
)


class _Block:
    """One answer in a text whose line breaks are undone, read token by token."""

    def __init__(self, text: str, start: int) -> None:
        self._text = _UNSEEN.sub("", text[start:])
        self._at = 0
        self._last = "its first line"
        self._pieces: dict[str, PieceAnswer] = {}

    def answer(self) -> Answer:
        """The answer, its check value confirmed."""
        order, note = self._braces(), ""
        mode = ""
        while True:
            token = self._next()
            word = (token["word"] or "").upper().rstrip(":")
            if token["piece"] is not None and mode:
                self._say(_DASHES.sub("-", token["piece"]), token["digest"].lower(), mode)
            elif word in ("RIGHT", "CHANGE"):
                mode = word
            elif word == "NOTE":
                note, mode = self._braces(), ""
            elif word == "CHECK":
                return self._checked(Answer(order, note, tuple(self._pieces.values())))
            else:
                raise self._mangled(f"{_short(token[0])} stands where none belongs")

    def _say(self, piece: str, digest: str, mode: str) -> None:
        if piece in self._pieces:
            raise self._mangled(f"piece {piece} is answered twice")
        self._last = f"piece {piece}"
        wish = self._braces() if mode == "CHANGE" else ""
        self._pieces[piece] = PieceAnswer(piece, digest, mode == "RIGHT", wish)

    def _next(self) -> re.Match[str]:
        match = _TOKEN.match(self._text, self._at)
        if match is None:
            raise self._mangled("its end is missing: the line that begins with CHECK")
        self._at = match.end()
        return match

    def _braces(self) -> str:
        match = _TOKEN.match(self._text, self._at)
        if match is None or match["text"] is None:
            raise self._mangled("the braces { } round a text are missing or cut off")
        self._at = match.end()
        return plain(match["text"])

    def _checked(self, answer: Answer) -> Answer:
        match = _TOKEN.match(self._text, self._at)
        code = _CHECK.match((match and match["word"]) or "")
        if code is None:
            raise self._mangled("its check value, 8 digits after CHECK, is missing")
        if code[0].lower() != check_value(answer):
            raise self._mangled("its check value does not match: something in it was changed on the way")
        return answer

    def _mangled(self, why: str) -> MonikerfError:
        return MonikerfError(f"the answer is mangled after {self._last}: {why}", hint=_AGAIN)


def _short(text: str) -> str:
    text = text.strip()
    return f"“{text[:24]}…”" if len(text) > 25 else f"“{text}”"
