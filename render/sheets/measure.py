"""Boxes, areas, lengths and corners of paths in a pool, for all of them at once.

Part of the verification: own formulas, in micrometres, apart from those by which the artwork was made.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from render.sheets.pathpool import TAKES, C, M, Pool, Q, Z

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

FLAT_UM: Final = 1.0
"""How far the chords of :func:`corners` may lie from their curve, micrometres."""


@dataclass(frozen=True, slots=True)
class Segments:
    """One row for each command that draws.

    Attributes:
        degree: 1, 2 or 3.
        control: x and y of four control points, shape (n, 4, 2); a line uses the first and last, a quadratic
            the first, second and last.
        path: to which path of the pool it belongs.
        contour: number of its contour.
    """

    degree: Ints
    control: Floats
    path: Ints
    contour: Ints


def segments(pool: Pool) -> Segments:
    """All segments of a pool; Z draws the line home."""
    codes, points = pool.commands, pool.points.astype(np.float64)
    after = np.cumsum(TAKES[codes])
    at = after - TAKES[codes]
    contour = np.cumsum(codes == M) - 1
    home = at[codes == M][contour]
    end = np.where(codes == Z, home, after - 1)
    path = np.searchsorted(pool.command_at, np.arange(codes.size), "right") - 1
    draws = np.flatnonzero(codes != M)
    code, first, last = codes[draws], end[draws - 1], end[draws]
    second = np.where(code >= Q, at[draws], first)
    third = np.where(code == C, at[draws] + 1, last)
    second[code == Z], third[code == Z] = first[code == Z], last[code == Z]
    third[code == Q] = second[code == Q]
    degree = np.array([0, 1, 2, 3, 1])[code]
    control = np.stack([points[i] for i in (first, second, third, last)], axis=1)
    return Segments(degree, control, path[draws], contour[draws])


def cubics(part: Segments) -> Floats:
    """All segments as cubics, shape (n, 4, 2): the degree raised (G. Farin, 5th ed., 5.1)."""
    c = part.control.copy()
    line, quad = part.degree == 1, part.degree == 2
    c[line, 1] = (2 * c[line, 0] + c[line, 3]) / 3
    c[line, 2] = (c[line, 0] + 2 * c[line, 3]) / 3
    middle = part.control[quad, 1]
    c[quad, 1] = (c[quad, 0] + 2 * middle) / 3
    c[quad, 2] = (2 * middle + c[quad, 3]) / 3
    return c


def signed_areas(part: Segments, paths: int) -> Floats:
    """Signed area of each path, µm²: Green's theorem, exact but for float rounding.

    With c_ij the cross product of control points i and j, twice the area under the chord is c_03; a quadratic
    adds (c_01 + c_13 - c_03) 2/3 to that, a cubic (6 c_01 + 3 c_02 - 9 c_03 + 3 c_12 + 3 c_13 + 6 c_23) / 10
    (derived by integrating x dy - y dx over the Bernstein form).
    """
    if not part.degree.size:
        return np.zeros(paths)
    near = np.searchsorted(part.path, np.arange(paths))  # a point of each path, lest far ones lose digits
    origin = part.control[np.minimum(near, len(part.control) - 1), 0]
    c = part.control - origin[part.path][:, None]
    z = c[..., 0] + 1j * c[..., 1]

    def cross(rows: NDArray[Any], i: int, j: int) -> Floats:
        return np.asarray((z[rows, i].conj() * z[rows, j]).imag)

    each = cross(np.arange(len(z)), 0, 3)
    quad, cubic = np.flatnonzero(part.degree == 2), np.flatnonzero(part.degree == 3)
    each[quad] += (cross(quad, 0, 1) + cross(quad, 1, 3) - each[quad]) * 2 / 3
    outer = 6 * cross(cubic, 0, 1) + 3 * cross(cubic, 0, 2) - 9 * each[cubic]
    inner = 3 * cross(cubic, 1, 2) + 3 * cross(cubic, 1, 3) + 6 * cross(cubic, 2, 3)
    each[cubic] += (outer + inner) / 10
    return np.bincount(part.path, each / 2, paths).astype(np.float64)


@cache
def _gauss() -> tuple[Floats, Floats]:
    """Nodes in -1 to 1, and weights."""
    nodes, weights = np.polynomial.legendre.leggauss(32)
    return nodes, weights


def lengths(part: Segments, paths: int) -> Floats:
    """Length of each path, µm, by Gauss and Legendre's quadrature with 32 nodes a segment."""
    c = cubics(part)
    nodes, weights = _gauss()
    t = (nodes + 1) / 2
    basis = np.stack([(1 - t) ** 2, 2 * t * (1 - t), t * t])
    speed = np.einsum("nkd,kt->ntd", 3 * np.diff(c, axis=1), basis)
    each = np.hypot(speed[..., 0], speed[..., 1]) @ weights / 2
    return np.bincount(part.path, each, paths).astype(np.float64)


