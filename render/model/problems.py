"""What a person should know, as values."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Severity(StrEnum):
    """How much a problem matters."""

    NOTE = "note"
    """Worth knowing; nothing to do."""
    LOOK = "look"
    """Made, but someone should look at it."""
    STOP = "stop"
    """The piece is held back until this is mended."""


@dataclass(frozen=True, slots=True)
class Problem:
    """Something about one row, piece or file that a person should know.

    Attributes:
        code: stable short name in kebab-case, such as ``missing-glyph``.
        message: what is so and why, one sentence.
        hint: what would mend it, one sentence; may be empty.
        row: physical line number in the table (the heading line is 1), or None.
        column: heading of the column, or empty.
        value: the offending value, or empty.
        piece: id of the piece, or empty.
    """

    severity: Severity
    code: str
    message: str
    hint: str = ""
    row: int | None = None
    column: str = ""
    value: str = ""
    piece: str = ""
