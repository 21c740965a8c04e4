"""A watermark: words laid slantwise across a picture, so that nobody takes it for the finished thing."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from render.geometry import Affine, Box, Path
from render.proof.pieces import Letter
from render.proof.things import Look, Sink

SLANT: Final = -24.0
"""Degrees; the words rise to the right."""
SHARE: Final = 0.5
"""How long the words are, in parts of the picture's diagonal, and at most :data:`LARGEST` mm to the em."""
LARGEST: Final = 13.0
LOOK: Final[Look] = {"fill": "#7D7768", "fill_opacity": 0.3}


def draw_watermark(
    sink: Sink, letter: Letter, words: str, size: tuple[float, float], at: tuple[float, float] = (0.0, 0.0)
) -> None:
    """Draw the words over a picture of `size` (width, height in mm) whose top left corner is `at`.

    Once in its middle, and again wherever they fit whole.
    """
    wording = letter(words, True)
    if not wording.path:
        return
    width, height = size
    diagonal = math.hypot(width, height)
    em = min(LARGEST, SHARE * diagonal / max(wording.advance, 1e-6), height * 0.5)
    step_x, step_y = (wording.advance + 2.0) * em, 3.2 * em
    rows, columns = math.ceil(diagonal / step_y / 2), math.ceil(diagonal / step_x / 2)
    turn = Affine.rotation(SLANT)
    start = Affine.scale(em, em).then(Affine.translation(-wording.advance * em / 2, em * 0.35))
    there = Affine.translation(at[0] + width / 2, at[1] + height / 2)
    first = wording.path.transformed(start.then(turn).then(there))
    box, page = first.bounds(), Box.of_size(width, height, *at)
    found = [first]
    for row in range(-rows, rows + 1):
        for column in range(-columns - 1, columns + 2):
            x = (column + (0.5 if row % 2 else 0.0)) * step_x
            step = turn.apply(np.array([complex(x, row * step_y)]))[0]
            if step and page.contains(box.moved(step.real, step.imag)):
                found.append(first.moved(step.real, step.imag))
    sink.draw(Path.joined(found), LOOK)