def control_lengths(part: Segments, paths: int) -> Floats:
    """Length of each path's control polygon, µm: never less than the path's own."""
    legs = np.diff(part.control, axis=1)
    legs = np.hypot(legs[..., 0], legs[..., 1]).sum(axis=1)
    return np.bincount(part.path, legs, paths).astype(np.float64)


def hulls(pool: Pool) -> NDArray[Any]:
    """The box of each path's points, controls and all: x0, y0, x1, y1, shape (paths, 4), µm."""
    at = pool.point_at[:-1]
    return np.hstack((np.minimum.reduceat(pool.points, at), np.maximum.reduceat(pool.points, at)))


def exact_box(pool: Pool) -> Floats:
    """The box of the drawn curves: x0, y0, x1, y1, µm, with each curve's turning points solved for."""
    c = cubics(segments(pool))
    found = [c[:, 0], c[:, 3]]
    for axis in (0, 1):
        v = c[..., axis]
        a = -v[:, 0] + 3 * v[:, 1] - 3 * v[:, 2] + v[:, 3]
        b = 2 * (v[:, 0] - 2 * v[:, 1] + v[:, 2])
        k = v[:, 1] - v[:, 0]
        flat = np.abs(a) < 1e-9 * (np.abs(b) + np.abs(k) + 1e-300)
        with np.errstate(divide="ignore", invalid="ignore"):
            root = np.sqrt(np.maximum(b * b - 4 * a * k, 0))
            both = (
                np.where(flat, -k / b, (-b + root) / (2 * a)),
                np.where(flat, -k / b, (-b - root) / (2 * a)),
            )
        for t in both:
            t = np.clip(np.nan_to_num(t, nan=0.0, posinf=0.0, neginf=0.0), 0, 1)[:, None]
            s = 1 - t
            found.append(c[:, 0] * s**3 + 3 * c[:, 1] * s * s * t + 3 * c[:, 2] * s * t * t + c[:, 3] * t**3)
    every = np.concatenate(found)
    return np.concatenate((every.min(axis=0), every.max(axis=0)))


def corners(pool: Pool) -> list[Floats]:
    """Each contour as corners (n, 2) in µm, its chords within :data:`FLAT_UM` of its curves.

    Steps by Wang's bound on the second differences (G. Wang, 1984): n ≥ √(d (d - 1) max|Δ²| / 8 ε).
    """
    part = segments(pool)
    c = cubics(part)
    bend = np.abs(np.diff(c, 2, axis=1)).max(axis=(1, 2)) * np.sqrt(2) if c.size else np.empty(0)
    steps = np.where(part.degree == 1, 1, np.maximum(1, np.ceil(np.sqrt(6 * bend / (8 * FLAT_UM))))).astype(
        int
    )
    found: list[Floats] = []
    for contour in range(int(part.contour.max(initial=-1)) + 1):
        rows = np.flatnonzero(part.contour == contour)
        row = [c[rows[0], 0][None]]
        for i in rows:
            t = np.linspace(0, 1, steps[i] + 1)[1:, None]
            s = 1 - t
            row.append(c[i, 0] * s**3 + 3 * c[i, 1] * s * s * t + 3 * c[i, 2] * s * t * t + c[i, 3] * t**3)
        found.append(np.concatenate(row))
    return found
