"""Marks above, below and through the letters of a single-stroke hand, drawn by ourselves.

Where a hand has not drawn an accented letter it is put together from its parts (Unicode canonical
decomposition, UAX 15), each mark on a place of its letter: the middle of its top, its bottom, its body. The
unit of the tables is the x-height; y up, (0, 0) the place.
"""

from __future__ import annotations

import unicodedata
from typing import Final

Line = tuple[tuple[float, float], ...]

_RING: Final = tuple((0.13 * x, 0.15 + 0.13 * y) for x, y in (
    (0, -1), (0.71, -0.71), (1, 0), (0.71, 0.71), (0, 1), (-0.71, 0.71), (-1, 0), (-0.71, -0.71), (0, -1)
))  # fmt: skip

ABOVE: Final[dict[str, tuple[Line, ...]]] = {
    "\u0300": (((-0.16, 0.28), (0.08, 0.06)),),
    "\u0301": (((-0.08, 0.06), (0.16, 0.28)),),
    "\u0302": (((-0.22, 0.06), (0.0, 0.28), (0.22, 0.06)),),
    "\u0303": (((-0.25, 0.09), (-0.16, 0.2), (-0.06, 0.2), (0.06, 0.11), (0.16, 0.11), (0.25, 0.22)),),
    "\u0304": (((-0.22, 0.14), (0.22, 0.14)),),
    "\u0306": (((-0.22, 0.26), (-0.13, 0.12), (0.0, 0.08), (0.13, 0.12), (0.22, 0.26)),),
    "\u0307": (((0.0, 0.1), (0.0, 0.16)),),
    "\u0308": (((-0.15, 0.1), (-0.15, 0.16)), ((0.15, 0.1), (0.15, 0.16))),
    "\u030a": (_RING,),
    "\u030b": (((-0.14, 0.06), (0.02, 0.28)), ((0.1, 0.06), (0.26, 0.28))),
    "\u030c": (((-0.22, 0.28), (0.0, 0.06), (0.22, 0.28)),),
}
"""Marks above, by combining character."""

BELOW: Final[dict[str, tuple[Line, ...]]] = {
    "\u0327": (((0.0, 0.0), (-0.02, -0.1), (0.1, -0.16), (0.1, -0.26), (0.0, -0.32), (-0.12, -0.29)),),
    "\u0328": (((0.12, 0.0), (0.02, -0.1), (0.0, -0.2), (0.06, -0.28), (0.16, -0.27)),),
    "\u0326": (((0.03, -0.12), (-0.05, -0.3)),),
    "\u0323": (((0.0, -0.13), (0.0, -0.19)),),
}
"""Marks below, by combining character."""

THROUGH: Final[dict[str, tuple[str, float, float, tuple[float, float]]]] = {
    "Ø": ("O", 0.5, 0.5, (0.62, 0.62)), "ø": ("o", 0.5, 0.5, (0.68, 0.68)),
    "Ł": ("L", 0.12, 0.5, (0.28, 0.14)), "ł": ("l", 0.5, 0.5, (0.3, 0.14)),
    "Đ": ("D", 0.1, 0.5, (0.28, 0.0)), "Ð": ("D", 0.1, 0.5, (0.28, 0.0)),
    "đ": ("d", 0.9, 0.82, (0.3, 0.0)), "ð": ("d", 0.8, 0.8, (0.25, 0.1)),
    "Ħ": ("H", 0.5, 0.78, (0.62, 0.0)), "ħ": ("h", 0.2, 0.8, (0.28, 0.0)),
    "Ŧ": ("T", 0.5, 0.45, (0.3, 0.0)), "ŧ": ("t", 0.5, 0.4, (0.28, 0.0)),
}  # fmt: skip
"""Letters with a bar: of which letter, where in its box (from the left, its foot), half the bar's reach."""

TOGETHER: Final[dict[str, str]] = {
    "Æ": "AE", "æ": "ae", "Œ": "OE", "œ": "oe", "Ĳ": "IJ", "ĳ": "ij", "ß": "ss", "ẞ": "SS",
    "Þ": "Th", "þ": "th",
    "Ŋ": "Ng", "ŋ": "ng", "ŉ": "'n", "ſ": "s", "ĸ": "k", "Ŀ": "L·", "ŀ": "l·",
    "’": "'", "‘": "'", "ʼ": "'", "“": '"', "”": '"', "–": "-", "—": "-", "‐": "-", "‑": "-", "\u00a0": " ",
    "…": "...", "·": ".",
}  # fmt: skip
"""Characters that are set as others where a hand has not drawn them: spellings that readers of the language
take for the letter (common practice, no source), and signs for which a plainer one stands."""

DOTLESS: Final = {"i": "ı", "j": "ȷ"}
"""Letters that give up their dot under a mark (Unicode: Soft_Dotted)."""


def parts_of(character: str) -> tuple[str, str]:
    """A character's letter and its marks, in order."""
    whole = unicodedata.normalize("NFD", character)
    return whole[0], whole[1:]
