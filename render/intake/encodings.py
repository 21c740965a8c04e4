"""How bytes are read as letters: found out where that is certain, asked about where it is not.

Marks at the start (byte order marks) and valid UTF-8 decide by themselves. For the older eight-bit code pages
a reading is *possible* if it is made of words such as people write: letters of one script in each word, no
capital in mid-word, no symbols inside. Windows-1252 is taken only if it is possible and no other page gives a
different possible reading in the letters of one of its languages; all else is an error that shows the
readings.
"""

from __future__ import annotations

import codecs
import re
import unicodedata
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from typing import Final

from render.errors import TableError
from render.model import Problem, Severity

_MARKS: Final = (  # Unicode Standard, chapter 23.8: byte order marks; the longer first
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)

_WEST: Final = "cp1252"

# Letters beyond a-z of the languages each page is used for; from memory, spot-checked against Faker's names.
_CENTRAL: Final = (
    "ąćęłńóśźż",  # Polish
    "áčďéěíňóřšťúůýž",  # Czech
    "áäčďéíĺľňóôŕšťúýž",  # Slovak
    "áéíóöőúüű",  # Hungarian
    "čćđšž",  # Croatian, Slovene
    "ăâîşţșț",  # Romanian
)
_CYRILLIC: Final = ("абвгдежзийклмнопрстуфхцчшщъыьэюяё", "абвгґдеєжзиіїйклмнопрстуфхцчшщьюя")
_WESTERN: Final = ("äöüß", "àâæçéèêëîïôœùûüÿ", "áéíñóúü", "àáâãçéêíóôõú", "æøå", "åäö", "àèéìíòóù")
_RIVALS: Final[dict[str, tuple[str, ...]]] = {
    "cp1250": _CENTRAL,
    "iso8859_2": _CENTRAL,
    "cp1254": ("çğıöşüiâî",),
    "cp1257": ("ąčęėįšųūž", "āčēģīķļņšūž", "äõöüšž"),
    "cp1251": _CYRILLIC,
    "koi8_r": _CYRILLIC,
    "cp1253": ("αβγδεζηθικλμνξοπρστυφχψωςάέήίόύώϊϋΐΰ",),
    "cp1255": ("אבגדהוזחטיךכלםמןנסעףפץצקרשת",),
    "mac_roman": _WESTERN,
    "cp850": _WESTERN,
    "iso8859_15": _WESTERN,
}
_ASIAN: Final = ("cp932", "gb18030", "cp949", "big5")

_MOST_SHOWN: Final = 6
_WORD = re.compile(r"[^\s,;|\"()/]+")
_MID: Final = frozenset("’‘·–—…")
_EDGE: Final = frozenset("’‘“”„‚«»‹›–—…€£°©®™¿¡½¼¾ªº·•")


@dataclass(frozen=True, slots=True)
class Decoded:
    """Text, the encoding it was read in, and what should be known about that."""

    text: str
    encoding: str
    problems: tuple[Problem, ...] = ()


def decode(data: bytes, place: str, wanted: str | None = None) -> Decoded:
    """Read bytes as text.

    Args:
        data: the file's content.
        place: the file, for messages.
        wanted: the encoding the user named; None: find out.

    Raises:
        TableError: `wanted` is unknown or does not fit; or the encoding is not certain. The message shows
            what the candidates would read, the hint names the option that decides.
    """
    if wanted is not None:
        return _decode_as(data, wanted, place)
    for mark, encoding in _MARKS:
        if data.startswith(mark):
            return _strictly(data, encoding, place)
    if (wide := _wide(data)) is not None:
        return _strictly(data, wide, place)
    try:
        return Decoded(data.decode("utf-8"), "utf-8")
    except UnicodeDecodeError:
        return _eight_bit(data, place)


def _decode_as(data: bytes, wanted: str, place: str) -> Decoded:
    try:
        codec = codecs.lookup(wanted)
        codec.incrementaldecoder  # noqa: B018  a codec that is not of text has none or refuses below
        name = "utf-8-sig" if codec.name == "utf-8" else codec.name
        return Decoded(data.decode(name), codec.name)
    except LookupError as error:
        hint = "Try utf-8, cp1252, cp1250, cp1251 or utf-16."
        raise TableError(f"There is no encoding called {wanted}.", hint=hint, place=place) from error
    except (UnicodeDecodeError, TypeError, ValueError) as error:
        raise TableError(
            f"The file cannot be read as {wanted}.{_culprit(data, error)}",
            hint="Leave --encoding out to have the encoding found out.",
            place=place,
        ) from error


def _strictly(data: bytes, encoding: str, place: str) -> Decoded:
    try:
        return Decoded(data.decode(encoding), encoding)
    except UnicodeDecodeError as error:
        raise TableError(
            f"The file says it is {encoding} but is not so throughout.{_culprit(data, error)}",
            hint="Ask for the file again, saved as CSV (UTF-8).",
            place=place,
        ) from error


