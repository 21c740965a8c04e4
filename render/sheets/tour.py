"""A short round through many points: nearest neighbours, then 2-opt and Or-opt, then small seeded shakes.

The moves are those of G. A. Croes (1958) and I. Or (1976), with neighbour lists and a queue of points whose
surroundings changed, as J. L. Bentley describes ("Fast algorithms for geometric traveling salesman problems",
1992); all three recalled from memory. How much is tried is counted, not timed: the same points always give
the same round.
"""

from __future__ import annotations

import random
from collections.abc import Iterable
from math import hypot
from typing import Final

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.complex128]

_NEIGHBOURS: Final = 8
_SHAKES_EACH: Final = 4
_MOST_SHAKES: Final = 5_000
_SEGMENT: Final = 3
_REACH: Final = 30
_EPSILON: Final = 1e-9


def round_length(points: Points, order: NDArray[np.int64]) -> float:
    """Length of the closed round."""
    there = points[order]
    return float(np.abs(there - np.roll(there, 1)).sum())


def neighbours(points: Points, count: int = _NEIGHBOURS) -> NDArray[np.int64]:
    """For each point its nearest others, nearest first, shape (n, count)."""
    n = points.size
    count = min(count, n - 1)
    found = np.empty((n, count), np.int64)
    for begin in range(0, n, 512):
        rows = np.arange(begin, min(begin + 512, n))
        distance = np.abs(points[rows, None] - points[None, :])
        distance[np.arange(rows.size), rows] = np.inf
        near = np.argpartition(distance, count - 1, axis=1)[:, :count]
        by = np.take_along_axis(distance, near, axis=1).argsort(axis=1, kind="stable")
        found[rows] = np.take_along_axis(near, by, axis=1)
    return found


def nearest_round(points: Points) -> NDArray[np.int64]:
    """From the first point always on to the nearest that is left."""
    left = np.ones(points.size, np.bool_)
    order = np.zeros(points.size, np.int64)
    at = 0
    near = neighbours(points, 10) if points.size > 1 else np.zeros((1, 0), np.int64)
    for step in range(1, points.size):
        left[at] = False
        open_ = near[at][left[near[at]]]
        if open_.size:
            at = int(open_[0])
        else:
            rest = np.flatnonzero(left)
            at = int(rest[np.abs(points[rest] - points[at]).argmin()])
        order[step] = at
    return order


def short_round(points: Points, order: NDArray[np.int64] | None = None) -> NDArray[np.int64]:
    """The order of a short closed round that begins at point 0.

    Args:
        points: x + iy, shape (n,).
        order: a round to begin with; else that of :func:`nearest_round`.
    """
    if points.size < 4:
        return np.arange(points.size)
    tour = _Tour(points, nearest_round(points) if order is None else order)
    tour.improve(range(points.size))
    tour.shake(min(_SHAKES_EACH * points.size, _MOST_SHAKES))
    found = np.array(tour.tour, np.int64)
    found = np.roll(found, -tour.pos[0])
    if found[1] > found[-1]:
        found = np.concatenate((found[:1], found[:0:-1]))
    return found


