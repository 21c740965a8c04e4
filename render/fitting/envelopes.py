"""Envelopes: straight lettering bent so that its tops and feet follow curves.

The lettering is set straight in a part of its area; what the rest of the height is for is the bend. Over the
width of the ink, u from 0 to 1, the tops of the capitals move up by rise × top(u) and the baseline down by
rise × foot(u); what lies between moves in proportion, what reaches beyond goes on in the same way. The forms
are common practice in sign writing, no source; the curves are parabolas and one sine.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from render.geometry import Affine, Box, Path
from render.geometry.bending import bent

Floats = NDArray[np.float64]
Points = NDArray[np.complex128]
Curve = Callable[[Floats], Floats]


@dataclass(frozen=True, slots=True)
class Envelope:
    """An envelope.

    Attributes:
        top: by how much of the rise the tops move up.
        foot: by how much of it the baseline moves down.
        above: the share of the rise that is kept free above the straight lettering.
    """

    title: str
    top: Curve
    foot: Curve
    above: float


def _hill(u: Floats) -> Floats:
    """0 at the ends, 1 in the middle."""
    return 4 * u * (1 - u)


def _wave(u: Floats) -> Floats:
    return np.asarray(np.sin(2 * math.pi * u) / 2)


ENVELOPES: Final = {
    "arch": Envelope("all letters on an arch", _hill, lambda u: -_hill(u), 1.0),
    "valley": Envelope("all letters in a hollow", lambda u: -_hill(u), _hill, 0.0),
    "bridge": Envelope(
        "level tops, feet on an arch", lambda u: np.zeros_like(u), lambda u: 1 - _hill(u), 0.0
    ),
    "bulge": Envelope("tallest in the middle", lambda u: _hill(u) / 2, lambda u: _hill(u) / 2, 0.5),
    "pinch": Envelope("tallest at the ends", lambda u: (1 - _hill(u)) / 2, lambda u: (1 - _hill(u)) / 2, 0.5),
    "flag": Envelope("waving", _wave, lambda u: -_wave(u), 0.5),
    "taper": Envelope("from tall to low", lambda u: (1 - u) / 2, lambda u: (1 - u) / 2, 0.5),
    "fan": Envelope("level feet, tops on an arch", _hill, lambda u: np.zeros_like(u), 1.0),
}
"""The envelopes by id."""


def straight_room(area: Box, envelope: str, bend: float) -> Box:
    """The part of an area's box in which the lettering is set straight."""
    rise = bend * area.height
    above = ENVELOPES[envelope].above * rise
    return Box(area.x0, area.y0 + above, area.x1, area.y1 - (rise - above))


def in_envelope(path: Path, area: Box, envelope: str, bend: float, tops: float, baseline: float) -> Path:
    """Straight lettering bent into an envelope.

    Args:
        path: the lettering as it was set in :func:`straight_room`, mm.
        area: the box of the whole area.
        envelope: id of the envelope.
        bend: how much it bends, as a share of the area's height.
        tops: y of the tops of the capitals, of the first line.
        baseline: y of the baseline, of the last line.

    What would reach beyond the area, as a deep descender where the baseline goes down, makes all of it
    smaller.
    """
    form, rise = ENVELOPES[envelope], bend * area.height
    ink = path.bounds()

    def place(points: Points) -> Points:
        x, y = points.real, points.imag
        u = np.clip((x - ink.x0) / ink.width, -0.1, 1.1)
        v = (y - tops) / (baseline - tops)
        return np.asarray(x + 1j * (y - (1 - v) * rise * form.top(u) + v * rise * form.foot(u)))

    found = bent(path, place)
    box = found.bounds()
    centre = area.centre
    over = max(
        (centre.y - box.y0) / (area.height / 2), (box.y1 - centre.y) / (area.height / 2),
        (centre.x - box.x0) / (area.width / 2), (box.x1 - centre.x) / (area.width / 2),
    )  # fmt: skip
    if over <= 1:
        return found
    return found.transformed(
        Affine(1 / over, 0, 0, 1 / over, centre.x * (1 - 1 / over), centre.y * (1 - 1 / over))
    )
