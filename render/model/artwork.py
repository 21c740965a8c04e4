"""The finished geometry of a piece."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass

from render.geometry import Path
from render.model.operations import BURN_ORDER, Operation
from render.units import to_um


@dataclass(frozen=True, slots=True)
class Mark:
    """A path and what the beam does with it. ENGRAVE fills it by the non-zero rule; the others follow it."""

    operation: Operation
    path: Path


@dataclass(frozen=True, slots=True)
class Artwork:
    """The finished geometry of one piece, mm, (0, 0) at the top left of its blank."""

    piece: str
    title: str
    marks: tuple[Mark, ...]

    def digest(self) -> str:
        """The SHA-256, in hexadecimal, of what would be burned, in canonical form.

        For each operation in burn order that has geometry: its name, a zero byte, then its commands (one byte
        each) and its points in whole micrometres (little-endian 64-bit integers x, y), each preceded by its
        number of bytes as a little-endian 64-bit integer. Guides, ids and titles do not count.

        Raises:
            ValueError: a coordinate is not finite.
        """
        sha = hashlib.sha256()
        for operation in BURN_ORDER:
            path = self.burned(operation)
            if path:
                sha.update(operation.encode() + b"\0")
                for block in (path.commands.tobytes(), to_um(path.points).astype("<i8").tobytes()):
                    sha.update(len(block).to_bytes(8, "little") + block)
        return sha.hexdigest()

    def burned(self, operation: Operation) -> Path:
        """All contours of one operation, in order."""
        return Path.joined(mark.path for mark in self.marks if mark.operation is operation)
