"""Which way round contours run."""

from __future__ import annotations

import numpy as np

from render.geometry.bending import curves_of
from render.geometry.path import CLOSE, LINE, MOVE, Path


def backward(path: Path) -> Path:
    """Every contour run the other way, closed ones from the same place."""
    turned = []
    for contour in path.contours():
        codes = contour.commands[(contour.commands != MOVE) & (contour.commands != CLOSE)][::-1]
        points, close = contour.points, [CLOSE] if contour.commands[-1] == CLOSE else []
        if close and points[-1] != points[0]:
            points, codes = np.append(points, points[0]), np.append(np.uint8(LINE), codes)
        commands = np.concatenate(([MOVE], codes, close)).astype(np.uint8)
        turned.append(Path(commands, np.ascontiguousarray(points[::-1])))
    return Path.joined(turned)


def signed_area(path: Path) -> float:
    """Area of closed contours, mm², positive where they run clockwise as seen (y down): Green's theorem."""
    c = curves_of(path).controls
    x, y = c.real, c.imag
    weights = np.array(((0, 6, 3, 1), (-6, 0, 3, 3), (-3, -3, 0, 6), (-1, -3, -6, 0))) / 20
    return float(np.einsum("ni,ij,nj->", x, weights, y))
