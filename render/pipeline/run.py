"""A whole job, from an order to verified files."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path as FilePath
from typing import Any

from render.errors import MonikerfError
from render.fitting import explain_set
from render.model import Artwork, Blank, Hold, Operation, Order, Problem, Severity, Sheet
from render.pipeline.artworks import Lettered, Progress, held_back, letter_order
from render.pipeline.files import Written, Wrote
from render.pipeline.proofs import proof_pages
from render.pipeline.report import Facts, headlines, report_values
from render.pipeline.times import times_of
from render.pipeline.workshop import Job, Workshop
from render.sheets.burn import finished
from render.sheets.layout import Layout, layout
from render.shop.safety import safety
from render.shop.suitability import refuse_material, suitability
from render.wrap import WrapNumbers, wrap_straight

_RANK = {severity: rank for rank, severity in enumerate((Severity.STOP, Severity.LOOK, Severity.NOTE))}


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of a job.

    Attributes:
        problems: everything a person should know, worst first, then by row.
        held_back: ids of the pieces that were not made.
        files: names of the files written (or, without a folder, that would be), in order.
        headlines: the summary in a few lines.
        report: everything, as values for JSON.
        sheets: the loads themselves.
    """

    problems: tuple[Problem, ...]
    held_back: tuple[str, ...]
    files: tuple[str, ...]
    headlines: tuple[str, ...]
    report: Mapping[str, Any]
    sheets: tuple[Sheet, ...] = field(repr=False, default=())


@dataclass(frozen=True, slots=True)
class _Wrapped:
    """Artworks in machine coordinates, the run's figures and what came up."""

    artworks: tuple[Artwork, ...]
    numbers: WrapNumbers | None
    problems: tuple[Problem, ...]


def run(
    order: Order, job: Job, workshop: Workshop, out: FilePath | None, workers: int, progress: Progress
) -> Outcome:
    """Make an order: letter it, lay it out, write and verify its sheets, draw its proof, report.

    Args:
        order: the pieces.
        job: design, thing, material, machine.
        workshop: where fonts come from.
        out: folder for the files; None does everything but write.
        workers: processes to letter with; 0 chooses.
        progress: told how far it is.

    Raises:
        MonikerfError: the job cannot be done at all; no file was left half-written.
    """
    if not order.pieces and not order.problems:
        raise MonikerfError("the table has headings but no rows", hint="add the names below the headings")
    refuse_material(job.material)
    with Written.to(out, len(order.pieces)) as writing:
        letterer = workshop.letterer()
        for font in (job.font, *job.template.fonts):
            if font:
                letterer.joined(font)  # an unknown font is found out before any work
        lettered = letter_order(order, job, letterer, workshop, workers, progress)
        wrapped = _wrap(lettered.artworks, job.blank, job)
        suits = _suits(lettered.artworks, job)
        problems = (*suits, *lettered.problems, *wrapped.problems)
        none = any(problem.severity is Severity.STOP for problem in suits)
        held = frozenset(piece.id for piece in order.pieces) if none else held_back(problems)
        laid = _lay_out(wrapped, held, job)
        problems = _in_order((*problems, *laid.problems), order)
        pages = proof_pages(order, lettered.artworks, problems, job, letterer)
        letterer.keep()
        wrote = writing.write(laid.sheets, pages, job, progress)
        return _outcome(order, job, lettered, wrapped.numbers, laid, problems, wrote, writing)


def _operations(artworks: Iterable[Artwork], blank: Blank) -> frozenset[Operation]:
    """What is burned on any of the pieces, with what their blank adds."""
    found = {mark.operation for artwork in artworks for mark in artwork.marks}
    found |= {Operation.CUT} if blank.hold is Hold.STOCK else set()
    found |= {Operation.SCORE} if blank.hold is Hold.STOCK and blank.folds else set()
    return frozenset(found - {Operation.GUIDE})


def _suits(artworks: Iterable[Artwork], job: Job) -> tuple[Problem, ...]:
    """What speaks against doing this to the material on the machine."""
    return suitability(
        _operations(artworks, job.blank),
        job.material,
        job.blank.thickness,
        job.machine,
        job.light,
        hazards=job.hazards,
        others=job.others,
        recipes=job.recipes,
    )


def _wrap(artworks: Sequence[Artwork], blank: Blank, job: Job) -> _Wrapped:
    rotary = job.machine.rotary
    if blank.hold is not Hold.ROTARY or blank.body is None or rotary is None:
        return _Wrapped(tuple(artworks), None, ())
    wrapped = [wrap_straight(artwork, blank.body, rotary) for artwork in artworks]
    widest = max((w.numbers for w in wrapped), key=lambda n: n.degrees, default=None)
    return _Wrapped(tuple(w.artwork for w in wrapped), widest, tuple(p for w in wrapped for p in w.problems))


def _lay_out(wrapped: _Wrapped, held: frozenset[str], job: Job) -> Layout:
    good = [artwork for artwork in wrapped.artworks if artwork.piece not in held]
    return layout(finished(good, job.blank), job.blank, job.machine, jig=job.jig, stock=job.stock)


def _in_order(problems: Iterable[Problem], order: Order) -> tuple[Problem, ...]:
    """Worst first, then by row; equal ones once; each with the row of its piece."""
    rows = {piece.id: piece.row for piece in order.pieces}
    told = (replace(p, row=rows.get(p.piece)) if p.row is None else p for p in problems)
    return tuple(sorted(dict.fromkeys(told), key=lambda p: (_RANK[p.severity], p.row or 0)))


def _outcome(
    order: Order,
    job: Job,
    lettered: Lettered,
    numbers: WrapNumbers | None,
    laid: Layout,
    problems: tuple[Problem, ...],
    wrote: Wrote,
    writing: Written,
) -> Outcome:
    made = {p.artwork.piece for sheet in laid.sheets for p in sheet.placements}
    held = tuple(piece.id for piece in order.pieces if piece.id not in made)
    cautions = safety(
        job.machine,
        job.light,
        job.material,
        hazards=job.hazards,
        operations=_operations(lettered.artworks, job.blank),
        rotary=job.blank.hold is Hold.ROTARY,
    )
    facts = Facts(
        order=order,
        job=job,
        fitted=lettered.fitted,
        sets=explain_set(lettered.fitted),
        digests={artwork.piece: artwork.digest() for artwork in lettered.artworks},
        sheets=laid.sheets,
        held_back=held,
        problems=problems,
        wrote=wrote,
        rotary=numbers,
        cautions=cautions,
        times=times_of(laid.sheets, job),
    )
    values, lines = report_values(facts), headlines(facts)
    files = writing.finish(values, lines, problems)
    return Outcome(problems, held, files, lines, values, laid.sheets)
