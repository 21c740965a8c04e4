"""How the shapes of a blank lie to each other: within, clear of, across."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from render.geometry import CLOSE, CUBIC, LINE, MOVE, QUAD, Path
from render.geometry.curves import chords_needed, evaluate
from render.geometry.path import POINTS_PER_COMMAND
from render.model import Blank

_TOLERANCE_MM = 0.01
"""Shapes may stand over each other by this much, for arcs that came as curves."""


def ring(contour: Path) -> NDArray[np.complex128]:
    """The corners of one closed contour with its curves as chords, without repeating the first."""
    corners = [contour.points[:1]]
    for command, first in zip(contour.commands, contour.first_points(), strict=True):
        if command in (LINE, QUAD, CUBIC):
            curve = contour.points[first - 1 : first + POINTS_PER_COMMAND[command]]
            count = chords_needed(curve, _TOLERANCE_MM / 2)
            corners.append(evaluate(curve, np.arange(1, count + 1) / count))
    return np.concatenate(corners)


def winding(path: Path, at: NDArray[np.complex128]) -> NDArray[np.int64]:
    """How often the closed contours of `path` run round each point (sum of the angles, over a full turn)."""
    total = np.zeros(at.size)
    for contour in path.contours():
        corners = ring(contour)
        seen = corners[None, :] - at[:, None]
        with np.errstate(divide="ignore", invalid="ignore"):
            total += np.nan_to_num(np.angle(np.roll(seen, -1, axis=1) / seen)).sum(axis=1)
    return np.rint(total / (2 * np.pi)).astype(np.int64)


def is_within(inner: Path, outer: Path) -> bool:
    """Whether every corner of `inner`, drawn a hair nearer to its middle, lies in the region of `outer`."""
    return bool((winding(outer, _probes(inner)) != 0).all())


def is_clear(one: Path, other: Path) -> bool:
    """Whether no corner of either lies in the region of the other (touching is clear)."""
    return not (winding(one, _probes(other)) != 0).any() and not (winding(other, _probes(one)) != 0).any()


def _probes(path: Path) -> NDArray[np.complex128]:
    """Corners, and middles of long sides, drawn a hair nearer to the middle of the contour."""
    every = []
    for contour in path.contours():
        corners = ring(contour)
        points = np.concatenate((corners, (corners + np.roll(corners, -1)) / 2))
        inward = corners.mean() - points
        length = np.abs(inward)
        every.append(points + inward / np.maximum(length, 1e-9) * np.minimum(2 * _TOLERANCE_MM, length / 2))
    return np.concatenate(every)


def without_holes(region: Path, holes: Iterable[Path]) -> Path:
    """The region with each hole that lies in it cut out; holes that do not reach it change nothing.

    Raises:
        ValueError: a hole lies across the rim of the region.
    """
    parts = [region]
    for hole in holes:
        if is_clear(hole, region):
            continue
        if not is_within(hole, region):
            raise ValueError("a hole lies across the rim of the region: give the region a shape of its own")
        parts.append(reversed_contour(hole))
    return Path.joined(parts)


def reversed_contour(contour: Path) -> Path:
    """One closed contour drawn the other way round, so that the non-zero rule takes it away."""
    drawing = contour.commands[(contour.commands != MOVE) & (contour.commands != CLOSE)]
    commands = np.concatenate(([MOVE], drawing[::-1], [CLOSE])).astype(np.uint8)
    return Path(commands, contour.points[::-1].copy())


def check_blank(blank: Blank) -> None:
    """See that the shapes of a blank agree.

    Raises:
        ValueError: with what does not agree, in words.
    """
    box = blank.outline.bounds()
    if max(abs(box.x0), abs(box.y0)) > 2 * _TOLERANCE_MM:
        raise ValueError(f"outline: its box must begin at 0, 0, not at {box.x0:.3f}, {box.y0:.3f}")
    for hole in blank.holes:
        if not is_within(hole, blank.outline):
            raise ValueError("holes: a hole must lie within the outline")
    for fold in blank.folds:
        if not box.contains(fold.bounds(), 2 * _TOLERANCE_MM):
            raise ValueError("folds: a fold must lie within the outline")
    if not is_within(blank.markable, blank.outline):
        raise ValueError("markable: it must lie within the outline")
    if any(not _hole_is_free(hole, blank.markable) for hole in blank.holes):
        raise ValueError("markable: it must keep clear of the holes")
    body = blank.body
    if body and max(abs(box.width - body.drawn[0]), abs(box.height - body.drawn[1])) > _TOLERANCE_MM:
        raise ValueError(
            "outline: it must be the unrolled body, circumference × height: "
            f"{body.drawn[0]:.3f} × {body.drawn[1]:.3f}"
        )


def _hole_is_free(hole: Path, markable: Path) -> bool:
    """Whether the markable region (which may have the hole cut out of it) stays off the hole."""
    return (
        not (winding(markable, _probes(hole)) != 0).any()
        and not (winding(hole, _probes(markable)) != 0).any()
    )
