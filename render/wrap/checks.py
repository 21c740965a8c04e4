"""What can be wrong with artwork on a round thing: too wide, on the handle, out of focus, too heavy."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from render.geometry import Box, Path
from render.geometry.solids import Profile
from render.geometry.subdivide import subdivided
from render.model import KeepOut, Problem, Rotary, RotaryKind, RoundBody, Severity
from render.units import format_mm
from render.wrap.figures import WrapNumbers
from render.wrap.seams import TURN, extents
from render.wrap.turning import Floats, level_tilt

_SLACK_MM: Final = 1e-6
LEAN_LOOK: Final = 10.0
"""Degrees by which an angle may be off before someone should look: common practice, no source."""
STEEP: Final = 45.0
"""Degrees by which a surface may slope away under the beam: common practice, no source."""
SLENDER: Final = 6.0
"""Lengths in diameters beyond which a thing held at one end sags: common practice, no source."""


@dataclass(frozen=True, slots=True)
class Laid:
    """What is burned on one piece, on the surface, and its box: radians and mm; at 0 if nothing is."""

    piece: str
    path: Path
    box: Box

    @classmethod
    def of(cls, piece: str, path: Path) -> Laid:
        """With the exact box of the path."""
        return cls(piece, path, path.bounds() if path else Box(0.0, 0.0, 0.0, 0.0))


def find_problems(
    laid: Laid, body: RoundBody, profile: Profile, numbers: WrapNumbers, focus: float
) -> tuple[Problem, ...]:
    """Everything that should be known about one piece on its thing.

    What is wider than the turn less the seam, leaves the height that may be marked, or reaches into what must
    stay free is a STOP problem; what lies across the seam, out of focus or far from true is a LOOK.
    """
    if not laid.path:
        return ()
    box = laid.box
    found = [
        *_round_it(laid.piece, box, body),
        *_along_it(laid.piece, box, body),
        *_kept_free(laid, body),
        *_shape(laid.piece, box, profile, numbers, focus),
    ]
    return tuple(found)


def _problem(severity: Severity, code: str, message: str, hint: str, piece: str) -> Problem:
    return Problem(severity, code, message, hint, piece=piece)


def _round_it(piece: str, box: Box, body: RoundBody) -> Iterator[Problem]:
    """Too wide, or across the seam."""
    turn = body.circumference
    to_mm = turn / TURN
    wide, free = box.width * to_mm, turn + body.overlap - body.seam
    if wide > free + _SLACK_MM:
        yield _problem(
            Severity.STOP,
            "wider-than-the-turn",
            f"The artwork is {format_mm(wide, 2)} mm wide, but only {format_mm(free, 2)} mm are free round "
            f"the thing (circumference {format_mm(turn, 2)} mm less a seam of {format_mm(body.seam, 2)} mm).",
            "Use a narrower design or a thicker blank, and measure the circumference with a tape.",
            piece,
        )
    elif box.x0 * to_mm < body.seam / 2 - _SLACK_MM or box.x1 * to_mm > turn + body.overlap - (
        body.seam / 2 - _SLACK_MM
    ):
        yield _problem(
            Severity.LOOK,
            "across-the-seam",
            f"The artwork lies across the seam: round the thing it reaches from "
            f"{format_mm(box.x0 * to_mm, 2)} to {format_mm(box.x1 * to_mm, 2)} mm, and the seam is at 0 and "
            f"{format_mm(turn, 2)} mm.",
            "Move it round the thing, away from the seam.",
            piece,
        )


def _along_it(piece: str, box: Box, body: RoundBody) -> Iterator[Problem]:
    if box.y0 >= -_SLACK_MM and box.y1 <= body.height + _SLACK_MM:
        return
    yield _problem(
        Severity.STOP,
        "off-the-height",
        f"The artwork is {format_mm(box.height, 2)} mm high and reaches from {format_mm(box.y0, 2)} to "
        f"{format_mm(box.y1, 2)} mm along the thing, which may be marked from 0 to "
        f"{format_mm(body.height, 2)} mm.",
        "Make the design lower or move it; beyond that height the surface is not free.",
        piece,
    )


def _kept_free(laid: Laid, body: RoundBody) -> Iterator[Problem]:
    reach = extents(laid.path) if body.keep_outs else ()
    for keep_out in body.keep_outs:
        if _reaches_into(laid.path, reach, keep_out):
            yield _problem(
                keep_out.severity,
                f"on-the-{keep_out.what}".replace(" ", "-"),
                f"The artwork reaches into what is kept free for the {keep_out.what}: "
                f"{format_mm(keep_out.start, 1)}° to {format_mm(keep_out.end, 1)}° round the thing, "
                f"{format_mm(keep_out.top, 1)} to {format_mm(keep_out.bottom, 1)} mm down from the top of "
                "the drawing.",
                "Move the artwork or make it smaller.",
                laid.piece,
            )


def _reaches_into(path: Path, reach: tuple[Floats, ...], keep_out: KeepOut) -> bool:
    """Whether a contour, filled if it is closed, overlaps a keep-out; its `reach` settles it for most."""
    low, high, top, bottom = reach
    start, end = math.radians(keep_out.start), math.radians(keep_out.end)
    level = (top < keep_out.bottom - _SLACK_MM) & (bottom > keep_out.top + _SLACK_MM)
    for turns in (-TURN, 0.0, TURN):
        near = level & (low < end + turns - 1e-9) & (high > start + turns + 1e-9)
        if near.any():
            contours = list(path.contours())
            box = (start + turns, keep_out.top, end + turns, keep_out.bottom)
            if any(_overlaps(contours[i], box) for i in np.flatnonzero(near)):
                return True
    return False


def _overlaps(contour: Path, box: tuple[float, float, float, float]) -> bool:
    """Whether a contour's line, or where it is closed its inside, reaches into a box of radians and mm."""
    from shapely import LineString, Polygon
    from shapely import box as rectangle

    flat = subdivided(contour, 0.001).points
    corners = np.stack((flat.real, flat.imag), axis=1)
    shape = Polygon(corners).buffer(0) if contour.is_closed() and flat.size > 3 else LineString(corners)
    inner = rectangle(box[0] + 1e-6, box[1] + 1e-6, box[2] - 1e-6, box[3] - 1e-6)
    return bool(shape.intersects(inner))


