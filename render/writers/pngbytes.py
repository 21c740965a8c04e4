"""The bytes of PNG files: packing pixels, and saying how large a picture is (W3C Recommendation PNG)."""

from __future__ import annotations

import struct
import sys
import zlib
from typing import Final

import numpy as np

SIGNATURE: Final = b"\x89PNG\r\n\x1a\n"
_UP: Final = 2
"""The filter that keeps of each row its difference from the one above (9.2): good for flat areas."""
_LEVEL: Final = 4


def packed(bgra: bytes | memoryview, width: int, height: int) -> bytes | None:
    """A PNG of red, green and blue from cairo's pixels; None if any of them is not opaque.

    Args:
        bgra: four bytes a pixel, blue first (cairo's ARGB32 on little-endian machines), rows without gaps.
        width: pixels across.
        height: pixels down.
    """
    pixels = np.frombuffer(bgra, np.uint8)
    if pixels.size != width * height * 4 or sys.byteorder != "little":
        return None
    pixels = pixels.reshape(height, width, 4)
    if pixels[..., 3].min() != 255:
        return None
    flat = np.ascontiguousarray(pixels[..., 2::-1]).reshape(height, 3 * width)
    rows = np.empty((height, 1 + 3 * width), np.uint8)
    rows[:, 0] = _UP
    rows[0, 1:] = flat[0]
    np.subtract(flat[1:], flat[:-1], out=rows[1:, 1:])
    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    data = zlib.compress(rows.data, _LEVEL)
    return SIGNATURE + _chunk(b"IHDR", header) + _chunk(b"IDAT", data) + _chunk(b"IEND", b"")


def with_density(png: bytes, px_per_mm: float) -> bytes:
    """The PNG with its physical size: a pHYs chunk after IHDR (11.3.4.3)."""
    ihdr_end = len(SIGNATURE) + 4 + 4 + 13 + 4
    per_metre = round(px_per_mm * 1000)
    chunk = _chunk(b"pHYs", struct.pack(">IIB", per_metre, per_metre, 1))
    return png[:ihdr_end] + chunk + _without_phys(png[ihdr_end:])


def _chunk(kind: bytes, body: bytes) -> bytes:
    """Length, type, data and checksum (5.3)."""
    return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))


def _without_phys(chunks: bytes) -> bytes:
    """The chunks after IHDR, less any pHYs a renderer wrote itself."""
    at = 0
    while at + 8 <= len(chunks) and chunks[at + 4 : at + 8] != b"IDAT":
        length = 12 + int.from_bytes(chunks[at : at + 4], "big")
        if chunks[at + 4 : at + 8] == b"pHYs":
            return chunks[:at] + chunks[at + length :]
        at += length
    return chunks
