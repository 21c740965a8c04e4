"""Signs: a shape beside each word, so that colour is never all that tells things apart."""

from __future__ import annotations

from typing import Final

import numpy as np

from render.geometry import Path
from render.geometry.shapes import circle, line, rectangle
from render.proof.canvas import Canvas
from render.proof.palette import HELD, LOOK
from render.proof.pieces import Flag

COLOUR: Final = {Flag.LOOK: LOOK, Flag.HELD: HELD}
"""The colour of a flag's sign and word."""


def _warning() -> Path:
    """A triangle with an exclamation mark left open in it, 1 high, standing on the baseline."""
    corners = np.array([0j, 1.1 + 0j, 0.55 - 0.98j])
    bar = Path.polygon([0.49 - 0.68j, 0.52 - 0.28j, 0.58 - 0.28j, 0.61 - 0.68j])
    return Path.joined((Path.polygon(corners), bar, circle(0.55 - 0.15j, 0.065)))


def _stopped() -> Path:
    """A disc with a bar left open in it."""
    return Path.joined((circle(0.5 - 0.42j, 0.5), rectangle(0.2, -0.5, 0.6, 0.16)))


SHAPE: Final = {Flag.LOOK: _warning(), Flag.HELD: _stopped()}
"""The sign of a flag, 1 mm high or so, to be filled by the even-odd rule."""


SIGN_ADVANCE: Final = 1.25
"""How far a sign and the space after it reach, in em of the text beside it."""


def draw_sign(canvas: Canvas, flag: Flag, x: float, baseline: float, size: float) -> None:
    """Draw a flag's sign at x on a line of text of `size` mm to the em."""
    shape = SHAPE[flag]
    placed = Path(shape.commands, shape.points * size * 0.82 + complex(x, baseline))
    canvas.draw(placed, {"fill": COLOUR[flag], "fill_rule": "evenodd"})


def stroke(x: float, y: float, length: float) -> Path:
    """A level line, for the legend."""
    return line(complex(x, y), complex(x + length, y))
