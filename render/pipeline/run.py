"""A whole job, from an order to verified files."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path as FilePath
from typing import TYPE_CHECKING, Any

from render.errors import MonikerfError
from render.fitting import explain_set
from render.model import Hold, Order, Problem, Severity, Sheet
from render.pipeline.artworks import Lettered, Progress, held_back, letter_order
from render.pipeline.cutting import AS_EVER, Cut, CutOptions, cut_ready, with_room
from render.pipeline.detailing import with_details
from render.pipeline.files import Written, Wrote
from render.pipeline.holding import held_lines, held_values
from render.pipeline.laying import lay_out, operations_of, suits_of, wrap_all
from render.pipeline.nests import KeptNests
from render.pipeline.outputs import PLAIN, FileOptions
from render.pipeline.packing import packing_order
from render.pipeline.proofs import proof_pages, run_list_pages
from render.pipeline.report import Facts, headlines, report_values
from render.pipeline.times import times_of
from render.pipeline.weakness import weak_pages
from render.pipeline.workshop import Job, Workshop
from render.shop.safety import safety
from render.shop.suitability import refuse_material
from render.wrap import WrapNumbers

if TYPE_CHECKING:
    from render.lettering import Letterer

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


def run(
    order: Order,
    job: Job,
    workshop: Workshop,
    out: FilePath | None,
    workers: int,
    progress: Progress,
    options: FileOptions = PLAIN,
    cutting: CutOptions = AS_EVER,
) -> Outcome:
    """Make an order: letter it, lay it out, write and verify its sheets, draw its proof, report.

    Args:
        order: the pieces.
        job: design, thing, material, machine.
        workshop: where fonts come from.
        out: folder for the files; None does everything but write.
        workers: processes to letter with; 0 chooses.
        progress: told how far it is.
        options: which files are written, and how pieces are laid out.
        cutting: kerf, tabs and lead-in, where they are not to be as ever.

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
        wrapped = wrap_all(lettered.artworks, job.blank, job)
        suits = suits_of(lettered.artworks, job)
        problems = (*suits, *lettered.problems, *wrapped.problems)
        none = any(problem.severity is Severity.STOP for problem in suits)
        held = frozenset(piece.id for piece in order.pieces) if none else held_back(problems)
        if options.by:
            rank = {piece: n for n, piece in enumerate(packing_order(order.pieces, options.by))}
            wrapped = replace(wrapped, artworks=tuple(sorted(wrapped.artworks, key=lambda a: rank[a.piece])))
        roomy = with_room(job, cutting)
        laid = lay_out(wrapped, held, roomy, options.layout, KeptNests.of(workshop.shop), cutting)
        cut = cut_ready(laid, job, cutting)
        problems = _in_order((*problems, *laid.problems, *cut.problems), order)
        pages = proof_pages(order, lettered.seen, problems, job, letterer)
        pages += weak_pages(lettered.held, order, job, letterer)
        letterer.keep()
        wrote = writing.write(cut.layout.sheets, pages, job, progress, options)
        return _outcome(
            order, job, lettered, wrapped.numbers, cut, problems, wrote, writing, options, letterer
        )


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
    cut: Cut,
    problems: tuple[Problem, ...],
    wrote: Wrote,
    writing: Written,
    options: FileOptions,
    letterer: Letterer,
) -> Outcome:
    sheets = cut.layout.sheets
    made = {p.artwork.piece for sheet in sheets for p in sheet.placements}
    held = tuple(piece.id for piece in order.pieces if piece.id not in made)
    cautions = safety(
        job.machine,
        job.light,
        job.material,
        hazards=job.hazards,
        operations=operations_of(lettered.artworks, job.blank),
        rotary=job.blank.hold is Hold.ROTARY,
    )
    facts = Facts(
        order=order,
        job=job,
        fitted=lettered.fitted,
        sets=with_details(explain_set(lettered.fitted), lettered.details),
        digests={artwork.piece: artwork.digest() for artwork in lettered.artworks},
        sheets=sheets,
        held_back=held,
        problems=problems,
        wrote=wrote,
        rotary=numbers,
        cautions=cautions,
        runs_of=letterer.runs_of,
        times=times_of(sheets, job),
        cut=cut,
    )
    values, lines = report_values(facts), (*headlines(facts), *held_lines(lettered.held))
    values["held_together"] = held_values(lettered.held)
    values["other_files"] = list(wrote.others)
    if options.run_list and sheets:
        taken = cut.layout.taken
        pages = run_list_pages(sheets, wrote.sheets, cautions, order, job, letterer, taken)
        values["other_files"] += writing.write_run_list(pages, f"Run list, {order.name}")
    files = writing.finish(values, lines, problems)
    return Outcome(problems, held, files, lines, values, sheets)
