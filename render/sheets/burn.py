"""What is burned on one piece, and in which order."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from functools import lru_cache
from typing import Final

from render.geometry import Path
from render.model import BURN_ORDER, Artwork, Blank, Hold, Mark, Operation
from render.sheets.inside import depths

ORDER: Final = (Operation.GUIDE, *BURN_ORDER)
"""The order of marks in a finished artwork: guides, which are never burned, and then as the beam goes."""


def with_blank(artwork: Artwork, blank: Blank) -> Artwork:
    """The artwork with what its blank adds to it.

    Cut from stock: folds as scores, holes and outline as cuts (without the outline, where that only bounds
    the room of a piece which is itself cut out). Lying in a jig: outline and holes as one
    guide, which shows how the thing lies and is never burned. In a rotary: nothing, for the unrolled surface
    has no outline that could be seen.
    """
    return replace(artwork, marks=artwork.marks + _blank_marks(blank))


@lru_cache(maxsize=16)
def _blank_marks(blank: Blank) -> tuple[Mark, ...]:
    if blank.hold is Hold.STOCK:
        folds = tuple(Mark(Operation.SCORE, fold) for fold in blank.folds)
        rim = (blank.outline,) if blank.outline_cut else ()
        return folds + tuple(Mark(Operation.CUT, path) for path in (*blank.holes, *rim))
    if blank.hold is Hold.JIG:
        return (Mark(Operation.GUIDE, Path.joined((blank.outline, *blank.holes))),)
    return ()


def burn_order(artwork: Artwork) -> Artwork:
    """The artwork's marks in the order of burning: engrave, score, cut; guides first of all.

    What is engraved or scored keeps its order. Cuts become one mark a contour, the deepest nested first, so
    that nothing is cut loose before what lies inside it is cut; contours of equal depth keep their order.
    """
    marks = [mark for operation in ORDER[:-1] for mark in artwork.marks if mark.operation is operation]
    marks += [Mark(Operation.CUT, contour) for contour in _inner_first(artwork.burned(Operation.CUT))]
    return replace(artwork, marks=tuple(mark for mark in marks if mark.path))


@lru_cache(maxsize=64)
def _inner_first(path: Path) -> tuple[Path, ...]:
    """Contours, inner before outer; remembered, since most pieces of an order are cut alike."""
    contours = tuple(path.contours())
    depth = depths(contours)
    return tuple(contours[i] for i in sorted(range(len(contours)), key=lambda i: -int(depth[i])))


def finished(artworks: Iterable[Artwork], blank: Blank) -> tuple[Artwork, ...]:
    """Artworks with what their blank adds, in the order of burning: what :func:`layout` lays out."""
    return tuple(burn_order(with_blank(artwork, blank)) for artwork in artworks)
