"""How fine a font's strokes are, and whether its letters join: measured once per font file.

What is thin in a letter is defined in :mod:`render.lettering.finest`.
"""

from __future__ import annotations

import json
import math
import os
import string
import tempfile
import tomllib
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any, Final

import numpy as np

from render.lettering.contours import Contour
from render.lettering.finest import finest_of_letter
from render.lettering.font import Font

LETTERS: Final = string.ascii_lowercase + string.ascii_uppercase
SHARE: Final = 0.1
"""The letters are summed up by this quantile: one odd hairline does not condemn a font."""

JOINED_FROM: Final = 0.5
"""A font whose lower-case pairs touch more often than this joins its letters."""

DEFINITION: Final = 2
"""Raised whenever what is measured changes: what was kept before is measured anew."""

MEASURED: Final = "measured.toml"
"""A folder's table of what was measured on its fonts, by id, each with the file's SHA-256."""

_CHORDS: Final = 8
_STOUTEST: Final = 3.0
_COARSENESS: Final = 0.0003


@dataclass(frozen=True, slots=True)
class Detail:
    """Measured on one font file.

    Attributes:
        thinnest: the letters' thinnest stroke in em (their quantile SHARE).
        joining: share of the pairs of small letters a to z whose outlines touch when set.
    """

    thinnest: float
    joining: float

    @property
    def joined(self) -> bool:
        """Whether the font joins its letters."""
        return self.joining >= JOINED_FROM


# ---------------------------------------------------------------- whole fonts


def measure(font: Font) -> Detail:
    """Measure a font: about a second or two, so keep the result (see :class:`Details`)."""
    glyphs = _Glyphs(font)
    widths = [width for gid in glyphs.of(_letters(font)) if (width := _stroke(glyphs.united(gid), font.upem))]
    return Detail(
        thinnest=round(float(np.quantile(widths, SHARE)), 5) if widths else 0.0,
        joining=round(_joining(font, glyphs), 3),
    )


def _stroke(contours: Sequence[Contour], upem: int) -> float:
    """The thinnest stroke of a letter, em, however stout; 0 where it has no ink."""
    found = finest_of_letter(contours, upem)[0]
    if found == math.inf:
        found = finest_of_letter(contours, upem, most=_STOUTEST)[0]
    return found if found < math.inf else 0.0


def polygon_of(contours: Iterable[Contour], chords: int = _CHORDS) -> Any:
    """United contours as a shapely polygon, font units; each curve becomes that many chords."""
    import shapely

    rings = []
    t = np.arange(1, chords + 1) / chords
    for contour in contours:
        corners = [_along(segment, t) for segment in contour.segments()]
        rings.append(shapely.Polygon(np.concatenate(corners).view(np.float64).reshape(-1, 2)))
    shape: Any = shapely.Polygon()
    for ring in rings:  # united contours do not cross, so the even-odd rule tells the holes
        shape = shape.symmetric_difference(ring if ring.is_valid else ring.buffer(0))
    return shape


def _along(segment: Any, t: Any) -> Any:
    """Points of one segment after its start; a line needs its end alone."""
    from render.geometry.curves import evaluate

    return segment[1:] if segment.size == 2 else evaluate(segment, t)


class _Glyphs:
    """Polygons of a font's glyphs, each made once."""

    def __init__(self, font: Font) -> None:
        from render.lettering.outlines import GlyphReader

        self._font = font
        self._reader = GlyphReader(font.data)
        self._polygons: dict[int, Any] = {}

    def of(self, letters: Sequence[str]) -> list[int]:
        return [self._font.shaper.get_nominal_glyph(ord(letter)) for letter in letters]

    def united(self, gid: int) -> Sequence[Contour]:
        from render.lettering.union import unite

        return unite(self._reader.contours(gid)).contours

    def polygon(self, gid: int) -> Any:
        shape = self._polygons.get(gid)
        if shape is None:
            shape = polygon_of(self.united(gid))
            self._polygons[gid] = shape = shape.simplify(_COARSENESS * self._font.upem)
        return shape


def _letters(font: Font) -> list[str]:
    """A to Z and a to z, or, where the font has none of them, as many of its letters, evenly chosen."""
    latin = [letter for letter in LETTERS if letter in font.covered]
    others = sorted(c for c in font.covered if unicodedata.category(c).startswith("L"))
    return latin or others[:: max(1, len(others) // len(LETTERS))]


def _joining(font: Font, glyphs: _Glyphs) -> float:
    """Share of the pairs of small letters that touch; pairs drawn as one glyph are left out."""
    from shapely.affinity import translate

    from render.lettering.shaping import shape

    small = [letter for letter in string.ascii_lowercase if letter in font.covered]
    touching, pairs = 0, 0
    for pair in (left + right for left in small for right in small):
        run = shape(font, pair, font_key="").run
        if len(run.gids) == 2:
            placed = [
                translate(glyphs.polygon(gid), x, y)
                for gid, x, y in zip(run.gids, run.xs, run.ys, strict=True)
            ]
            pairs += 1
            touching += bool(placed[0].intersects(placed[1]))
    return touching / pairs if pairs else 0.0


@dataclass(slots=True)
class Details:
    """What was measured on font files, by the SHA-256 of the file; what is not known is measured and kept.

    Attributes:
        folders: folders of fonts that may carry a table of measured values (see MEASURED).
        cache: folder where new measurements are kept; None keeps them in memory alone.
    """

    folders: Sequence[Path]
    cache: Path | None = None
    _known: dict[str, Detail] = field(init=False, repr=False, default_factory=dict)

    def __post_init__(self) -> None:
        for folder in self.folders:
            if (path := folder / MEASURED).is_file():
                table = tomllib.loads(path.read_text(encoding="utf-8"))
                self._known |= {v["sha256"]: Detail(v["thinnest"], v["joining"]) for v in table.values()}

    def of(self, font: Font) -> Detail:
        """What is known of this font's file, measured if need be."""
        detail = self._known.get(font.sha256) or self._kept(font.sha256)
        if detail is None:
            detail = measure(font)
            self._keep(font.sha256, detail)
        self._known[font.sha256] = detail
        return detail

    def _kept(self, sha256: str) -> Detail | None:
        if self.cache is None:
            return None
        try:
            values = json.loads((self.cache / f"{sha256}.json").read_text(encoding="utf-8"))
            if values["definition"] != DEFINITION:
                return None
            return Detail(float(values["thinnest"]), float(values["joining"]))
        except (OSError, ValueError, KeyError, TypeError):  # a cache that cannot be read is measured anew
            return None

    def _keep(self, sha256: str, detail: Detail) -> None:
        """Write by rename; a cache that cannot be written only costs time."""
        if self.cache is None:
            return
        try:
            self.cache.mkdir(parents=True, exist_ok=True)
            handle, name = tempfile.mkstemp(dir=self.cache, suffix=".part")
            with os.fdopen(handle, "w", encoding="utf-8") as file:
                json.dump({"definition": DEFINITION, **asdict(detail)}, file)
            Path(name).replace(self.cache / f"{sha256}.json")
        except OSError:
            return
