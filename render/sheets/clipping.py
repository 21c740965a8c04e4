"""Paths cut off at upright lines, exactly: curves stay curves."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from render.geometry import CLOSE, CUBIC, LINE, MOVE, QUAD, Path
from render.geometry.curves import evaluate, split_at
from render.sheets.offset import segments

Points = NDArray[np.complex128]

_CODE = {2: LINE, 3: QUAD, 4: CUBIC}
_END = 1e-9
_SLIVER_MM = 1e-3


def crossings(curve: Points, x: float) -> list[float]:
    """Where inside (0, 1) one line or Bézier crosses the upright line at `x`, in order."""
    p = curve.real - x
    terms = {
        2: lambda: [p[1] - p[0], p[0]],
        3: lambda: [p[0] - 2 * p[1] + p[2], 2 * (p[1] - p[0]), p[0]],
        4: lambda: [
            -p[0] + 3 * p[1] - 3 * p[2] + p[3],
            3 * (p[0] - 2 * p[1] + p[2]),
            3 * (p[1] - p[0]),
            p[0],
        ],
    }[curve.size]()
    if p.min() > 0 or p.max() < 0:
        return []
    scale = max(abs(t) for t in terms) or 1.0
    roots = np.roots(np.where(np.abs(terms) < 1e-12 * scale, 0.0, terms))
    real = roots.real[np.abs(roots.imag) < 1e-7]
    return sorted({float(t) for t in real if _END < t < 1 - _END})


def _parts(contour: Path, low: float, high: float) -> list[tuple[Points, bool]]:
    """The segments of a contour split at both lines, and whether each lies between them."""
    found = []
    for segment in segments(contour):
        rest, done = segment, 0.0
        cuts = sorted({t for x in (low, high) for t in crossings(segment, x)})
        for t in cuts:
            left, rest = split_at(rest, (t - done) / (1 - done))
            found.append(left)
            done = t
        found.append(rest)
    middles = [float(evaluate(part, np.array([0.5]))[0].real) for part in found]
    return [(part, low <= middle <= high) for part, middle in zip(found, middles, strict=True)]


def _path(parts: list[Points], *, closed: bool) -> Path:
    commands, points = [MOVE], [parts[0][:1]]
    for part in parts:
        if abs(part[0] - points[-1][-1]) > _END:
            commands.append(LINE)
            points.append(part[:1])
        commands.append(_CODE[part.size])
        points.append(part[1:])
    if closed:
        commands.append(CLOSE)
    return Path(np.array(commands, np.uint8), np.concatenate(points))


def between(path: Path, low: float, high: float) -> Path:
    """What of a filled area lies between two upright lines, as closed contours.

    Sides along the lines are drawn where the area was cut off (I. Sutherland, G. Hodgman, "Reentrant polygon
    clipping", 1974); by the non-zero rule the filling is what it was.
    """
    kept = []
    for contour in path.contours():
        parts = _parts(contour, low, high)
        if all(inside for _, inside in parts):
            kept.append(contour)
            continue
        left = [part for part, inside in parts if inside]
        if left and np.ptp(np.concatenate(left).real) > _SLIVER_MM:
            kept.append(_path(left, closed=True))
    return Path.joined(kept)


def lines_between(path: Path, low: float, high: float) -> Path:
    """What of lines lies between two upright lines; contours that were cut off come out open."""
    kept = []
    for contour in path.contours():
        closed = contour.commands[-1] == CLOSE
        parts = _parts(contour, low, high)
        if all(inside for _, inside in parts):
            kept.append(contour)
            continue
        runs: list[list[Points]] = []
        before = False
        for part, inside in parts:
            if inside:
                runs[-1].append(part) if before else runs.append([part])
            before = inside
        if closed and len(runs) > 1 and parts[0][1] and parts[-1][1]:
            runs[0] = runs.pop() + runs[0]
        kept += [_path(run, closed=False) for run in runs]
    return Path.joined(kept)
