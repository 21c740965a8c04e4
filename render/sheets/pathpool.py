"""Path data read back as whole numbers, all paths of a file at once.

This reader belongs to the verification and shares nothing with the writers: it knows SVG 1.1, section 8.3,
as far as a sheet file may use it (absolute M L Q C Z, decimals of at most three places) and refuses the rest.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

Bytes = NDArray[np.uint8]
Ints = NDArray[np.int64]

M, L, Q, C, Z = range(5)
TAKES: Final = np.array([1, 1, 2, 3, 0])
"""How many points each command takes."""

_PLACES: Final = 3
_LONGEST: Final = 12  # characters of a number: kilometres, to the micrometre
_OTHER, _BLANK, _DIGIT, _DOT, _MINUS, _LETTER = range(6)
_KIND: Final = np.zeros(256, np.uint8)
for _kind, _chars in (
    (_BLANK, b" \t\r\n,"),
    (_DIGIT, b"0123456789"),
    (_DOT, b"."),
    (_MINUS, b"-"),
    (_LETTER, b"MLQCZ"),
):
    _KIND[list(_chars)] = _kind
_CODE: Final = np.zeros(256, np.uint8)
_CODE[list(b"MLQCZ")] = range(5)
_TO_BLANK: Final = bytes.maketrans(b"MLQCZ,", b"      ")


class UnreadableError(Exception):
    """The file is not what a sheet file may be; the message says where."""


@dataclass(frozen=True, slots=True)
class Pool:
    """Many paths in flat arrays.

    Attributes:
        commands: codes M L Q C Z = 0 to 4.
        points: micrometres, shape (n, 2); whole numbers as read from a file.
        command_at, point_at: where each path begins, and last the end: shape (paths + 1,).
    """

    commands: Bytes
    points: NDArray[Any]
    command_at: Ints
    point_at: Ints

    def part(self, first: int, last: int) -> Pool:
        """The paths from `first` up to, not including, `last`."""
        c0, c1, p0, p1 = (int(v) for v in (*self.command_at[[first, last]], *self.point_at[[first, last]]))
        return Pool(
            self.commands[c0:c1],
            self.points[p0:p1],
            self.command_at[first : last + 1] - c0,
            self.point_at[first : last + 1] - p0,
        )


def read_paths(data: Sequence[str]) -> Pool:
    """Read many `d` attributes.

    Raises:
        UnreadableError: one of them is not path data as a sheet file may hold it.
    """
    try:
        text = " ".join(data).encode("ascii") + b" "
    except UnicodeEncodeError as error:
        raise UnreadableError(f"path data hold the character {error.object[error.start]!r}") from error
    lengths = np.fromiter((len(d) + 1 for d in data), np.int64, len(data))
    begins = np.cumsum(lengths) - lengths
    raw = np.frombuffer(text, np.uint8)
    kind = _KIND[raw]
    _refuse(kind == _OTHER, text, "holds a character that is none of M L Q C Z, digits, point and minus")
    starts, values = _numbers(text, raw, kind)
    letters = np.flatnonzero(kind == _LETTER)
    return _assembled(_CODE[raw[letters]], letters, starts, values, begins)


def _refuse(wrong: NDArray[np.bool_], text: bytes, what: str) -> None:
    at = int(wrong.argmax()) if wrong.size else 0
    if wrong.size and wrong[at]:
        near = text[max(0, at - 12) : at + 12].decode()
        raise UnreadableError(f"path data {what}, near {near!r}")


def _numbers(text: bytes, raw: Bytes, kind: Bytes) -> tuple[Ints, Ints]:
    """Where each number starts, and its value in micrometres, exactly."""
    numeric = (kind == _DIGIT) | (kind == _DOT) | (kind == _MINUS)
    before = np.concatenate(([False], numeric[:-1]))
    start = numeric & (~before | (kind == _MINUS))
    starts = np.flatnonzero(start)
    following = np.concatenate((kind[1:], [_BLANK]))
    last = numeric & (~np.concatenate((numeric[1:], [False])) | (following == _MINUS))
    ends = np.flatnonzero(last) + 1
    _refuse(last & (kind != _DIGIT), text, "holds a number that does not end in a digit")
    comma = np.flatnonzero(raw == ord(","))
    if comma.size and not (last[comma - 1] & start[np.minimum(comma + 1, raw.size - 1)]).all():
        raise UnreadableError("path data holds a comma that is not between two numbers")
    dots = np.flatnonzero(kind == _DOT)
    owner = np.searchsorted(starts, dots, "right") - 1
    if (np.diff(owner) == 0).any():
        raise UnreadableError("path data holds a number with two decimal points")
    decimals = np.zeros(starts.size, np.int64)
    decimals[owner] = ends[owner] - dots - 1
    if starts.size and (decimals.max() > _PLACES or (ends - starts).max() > _LONGEST):
        at = int(starts[(decimals > _PLACES) | (ends - starts > _LONGEST)][0])
        raise UnreadableError(
            f"the number {text[at : at + 16].split()[0].decode()} is finer than 0.001 mm or too long"
        )
    plain = text.translate(_TO_BLANK, b".").replace(b"-", b" -")
    whole = np.fromstring(plain, dtype=np.int64, sep=" ") if starts.size else np.empty(0, np.int64)
    if whole.size != starts.size:
        raise UnreadableError("path data holds something that is not a number")
    return starts, whole * 10 ** (_PLACES - decimals)


def _assembled(codes: Bytes, letters: Ints, starts: Ints, values: Ints, begins: Ints) -> Pool:
    """Commands with their points, each repeated as often as its numbers say, checked."""
    first_letter = np.searchsorted(letters, begins)
    has_letter = np.append(first_letter[1:], letters.size) > first_letter
    if not has_letter.all() or (codes[first_letter] != M).any():
        raise UnreadableError("a path is empty or does not begin with M")
    numbers_at = np.searchsorted(starts, letters)
    if (np.searchsorted(starts, begins) != numbers_at[first_letter]).any():
        raise UnreadableError("a path begins with a number")
    taken = np.diff(np.append(numbers_at, starts.size))
    each = 2 * TAKES[codes]
    times = np.where(codes == Z, 1, taken // np.maximum(each, 1))
    if (times * each != taken).any() or (times == 0).any():
        raise UnreadableError("a command has too few or too many numbers")
    commands = np.repeat(codes, times)
    firsts = np.cumsum(times) - times
    again = np.ones(commands.size, bool)
    again[firsts] = False
    commands[again & (commands == M)] = L
    command_at = np.append(firsts[first_letter], commands.size)
    _check_order(commands, command_at)
    point_at = np.append(0, np.cumsum(TAKES[commands]))[command_at]
    return Pool(commands, values.reshape(-1, 2), command_at, point_at)


def _check_order(commands: Bytes, command_at: Ints) -> None:
    """After Z only M or the end; after M something that draws."""
    ends = np.zeros(commands.size + 1, bool)
    ends[command_at] = True
    following = np.append(commands[1:], M)
    after_close = (commands == Z) & ~ends[1:] & (following != M)
    idle = (commands == M) & (ends[1:] | (following == M) | (following == Z))
    if after_close.any() or idle.any():
        raise UnreadableError("a contour does not begin with M, or draws nothing")
