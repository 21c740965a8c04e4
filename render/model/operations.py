"""What the beam does."""

from __future__ import annotations

from enum import StrEnum
from typing import Final


class Operation(StrEnum):
    """What the beam does with a mark."""

    ENGRAVE = "engrave"
    """Fill an area."""
    SCORE = "score"
    """Follow a line on the surface."""
    CUT = "cut"
    """Go through."""
    GUIDE = "guide"
    """Never burned: an aid for the eye."""


BURN_ORDER: Final = (Operation.ENGRAVE, Operation.SCORE, Operation.CUT)
"""The order of burning: a piece that is cut loose first would move under the rest."""
