"""Stamps: letters and borders left standing, on a shoulder that is scored round them.

Rubber letters that rise from the ground like thin walls bend and wear off. So they are to stand on a wider
foot. The depth of an engraving is a setting of the machine, one for all that is engraved; what can be told
apart there is the operation. Therefore the band round everything that stands is not engraved with the ground
but **scored**: lines follow the edge, at most a spot apart, and the machine is told to burn them lighter than
the ground. So the foot is a step of its own depth (about half that of the ground is common practice, no
source: try it on an offcut). The first line keeps half a spot away from the edge, so that the face keeps its
size.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Final

from render.geometry import Path
from render.geometry.offset import Join, offset
from render.model import LetterRequest, Mark, Operation, Problem, Severity
from render.units import format_mm

LEAST_PITCH_MM: Final = 0.05
"""Distance of the score lines where the machine's spot is not known to be larger."""

_RIM_MM: Final = 0.3


def shouldered(
    ground: Path, standing: Sequence[Path], width: float, spot: float, outline: Path | None
) -> list[Mark]:
    """The ground to engrave, and the lines to score on the shoulder of what stands in it.

    Args:
        ground: closed, mm; its holes are left standing too, such as a border.
        standing: outlines of the lettering, without overlaps.
        width: of the shoulder, mm.
        spot: of the beam, mm.
        outline: of the stamp: where the ground reaches to its rim, there is no shoulder.
    """
    contours = [*ground.contours(), *(c for path in standing for c in path.contours())]
    rims = {k for k, contour in enumerate(contours) if outline is not None and at_rim(contour, outline)}
    beyond = [
        offset((contour,), width + 1.0, Join.MITRE)[0][0] if k in rims else contour
        for k, contour in enumerate(contours)
    ]
    inner = [path for path, source in offset(beyond, -width) if source not in rims]
    inner += [contours[k] for k in sorted(rims)]
    lines: list[Path] = []
    for away in line_places(width, spot):
        lines += [path for path, source in offset(beyond, -away) if source not in rims]
    return [Mark(Operation.ENGRAVE, Path.joined(inner)), Mark(Operation.SCORE, Path.joined(lines))]


def line_places(width: float, spot: float) -> tuple[float, ...]:
    """How far from the edge the score lines of a shoulder lie: half a spot from both sides, no gaps."""
    spot = min(max(spot, LEAST_PITCH_MM), width)
    steps = math.ceil((width - spot) / spot - 1e-9)
    return tuple(spot / 2 + k * (width - spot) / max(steps, 1) for k in range(steps + 1))


def shoulder_notes(requests: Iterable[LetterRequest], spot: float) -> tuple[Problem, ...]:
    """What a person must set at the machine where something stands on a shoulder, once for each width."""
    widths = {request.shaping.shoulder for request in requests if request.shaping}
    return tuple(_note(width, spot) for width in sorted(widths) if width)


def _note(width: float, spot: float) -> Problem:
    count = len(line_places(width, spot))
    message = (
        f"Letters and border stand on a shoulder {format_mm(width, 2)} mm wide: "
        f"{'one line is' if count == 1 else f'{count} lines are'} scored round them, inside which nothing is "
        "engraved."
    )
    hint = (
        "Set the score lighter than the engraving, so that the band ends up between face and ground; "
        "try both on an offcut. Rubber burns with heavy smoke: draw it off, and stay beside it."
    )
    return Problem(Severity.NOTE, "shoulder", message, hint)


def at_rim(contour: Path, outline: Path) -> bool:
    """Whether a contour runs along the stamp's own rim."""
    a, b = contour.bounds(), outline.bounds()
    return max(abs(a.x0 - b.x0), abs(a.y0 - b.y0), abs(a.x1 - b.x1), abs(a.y1 - b.y1)) < _RIM_MM
