"""Wrap: from flat artwork to what a rotary is sent so that it comes out true on a round thing."""

from render.wrap.figures import CAUTIONS, Distortion, WrapNumbers, Wrapped
from render.wrap.wrapping import TOLERANCE_MM, Wrapper, wrap

__all__ = ["CAUTIONS", "TOLERANCE_MM", "Distortion", "WrapNumbers", "Wrapped", "Wrapper", "wrap"]
