"""What a proof is made of: pieces, and words already turned into outlines."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Protocol

from render.geometry import Path
from render.model import Artwork


class Flag(StrEnum):
    """Whether a person should look at a piece; the value is the word beside its sign."""

    NONE = ""
    LOOK = "look"
    HELD = "held back"


@dataclass(frozen=True, slots=True)
class ProofPiece:
    """One piece as it is shown.

    Attributes:
        id: the piece's id.
        text: what is written on it, for the caption.
        artwork: its finished geometry; None if it is held back.
        flag: HELD without artwork, whatever it says here.
        reason: why it has a flag, a few words.
    """

    id: str
    text: str
    artwork: Artwork | None
    flag: Flag = Flag.NONE
    reason: str = ""

    @property
    def shown_flag(self) -> Flag:
        """The flag, and HELD for what has no artwork."""
        return Flag.HELD if self.artwork is None else self.flag


@dataclass(frozen=True, slots=True)
class Wording:
    """A text as outlines, in em: y down, the pen starting on the baseline at (0, 0)."""

    path: Path
    advance: float


class Letter(Protocol):
    """Sets captions and titles. A proof has no fonts of its own; whoever asks for it brings them.

    Every script that a caption may hold should be covered; `strong` asks for a heavier cut.
    """

    def __call__(self, text: str, strong: bool = False) -> Wording:
        """The text as outlines."""
        ...
