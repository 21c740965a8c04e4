"""Lines of caption text: broken at spaces, shortened where they must be."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass

from render.geometry import Path
from render.proof.pieces import Letter, Wording

_BREAK = re.compile(r"(?<=[ \-‐–—])(?=[^ \-‐–—])")
"""Where a line may end: after a space, a hyphen or a dash."""


@dataclass(frozen=True, slots=True)
class Type:
    """How words are set: `size` mm to the em on the page."""

    letter: Letter
    size: float
    strong: bool = False

    def set(self, text: str) -> Wording:
        """The text in em."""
        return self.letter(text, self.strong)

    def width(self, text: str) -> float:
        """How wide the text runs, mm."""
        return self.set(text).advance * self.size

    def placed(self, text: str, x: float, baseline: float) -> Path:
        """The text's outlines on the page, starting at (x, baseline) in mm."""
        path = self.set(text).path
        return Path(path.commands, path.points * self.size + complex(x, baseline))


def lines_of(text: str, kind: Type, width: float, most: int) -> list[str]:
    """The text in at most `most` lines no wider than `width` mm.

    Lines break at spaces and after hyphens, and inside a word only where it is wider than a line by itself;
    what does not fit the last line ends in an ellipsis.
    """
    rest = " ".join(text.split())
    lines: list[str] = []
    while rest and len(lines) < most - 1:
        count = _line_length(rest, kind, width)
        lines.append(rest[:count].rstrip())
        rest = rest[count:].lstrip()
    if rest:
        lines.append(shortened(rest, kind, width))
    return lines


def shortened(text: str, kind: Type, width: float) -> str:
    """The longest beginning of the text that fits `width` mm, with an ellipsis if anything is left off."""
    if kind.width(text) <= width:
        return text
    low, high = 0, len(text)
    while low + 1 < high:  # the width grows with the number of characters, near enough
        middle = (low + high) // 2
        if kind.width(_ellipsis(text, middle)) <= width:
            low = middle
        else:
            high = middle
    return _ellipsis(text, low)


def _ellipsis(text: str, count: int) -> str:
    """The first characters and an ellipsis, never parting a mark from its letter."""
    while 0 < count < len(text) and unicodedata.category(text[count])[0] in "MC":
        count -= 1
    return text[:count].rstrip() + "…"


def _line_length(text: str, kind: Type, width: float) -> int:
    """How many characters of the text make its first line; at least one."""
    if kind.width(text) <= width:
        return len(text)
    ends = [place.start() for place in _BREAK.finditer(text)]
    fits, width_so_far = 0, 0.0
    for begin, end in zip([0, *ends], ends, strict=False):
        word = text[begin:end].rstrip()
        if width_so_far + kind.width(word) > width:
            break
        fits = end
        width_so_far += kind.width(word) + (kind.width(" ") if text[end - 1] == " " else 0.0)
    return fits or max(1, len(shortened(text[: ends[0]] if ends else text, kind, width)) - 1)
