"""Wrap: from flat artwork to what a rotary is sent so that it comes out true on a round thing."""

from render.wrap.straight import (
    CAUTIONS,
    StraightMap,
    SurfaceMap,
    WrapNumbers,
    Wrapped,
    scale_factor,
    straight_map,
    wrap_straight,
)

__all__ = [
    "CAUTIONS",
    "StraightMap",
    "SurfaceMap",
    "WrapNumbers",
    "Wrapped",
    "scale_factor",
    "straight_map",
    "wrap_straight",
]