class _Tour:
    """A round as an array of points and where each stands in it; lists, since single lookups rule."""

    def __init__(self, points: Points, order: NDArray[np.int64]) -> None:
        self.x, self.y = points.real.tolist(), points.imag.tolist()
        self.n = points.size
        self.near = neighbours(points).tolist()
        self.tour: list[int] = order.tolist()
        self.pos = [0] * self.n
        for place, point in enumerate(self.tour):
            self.pos[point] = place
        self.undo: list[tuple[int, int]] = []

    def d(self, a: int, b: int) -> float:
        return hypot(self.x[a] - self.x[b], self.y[a] - self.y[b])

    def improve(self, begin: Iterable[int]) -> float:
        """Move as long as it helps, from some points on; how much shorter it became."""
        queue = list(begin)
        waiting = set(queue)
        won = 0.0
        while queue:
            city = queue.pop()
            waiting.discard(city)
            while True:
                gain, touched = self._two_opt(city)
                if not gain:
                    gain, touched = self._or_opt(city)
                if not gain:
                    break
                won += gain
                fresh = [t for t in touched if t not in waiting]
                waiting.update(fresh)
                queue += fresh
        return won

    def _two_opt(self, a: int) -> tuple[float, tuple[int, ...]]:
        tour, pos, n, d = self.tour, self.pos, self.n, self.d
        for way in (1, -1):
            b = tour[(pos[a] + way) % n]
            length = d(a, b)
            for c in self.near[a]:
                gain = length - d(a, c)
                if gain <= _EPSILON:
                    break
                e = tour[(pos[c] + way) % n]
                gain += d(c, e) - d(b, e)
                if gain > _EPSILON:
                    if way == 1:
                        self.reverse(pos[b], pos[c])
                    else:
                        self.reverse(pos[c], pos[b])
                    return gain, (a, b, c, e)
        return 0.0, ()

    def _or_opt(self, a: int) -> tuple[float, tuple[int, ...]]:
        """Move up to three points, of which `a` is the first or last, next to a neighbour of `a`."""
        tour, pos, n, d = self.tour, self.pos, self.n, self.d
        for way in (1, -1):
            p = tour[(pos[a] - way) % n]
            for size in range(1, _SEGMENT + 1):
                z = tour[(pos[a] + way * (size - 1)) % n]
                q = tour[(pos[z] + way) % n]
                if q == p:
                    break
                saved = d(p, a) + d(z, q) - d(p, q)
                for c in self.near[a]:
                    if saved - d(a, c) <= _EPSILON:
                        break
                    if (pos[c] - pos[a]) * way % n < size:
                        continue
                    for other in (tour[(pos[c] + 1) % n], tour[(pos[c] - 1) % n]):
                        if (pos[other] - pos[a]) * way % n < size:
                            continue
                        gain = saved - d(a, c) - d(z, other) + d(c, other)
                        if gain > _EPSILON:
                            self._move(a, z, c, other, way)
                            return gain, (p, q, a, z, c, other)
        return 0.0, ()

    def _move(self, a: int, z: int, c: int, other: int, way: int) -> None:
        """Take the points from `a` to `z` and put them between `c` and `other`, `a` next to `c`."""
        first, last = (a, z) if way == 1 else (z, a)
        size = (self.pos[last] - self.pos[first]) % self.n + 1
        left, right = (c, other) if (self.pos[other] - self.pos[c]) % self.n == 1 else (other, c)
        if (self.pos[left] - self.pos[last]) % self.n <= (self.pos[first] - self.pos[right]) % self.n:
            begin = self.pos[first]  # the stretch last+1 .. left moves before the segment
            self._swap(begin, size, (self.pos[left] - self.pos[last]) % self.n)
        else:
            begin = self.pos[right]
            self._swap(begin, (self.pos[first] - self.pos[right]) % self.n, size)
        first, last = (a, z) if (self.pos[z] - self.pos[a]) % self.n == size - 1 else (z, a)
        if not (self._beside(a, c) and self._beside(z, other)):
            self.reverse(self.pos[first], self.pos[last])

    def _beside(self, a: int, b: int) -> bool:
        return (self.pos[a] - self.pos[b]) % self.n in (1, self.n - 1)

    def _swap(self, begin: int, first: int, second: int) -> None:
        """Exchange two stretches that follow each other, without turning either: three reversals."""
        end = begin + first + second - 1
        self.reverse(begin, begin + first - 1)
        self.reverse(begin + first, end)
        self.reverse(begin, end, whole=True)

    def reverse(self, i: int, j: int, *, whole: bool = False) -> None:
        """Turn the places i to j round (or, which is the same round, all the others)."""
        n = self.n
        i, j = i % n, j % n
        count = (j - i) % n + 1
        if 2 * count > n and not whole:
            i, j = (j + 1) % n, (i - 1) % n
            count = n - count
        self.undo.append((i, j))
        tour, pos = self.tour, self.pos
        if i + count <= n:
            turned = tour[i : i + count][::-1]
            tour[i : i + count] = turned
            for place, point in enumerate(turned, i):
                pos[point] = place
            return
        for _ in range(count // 2):
            a, b = tour[i], tour[j]
            tour[i], tour[j] = b, a
            pos[b], pos[a] = i, j
            i = i + 1 if i + 1 < n else 0
            j = j - 1 if j else n - 1

    def shake(self, times: int) -> None:
        """Exchange two short neighbouring stretches and improve; undone where it does not help."""
        if self.n < 8:
            return
        chance = random.Random(1)  # noqa: S311 - seeded: always the same
        most = min(_REACH, (self.n - 2) // 2)
        for _ in range(times):
            place = chance.randrange(self.n)
            first, second = chance.randint(1, most), chance.randint(1, most)
            marks = (place, place + first, place + first + second, place - 1)
            a, b, c, e = (self.tour[m % self.n] for m in marks)
            f, g = self.tour[(place + first - 1) % self.n], self.tour[(place + first + second - 1) % self.n]
            lost = self.d(e, b) + self.d(g, a) + self.d(f, c) - self.d(e, a) - self.d(f, b) - self.d(g, c)
            self.undo.clear()
            self._swap(place, first, second)
            if self.improve((a, b, c, e, f, g)) < lost - _EPSILON:
                for i, j in reversed(self.undo[:]):
                    self.reverse(i, j, whole=True)
