"""Lengths, and the one rule by which they are rounded and written.

Every length in Monikerf is in millimetres unless its name says otherwise. Geometry that leaves the program
is rounded once, to whole micrometres, ties to even: the same rule for the digest, for every file format and
for the reader that checks them. Micrometres are exact integers, so moving a piece by whole micrometres or
turning it by quarter turns never changes its shape.
"""

from __future__ import annotations

import math
import re
from typing import Final

import numpy as np
from numpy.typing import NDArray

MM_PER_INCH: Final = 25.4
"""Exact by the international yard and pound agreement of 1959."""

UM_PER_MM: Final = 1000
"""Micrometres in a millimetre; one micrometre is the grid on which geometry leaves the program."""

CSS_PX_PER_MM: Final = 96 / MM_PER_INCH
"""CSS pixels in a millimetre (CSS Values and Units Level 3: 1in = 96px = 2.54cm)."""

_LENGTH = re.compile(r"\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*(mm|cm|in|px|pt|pc|)\s*\Z", re.ASCII)
_MM_PER_UNIT: Final = {
    "mm": 1.0,
    "cm": 10.0,
    "in": MM_PER_INCH,
    "px": MM_PER_INCH / 96,
    "pt": MM_PER_INCH / 72,
    "pc": MM_PER_INCH / 6,
    "": 1.0,
}


def to_um(mm: NDArray[np.complex128]) -> NDArray[np.int64]:
    """Round points in mm to the micrometre grid, ties to even.

    Args:
        mm: points as complex numbers x + iy, in mm, any shape (n,).

    Returns:
        Whole micrometres, shape (n, 2), columns x and y.

    Raises:
        ValueError: a coordinate is not finite, or so large that micrometres would not be exact.
    """
    flat = np.ascontiguousarray(mm, dtype=np.complex128).view(np.float64).reshape(-1, 2)
    um = flat * UM_PER_MM
    np.rint(um, out=um)
    if um.size and not (um.max() < 2**52 and um.min() > -(2**52)):  # also false for NaN
        raise ValueError("a coordinate is not a finite, representable length")
    return um.astype(np.int64)


def from_um(um: NDArray[np.int64]) -> NDArray[np.complex128]:
    """Points in mm, x + iy, from whole micrometres of shape (n, 2)."""
    mm = np.ascontiguousarray(um, dtype=np.float64) / UM_PER_MM
    return mm.view(np.complex128).reshape(-1)


def round_mm(mm: float) -> float:
    """One length in mm, rounded to the micrometre grid by the same rule as :func:`to_um`."""
    return float(np.rint(mm * UM_PER_MM)) / UM_PER_MM


def format_mm(mm: float, places: int = 3) -> str:
    """A length for files and reports: at most `places` decimals, no exponent, no trailing zeros, no -0.

    >>> format_mm(12.5), format_mm(-0.0001), format_mm(3)
    ('12.5', '0', '3')
    """
    text = f"{mm:.{places}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def parse_length(text: str) -> float:
    """A length with a CSS absolute unit (mm, cm, in, px, pt, pc; none means mm), in mm.

    Raises:
        ValueError: the text is not a length, or not a finite one.

    >>> parse_length("89mm"), parse_length("1in")
    (89.0, 25.4)
    """
    match = _LENGTH.match(text)
    mm = float(match[1]) * _MM_PER_UNIT[match[2]] if match else math.nan
    if not math.isfinite(mm):
        raise ValueError(f"{text!r} is not a length such as 89mm")
    return mm
