"""Dots and accents that stand too close to their letter, moved away from it as they are."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import numpy as np

from render.lettering.across import Outline
from render.lettering.contours import Contour, Segments

_OVER: Final = 1.002
_ROUNDS: Final = 4
_LONG: Final = 1000.0


def marks_apart(contours: Sequence[Contour], least: float, tolerance: float) -> list[Contour]:
    """The contours, all parts above the largest one moved up, and those below it down, as one each.

    They are moved by what they lack of the least gap to it, and not at all where they lack nothing. Parts
    beside it stay, and so do marks that are joined to it.

    Args:
        contours: united, outer ones counter-clockwise (y up).
        least: the gap.
        tolerance: how far chords may lie from their curves.
    """
    if sum(area > 0 for area in Segments.of(contours).areas().tolist()) < 2:
        return list(contours)
    outline = Outline.of(contours, tolerance, _LONG * least)
    rings = [outline.begin[outline.ring == k] for k in range(len(contours))]
    areas = [0.0 if r.size < 3 else float((r.conj() * np.roll(r, -1)).imag.sum()) / 2 for r in rings]
    main = int(np.argmax(areas))
    low, high = float(rings[main].imag.min()), float(rings[main].imag.max())
    middle = [float(ring.imag.min() + ring.imag.max()) / 2 if ring.size else low for ring in rings]
    shifts = np.zeros(len(contours), np.complex128)
    for way, mine in (
        (1j, [k for k, y in enumerate(middle) if y > high]),
        (-1j, [k for k, y in enumerate(middle) if y < low]),
    ):
        if mine:
            shifts[mine] = way * _missing(rings[main], [rings[k] for k in mine], way, least)
    return [c if by == 0 else c.moved(by) for c, by in zip(contours, shifts.tolist(), strict=True)]


def _missing(letter: Any, marks: Sequence[Any], way: complex, least: float) -> float:
    """How far marks are to be moved that way, in whole units, so that they keep the least gap."""
    import shapely

    def drawn(ring: Any, by: complex) -> Any:
        closed = np.append(ring, ring[0]) + by
        return shapely.LineString(np.ascontiguousarray(closed).view(np.float64).reshape(-1, 2))

    stands, moved = drawn(letter, 0j), 0.0
    for _ in range(_ROUNDS):
        far = min(float(stands.distance(drawn(ring, moved * way))) for ring in marks)
        if far >= least:
            break
        moved += float(np.ceil(_OVER * least - far))
    return moved
