"""Whole micrometres in, SVG path data out: the one writer of coordinates, for many paths at once.

Absolute commands only (``M L Q C Z``), each with its letter; millimetres with at most three decimals, no
exponent, no trailing zeros, no ``-0``; one space between two numbers and nothing else between anything. Every
number becomes a cell of eight bytes looked up in a table: one byte for the letter or space in front of it,
three for the whole millimetres, four for the decimals. What a cell leaves free is zero, and all zeros of a
batch are dropped at once.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from render.geometry.path import CLOSE, POINTS_PER_COMMAND
from render.units import format_mm

LARGEST_UM: Final = 999_999
"""Largest coordinate that fits a cell."""
SMALLEST_UM: Final = -99_999
"""Smallest coordinate that fits a cell: its sign takes the room of a digit."""

_LETTERS: Final = "MLQC"
_SPACE: Final = 0x20
_CLOSED: Final = 1  # in front of a contour that follows a closed one: stands for ZM
_NEXT: Final = 2  # in front of a path that follows another one
_MARKS: Final = ((b"\x01", b"ZM"), (b"\x02", b"\nM"))


def path_data(paths: Sequence[tuple[NDArray[np.uint8], NDArray[np.int64]]]) -> list[str]:
    """The path data of each path.

    Args:
        paths: for each path its commands, shape (m,), and points in whole µm, shape (n, 2), as
            :class:`render.geometry.Path` and :func:`render.units.to_um` hold them.

    Returns:
        One string per path, empty for an empty path. Only ASCII.
    """
    texts = [""] * len(paths)
    batch = []
    for index, (commands, points) in enumerate(paths):
        if not commands.size:
            continue
        if points.max() <= LARGEST_UM and points.min() >= SMALLEST_UM:
            batch.append(index)
        else:
            texts[index] = _one_by_one(commands, points)
    if batch:
        written = _by_cells([paths[index] for index in batch])
        for index, text in zip(batch, written, strict=True):
            texts[index] = text
    return texts


def _by_cells(paths: Sequence[tuple[NDArray[np.uint8], NDArray[np.int64]]]) -> list[str]:
    """The path data of paths that are not empty and whose coordinates all fit cells."""
    sizes = np.array([commands.size for commands, _ in paths])
    commands = np.concatenate([commands for commands, _ in paths])
    points = np.concatenate([points for _, points in paths])
    cells = np.take(_cells(), points - SMALLEST_UM)
    begins = np.cumsum(sizes) - sizes
    prefix = _prefixes()[commands]
    after_close = np.flatnonzero(commands[:-1] == CLOSE) + 1
    prefix[after_close] = _CLOSED
    prefix[begins[1:]] = _NEXT
    counts = POINTS_PER_COMMAND[commands]
    first = np.cumsum(counts) - counts
    drawing = counts > 0
    cells[first[drawing], 0] ^= prefix[drawing] ^ np.uint64(_SPACE)
    text = cells.tobytes().translate(None, b"\0")
    for mark, letters in _MARKS:
        text = text.replace(mark, letters)
    closed = commands[np.append(begins[1:], commands.size) - 1] == CLOSE
    lines = text.decode("ascii").split("\n")
    return [line + "Z" if ends_closed else line for line, ends_closed in zip(lines, closed, strict=True)]


@cache
def _prefixes() -> NDArray[np.uint64]:
    """The first byte of a cell, by command."""
    return np.array([*_LETTERS.encode(), 0], np.uint64)


@cache
def _cells() -> NDArray[np.uint64]:
    """The cell of every coordinate from SMALLEST_UM to LARGEST_UM, a space in front."""
    whole = np.array([_bytes(f" {n}", 0) for n in range(1000)], np.uint64)
    minus = np.array([_bytes(f" -{n}", 0) for n in range(100)], np.uint64)
    decimals = [f".{n:03d}".rstrip("0").rstrip(".") for n in range(1000)]
    part = np.array([_bytes(text, 4) for text in decimals], np.uint64)
    above = (whole[:, None] | part).reshape(-1)
    below = (minus[:, None] | part).reshape(-1)
    return np.concatenate((below[:0:-1], above))


def _bytes(text: str, at: int) -> int:
    """The characters as bytes of a little-endian number, the first at byte `at`."""
    return int.from_bytes(text.encode(), "little") << 8 * at


def _one_by_one(commands: NDArray[np.uint8], points: NDArray[np.int64]) -> str:
    """The path data of one path with coordinates of any size, slowly."""
    numbers = iter([_exact(um) for um in points.reshape(-1).tolist()])
    parts = []
    for command in commands.tolist():
        if command == CLOSE:
            parts.append("Z")
        else:
            pairs = [next(numbers) for _ in range(2 * int(POINTS_PER_COMMAND[command]))]
            parts.append(_LETTERS[command] + " ".join(pairs))
    return "".join(parts)


def _exact(um: int) -> str:
    """Whole µm as mm, exactly, whatever their size."""
    whole, part = divmod(abs(um), 1000)
    text = format_mm(part / 1000)[1:]
    return f"{'-' if um < 0 else ''}{whole}{text}"
