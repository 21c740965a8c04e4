"""The finest of a line as it is set: strokes and gaps of its letters, and the gaps between them.

Each glyph is measured once (:mod:`render.lettering.finest`) and each two neighbours in their offset once;
what was learned can be kept from run to run. Letters that touch have no gap between them; where they run into
each other, the sharp notches above and below do not count, as within a letter.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from render.lettering.across import Outline
from render.lettering.contours import Contour
from render.lettering.finest import MOST_EM, finest_of_letter
from render.lettering.pool import Glyph

if TYPE_CHECKING:
    from render.lettering.assemble import GlyphRun

FORMAT: Final = 1
"""Raised whenever what is measured changes."""

_APART_EM: Final = 2e-4

Of = tuple[str, tuple[int, ...]]
"""A font's id and glyphs of it."""

Pair = tuple[int, int, int, int]
Box = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class LineFinest:
    """The finest of a line, em; inf where nothing was found within what was looked for.

    Attributes:
        stroke, gap: the thinnest stroke and the narrowest gap.
        stroke_of: number in the run of the glyph with that stroke.
        gap_of: number of the glyph with that gap, or of the two that it lies between.
    """

    stroke: float = math.inf
    gap: float = math.inf
    stroke_of: int = -1
    gap_of: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class SetFinest:
    """The finest of a line in its place, mm; inf where nothing was found within what was looked for.

    Attributes:
        stroke, gap: the thinnest stroke and the narrowest gap.
        stroke_of, gap_of: the font's id and the glyphs it is of; a gap is within one or between two.
    """

    stroke: float = math.inf
    gap: float = math.inf
    stroke_of: Of = ("", ())
    gap_of: Of = ("", ())


