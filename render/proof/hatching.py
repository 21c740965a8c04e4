"""Hatching: slanting lines cut to a shape, computed here so that a page needs no clipping."""

from __future__ import annotations

import numpy as np

from render.geometry import LINE, MOVE, Path
from render.geometry.curves import chords_needed, evaluate
from render.geometry.path import CLOSE, POINTS_PER_COMMAND

CHORD_TOLERANCE_MM = 0.02
"""How far the hatched polygon may lie from the shape's curves: less than is seen."""

_SLANT = np.exp(-0.25j * np.pi)


def hatching(shape: Path, spacing: float) -> Path:
    """Lines from bottom left to top right over a closed shape (even-odd rule), `spacing` mm apart."""
    begins, ends = _edges(shape)
    if not begins.size:
        return Path.empty()
    begins, ends = begins / _SLANT, ends / _SLANT  # turned so that the lines run along x
    low, high = min(begins.imag.min(), ends.imag.min()), max(begins.imag.max(), ends.imag.max())
    points: list[complex] = []
    for y in np.arange(low + spacing / 2, high, spacing):
        crosses = (begins.imag <= y) != (ends.imag <= y)
        b, e = begins[crosses], ends[crosses]
        xs = np.sort(b.real + (y - b.imag) / (e.imag - b.imag) * (e.real - b.real))
        points += [complex(x, y) for x in xs[: xs.size // 2 * 2]]
    pool = np.array(points, np.complex128) * _SLANT
    return Path(np.tile(np.array([MOVE, LINE], np.uint8), pool.size // 2), pool)


def _edges(shape: Path) -> tuple[np.ndarray, np.ndarray]:
    """Begins and ends of the straight edges that stand for the shape's contours, each closed."""
    begins, ends = [], []
    for contour in shape.contours():
        corners = _corners(contour)
        begins.append(corners)
        ends.append(np.roll(corners, -1))
    if not begins:
        return np.empty(0, np.complex128), np.empty(0, np.complex128)
    return np.concatenate(begins), np.concatenate(ends)


def _corners(contour: Path) -> np.ndarray:
    """One contour's points, curves replaced by chords."""
    parts = [contour.points[:1]]
    at = 1
    for command in contour.commands[1:].tolist():
        if command == CLOSE:
            continue
        count = int(POINTS_PER_COMMAND[command])
        curve = contour.points[at - 1 : at + count]
        steps = chords_needed(curve, CHORD_TOLERANCE_MM)
        parts.append(evaluate(curve, np.arange(1, steps + 1) / steps))
        at += count
    return np.concatenate(parts)
