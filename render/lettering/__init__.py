"""Fonts, scripts and direction, shaping, outlines and their union: names become true outlines."""

from render.lettering.letterer import Letterer
from render.lettering.shelf import Shelf

__all__ = ["Letterer", "Shelf"]
