"""Points, affine maps, boxes, curves and paths: small, immutable, without input or output.

Conventions, for everything in Monikerf: millimetres, x to the right, y **down** as in SVG, so positive angles
turn clockwise as seen. Many points at once are numpy arrays of complex numbers x + iy.
"""

from render.geometry.affine import Affine
from render.geometry.box import Box
from render.geometry.path import CLOSE, CUBIC, LINE, MOVE, QUAD, Path
from render.geometry.point import Point, Vector

__all__ = ["CLOSE", "CUBIC", "LINE", "MOVE", "QUAD", "Affine", "Box", "Path", "Point", "Vector"]