def _culprit(data: bytes, error: Exception) -> str:
    if not isinstance(error, UnicodeDecodeError):
        return ""
    own = error.object  # without the mark at the start, where there is one
    line, bad = own.count(b"\n", 0, error.start) + 1, own[error.start : error.start + 4].hex(" ")
    place = len(data) - len(own) + error.start + 1
    return f" Near line {line}, byte {place} ({bad}) does not fit."


def _wide(data: bytes) -> str | None:
    """UTF-16 without a mark: zero bytes at every other place only, in at least a third of the places."""
    sample = data[: 2**16]
    if len(data) % 2 or len(sample) < 4:
        return None
    even, odd = sample[::2].count(0), sample[1::2].count(0)
    enough = len(sample) // 6
    if odd > enough and even == 0:
        return "utf-16-le"
    if even > enough and odd == 0:
        return "utf-16-be"
    return None


# ---------------------------------------------------------------- eight-bit pages


def _eight_bit(data: bytes, place: str) -> Decoded:
    readings = _readings(data)
    west = readings.pop(_WEST, None)
    possible = {page: text for page, text in readings.items() if text != west and possible_text(text)}
    fitting = {page: text for page, text in possible.items() if _fits(text, _RIVALS.get(page, ("",)))}
    if west is not None and possible_text(west) and not fitting:
        return Decoded(west, _WEST, _doubt(west, possible))
    shown = {_WEST: west} if west is not None else {}
    shown |= fitting or possible or readings
    options = " or ".join(f"--encoding {page}" for page in list(shown)[:_MOST_SHOWN])
    raise TableError(
        f"It is not certain in which encoding the letters are written. {_preview(shown)}".rstrip(),
        hint=f"Choose the reading that is right and add {options}.",
        place=place,
    )


def _readings(data: bytes) -> dict[str, str]:
    """What each page makes of the bytes; of pages that agree only the first is kept."""
    found: dict[str, str] = {}
    for page in (_WEST, *_RIVALS, *_ASIAN):
        try:
            text = data.decode(page)
        except UnicodeDecodeError:
            continue
        if text not in found.values():
            found[page] = text
    return found


def possible_text(text: str) -> bool:
    """Whether every word with letters beyond ASCII is one that people might write."""
    return all(_possible_word(word) for word in set(_WORD.findall(text)) if not word.isascii())


def _possible_word(word: str) -> bool:
    core = word.strip(".:!?'-&+*#’‘“”„‚«»‹›–—…€£°©®™¿¡½¼¾ªº·•0123456789")
    scripts = {_script(char) for char in core if char.isalpha()}
    if len(scripts) > 1 or "" in scripts:
        return False
    if any(not (c.isascii() or c.isalpha() or c in _MID or unicodedata.combining(c)) for c in core):
        return False
    if any(not (c.isascii() or c.isalpha() or c in _EDGE or unicodedata.combining(c)) for c in word):
        return False
    for before, char in pairwise(core):
        odd = not (before.isascii() and char.isascii())
        if odd and before.islower() and char.isupper():
            return False
    return True


@cache
def _script(char: str) -> str:
    """The first word of the character's Unicode name: its script, for letters; Han and kana count as one."""
    name = unicodedata.name(char, "").partition(" ")[0].partition("-")[0]
    return {
        "CJK": "HAN",
        "HIRAGANA": "HAN",
        "KATAKANA": "HAN",
        "FEMININE": "LATIN",
        "MASCULINE": "LATIN",
    }.get(name, name)


def _fits(text: str, alphabets: tuple[str, ...]) -> bool:
    used = {char for char in text.lower() if not char.isascii() and char.isalpha()}
    return any(not alphabet or used <= set(alphabet) for alphabet in alphabets)


def _doubt(west: str, possible: dict[str, str]) -> tuple[Problem, ...]:
    if not possible:
        return ()
    page, text = next(iter(possible.items()))
    return (
        Problem(
            Severity.LOOK,
            "encoding-assumed",
            f"The letters were read as {_WEST}. {_preview({_WEST: west, page: text})}",
            f"If that is wrong, add --encoding {page}.",
        ),
    )


def _preview(readings: dict[str, str], most: int = _MOST_SHOWN) -> str:
    """What each page reads where the readings differ, shortly."""
    lines = {page: re.split(r"[\r\n]+", text) for page, text in readings.items()}
    first = next(iter(lines.values()), [])
    spots = [i for i, line in enumerate(first) if not line.isascii()][:3] or [0]
    parts = []
    for page, own in list(lines.items())[:most]:
        words = (word for i in spots if i < len(own) for word in _WORD.findall(own[i]) if not word.isascii())
        sample = ", ".join(list(dict.fromkeys(words))[:4])
        visible = "".join(char if char.isprintable() else "\N{REPLACEMENT CHARACTER}" for char in sample)
        parts.append(f"{page} would read: {visible}")
    return "; ".join(parts) + "." if parts else ""
