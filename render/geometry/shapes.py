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


def arc_by_rise(start: complex, end: complex, rise: float) -> Path:
    """An open arc of a circle over a chord, `rise` mm high; to the left of the way (up for a level line).

    A negative rise sags to the right; the radius is (c²/4 + rise²) / (2 rise) for a chord c (elementary).
    """
    chord = abs(end - start)
    if abs(rise) <= _NOTHING_MM or not chord:
        return line(start, end)
    along = (end - start) / chord
    radius = (chord * chord / 4 + rise * rise) / (2 * rise)
    centre = (start + end) / 2 - 1j * along * (rise - radius)
    begin = math.degrees(cmath.phase(start - centre))
    points = [
        start,
        *arc_points(centre, abs(radius), abs(radius), begin, math.degrees(4 * math.atan(2 * rise / chord))),
    ]
    points[-1] = end
    return _open_curve(points)


def wave(start: complex, end: complex, height: float, waves: float, phase: float = 0.0) -> Path:
    """An open sine wave about the straight line from `start` to `end`.

    Args:
        start: of the line that it swings about, mm.
        end: of that line, mm.
        height: of its crests above that line, mm; to the left of the way (up for a level line).
        waves: how many there are over the whole length.
        phase: degrees of a wave at its start: 0 rises from the line, 90 begins on a crest.

    Cubics that share places and slopes with the sine leave it by less than height × step⁴ / 384 for steps
    in radians (the error of Hermite interpolation): a thousandth of a millimetre.
    """
    turn = 2 * math.pi * waves
    steps = max(4, math.ceil(turn / _hermite_step(height)))
    u = np.arange(steps + 1) / steps
    angle = turn * u + math.radians(phase)
    up = -1j * (end - start) / abs(end - start)
    places = start + (end - start) * u + up * height * np.sin(angle)
    return _hermite(places, ((end - start) + up * height * turn * np.cos(angle)) / steps)


def spiral(centre: complex, radius: float, pitch: float, turns: float, begin: float, inward: bool) -> Path:
    """An open Archimedean spiral, run clockwise as seen.

    Args:
        centre: mm.
        radius: of its outer end, mm.
        pitch: from one turn to the next, mm.
        turns: how many; `pitch` × `turns` is less than `radius`.
        begin: where the path begins, degrees clockwise from the top.
        inward: whether it begins at its outer end, or at its inner one.

    The radius falls or grows evenly with the angle; the cubics leave it by a thousandth of a millimetre.
    """
    sweep = 2 * math.pi * turns
    steps = max(4, math.ceil(sweep / _hermite_step(radius)))
    angle = sweep * np.arange(steps + 1) / steps
    per_radian = (-pitch if inward else pitch) / (2 * math.pi)
    reach = (radius if inward else radius - pitch * turns) + per_radian * angle
    units = np.exp(1j * (angle + math.radians(begin - 90)))
    return _hermite(centre + reach * units, (per_radian + 1j * reach) * units * sweep / steps)


def _hermite_step(size: float) -> float:
    """Radians to a cubic, so that Hermite interpolation of a circle or sine of that size errs by 0.5 µm."""
    return min(math.pi / 4, float((384 * 0.0005 / max(abs(size), 0.01)) ** 0.25))


def _hermite(
    places: np.ndarray[tuple[int], np.dtype[np.complex128]],
    ways: np.ndarray[tuple[int], np.dtype[np.complex128]],
) -> Path:
    """Cubics through places, with the derivatives `ways` by the number of the place."""
    controls = np.stack((places[:-1] + ways[:-1] / 3, places[1:] - ways[1:] / 3, places[1:]), axis=1)
    return _open_curve([complex(places[0]), *controls.reshape(-1).tolist()])


def _open_curve(points: list[complex]) -> Path:
    """An open path of cubics."""
    return Path(np.array([MOVE] + [CUBIC] * (len(points) // 3), np.uint8), np.array(points, np.complex128))
