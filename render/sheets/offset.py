"""Outlines moved by a distance: lives in :mod:`render.geometry.offset`; lettering is thickened by it too."""

from render.geometry.offset import TOLERANCE_MM, Join, offset, region, segments

__all__ = ["TOLERANCE_MM", "Join", "offset", "region", "segments"]