def _shape(piece: str, box: Box, profile: Profile, numbers: WrapNumbers, focus: float) -> Iterator[Problem]:
    """Out of focus, leaning, or on a part of the surface that slopes away from the beam."""
    if focus and numbers.focus_change > 2 * focus:
        yield _problem(
            Severity.LOOK,
            "out-of-focus",
            f"The surface rises and falls by {format_mm(numbers.focus_change, 2)} mm under the artwork, and "
            f"the beam stays sharp over {format_mm(2 * focus, 2)} mm.",
            f"Tilt the rotary until the surface lies level: {level_tilt(profile):.1f}° (key tilt of the "
            "machine's [rotary]), or mark less of the height.",
            piece,
        )
    if numbers.distortion.angle[0] > LEAN_LOOK:
        yield _problem(
            Severity.LOOK,
            "leaning",
            f"The thing's shape turns angles by up to {numbers.distortion.angle[0]:.0f}°, and lengths are "
            f"off by up to {100 * numbers.distortion.length[0]:.0f} %.",
            "Make the artwork narrower, or lay it as a flat label.",
            piece,
        )
    inside = (profile.s[:-1] < box.y1 - _SLACK_MM) & (profile.s[1:] > box.y0 + _SLACK_MM)
    slope = np.degrees(np.arcsin(np.clip(profile.slopes, -1, 1))) + numbers.tilt
    steep = np.abs(slope[inside]).max(initial=0.0)
    if steep > STEEP:
        upright = steep > 89
        yield _problem(
            Severity.STOP if upright else Severity.LOOK,
            "too-steep",
            f"Under the artwork the surface slopes by {steep:.0f}° away from the beam.",
            "Mark a part that lies more level, or tilt the rotary.",
            piece,
        )


def body_problems(body: RoundBody, profile: Profile, rotary: Rotary) -> tuple[Problem, ...]:
    """What the device may not take: once for an order, whatever is marked."""
    thick, thin = (2 * float(f(profile.r)) for f in (np.max, np.min))
    found = []
    limits = (
        (rotary.longest, body.length, "longer-than-the-rotary", "long", "mm", 1),
        (rotary.thickest, thick, "thicker-than-the-rotary", "thick", "mm", 1),
        (rotary.heaviest, body.weight, "heavier-than-the-rotary", "heavy", "g", 1),
        (-rotary.thinnest, -thin, "thinner-than-the-rotary", "thick", "mm", -1),
    )
    for limit, value, code, word, unit, sign in limits:
        if limit and value > limit:
            least = "at most" if sign > 0 else "at least"
            found.append(
                _problem(
                    Severity.STOP if code != "heavier-than-the-rotary" else Severity.LOOK,
                    code,
                    f"The thing is {format_mm(sign * value, 1)} {unit} {word}, and the rotary takes {least} "
                    f"{format_mm(sign * limit, 1)} {unit}.",
                    "Use another rotary, or support the far end so that it neither sags nor lifts.",
                    "",
                )
            )
    length = body.length or body.height
    if rotary.kind is RotaryKind.CHUCK and length > SLENDER * thin:
        found.append(
            _problem(
                Severity.LOOK,
                "may-sag",
                f"The thing is {length / thin:.0f} times as long as it is thick: held at one end it sags.",
                "Support its far end, and turn it once round with the beam off while you watch its height.",
                "",
            )
        )
    return tuple(found)
