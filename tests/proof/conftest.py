"""Words, blanks and pieces for the tests of this room."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import pytest

from render.geometry import Path
from render.geometry.shapes import circle, line, rectangle
from render.geometry.solids import Profile
from render.model import Artwork, Blank, Hold, Mark, Material, Operation, RoundBody
from render.proof import Flag, ProofPiece, Wording
from render.proof.shown import ShopWords, Shown, ShownPiece, ShownText


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


@pytest.fixture
def shown(tag: Blank) -> Shown:
    """Three pieces that can be shown, with worst names, and one that cannot; the marks differ."""

    def piece(number: int, name: str, **more: Any) -> ShownPiece:
        mark = Mark(Operation.ENGRAVE, rectangle(12 + number, 10, 20, 4))
        artwork = Artwork(f"p{number:03d}", name, (mark, Mark(Operation.CUT, tag.outline)))
        text = ShownText("name", "Name", name, name, (name,), "", "Font of the tests", 7.25, 5.1)
        return ShownPiece(artwork.piece, name, artwork, artwork.digest(), (text,), **more)

    return Shown(
        order="gaste-3",
        title="Gäste & <Freunde>",
        pieces=(
            piece(2, "Zoë O’Brien-Ní Dhomhnaill", notes=("The apostrophe is set as a curved one: O’Brien",)),
            piece(3, "محمد الفارسي"),
            piece(4, '"Tom" <b>&amp;</b> Wilhelmina-Charlotte von und zu Hohenfelsenstein'),
            ShownPiece("p005", "สมชาย", None, ""),
        ),
        blank=tag,
        material=WOOD,
        shop=ShopWords("Shop of the tests", "shop@example.org", "PROOF", "12 June 2026"),
    )


@pytest.fixture
def turning(shown: Shown, tumbler: Blank) -> Shown:
    """The same on a tumbler: its front is the middle of 200 mm; x mm of the drawing are x / 200 of a turn."""

    def laid(path: Path) -> Path:
        return Path(path.commands, path.points.real / 200 * 2 * math.pi + 1j * path.points.imag)

    pieces = []
    for number, piece in enumerate(shown.pieces):
        mark = Mark(Operation.ENGRAVE, rectangle(90 - 95 * (number == 1), 30, 20, 10))
        artwork = Artwork(piece.id, piece.title, (mark,)) if piece.artwork else None
        surface = Artwork(piece.id, piece.title, (Mark(mark.operation, laid(mark.path)),))
        pieces.append(replace(piece, artwork=artwork, surface=surface if artwork else None))
    profile = Profile.straight(200, 80)
    return replace(shown, blank=tumbler, pieces=tuple(pieces), profile=profile)
