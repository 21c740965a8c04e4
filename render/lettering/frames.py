"""Frames round a monogram, drawn by ourselves: a ring, two rings, a wreath, a dotted rim.

Each has the outer radius 1 about (0, 0) and leaves a round room free in its middle. Round shaped letters the
rings follow the shape instead.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np

from render.geometry import CLOSE, CUBIC, MOVE, Path
from render.geometry.shapes import circle
from render.lettering.contours import Points

Rim = Callable[[float], Path]
"""The outline of a shape, moved outward by so much (inward where negative)."""


@dataclass(frozen=True, slots=True, eq=False)
class Frame:
    """A frame.

    Attributes:
        filled: its areas, to be filled by the non-zero rule.
        lines: its middle lines, closed, to be followed.
        room: radius of the free room.
    """

    filled: Path
    lines: Path
    room: float


def _band(rim: Rim, outer: float, inner: float) -> Path:
    """The area between two outlines, the inner one run the other way round."""
    return Path.joined((rim(outer), _backward(rim(inner))))


def _backward(path: Path) -> Path:
    """Closed contours run the other way round."""
    paths = []
    for contour in path.contours():
        codes = contour.commands[1:]
        codes = codes[codes != CLOSE][::-1]
        paths.append(
            Path(
                np.concatenate(([MOVE], codes, [CLOSE])).astype(np.uint8),
                np.ascontiguousarray(contour.points[::-1]),
            )
        )
    return Path.joined(paths)


def ring(rim: Rim) -> Frame:
    """A single ring."""
    return Frame(_band(rim, 0.0, -0.055), rim(-0.0275), 0.86)


def double_ring(rim: Rim) -> Frame:
    """A stout ring with a fine one inside it."""
    filled = Path.joined((_band(rim, 0.0, -0.05), _band(rim, -0.09, -0.115)))
    return Frame(filled, Path.joined((rim(-0.025), rim(-0.1025))), 0.81)


DOTS: Final = 36
_DOT: Final = 0.034


def dots(rim: Rim) -> Frame:
    """Dots at even distances round the rim."""
    from render.lettering.contours import Contour  # noqa: F401

    places = _evenly(rim(-_DOT), DOTS)
    drawn = Path.joined(circle(complex(place), _DOT) for place in places)
    return Frame(drawn, drawn, 0.84)


def _evenly(path: Path, count: int) -> Points:
    """Places at even distances along a closed path, by its chords."""
    from render.lettering.letters import chords

    begins, ends = chords(path, 48)
    length = np.abs(ends - begins)
    at = np.concatenate(([0.0], np.cumsum(length)))
    wanted = (np.arange(count) + 0.5) * at[-1] / count
    k = np.clip(np.searchsorted(at, wanted, side="right") - 1, 0, length.size - 1)
    return np.asarray(begins[k] + (ends - begins)[k] * ((wanted - at[k]) / length[k]))


LEAVES: Final = 13
"""Pairs of leaves on either branch of the wreath."""
_STEM: Final = 0.865
"""Radius of the wreath's branches."""


def wreath(_rim: Rim) -> Frame:
    """Two branches that rise from the foot and nearly meet at the top, with leaves in pairs."""
    leaves = []
    for k in range(LEAVES):
        share = (k + 0.6) / LEAVES
        angle = math.radians(90 + 8 + share * 156)
        size = 0.205 * (1 - 0.42 * share)
        for lean, out in ((0.62, 0.012), (-0.7, -0.012)):
            at = cmath.rect(_STEM + out, angle)
            way = cmath.rect(1, angle + math.pi / 2 - lean)
            leaves.append(_leaf(at + way * 0.014, way, size * (1.0 if lean > 0 else 0.9)))
    tip = math.radians(90 + 8 + 160)
    leaves.append(_leaf(cmath.rect(_STEM, tip), cmath.rect(1, tip + math.pi / 2), 0.1))
    half = Path.joined(leaves)
    branch = _branch(math.radians(90 + 4), math.radians(90 + 8 + 157))
    mine = Path.joined((half, branch))
    other = _backward(Path(mine.commands, -mine.points.conj()))
    both = Path.joined((mine, other))
    return Frame(both, both, 0.68)


def _leaf(foot: complex, way: complex, size: float) -> Path:
    """A pointed leaf, stoutest before its middle."""
    shape = (0j, 0.22 + 0.26j, 0.62 + 0.24j, 1 + 0j, 0.62 - 0.2j, 0.22 - 0.2j, 0j)
    return Path.of((MOVE, CUBIC, CUBIC, CLOSE), [foot + way * size * p for p in shape])


def _branch(start: float, stop: float) -> Path:
    """A thin arc that ends in points; so thin that the leaves stand clear of it."""
    steps = np.linspace(start, stop, 25)
    waist = 0.009 * np.sqrt(np.sin(np.linspace(0, math.pi, 25)))
    outer = (_STEM + waist) * np.exp(1j * steps)
    inner = (_STEM - waist) * np.exp(1j * steps)
    return Path.joined((_through(np.concatenate((outer, inner[-2:0:-1]))),))


def _through(places: Points) -> Path:
    """A smooth closed curve through places (Catmull-Rom: E. Catmull, R. Rom, 1974)."""
    before, after = np.roll(places, 1), np.roll(places, -1)
    handle = (after - before) / 6
    points = np.stack((places + handle, after - np.roll(handle, -1), after), axis=1).reshape(-1)
    return Path.of((MOVE, *[CUBIC] * places.size, CLOSE), [places[0], *points])


FRAMES: Final = {"ring": ring, "double-ring": double_ring, "wreath": wreath, "dots": dots}
"""Frames by id."""


@lru_cache(maxsize=64)
def round_frame(name: str) -> Frame:
    """A frame on the unit circle."""
    return FRAMES[name](lambda grow: circle(0j, 1 + grow))
