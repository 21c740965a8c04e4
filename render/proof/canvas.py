"""A page in the making: plain shapes in mm, written as SVG at the end.

Words are shapes too, so that the fonts of the system do not matter. Nothing refers to anything: no styles,
no definitions, no clips, no transforms.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

import numpy as np

from render.geometry import Path
from render.geometry.pathformat import path_data
from render.proof.flatten import flattened
from render.units import format_mm

GRID_UM: Final = 10
"""Coordinates of a page are rounded to 0.01 mm: a ninth of a pixel on a page of 210 mm and 2,400 px."""


class Canvas:
    """Collects shapes from back to front. The only thing in this room that changes; it never leaves it."""

    def __init__(self) -> None:
        self._looks: list[str] = []
        self._paths: list[Path] = []

    def draw(self, path: Path, look: Mapping[str, str | float]) -> None:
        """Add a path in mm with SVG's presentation attributes; ``_`` in their names stands for ``-``."""
        if path:
            values = ((k.replace("_", "-"), v) for k, v in look.items())
            self._looks.append(
                "".join(f' {k}="{v if isinstance(v, str) else format_mm(v)}"' for k, v in values)
            )
            self._paths.append(path)

    def svg(self, width: float, height: float, ground: str) -> bytes:
        """The page, `width` × `height` mm, on a ground of one colour.

        The ground reaches beyond the page, so that it covers the pixels at the rim wholly.
        """
        drawn = []
        for path in map(flattened, self._paths):
            xy = np.ascontiguousarray(path.points).view(np.float64).reshape(-1, 2)
            um = np.rint(xy * (1000 / GRID_UM)).astype(np.int64) * GRID_UM
            drawn.append((path.commands, um))
        w, h, wider, higher = (format_mm(side) for side in (width, height, width + 2, height + 2))
        head = (
            f'<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width="{w}mm" height="{h}mm"'
            f' viewBox="0 0 {w} {h}">\n'
            f'<rect x="-1" y="-1" width="{wider}" height="{higher}" fill="{ground}"/>\n'
        )
        data = zip(self._looks, path_data(drawn), strict=True)
        body = "".join(f'<path{look} d="{each}"/>\n' for look, each in data)
        return f"{head}{body}</svg>\n".encode()
