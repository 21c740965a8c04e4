"""From finished artworks to loads: does it suit the machine, wrapped if it is round, laid out."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from render.model import Artwork, Blank, Hold, Operation, Problem
from render.pipeline.rounding import as_cut, round_off
from render.sheets.burn import finished
from render.sheets.layout import Layout, LayoutOptions, layout
from render.shop.suitability import suitability
from render.wrap import WrapNumbers

if TYPE_CHECKING:
    from render.pipeline.workshop import Job

_PLAIN: Final = LayoutOptions()


@dataclass(frozen=True, slots=True)
class Wrapped:
    """Artworks in machine coordinates, the run's figures and what came up."""

    artworks: tuple[Artwork, ...]
    numbers: WrapNumbers | None
    problems: tuple[Problem, ...]


def operations_of(artworks: Iterable[Artwork], blank: Blank) -> frozenset[Operation]:
    """What is burned on any of the pieces, with what their blank adds."""
    found = {mark.operation for artwork in artworks for mark in artwork.marks}
    found |= {Operation.CUT} if blank.hold is Hold.STOCK else set()
    found |= {Operation.SCORE} if blank.hold is Hold.STOCK and blank.folds else set()
    return frozenset(found - {Operation.GUIDE})


def suits_of(artworks: Iterable[Artwork], job: Job) -> tuple[Problem, ...]:
    """What speaks against doing this to the material on the machine."""
    return suitability(
        operations_of(artworks, job.blank),
        job.material,
        job.blank.thickness,
        job.machine,
        job.light,
        hazards=job.hazards,
        others=job.others,
        recipes=job.recipes,
    )


def wrap_all(artworks: Sequence[Artwork], blank: Blank, job: Job) -> Wrapped:
    """The artworks in the coordinates of the machine; they change only on round things."""
    rounded = round_off(artworks, job) if blank.body is not None else None
    if rounded is None:
        return Wrapped(tuple(artworks), None, ())
    return Wrapped(rounded.artworks, rounded.numbers, rounded.problems)


def lay_out(wrapped: Wrapped, held: frozenset[str], job: Job, options: LayoutOptions = _PLAIN) -> Layout:
    """The loads of all that is not held back.

    Raises:
        MonikerfError: the thing does not fit.
    """
    good = [artwork for artwork in wrapped.artworks if artwork.piece not in held]
    blank = as_cut(job.blank)
    return layout(finished(good, blank), blank, job.machine, jig=job.jig, stock=job.stock, options=options)
