"""How much work an order is: its real layout, its area of stock and its minutes, for any quantity."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np

from render.errors import LibraryError, MonikerfError
from render.model import (
    Artwork,
    Blank,
    Hold,
    Operation,
    Order,
    Piece,
    Problem,
    Severity,
    Sheet,
)
from render.pipeline.artworks import Progress, held_back, letter_order
from render.pipeline.cutting import cut_ready, with_room
from render.pipeline.laying import Wrapped, lay_out, suits_of, wrap_all
from render.pipeline.times import times_of
from render.pipeline.workshop import Job, Workshop
from render.sheets.layout import AS_SUITS
from render.shop.prices import Work, half_up
from render.shop.prices.money import rounded
from render.shop.settings import read_settings
from render.shop.suitability import refuse_material

if TYPE_CHECKING:
    from render.shop.ledger import Terms
    from render.shop.prices.settings import Prices


@dataclass(frozen=True, slots=True)
class Reckoned:
    """An order, lettered, and the work it makes in each quantity that was asked about.

    Attributes:
        works: one for each quantity, in the order they were asked.
        artworks: pieces that nobody need look at, flat, for pictures; all, if there are none such.
        problems: what the table and the lettering brought up.
    """

    works: tuple[Work, ...]
    artworks: tuple[Artwork, ...]
    problems: tuple[Problem, ...]


def sample_order(job: Job) -> Order:
    """One piece of a template's own sample, for quotes without a table."""
    fields = job.template.sample or {"name": "Marguerite & Søren"}
    return Order(job.template.title, (Piece("p001", 1, dict(fields)),))


class UnknownTimeError(LibraryError):
    """Neither recipes nor prices say how long a thing takes."""


def job_at(workshop: Workshop, prices: Prices, terms: Terms) -> Job:
    """The job; what the terms leave empty is the shop's usual.

    The machine is the one that is named, else the one that the shop's prices name for the thing, else that of
    its settings, as for an order that is taken in.

    Raises:
        MonikerfError: as for :meth:`Workshop.job`.
    """
    usual = read_settings(workshop.shop).work
    blank, font = terms.blank or None, terms.font or usual.font or None
    thing = workshop.blank_of(terms.template, blank)
    machine = terms.machine or prices.thing(thing).machine or usual.machine or None
    return workshop.job(terms.template, blank=blank, machine=machine, font=font)


def reckon(
    order: Order,
    job: Job,
    workshop: Workshop,
    prices: Prices,
    quantities: Sequence[int],
    progress: Progress,
    minutes_each: Decimal | None = None,
    pins: Mapping[str, float] | None = None,
) -> Reckoned:
    """Letter the order and lay it out in each quantity; its names come round again where they are too few.

    The machine's minutes come from the layout and the shop's recipes; else from `minutes_each` or the shop's
    figure for the thing; and the work says which. `pins` are sizes in mm by slot of which some are made
    already.

    Raises:
        MonikerfError: the machine cannot do this to the material, nothing of the order can be made, it does
            not fit, or nobody knows the minutes.
    """
    refuse_material(job.material)
    letterer = workshop.letterer()
    lettered = letter_order(order, job, letterer, workshop, 0, progress, pins)
    letterer.keep()
    _refuse_what_cannot_be_done(lettered.artworks, job)
    wrapped = wrap_all(lettered.artworks, job.blank, job)
    held = held_back((*lettered.problems, *wrapped.problems))
    good = [a for a in wrapped.artworks if a.piece not in held]
    if not good:
        raise MonikerfError(
            "nothing of this order can be made as it is",
            hint="see why with: monikerf check, then mend the table",
        )
    works = []
    for number, quantity in enumerate(quantities):
        progress("laying out", number, len(quantities))
        sheets = _sheets(good, quantity, job)
        minutes, why = _minutes(sheets, quantity, job, prices, minutes_each)
        taken, pieces = _areas(sheets, quantity, job, prices)
        title = prices.thing(job.blank.id).title or job.blank.title
        ids = (job.material.id, job.machine.id)
        works.append(Work(job.blank.id, title, *ids, quantity, len(sheets), minutes, why, taken, pieces))
    problems = (*lettered.problems, *wrapped.problems)
    doubtful = {p.piece for p in problems if p.severity is not Severity.NOTE}
    clear = tuple(a for a in lettered.artworks if a.piece not in doubtful)
    return Reckoned(tuple(works), clear or lettered.artworks, problems)


