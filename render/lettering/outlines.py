"""The outlines of one font: each glyph read and united once, all points in one pool."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import uharfbuzz as hb

from render.geometry import CUBIC, LINE, QUAD
from render.lettering.contours import Contour, closed_contour


class GlyphReader:
    """Draws the glyphs of a font file, TrueType or CFF, fixed or variable, as raw contours in font units."""

    def __init__(self, data: bytes, index: int = 0, variation: Mapping[str, float] | None = None) -> None:
        face = hb.Face(data, index)
        self._font = hb.Font(face)
        if variation:
            self._font.set_variations(dict(variation))
        self._pen = hb.DrawFuncs()
        self._pen.set_move_to_func(lambda x, y, log: log.append((0, (complex(x, y),))))
        self._pen.set_line_to_func(lambda x, y, log: log.append((LINE, (complex(x, y),))))
        self._pen.set_quadratic_to_func(
            lambda a, b, x, y, log: log.append((QUAD, (complex(a, b), complex(x, y))))
        )
        self._pen.set_cubic_to_func(
            lambda a, b, c, d, x, y, log: log.append((CUBIC, (complex(a, b), complex(c, d), complex(x, y))))
        )
        self._pen.set_close_path_func(lambda _log: None)
        self.upem = int(face.upem)
        self.title = str(face.get_name(4) or face.get_name(1) or "a font without a name")

    def name(self, gid: int) -> str:
        """The glyph's name in the file."""
        return str(self._font.glyph_to_string(gid))

    def contours(self, gid: int) -> list[Contour]:
        """The contours of a glyph as drawn, y up, each closed; contours without extent are left out."""
        log: list[tuple[int, tuple[complex, ...]]] = []
        self._font.draw_glyph(gid, self._pen, log)
        found: list[Contour | None] = []
        if not log:
            return []
        begins = [k for k, (code, _) in enumerate(log) if code == 0]
        for begin, end in zip(begins, [*begins[1:], len(log)], strict=True):
            drawn = log[begin + 1 : end]
            if drawn:
                codes = np.array([code for code, _ in drawn], np.uint8)
                points = [p for _, each in log[begin:end] for p in each]
                found.append(closed_contour(codes, np.array(points, np.complex128)))
        return [c for c in found if c is not None]
