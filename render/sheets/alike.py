"""Whether a file of another format holds the same contours as a sheet, within a stated tolerance.

Nothing here is shared with the writers; a reader gives contours, this module compares them with what was
meant.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from render.model import Sheet
from render.sheets.checks import ORDER, Finding

Floats = NDArray[np.float64]

_FINE_MM: Final = 0.001
"""How far the chords of what was meant leave its curves."""
ROUNDING_MM: Final = 0.004
"""What rounding to micrometres and chords may differ by, in any format."""
_BINOMIAL: Final = {1: (1, 1), 2: (1, 2, 1), 3: (1, 3, 3, 1)}


@dataclass(frozen=True, slots=True, eq=False)
class Traced:
    """A contour on the sheet: points in mm, y down, shape (n, 2), joined by straight lines."""

    operation: str
    closed: bool
    points: Floats


def meant_contours(sheet: Sheet) -> Iterator[tuple[str, Traced]]:
    """What a sheet means, in the order of the files: the id of the piece and each of its contours."""
    for operation in ORDER:
        for placement in sheet.placements:
            for mark in placement.artwork.marks:
                if mark.operation == operation and mark.path.commands.size:
                    mm = placement.path_um(mark.path) / 1000.0
                    for trace in _traces(mark.path.commands.tolist(), mm, operation):
                        yield placement.artwork.piece, trace


def _traces(commands: list[int], mm: Floats, operation: str) -> Iterator[Traced]:
    rows: list[Floats] = []
    at = 0
    for n, command in enumerate(commands):
        if command == 0:
            if sum(map(len, rows)) > 1:
                yield Traced(operation, False, np.concatenate(rows))
            rows = [mm[at : at + 1]]
        elif command == 4:
            whole = np.concatenate(rows)
            if len(whole) > 1:
                yield Traced(operation, True, whole)
            rows = []
        else:
            rows.append(bezier(mm[at - 1 : at + command])[1:])
        at += (1, 1, 2, 3, 0)[command]
        if n == len(commands) - 1 and sum(map(len, rows)) > 1:
            yield Traced(operation, False, np.concatenate(rows))


def bezier(control: Floats) -> Floats:
    """Points along one Bézier curve, control points of shape (2 to 4, 2), close enough to compare."""
    degree = len(control) - 1
    if degree == 1:
        return control
    bend = np.abs(control[2:] - 2 * control[1:-1] + control[:-2]).max()
    steps = int(np.ceil(np.sqrt(degree * (degree - 1) * bend / (5.6 * _FINE_MM)))) + 1
    t = np.linspace(0.0, 1.0, steps + 1)[:, None]
    terms = [k * t**i * (1 - t) ** (degree - i) for i, k in enumerate(_BINOMIAL[degree])]
    return np.asarray(sum(term * point for term, point in zip(terms, control, strict=True)))


def compared_contours(found: Sequence[Traced], sheet: Sheet, tolerance: float) -> list[Finding]:
    """Every difference of more than `tolerance` mm (and :data:`ROUNDING_MM`) between a file and its sheet."""
    findings: list[Finding] = []
    meant = list(meant_contours(sheet))
    if len(meant) != len(found):
        message = f"It holds {len(found)} contours instead of {len(meant)}."
        return [Finding("contours", message)]
    for (piece, wanted), read in zip(meant, found, strict=True):
        if read.operation != wanted.operation:
            message = f"A contour of piece {piece} is to {read.operation} instead of to {wanted.operation}."
            findings.append(Finding("operation", message, piece))
        elif read.closed != wanted.closed:
            findings.append(
                Finding("closed", f"A contour of piece {piece} is open or closed wrongly.", piece)
            )
        else:
            off = apart(read, wanted)
            if not off <= tolerance + ROUNDING_MM:
                message = f"A contour of piece {piece} is off by {off:.3f} mm."
                findings.append(Finding("shape", message, piece))
    return findings


def apart(first: Traced, second: Traced) -> float:
    """The largest distance in mm from a corner of either to the other (Hausdorff's, up to their chords).

    Open contours must also start and end at the same places.
    """
    a, b = _whole(first), _whole(second)
    ends = 0.0 if first.closed else float(np.abs(a[[0, -1]] - b[[0, -1]]).max())
    return max(ends, _from(a, b), _from(b, a))


def _whole(trace: Traced) -> Floats:
    return np.concatenate((trace.points, trace.points[:1])) if trace.closed else trace.points


def _from(points: Floats, line: Floats) -> float:
    """The largest distance of the points from the line."""
    import shapely

    chords: Any = shapely.linestrings(np.stack((line[:-1], line[1:]), axis=1))
    tree = shapely.STRtree(chords)
    _, off = tree.query_nearest(shapely.points(points), all_matches=False, return_distance=True)
    return float(off.max(initial=0.0))
