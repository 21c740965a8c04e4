"""Whether letters can still be read once they hold together: how much of their open space is closed.

A letter lives by its whites: eye and mouth of an e, the arches of an m. What ties, stouter strokes, and the
letters and lines next to it fill of that is told as a share of the whole. Whites are what a letter's convex
hull holds besides its ink; letters that hardly have any (an l, a hyphen) have no say.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import numpy as np
import shapely

from render.fitting.solids import Memory, Region, regions_of_paths, together
from render.geometry import Path

LEAST_WHITE: Final = 0.2
"""Letters whose whites are a smaller part of their hull than this have no say."""

HARD: Final = 0.4
"""If more than this share of the whites of a text is closed, it is hard to read (our own reading of names in
six faces, joined with ever wider necks: below 0.3 all could be read, above 0.5 none at a glance)."""

HIDDEN: Final = 0.55
"""If more than this share of one letter's whites is closed, the letter is hidden."""


def closed_whites(letters: Sequence[Path], whole: Path) -> list[float]:
    """For each letter the share of its whites that a piece closes; nan for letters that hardly have any.

    Args:
        letters: outlines in place, mm, each without overlaps of its own; as the font draws them.
        whole: the piece that holds together, without overlaps.
    """
    memory = Memory(remembers=False)
    every = [together(regions_of_paths([letter], memory)) if letter else None for letter in letters]
    piece = together(regions_of_paths([whole], memory))
    shapely.prepare(piece)
    return [_closed(region, piece) if region is not None else np.nan for region in every]


def _closed(letter: Region, piece: Region) -> float:
    hull: Any = shapely.convex_hull(letter)
    whites = shapely.difference(hull, letter)
    if whites.area < LEAST_WHITE * hull.area:
        return np.nan
    return float(shapely.intersection(whites, piece).area / whites.area)


def closed_by_growing(letters: Sequence[Path], by: float) -> float:
    """The mean share of their whites that letters close by themselves if their outlines move outward.

    Args:
        letters: outlines, mm, each without overlaps of its own.
        by: how far, mm.
    """
    memory = Memory(remembers=False)
    every = [together(regions_of_paths([letter], memory)) for letter in letters if letter]
    shares = [_closed(letter, shapely.buffer(letter, by, quad_segs=2)) for letter in every]
    told = [share for share in shares if share == share]
    return sum(told) / len(told) if told else 0.0
