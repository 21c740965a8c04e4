"""Geometry and texts as the ledger keeps them: small, exact, and independent of any library's format.

An artwork is a JSON heading (one line) with, for each mark, its operation and how many commands and points it
has; then all commands, one byte each, and all points as differences in whole micrometres, little-endian
32-bit; the whole compressed (zlib, RFC 1950). Micrometres are what a digest is of, so it survives.
"""

from __future__ import annotations

import json
import zlib
from collections.abc import Iterable

import numpy as np

from render.geometry import Path
from render.model import Artwork, Mark, Operation, Piece
from render.units import from_um, to_um


def pack_artwork(artwork: Artwork) -> bytes:
    """The artwork's marks as bytes.

    Raises:
        ValueError: a coordinate is not finite, or more than two metres from the next.
    """
    heading, commands, points = [], [], []
    for mark in artwork.marks:
        um = to_um(mark.path.points)
        steps = np.diff(um, axis=0, prepend=np.zeros((1, 2), np.int64))
        if steps.size and np.abs(steps).max() >= 2**31:
            raise ValueError("a coordinate is too far away to be kept")
        heading.append([str(mark.operation), int(mark.path.commands.size), len(um)])
        commands.append(mark.path.commands.tobytes())
        points.append(steps.astype("<i4").tobytes())
    line = json.dumps(heading, separators=(",", ":")).encode() + b"\n"
    return zlib.compress(b"".join((line, *commands, *points)), 6)


def unpack_artwork(piece: str, title: str, data: bytes) -> Artwork:
    """The artwork that was packed, its points on the micrometre grid.

    Raises:
        ValueError: the bytes are damaged.
    """
    try:
        line, _, rest = zlib.decompress(data).partition(b"\n")
        heading = json.loads(line)
        at = sum(count for _, count, _ in heading)
        codes = np.frombuffer(rest[:at], np.uint8)
        steps = np.frombuffer(rest[at:], "<i4").reshape(-1, 2).astype(np.int64)
        marks, command, point = [], 0, 0
        for operation, commands, points in heading:
            um = np.cumsum(steps[point : point + points], axis=0)
            path = Path(codes[command : command + commands].copy(), from_um(um))
            marks.append(Mark(Operation(operation), path))
            command, point = command + commands, point + points
    except (zlib.error, ValueError, TypeError) as error:
        raise ValueError(f"kept geometry of {piece} is damaged: {error}") from error
    return Artwork(piece, title, tuple(marks))


def pack_pieces(pieces: Iterable[Piece]) -> bytes:
    """Pieces with their texts as bytes."""
    values = [[p.id, p.row, dict(p.fields)] for p in pieces]
    return zlib.compress(json.dumps(values, ensure_ascii=False, separators=(",", ":")).encode(), 6)


def unpack_pieces(data: bytes) -> tuple[Piece, ...]:
    """The pieces that were packed."""
    return tuple(Piece(id_, row, fields) for id_, row, fields in json.loads(zlib.decompress(data)))
