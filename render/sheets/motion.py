"""How long a head takes along straight lines: speed limits, acceleration, and slower round corners.

The textbook's uniformly accelerated motion (D. Halliday, R. Resnick, J. Walker, *Fundamentals of Physics*,
chapter 2: v² = v0² + 2 a s), with the trapezoidal profile that follows from it. Jerk and the machine's
look-ahead are left out; timed jobs make up for them.
"""

from __future__ import annotations

import numpy as np

from render.model import Motion
from render.sheets.chords import Chain, Floats, Points


def along(vector: Points, limits: tuple[float, float]) -> Floats:
    """The limit in the direction of each vector where x and y have limits of their own (speed, acceleration).

    A head that goes in direction (cos, sin) with v moves its axes with v |cos| and v |sin|.
    """
    length = np.maximum(np.abs(vector), 1e-12)
    with np.errstate(divide="ignore"):
        by_axis = (limits[0] * length / np.abs(vector.real), limits[1] * length / np.abs(vector.imag))
    return np.minimum(*by_axis)


def corner_speeds(chain: Chain, acceleration: Floats, corner: float) -> Floats:
    """The speed at the end of each line of a chain, mm/s, shape (n,); 0 where its contour ends.

    A corner that turns by φ is driven as if along an arc that touches both lines and passes the corner at a
    distance δ: with c = cos(φ/2) its radius is r = δ c / (1 − c), and v² = a r. (Derived here: the arc's
    centre lies r/c from the corner, so δ = r/c − r.) Within a curve the radius is that of the curve itself:
    the mean length of two chords over 2 tan(φ/2).
    """
    vector = chain.end - chain.start
    length = np.abs(vector)
    speed2 = np.zeros(vector.size)
    if vector.size < 2:
        return speed2
    turn = np.abs(np.angle(vector[1:] * vector[:-1].conjugate()))
    half = np.cos(turn / 2)
    mean = (length[1:] + length[:-1]) / 2
    slower = np.minimum(acceleration[1:], acceleration[:-1])
    with np.errstate(divide="ignore", over="ignore"):
        at_corner = slower * corner * half / np.maximum(1 - half, 1e-15)
        on_curve = slower * mean / np.maximum(2 * np.tan(turn / 2), 1e-15)
    speed2[:-1] = np.where(chain.bend[:-1], on_curve, at_corner)
    speed2[:-1][chain.contour[1:] != chain.contour[:-1]] = 0.0
    return np.sqrt(speed2)


def profile(length: Floats, fastest: Floats, acceleration: Floats, end_speed: Floats) -> Floats:
    """Seconds for each of a row of straight lines driven one after the other, from rest to rest.

    No joint may be passed faster than the joint's own limit, than the limits of both its lines, or than can
    be reached from, or braked down to, any other joint: with W the sum of a·s up to a joint,
    v² = min over all joints j of limit²(j) + 2 |W − W(j)|. So one running minimum forwards and one backwards
    settle all joints.

    Args:
        length: mm, shape (n,); positive.
        fastest: mm/s on each line.
        acceleration: mm/s² on each line.
        end_speed: limit at the end of each line, mm/s; the last is taken as 0.
    """
    if not length.size:
        return np.zeros(0)
    limit2 = np.zeros(length.size + 1)
    limit2[1:-1] = np.minimum(end_speed[:-1], np.minimum(fastest[:-1], fastest[1:])) ** 2
    work = 2 * np.concatenate(([0.0], np.cumsum(acceleration * length)))
    reached = np.minimum.accumulate(limit2 - work) + work
    both = np.minimum.accumulate((reached + work)[::-1])[::-1] - work
    joint2 = np.maximum(both, 0.0)
    return trapezoid(length, fastest, acceleration, np.sqrt(joint2[:-1]), np.sqrt(joint2[1:]))


def trapezoid(length: Floats, fastest: Floats, acceleration: Floats, entry: Floats, leave: Floats) -> Floats:
    """Seconds along a line: speed up from `entry`, go at `fastest` if there is room, brake to `leave`.

    With the peak speed p² = min(fastest², a s + (entry² + leave²) / 2) the time is
    (2 p − entry − leave) / a + (s − (2 p² − entry² − leave²) / 2 a) / p: a triangle where the second part is
    0.
    """
    squares = entry**2 + leave**2
    peak2 = np.minimum(fastest**2, acceleration * length + squares / 2)
    peak = np.sqrt(peak2)
    level = np.maximum(length - (2 * peak2 - squares) / (2 * acceleration), 0.0)
    cruise = np.divide(level, peak, out=np.zeros_like(level), where=peak > 0)
    return np.asarray(np.maximum(2 * peak - entry - leave, 0.0) / acceleration + cruise)


def seconds_along(chain: Chain, motion: Motion, speed: float) -> Floats:
    """Seconds of each line of a chain that is followed at `speed` mm/s or as fast as the machine can."""
    vector = chain.end - chain.start
    acceleration = along(vector, motion.acceleration)
    fastest = np.minimum(speed, along(vector, motion.fastest))
    corners = corner_speeds(chain, acceleration, motion.corner)
    return profile(np.abs(vector), fastest, acceleration, corners)


def seconds_of_moves(vector: Points, motion: Motion) -> Floats:
    """Seconds of each move without beam, from rest to rest; vectors in mm."""
    moved = np.abs(vector) > 0
    seconds = np.zeros(vector.size)
    there = vector[moved]
    still = np.zeros(there.size)
    acceleration, fastest = along(there, motion.acceleration), along(there, motion.fastest)
    seconds[moved] = trapezoid(np.abs(there), fastest, acceleration, still, still)
    return seconds
