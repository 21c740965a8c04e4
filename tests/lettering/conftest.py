"""References for outlines: the region that contours cover by the non-zero rule, told by another engine."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import pytest

from render.lettering.contours import Contour, Segments, scan

CHORDS = 32
SCALE = 1024


def _loops(contours: Sequence[Contour]) -> list[np.ndarray]:
    segments = Segments.of(contours)
    begins, _ = segments.edges(CHORDS)
    return np.split(begins, np.cumsum(segments.sizes * CHORDS)[:-1]) if len(contours) else []


@pytest.fixture(scope="session")
def clipped() -> Callable[[Sequence[Contour]], float]:
    """Area by the non-zero rule, by Clipper (PyPI pyclipper 1.x: A. Johnson's polygon clipping) on chords."""
    import pyclipper

    def area(contours: Sequence[Contour]) -> float:
        clipper, added = pyclipper.Pyclipper(), 0
        for loop in _loops(contours):
            corners = np.rint(loop * SCALE).view(np.float64).reshape(-1, 2).astype(np.int64)
            try:
                clipper.AddPath(corners.tolist(), pyclipper.PT_SUBJECT, True)
                added += 1
            except pyclipper.ClipperException:  # a contour without area
                continue
        if not added:
            return 0.0
        united = clipper.Execute(pyclipper.CT_UNION, pyclipper.PFT_NONZERO, pyclipper.PFT_NONZERO)
        return sum(pyclipper.Area(path) for path in united) / SCALE**2

    return area


@pytest.fixture(scope="session")
def astray() -> Callable[[Sequence[Contour], Sequence[Contour]], float]:
    """Share of a drawing, along 199 lines across, that is covered otherwise than once by its union."""

    def wrong(drawn: Sequence[Contour], united: Sequence[Contour]) -> float:
        edges = Segments.of(drawn).edges(CHORDS)
        if not edges[0].size or not np.ptp(edges[0].imag):
            return float(len(united))
        heights = np.linspace(edges[0].imag.min(), edges[0].imag.max(), 201)[1:-1] + 0.0123
        nothing = np.empty(0, np.complex128)
        covered = scan(edges, (nothing, nothing), heights).sum()
        return float(scan(edges, Segments.of(united).edges(CHORDS), heights).sum() / max(covered, 1.0))

    return wrong
