"""Pictures of pieces that do not hold together: each as it would be, with the weak places ringed."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from render.geometry import Path
from render.geometry.shapes import circle
from render.model import Artwork, Mark, Operation, Order
from render.pipeline.artworks import title_of
from render.pipeline.holding import Held
from render.pipeline.proofs import Captions
from render.proof.gallery import Tile, gallery

if TYPE_CHECKING:
    from render.lettering import Letterer
    from render.pipeline.workshop import Job

MOST: Final = 24
"""Pieces that are shown; more of them have one cause."""


def weak_pages(held: Sequence[Held], order: Order, job: Job, letterer: Letterer) -> tuple[bytes, ...]:
    """A page, as SVG, that shows where pieces do not hold together; none if all of them do."""
    weak = [h for h in held if h.weak][:MOST]
    if not weak:
        return ()
    titles = {piece.id: title_of(piece) for piece in order.pieces}
    radius = 0.03 * max(job.blank.outline.bounds().width, job.blank.outline.bounds().height)
    tiles = []
    for one in weak:
        rings = Path.joined(circle(at, radius) for at in one.weak)
        artwork = Artwork(one.piece, titles.get(one.piece, ""), (*one.marks, Mark(Operation.SCORE, rings)))
        tiles.append(
            Tile(f"{one.piece} {artwork.title}", one.problems[0].message, job.blank, job.material, artwork)
        )
    return (
        gallery(
            tiles, Captions(letterer), title=order.name, below="What does not hold together: where, in rings"
        ),
    )
