"""A PDF sheet, read back: its page's size and contours, and nothing it may not hold."""

from __future__ import annotations

import re
import zlib
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from render.sheets.alike import Traced, bezier
from render.sheets.pathpool import UnreadableError

_BOX: Final = re.compile(rb"/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)\s*\]")
_STREAM: Final = re.compile(rb"/Length (\d+) /Filter /FlateDecode >>\nstream\n")
_SUBJECT: Final = re.compile(rb"/Subject <FEFF((?:[0-9A-F]{4})*)>")
_MM: Final = 25.4 / 72
_MOST_BYTES: Final = 1 << 30


@dataclass(frozen=True, slots=True)
class PdfFile:
    """What a file says: the page's width and height in mm, its contours, and its subject."""

    size: tuple[float, float]
    contours: tuple[Traced, ...]
    subject: str = ""


@dataclass(slots=True)
class _Reader:
    """A content stream on its way: the matrix, the pen, the contours begun and finished."""

    height: float
    matrix: tuple[float, ...] = (1, 0, 0, 1, 0, 0)
    operation: str = ""
    begun: list[tuple[list[NDArray[np.float64]], bool]] = field(default_factory=list)
    done: list[Traced] = field(default_factory=list)
    stack: list[str] = field(default_factory=list)

    def run(self, content: bytes) -> None:
        actions: dict[str, Callable[[], None]] = {
            "cm": self._matrix, "m": self._move, "l": self._draw, "c": self._draw, "h": self._close,
            "S": self._paint, "f": self._paint, "BDC": self._layer, "EMC": self.stack.clear,
            "w": self.stack.clear, "rg": self.stack.clear, "RG": self.stack.clear,
        }  # fmt: skip
        for word in content.decode("ascii").split():
            action = actions.get(word)
            if action is not None:
                action()
                self.stack.clear()
            elif word[0] in "-.0123456789/":
                self.stack.append(word)
            else:
                raise UnreadableError(f"the page holds the operator {word!r}, which a sheet may not hold")

    def _matrix(self) -> None:
        self.matrix = tuple(float(word) for word in self.stack)

    def _points(self) -> NDArray[np.float64]:
        """The operands on the sheet, mm, y down."""
        xy = np.array([float(word) for word in self.stack]).reshape(-1, 2)
        a, b, c, d, e, f = self.matrix
        x, y = a * xy[:, 0] + c * xy[:, 1] + e, b * xy[:, 0] + d * xy[:, 1] + f
        return np.stack((x, self.height - y), axis=1) * _MM

    def _move(self) -> None:
        self.begun.append(([self._points()], False))

    def _draw(self) -> None:
        rows, _ = self.begun[-1]
        rows.append(bezier(np.concatenate((rows[-1][-1:], self._points())))[1:])

    def _close(self) -> None:
        self.begun[-1] = (self.begun[-1][0], True)

    def _paint(self) -> None:
        self.done += [Traced(self.operation, shut, np.concatenate(rows)) for rows, shut in self.begun]
        self.begun.clear()

    def _layer(self) -> None:
        self.operation = self.stack[-1].lstrip("/")


def read_pdf(data: bytes) -> PdfFile:
    """Read a file of one page.

    Raises:
        UnreadableError: it is not such a file, or its page holds what a sheet may not hold.
    """
    box, stream = _BOX.search(data), _STREAM.search(data)
    if not data.startswith(b"%PDF-1.") or box is None or stream is None or data.count(b"/Type /Page ") != 1:
        raise UnreadableError("the file is not a PDF of one page")
    unpacker = zlib.decompressobj()
    try:
        content = unpacker.decompress(data[stream.end() : stream.end() + int(stream[1])], _MOST_BYTES)
    except zlib.error as error:
        raise UnreadableError(f"the page cannot be unpacked: {error}") from error
    if not unpacker.eof:
        raise UnreadableError("the page is cut off")
    width, height = float(box[1]), float(box[2])
    reader = _Reader(height)
    reader.run(content)
    subject = _SUBJECT.search(data)
    said = bytes.fromhex(subject[1].decode()).decode("utf-16-be", "replace") if subject else ""
    return PdfFile((width * _MM, height * _MM), tuple(reader.done), said)