class Closeness:
    """What is known of one font's glyphs and how close they stand. Not for use by two threads at once.

    Attributes:
        upem: font units to the em.
    """

    def __init__(
        self,
        glyph: Callable[[int], Glyph],
        upem: int,
        file: Path | None = None,
        known: Mapping[int, tuple[float, float]] | None = None,
        plain: Closeness | None = None,
    ) -> None:
        """Set up.

        Args:
            glyph: gives the united outlines of a glyph.
            upem: font units to the em.
            file: where what is learned is kept; None keeps it in memory.
            known: thinnest stroke and narrowest gap of glyphs that were measured before, em.
            plain: of the font that this one was thickened from: it knows the glyphs that stayed.
        """
        self._glyph, self.upem, self._file, self._plain = glyph, upem, file, plain
        self._finest: dict[int, tuple[float, float]] = dict(known or {})
        self._pairs: dict[Pair, float] = {}
        self._shapes: dict[int, Any] = {}
        self._placed: dict[int, tuple[float, float, Box | None]] = {}
        self._load()
        self._kept = self._size

    @property
    def _size(self) -> int:
        return len(self._finest) + len(self._pairs)

    def of_glyph(self, gid: int) -> tuple[float, float]:
        """The thinnest stroke and the narrowest gap of a glyph, em; inf where there is none."""
        known = self._finest.get(gid)
        if known is None:
            contours = self._glyph(gid).contours
            if self._plain is not None and _same(contours, self._plain._glyph(gid).contours):
                known = self._plain.of_glyph(gid)
            else:
                known = finest_of_letter(contours, self.upem)
            self._finest[gid] = known
        return known

    def between(self, a: int, b: int, dx: int, dy: int) -> float:
        """How far two glyphs are apart, em, the second shifted by whole font units; inf where they touch."""
        key = (a, b, dx, dy)
        far = self._pairs.get(key)
        if far is None:
            import shapely
            from shapely.affinity import translate

            units = shapely.distance(self._shape(a), translate(self._shape(b), dx, dy)) / self.upem
            far = self._pairs[key] = round(units, 6) if units > _APART_EM else math.inf
        return far

    def of_run(self, run: GlyphRun, reach: float = MOST_EM) -> LineFinest:
        """The finest of a run.

        Args:
            run: a shaped line, or the part of it that is in this font.
            reach: gaps between letters at least this wide, em, need not be found.
        """
        stroke = gap = math.inf
        stroke_of = -1
        gap_of: tuple[int, ...] = ()
        last, end = -1, 0.0
        close: list[tuple[int, int]] = []
        upem, known, xs = self.upem, self._placed, run.xs
        for k, gid in enumerate(run.gids):
            thin, narrow, box = known[gid] if gid in known else self._place(gid)
            if thin < stroke:
                stroke, stroke_of = thin, k
            if narrow < gap:
                gap, gap_of = narrow, (k,)
            if box is not None:
                x = xs[k]
                if last >= 0 and x + box[0] - end < reach * upem:
                    close.append((last, k))
                last, end = k, x + box[2]
        reach = min(reach, gap)
        for i, j in close:
            far = self.between(run.gids[i], run.gids[j], xs[j] - xs[i], run.ys[j] - run.ys[i])
            if far < reach:
                reach = gap = far
                gap_of = (i, j)
        return LineFinest(stroke, gap, stroke_of, gap_of)

    def _place(self, gid: int) -> tuple[float, float, Box | None]:
        """The thinnest stroke and the narrowest gap of a glyph, em, and its box."""
        found = self._placed[gid] = (*self.of_glyph(gid), self._glyph(gid).box)
        return found

    def inked(self, gid: int) -> bool:
        """Whether a glyph has ink."""
        return self._glyph(gid).box is not None

    def surely_apart(self, a: int, b: int, dx: int, least: float) -> bool:
        """Whether the boxes of two glyphs alone say that they are `least` em apart."""
        left, right = self._glyph(a).box, self._glyph(b).box
        return left is None or right is None or dx + right[0] - left[2] >= least * self.upem

    def _shape(self, gid: int) -> Any:
        """The chords of a glyph's outline, for distances; they lie within 1e-4 em of it."""
        shape = self._shapes.get(gid)
        if shape is None:
            import shapely

            contours = self._glyph(gid).contours
            outline = Outline.of(contours, 1e-4 * self.upem, self.upem)
            rings = [outline.begin[outline.ring == ring] for ring in range(len(contours))]
            polygons = [shapely.Polygon(_pairs(ring)) for ring in rings if ring.size > 2]
            shape = shapely.union_all([shapely.make_valid(polygon) for polygon in polygons])
            self._shapes[gid] = shape
        return shape

    # ------------------------------------------------------------ kept from run to run

    def _load(self) -> None:
        try:
            values = json.loads(self._file.read_text("utf-8")) if self._file else {}
            if values.get("format") == FORMAT:
                self._finest |= {int(k): (float(a), float(b)) for k, (a, b) in values["glyphs"].items()}
                self._pairs = {(a, b, dx, dy): float(far) for a, b, dx, dy, far in values["pairs"]}
        except (OSError, ValueError, KeyError, TypeError, AttributeError):
            return  # what cannot be read is measured anew

    def keep(self) -> None:
        """Write what is new, by rename; a file that cannot be written only costs time."""
        if self._file is None or self._size == self._kept:
            return
        values = {
            "format": FORMAT,
            "glyphs": {str(gid): pair for gid, pair in self._finest.items()},
            "pairs": [[*pair, far] for pair, far in self._pairs.items()],
        }
        try:
            self._file.parent.mkdir(parents=True, exist_ok=True)
            part = self._file.with_suffix(f".{id(self):x}.part")
            part.write_text(json.dumps(values), "utf-8")
            part.replace(self._file)
            self._kept = self._size
        except OSError:
            return


def _pairs(points: Sequence[complex] | np.ndarray[Any, np.dtype[np.complex128]]) -> np.ndarray[Any, Any]:
    return np.ascontiguousarray(points, np.complex128).view(np.float64).reshape(-1, 2)


def _same(some: Sequence[Contour], others: Sequence[Contour]) -> bool:
    """Whether outlines are the same, wherever their contours begin."""
    a, b = (
        (np.concatenate([c.points for c in each]), np.concatenate([c.codes for c in each])) if each else None
        for each in (some, others)
    )
    if a is None or b is None:
        return a is b
    return all(np.array_equal(np.sort(one), np.sort(other)) for one, other in zip(a, b, strict=True))