def _refuse_what_cannot_be_done(artworks: Sequence[Artwork], job: Job) -> None:
    """Nothing is offered that the machine cannot do to the material.

    Raises:
        MonikerfError: with the reason and what would work.
    """
    for problem in suits_of(artworks, job):
        if problem.severity is Severity.STOP:
            raise MonikerfError(problem.message, hint=problem.hint)


def _sheets(good: Sequence[Artwork], quantity: int, job: Job) -> tuple[Sheet, ...]:
    """So many pieces laid out: each artwork in turn, and round again under further ids.

    Without the search for a denser nest that a load has: a price list asks for hundreds of layouts. What is
    made takes no more stock than this.
    """
    pieces = []
    for number in range(quantity):
        artwork, turn = good[number % len(good)], number // len(good)
        pieces.append(replace(artwork, piece=f"{artwork.piece}~{turn}") if turn else artwork)
    roomy = with_room(job)
    laid = lay_out(Wrapped(tuple(pieces), None, ()), frozenset(), roomy, replace(AS_SUITS, steps=0))
    made = sum(len(sheet.placements) for sheet in laid.sheets)
    if made < quantity:
        message = laid.problems[0].message if laid.problems else "some pieces cannot be laid out"
        raise MonikerfError(message, hint=laid.problems[0].hint if laid.problems else "")
    return cut_ready(laid, job).layout.sheets


def _minutes(
    sheets: Sequence[Sheet],
    quantity: int,
    job: Job,
    prices: Prices,
    each: Decimal | None,
) -> tuple[Decimal, str]:
    """The machine's minutes for all loads, and where they come from."""
    if each is not None:
        return each * quantity, f"given: {each} min a piece"
    seconds = _seconds(sheets, job)
    if seconds is not None:
        return rounded(Fraction(round(seconds), 60)), "worked out from the layout and the shop's recipes"
    own = prices.thing(job.blank.id).machine_minutes
    if own is None:
        raise UnknownTimeError(
            f"nobody knows how long {job.blank.title} takes on {job.machine.title}",
            hint=f"give --machine-minutes for one piece, or machine_minutes in [things.{job.blank.id}], "
            "or a recipe for each operation",
        )
    return own * quantity, f"no recipe: {own} min a piece by [things.{job.blank.id}]"


def _seconds(sheets: Sequence[Sheet], job: Job) -> float | None:
    """Of all loads; None where an operation has no recipe, or the machine's motion is unknown.

    Loads of a rotary that repeat a piece are reckoned once.
    """
    total = 0.0
    known: dict[str, float | None] = {}
    for sheet in sheets:
        rotary = job.blank.hold is Hold.ROTARY
        key = sheet.placements[0].artwork.piece.partition("~")[0] if rotary else str(sheet.number)
        if key not in known:
            known[key] = times_of([sheet], job)[0].expected
        seconds = known[key]
        if seconds is None:
            return None
        total += seconds
    return total


def _areas(sheets: Sequence[Sheet], quantity: int, job: Job, prices: Prices) -> tuple[int, int]:
    """Stock taken and what the pieces are of it, mm²; nothing for ready-made things."""
    if job.blank.hold is not Hold.STOCK:
        return 0, 0
    table = prices.stock.get(job.material.id)
    stock = job.stock or job.blank.stock
    margin = stock.margin if stock else 0.0
    taken = Fraction(0)
    for sheet in sheets:
        width, height = Fraction(sheet.size[0]), Fraction(sheet.size[1])
        if table is not None and table.keep_offcuts:
            height = min(height, _lowest(sheet) + Fraction(margin))
        taken += width * height
    return half_up(taken), half_up(Fraction(_area(job.blank)) * quantity)


def _lowest(sheet: Sheet) -> Fraction:
    """How far down the lowest piece reaches, mm."""
    lowest = 0
    for placement in sheet.placements:
        path = placement.artwork.burned(Operation.CUT)
        if path:
            lowest = max(lowest, int(placement.path_um(path)[:, 1].max()))
    return Fraction(lowest, 1000)


def _area(blank: Blank) -> float:
    """Of the outline, mm²; its holes are waste, but too small to count apart."""
    from render.shop.lie import ring

    corners = ring(next(blank.outline.contours()))
    return float(abs(np.sum((corners.conjugate() * np.roll(corners, -1)).imag)) / 2)
