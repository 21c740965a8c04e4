"""Rectangles along the axes."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from render.geometry.point import Point


@dataclass(frozen=True, slots=True)
class Box:
    """The rectangle from (x0, y0), top left, to (x1, y1), bottom right."""

    x0: float
    y0: float
    x1: float
    y1: float

    @classmethod
    def of_size(cls, width: float, height: float, x: float = 0.0, y: float = 0.0) -> Box:
        """A box by its top left corner and size."""
        return cls(x, y, x + width, y + height)

    @classmethod
    def union(cls, boxes: Iterable[Box]) -> Box:
        """The smallest box round all of them.

        Raises:
            ValueError: there are none.
        """
        every = list(boxes)
        if not every:
            raise ValueError("the union of no boxes has no place")
        return cls(
            min(b.x0 for b in every),
            min(b.y0 for b in every),
            max(b.x1 for b in every),
            max(b.y1 for b in every),
        )

    @property
    def width(self) -> float:
        """Extent in x."""
        return self.x1 - self.x0

    @property
    def height(self) -> float:
        """Extent in y."""
        return self.y1 - self.y0

    @property
    def centre(self) -> Point:
        """The middle."""
        return Point((self.x0 + self.x1) / 2, (self.y0 + self.y1) / 2)

    def moved(self, dx: float, dy: float) -> Box:
        """Shifted by (dx, dy)."""
        return Box(self.x0 + dx, self.y0 + dy, self.x1 + dx, self.y1 + dy)

    def scaled(self, factor: float) -> Box:
        """Scaled about the origin by a positive factor."""
        return Box(self.x0 * factor, self.y0 * factor, self.x1 * factor, self.y1 * factor)

    def inset(self, by: float) -> Box:
        """Each side moved inward by `by` (outward if negative)."""
        return Box(self.x0 + by, self.y0 + by, self.x1 - by, self.y1 - by)

    def contains(self, other: Box, tolerance: float = 0.0) -> bool:
        """Whether `other` lies within this box, up to `tolerance`."""
        return (
            other.x0 >= self.x0 - tolerance
            and other.y0 >= self.y0 - tolerance
            and other.x1 <= self.x1 + tolerance
            and other.y1 <= self.y1 + tolerance
        )

    def overlaps(self, other: Box, gap: float = 0.0) -> bool:
        """Whether the two boxes come nearer than `gap` in both directions (touching is not overlap)."""
        return (
            self.x0 < other.x1 + gap
            and other.x0 < self.x1 + gap
            and self.y0 < other.y1 + gap
            and other.y0 < self.y1 + gap
        )
