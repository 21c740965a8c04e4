"""What was asked for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from render.model.problems import Problem


@dataclass(frozen=True, slots=True)
class Piece:
    """One thing to be made.

    Attributes:
        id: stable within the order: ``p`` and the row's line number, ``-2`` and so on for further copies.
        row: physical line number in the table it came from.
        fields: text by field name (``name``, ``given``, ``surname``, ``table``, ``note``, ...).
    """

    id: str
    row: int
    fields: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Order:
    """What one customer asked for: the pieces of a table, and what its reading brought to light."""

    name: str
    pieces: tuple[Piece, ...]
    problems: tuple[Problem, ...] = ()
