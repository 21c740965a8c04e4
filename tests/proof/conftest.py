"""Words, blanks and pieces for the tests of this room."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from render.geometry import Path
from render.geometry.shapes import circle, line, rectangle
from render.model import Artwork, Blank, Hold, Mark, Material, Operation, RoundBody
from render.proof import Flag, ProofPiece, Wording


class Blocks:
    """Sets each letter as a block half an em wide, so that no font matters, and remembers what it set."""

    def __init__(self) -> None:
        self.texts: list[tuple[str, bool]] = []

    def __call__(self, text: str, strong: bool = False) -> Wording:
        self.texts.append((text, strong))
        boxes = [rectangle(0.5 * i + 0.05, -0.6, 0.4, 0.6) for i, c in enumerate(text) if c != " "]
        return Wording(Path.joined(boxes), 0.5 * len(text))


@pytest.fixture
def blocks() -> Blocks:
    return Blocks()


WOOD = Material("wood", "Wood of the tests", "#E0C090", "#402010", 0.2, 0.2)


@pytest.fixture
def wood() -> Material:
    return WOOD


@pytest.fixture
def tag() -> Blank:
    """60 × 24 mm with a hole of 4 mm at (6, 12) and a fold at x = 30."""
    outline = rectangle(0, 0, 60, 24, 4)
    return Blank(
        "tag", "Tag of the tests", outline, (circle(6 + 12j, 2),), (line(30 + 0j, 30 + 24j),),
        rectangle(11, 3, 46, 18), "wood", 3, Hold.JIG,
    )  # fmt: skip


@pytest.fixture
def tumbler() -> Blank:
    """200 × 80 mm unrolled, 10 mm of seam."""
    outline = rectangle(0, 0, 200, 80)
    return Blank(
        "tumbler", "Tumbler of the tests", outline, (), (), outline, "wood", 1, Hold.ROTARY,
        body=RoundBody(200, 80, 10),
    )  # fmt: skip


@pytest.fixture
def three(tag: Blank) -> Sequence[ProofPiece]:
    """One piece in order, one to look at, one held back; the marks are a bar from (40, 10) to (50, 14)."""
    marks = (
        Mark(Operation.ENGRAVE, rectangle(40, 10, 10, 4)),
        Mark(Operation.SCORE, tag.folds[0]),
        Mark(Operation.CUT, Path.joined((*tag.holes, tag.outline))),
    )
    return (
        ProofPiece("p2", "Anna", Artwork("p2", "Anna", marks)),
        ProofPiece("p3", "Berthold", Artwork("p3", "Berthold", marks), Flag.LOOK, "set smaller"),
        ProofPiece("p4", "Cem", None, Flag.HELD, "no font has it"),
    )
