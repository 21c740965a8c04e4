"""From finished artworks to loads: does it suit the machine, wrapped if it is round, laid out."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from render.errors import MonikerfError
from render.model import Artwork, Blank, Hold, Operation, Problem, Stock
from render.pipeline.cutting import AS_EVER, CutOptions, kerfed
from render.pipeline.passing import lay_in_sections, too_long
from render.pipeline.rounding import as_cut, round_off
from render.pipeline.roundtell import settings_text
from render.sheets.burn import finished
from render.sheets.layout import AS_SUITS, Arrange, Layout, LayoutOptions, Turn, layout
from render.sheets.taken import lies_turned
from render.shop.suitability import suitability
from render.wrap import WrapNumbers

if TYPE_CHECKING:
    from render.pipeline.workshop import Job
    from render.sheets.irregular import Kept


@dataclass(frozen=True, slots=True)
class Wrapped:
    """Artworks in machine coordinates, the run's figures and what came up.

    Attributes:
        settings: for each piece that turns, what a person sets at the machine, in words.
    """

    artworks: tuple[Artwork, ...]
    numbers: WrapNumbers | None
    problems: tuple[Problem, ...]
    settings: Mapping[str, str] = field(default_factory=dict)


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
    told = {w.artwork.piece: settings_text(w.numbers, job.blank, job.machine) for w in rounded.wrapped}
    return Wrapped(rounded.artworks, rounded.numbers, rounded.problems, told)


def lay_out(
    wrapped: Wrapped,
    held: frozenset[str],
    job: Job,
    options: LayoutOptions = AS_SUITS,
    kept: Kept | None = None,
    cutting: CutOptions = AS_EVER,
) -> Layout:
    """The loads of all that is not held back.

    What is cut from stock with a grain is not turned out of it, unless the options say how to turn. What is
    longer than the bed is split into sections, where the machine lets material pass through.

    Args:
        wrapped: the artworks.
        held: ids of those that are held back.
        job: thing, machine, jig or stock.
        options: how to arrange them.
        kept: where nests that took a search are remembered.
        cutting: what is allowed for the kerf of what is split into sections.

    Raises:
        MonikerfError: the thing does not fit.
    """
    refuse_idle(job, options)
    good = [artwork for artwork in wrapped.artworks if artwork.piece not in held]
    blank = as_cut(job.blank)
    art = finished(good, blank)
    if too_long(blank, job.machine):
        return lay_in_sections(kerfed(art, job, cutting), blank, job.machine)
    laid = layout(
        art,
        blank,
        job.machine,
        jig=job.jig,
        stock=job.stock,
        options=_with_grain(options, job),
        offcuts=_with_room(job),
        kept=kept,
    )
    if not any(wrapped.settings.values()):
        return laid
    first = [sheet.placements[0].artwork.piece for sheet in laid.sheets]
    return replace(laid, sheets=tuple(
        replace(sheet, settings=wrapped.settings[piece])
        for sheet, piece in zip(laid.sheets, first, strict=True)
    ))  # fmt: skip


def refuse_idle(job: Job, options: LayoutOptions) -> None:
    """Refuse what has no meaning for a thing as it is held: it must not be left aside in silence.

    Raises:
        MonikerfError: an option was given that would change nothing.
    """
    through, hold = too_long(job.blank, job.machine), job.blank.hold
    if hold is Hold.STOCK and not through:
        return
    held = {Hold.JIG: "lies in a jig", Hold.ROTARY: "turns in a rotary"}
    how = "is longer than the bed and passes through" if through else held[hold]
    given = {
        "--seconds": options.seconds > 0,
        "--arrange": options.arrange is not Arrange.AUTO,
        "--turn": options.turn is not Turn.AUTO,
        "--stock": bool(job.offcuts) or (job.stock is not None and bool(job.stock.id)),
        "--first-place": options.first_place > 1 and (through or hold is Hold.ROTARY),
    }
    for option in (option for option, asked in given.items() if asked):
        raise MonikerfError(
            f"{job.blank.title} {how}, so {option} has nothing to change", hint="leave it out"
        )


def _with_grain(options: LayoutOptions, job: Job) -> LayoutOptions:
    """Pieces that follow the grain are not turned against the stock, however that lies on the bed."""
    grain = job.material.grain if job.blank.grain is None else job.blank.grain
    if job.blank.hold is not Hold.STOCK or not grain or options.turn is not Turn.AUTO:
        return options
    sheets = (*job.offcuts, job.stock or job.blank.stock or Stock(*job.machine.bed))
    turned = {lies_turned(sheet, job.machine) for sheet in sheets}
    if len(turned) > 1:
        raise MonikerfError(
            "The grain of some of these sheets would lie along the bed and that of others across it.",
            hint="Lay pieces on them one after another: name one --stock at a time.",
        )
    return replace(options, turn=Turn.ALWAYS if turned == {True} else Turn.NEVER)


def _with_room(job: Job) -> tuple[Stock, ...]:
    """The sheets that come first, with the margin that cutting needs: half of the gap at least."""
    sheet = job.stock or job.blank.stock
    least = sheet.gap / 2 if sheet is not None else 0.0
    return tuple(replace(each, margin=max(each.margin, least)) for each in job.offcuts)
