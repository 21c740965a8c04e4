"""Long reasons that many pieces share, said once at the foot of the page instead of under each of them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Final

from render.proof.canvas import Canvas
from render.proof.grid import MARGIN, PAGE_WIDTH
from render.proof.palette import INK, MUTED
from render.proof.pieces import Letter, ProofPiece
from render.proof.words import Type, lines_of

SHARED_BY: Final = 4
"""From so many pieces on, a reason becomes a note..."""
LONG_FROM: Final = 25
"""...if it has at least so many characters: a shorter one is said under each piece as quickly."""

_SIZE: Final = 2.7
_INDENT: Final = 13.0
_LEADING: Final = 1.35


def notes_of(pieces: Sequence[ProofPiece]) -> dict[str, str]:
    """The long shared reasons of an order as they come up, each with its name: note 1, note 2..."""
    counts = Counter(piece.reason for piece in pieces if piece.shown_flag and piece.reason)
    shared = [reason for reason, count in counts.items() if count >= SHARED_BY and len(reason) >= LONG_FROM]
    return {reason: f"note {number}" for number, reason in enumerate(shared, 1)}


def draw_notes(
    canvas: Canvas, pieces: Sequence[ProofPiece], notes: Mapping[str, str], letter: Letter, y: float
) -> float:
    """Draw the notes that occur on a page below `y`; return where they end."""
    here = {piece.reason for piece in pieces}
    name, kind = Type(letter, _SIZE, strong=True), Type(letter, _SIZE)
    width = PAGE_WIDTH - 2 * MARGIN - _INDENT
    mine = [reason for reason in notes if reason in here]
    y += _SIZE * 1.6 if mine else 0.0
    for reason in mine:
        first = y + _SIZE * _LEADING
        canvas.draw(name.placed(_capital(notes[reason]), MARGIN, first), {"fill": INK})
        for line in lines_of(reason, kind, width, 6):
            y += _SIZE * _LEADING
            canvas.draw(kind.placed(line, MARGIN + _INDENT, y), {"fill": MUTED})
    return y


def _capital(text: str) -> str:
    """The text with a capital at its beginning."""
    return text[:1].upper() + text[1:]
