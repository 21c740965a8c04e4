"""Single capitals as outlines to build with: cap height 1, ink beginning at x = 0, standing on y = 0."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from render.geometry import Affine, Path
from render.geometry.bending import curves_of, on_curves
from render.lettering.contours import Floats, Points
from render.model import SetLine, Setting

if TYPE_CHECKING:
    from render.lettering.letterer import Letterer

CHORDS: Final = 12
"""Chords that stand for a curve where strokes are measured."""


@dataclass(frozen=True, slots=True)
class Strokes:
    """How thick a font's capitals are, in cap heights: upright strokes and level ones, measured on the H."""

    upright: float
    level: float


@dataclass(slots=True, eq=False)
class Letters:
    """The letters of one setting, drawn once each.

    Attributes:
        missing: characters asked for that the font cannot draw.
        kept: what was made of them, by a name that tells how.
    """

    letterer: Letterer
    setting: Setting
    missing: list[str] = field(default_factory=list)
    kept: dict[str, Path] = field(default_factory=dict)
    _drawn: dict[str, Path] = field(default_factory=dict)
    _strokes: Strokes | None = None

    def letter(self, text: str) -> Path:
        """The outline of a letter (or a few) with the left edge of its ink at x = 0; empty if it has none."""
        path = self._drawn.get(text)
        if path is None:
            line = self.letterer.line(text, replace(self.setting, tracking=0.0))
            if line.missing or line.ink is None:
                self.missing += line.missing
                path = Path.empty()
            else:
                (drawn,) = self.letterer.outlines([(SetLine(line, 1.0, 0j),)])
                scale = 1 / line.cap_height
                path = drawn.transformed(Affine(scale, 0, 0, scale, -line.ink.x0 * scale, 0))
            self._drawn[text] = path
        return path

    @property
    def strokes(self) -> Strokes:
        """The font's usual strokes."""
        if self._strokes is None:
            path = self.letter("H")
            if not path:
                return Strokes(0.15, 0.12)
            edges = chords(path)
            stem = _first_run(edges, 0.25)
            turned = edges[0] * -1j, edges[1] * -1j
            bar = _first_run(turned, path.bounds().width / 2)
            self._strokes = Strokes(stem or 0.15, bar or 0.12)
        return self._strokes


def chords(path: Path, steps: int = CHORDS) -> tuple[Points, Points]:
    """Starts and ends of the chords that stand for a path's curves."""
    curves = curves_of(path)
    t = np.linspace(0, 1, steps + 1)
    at = on_curves(curves.controls, np.broadcast_to(t, (len(curves.controls), t.size)))
    return at[:, :-1].reshape(-1), at[:, 1:].reshape(-1)


def _first_run(edges: tuple[Points, Points], height: float) -> float:
    """The length of the first inked stretch along a level line so high above the baseline."""
    begins, ends = edges
    y = -height
    crossing = (begins.imag <= y) != (ends.imag <= y)
    b, e = begins[crossing], ends[crossing]
    x: Floats = np.sort(b.real + (e.real - b.real) * (y - b.imag) / (e.imag - b.imag))
    return float(x[1] - x[0]) if x.size > 1 else 0.0
