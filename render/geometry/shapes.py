"""Paths of the plain shapes that things and templates are made of."""

from __future__ import annotations

import cmath
import math

import numpy as np

from render.geometry.path import CLOSE, CUBIC, LINE, MOVE, Path

_NOTHING_MM = 1e-9
"""A straight side no longer than this is left out: the corners of its two ends have met."""


def arc_points(centre: complex, rx: float, ry: float, start: float, sweep: float) -> list[complex]:
    """Cubic control points of an elliptical arc along the axes, after its start point.

    Angles in degrees, clockwise as seen. One cubic covers at most an eighth of a turn; with handles of
    4/3 tan(a/4) (common practice; derived in A. Riškus, "Approximation of a cubic Bézier curve by circular
    arcs and vice versa", 2006) it then leaves the circle by less than 5e-6 of its radius.
    """
    steps = max(1, math.ceil(abs(sweep) / 45 - 1e-9))
    angle = math.radians(sweep / steps)
    handle = 4 / 3 * math.tan(angle / 4)
    points: list[complex] = []
    for step in range(steps):
        a0 = math.radians(start) + angle * step
        u0, u1 = cmath.rect(1, a0), cmath.rect(1, a0 + angle)
        units = (u0 + handle * 1j * u0, u1 - handle * 1j * u1, u1)
        points += [centre + complex(rx * u.real, ry * u.imag) for u in units]
    return points


def ellipse(centre: complex, rx: float, ry: float) -> Path:
    """A closed ellipse along the axes, starting at its right end, clockwise as seen."""
    points = [centre + rx, *arc_points(centre, rx, ry, 0, 360)]
    points[-1] = points[0]
    return Path(np.array([MOVE] + [CUBIC] * 8 + [CLOSE], np.uint8), np.array(points, np.complex128))


def circle(centre: complex, radius: float) -> Path:
    """A closed circle."""
    return ellipse(centre, radius, radius)


def rectangle(x: float, y: float, width: float, height: float, radius: float = 0.0) -> Path:
    """A closed rectangle with corners rounded by `radius` mm (at most half the shorter side)."""
    corners = (complex(x, y), complex(x + width, y), complex(x + width, y + height), complex(x, y + height))
    r = min(radius, width / 2, height / 2)
    if r <= _NOTHING_MM:
        return Path.polygon(corners)
    commands, points = [MOVE], [corners[0] + r]
    inward = (complex(r, r), complex(-r, r), complex(-r, -r), complex(r, -r))
    for index, start in ((1, 270.0), (2, 0.0), (3, 90.0), (0, 180.0)):
        arc = arc_points(corners[index] + inward[index], r, r, start, 90)
        begin = corners[index] + inward[index] + cmath.rect(r, math.radians(start))
        if abs(begin - points[-1]) > _NOTHING_MM:
            commands.append(LINE)
            points.append(begin)
        commands += [CUBIC] * (len(arc) // 3)
        points += arc
    points[-1] = points[0]
    return Path(np.array([*commands, CLOSE], np.uint8), np.array(points, np.complex128))


def line(start: complex, end: complex) -> Path:
    """An open straight line."""
    return Path.polyline((start, end))
