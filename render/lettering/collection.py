"""Collections of fonts (TTC, OTC): several fonts in one file that share tables.

A font of a collection is taken out of it once, as a font file of its own, so that all that reads fonts meets
plain ones (OpenType 1.9, "Font collections" and "Table directory").
"""

from __future__ import annotations

import struct
from pathlib import Path
from typing import Final

from render.errors import FontError

SIGNATURE: Final = b"ttcf"
"""How a collection begins."""

_HEAD: Final = struct.Struct(">4sHHL")
_RECORD: Final = struct.Struct(">4sLLL")
_MOST_FACES: Final = 1000
_DAMAGED: Final = "Fetch the file again from where it came from."


def faces_in(path: Path) -> int:
    """How many fonts a file holds, by its first bytes; 1 where it is no collection or cannot be read."""
    try:
        with path.open("rb") as file:
            head = file.read(_HEAD.size)
    except OSError:
        return 1
    return _count(head) if head[:4] == SIGNATURE else 1


def one_of(path: Path, data: bytes, face: int) -> bytes:
    """One font of a file: the file itself, or what a collection holds of it, as a file of its own.

    Args:
        path: for messages.
        data: the bytes of the file.
        face: its number, counted from 1.

    Raises:
        FontError: there is no font of that number, or the file is damaged.
    """
    collection = data[:4] == SIGNATURE
    count = _count(data) if collection else 1
    if not 1 <= face <= count:
        if not count:
            raise FontError(f"{path.name} is damaged: its list of fonts is missing", hint=_DAMAGED)
        holds = "one font" if count == 1 else f"{count} fonts"
        raise FontError(
            f"{path.name} holds {holds}, so there is no face {face}", hint=f"Give a face from 1 to {count}."
        )
    if not collection:
        return data
    try:
        (start,) = struct.unpack_from(">L", data, _HEAD.size + 4 * (face - 1))
        flavour, tables = struct.unpack_from(">4sH", data, start)
        records = [_RECORD.unpack_from(data, start + 12 + _RECORD.size * k) for k in range(tables)]
    except struct.error:
        records = []
    if not records or any(offset + length > len(data) for _, _, offset, length in records):
        raise FontError(f"{path.name} is damaged: part of the file is missing", hint=_DAMAGED)
    return _file(flavour + data[start + 4 : start + 12], records, data)


def _count(head: bytes) -> int:
    """How many fonts the head of a collection says there are; 0 if that cannot be."""
    if len(head) < _HEAD.size:
        return 0
    count = int(_HEAD.unpack_from(head)[3])
    return count if count <= _MOST_FACES else 0


def _file(head: bytes, records: list[tuple[bytes, int, int, int]], data: bytes) -> bytes:
    """A font file of tables that lie in a collection, each at a multiple of four bytes."""
    place = len(head) + _RECORD.size * len(records)
    directory, tables = [head], []
    for tag, checksum, offset, length in records:
        padded = data[offset : offset + length] + bytes(-length % 4)
        directory.append(_RECORD.pack(tag, checksum, place, length))
        tables.append(padded)
        place += len(padded)
    return b"".join((*directory, *tables))
