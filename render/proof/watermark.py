"""A watermark: words laid slantwise across a picture, so that nobody takes it for the finished thing."""

from __future__ import annotations

import math
from typing import Final

from render.geometry import Affine, Path
from render.proof.pieces import Letter
from render.proof.things import Look, Sink

SLANT: Final = -24.0
"""Degrees; the words rise to the right."""
SIZE: Final = 0.13
"""Size of the words, in parts of the picture's diagonal."""
LOOK: Final[Look] = {"fill": "#7D7768", "fill_opacity": 0.26}


def draw_watermark(sink: Sink, letter: Letter, words: str, size: tuple[float, float]) -> None:
    """Draw the words over a page of `size` (width, height in mm), again and again until it is covered.

    What reaches beyond the page is cut off by it.
    """
    wording = letter(words, True)
    if not wording.path:
        return
    width, height = size
    diagonal = math.hypot(width, height)
    em = min(diagonal * SIZE, diagonal * 0.62 / max(wording.advance, 1e-6))
    step_x, step_y = wording.advance * em + 1.6 * em, 2.6 * em
    rows, columns = math.ceil(diagonal / step_y / 2), math.ceil(diagonal / step_x / 2)
    slanted = Affine.rotation(SLANT).then(Affine.translation(width / 2, height / 2))
    found = []
    for row in range(-rows, rows + 1):
        for column in range(-columns - 1, columns + 1):
            x = (column + (0.5 if row % 2 else 0.0)) * step_x
            place = Affine.scale(em, em).then(Affine.translation(x, row * step_y)).then(slanted)
            path = wording.path.transformed(place)
            box = path.bounds()
            if box.x1 > 0 and box.y1 > 0 and box.x0 < width and box.y0 < height:
                found.append(path)
    sink.draw(Path.joined(found), LOOK)
