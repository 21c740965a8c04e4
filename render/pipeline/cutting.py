"""From laid sheets to sheets as they are cut: kerf, tabs, lead-in, the head's way; and what to tell of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Final

from render.geometry import Path
from render.model import Artwork, Cutting, Hold, Operation, Placement, Problem, Severity, Sheet, Stock
from render.pipeline.inlays import tight_pockets
from render.sheets.cuts import CutLines, CutPlan, cut_lines, told, with_cuts
from render.sheets.errands import levels_of, shorten_sheet
from render.sheets.layout import Layout
from render.sheets.offset import TOLERANCE_MM
from render.units import format_mm, round_mm

if TYPE_CHECKING:
    from render.pipeline.workshop import Job

MEASURED: Final = "measured"
GIVEN: Final = "given"
UNKNOWN: Final = "unknown"


@dataclass(frozen=True, slots=True)
class CutOptions:
    """How to cut; None leaves it to what was measured (kerf) or to the thing (all else).

    Attributes:
        kerf: full width of the cut, mm; 0 allows for none.
        tabs: how many, and the width of each in mm; (0, …) for none.
        lead_in: mm; 0 for none.
        apart: mm; 0 does not care.
    """

    kerf: float | None = None
    tabs: tuple[int, float] | None = None
    lead_in: float | None = None
    apart: float | None = None


@dataclass(frozen=True, slots=True)
class How:
    """How a job is cut: the kerf (0 for none), where it comes from, and the rest."""

    kerf: float
    source: str
    rest: Cutting

    @property
    def plan(self) -> CutPlan:
        """What is done to cut lines."""
        return CutPlan(self.kerf, self.rest.tabs, self.rest.tab_width, self.rest.lead_in)


@dataclass(frozen=True, slots=True)
class Cut:
    """Sheets as they are cut, and what to tell.

    Attributes:
        how: None where nothing is cut.
        travel: of each sheet mm before and after.
    """

    layout: Layout
    problems: tuple[Problem, ...]
    how: How | None
    travel: tuple[tuple[float, float], ...]


AS_EVER: Final = CutOptions()


def how_to_cut(job: Job, options: CutOptions = AS_EVER) -> How:
    """The kerf as given, else as measured; tabs, lead-in and distance as given, else as the thing asks.

    What turns in a rotary is cut as drawn: its drawing is in the machine's mm, where a kerf has no one width.
    """
    own = job.blank.cutting
    tabs = options.tabs or (own.tabs, own.tab_width)
    rest = Cutting(
        *tabs,
        own.lead_in if options.lead_in is None else options.lead_in,
        own.apart if options.apart is None else options.apart,
    )
    measured = job.machine.kerfs.get(job.material.id)
    if job.blank.hold is Hold.ROTARY:
        return How(0.0, UNKNOWN, Cutting(apart=rest.apart))
    if options.kerf is not None:
        return How(options.kerf, GIVEN, rest)
    return How(measured or 0.0, UNKNOWN if measured is None else MEASURED, rest)


def with_room(job: Job, options: CutOptions = AS_EVER) -> Job:
    """The job with so much gap and margin on its stock that what is cut beside the pieces finds its place."""
    reach = how_to_cut(job, options).plan.reach
    if job.blank.hold is not Hold.STOCK or not reach:
        return job
    stock = job.stock or job.blank.stock or Stock(*job.machine.bed)
    need = reach + TOLERANCE_MM
    gap, margin = max(stock.gap, round_mm(2 * need)), max(stock.margin, round_mm(need))
    if (gap, margin) == (stock.gap, stock.margin):
        return job
    return replace(job, stock=replace(stock, gap=gap, margin=margin))


def kerfed(artworks: Sequence[Artwork], job: Job, options: CutOptions = AS_EVER) -> tuple[Artwork, ...]:
    """Finished artworks with the kerf allowed for, and nothing else: before they are split into sections."""
    plan = CutPlan(how_to_cut(job, options).kerf)
    if not plan.reach:
        return tuple(artworks)
    cuts = {a.piece: a.burned(Operation.CUT) for a in artworks}
    return tuple(with_cuts(a, cut_lines(cuts[a.piece], plan)) if cuts[a.piece] else a for a in artworks)


def cut_ready(laid: Layout, job: Job, options: CutOptions = AS_EVER) -> Cut:
    """The laid sheets as the machine gets them.

    Every piece's cut lines get kerf, tabs and lead-in by :func:`render.sheets.cuts.cut_lines`, alike pieces
    once; then each sheet's pieces and lines are put in an order with little travel, by
    :func:`render.sheets.errands.shorten_sheet`. What was approved, and its digest, is the piece without all
    this: the kerf belongs to the sheet. What is longer than the bed has had its kerf before it was split (see
    :func:`kerfed`), and its sections have neither tabs nor lead-in.
    """
    how = how_to_cut(job, options)
    plan = CutPlan() if laid.sections else how.plan
    if laid.sections:
        how = replace(how, rest=Cutting(apart=how.rest.apart))
    alike: dict[Path, list[str]] = {}
    made: dict[Path, CutLines] = {}
    sheets = tuple(_cut_sheet(sheet, plan, alike, made) for sheet in laid.sheets)
    problems = [p for cuts, pieces in alike.items() for p in told(pieces, made[cuts], plan)]
    problems += tight_pockets(job.template, how.kerf) if sheets else []
    problems += _idle(options, job, cut=bool(made), sections=bool(laid.sections)) if sheets else []
    levels = {Path.joined(cuts.lines): cuts.levels for cuts in made.values()}
    short = [
        shorten_sheet(sheet, how.rest.apart, lambda path: levels.get(path) or levels_of(path))
        for sheet in sheets
    ]
    return Cut(
        replace(laid, sheets=tuple(sheet for sheet, _, _ in short)),
        tuple(problems),
        how if made else None,
        tuple((before, after) for _, before, after in short),
    )


def _idle(options: CutOptions, job: Job, *, cut: bool, sections: bool) -> list[Problem]:
    """What was asked for and changes nothing, told rather than passed over."""
    given = {
        "--kerf": bool(options.kerf) and not (cut and sections),
        "--tabs": bool(options.tabs and options.tabs[0]),
        "--lead-in": bool(options.lead_in),
    }
    asked = [option for option, is_given in given.items() if is_given]
    if not asked or (cut and not sections and job.blank.hold is not Hold.ROTARY):
        return []
    why = "what passes through in sections has none"
    if not cut:
        why = "nothing of this job is cut"
    elif job.blank.hold is Hold.ROTARY:
        why = "what turns in a rotary is cut as drawn"
    verb = "changes" if len(asked) == 1 else "change"
    message = f"{' and '.join(asked)} {verb} nothing here: {why}."
    return [Problem(Severity.NOTE, "idle-option", message, "Leave it out.")]


def _cut_sheet(
    sheet: Sheet, plan: CutPlan, alike: dict[Path, list[str]], made: dict[Path, CutLines]
) -> Sheet:
    """The sheet with its pieces' cut lines by the plan, which brings pieces nearer to each other."""
    if not any(mark.operation is Operation.CUT for p in sheet.placements for mark in p.artwork.marks):
        return sheet
    placements: list[Placement] = []
    for placement in sheet.placements:
        artwork = placement.artwork
        cuts = artwork.burned(Operation.CUT)
        if cuts:
            alike.setdefault(cuts, []).append(artwork.piece)
            made[cuts] = made.get(cuts) or cut_lines(cuts, plan)
            artwork = with_cuts(artwork, made[cuts]) if plan.reach or plan.tabs else artwork
        placements.append(replace(placement, artwork=artwork))
    gap = max(0.0, round_mm(sheet.gap - 2 * (plan.reach + TOLERANCE_MM))) if plan.reach else sheet.gap
    return replace(sheet, placements=tuple(placements), gap=gap)


def cutting_values(cut: Cut) -> dict[str, Any] | None:
    """How the job is cut, as plain values; None where nothing is."""
    if cut.how is None:
        return None
    how, rest = cut.how, cut.how.rest
    return {
        "kerf_mm": None if how.source == UNKNOWN else how.kerf,
        "kerf": how.source,
        "tolerance_mm": TOLERANCE_MM,
        "tabs": rest.tabs,
        "tab_width_mm": rest.tab_width if rest.tabs else None,
        "lead_in_mm": rest.lead_in,
        "apart_mm": rest.apart,
    }


def travel_values(travel: tuple[float, float]) -> dict[str, float]:
    """Of one sheet the travel between lines, home and back, in tenths of a mm."""
    return {"before_mm": round(travel[0], 1), "after_mm": round(travel[1], 1)}


def cutting_lines(cut: Cut, job: Job) -> tuple[str, ...]:
    """For people: the kerf, or that none is known; what holds the pieces; the way of the head."""
    lines = []
    if cut.how is not None:
        lines = [_kerf_line(cut.how, job), *_holding_lines(cut.how.rest)]
    before, after = (sum(each) for each in zip(*cut.travel, strict=True)) if cut.travel else (0.0, 0.0)
    if before:
        apart = cut.how.rest.apart if cut.how else 0.0
        why = f", with {format_mm(apart)} mm between pieces that follow each other" if apart else ""
        lines.append(
            f"Way of the head between lines: {after / 1000:.1f} m, as laid {before / 1000:.1f} m{why}."
        )
    return tuple(lines)


def _kerf_line(how: How, job: Job) -> str:
    where = f"{job.material.title} on {job.machine.id}"
    if how.source == UNKNOWN:
        if job.blank.hold is Hold.ROTARY:
            return "Kerf: what turns is cut as drawn."
        return (
            f"Kerf: not known for {where}. Cuts lie as drawn, so pieces come out smaller by what the beam "
            "takes; monikerf test-card kerf helps to measure it."
        )
    if not how.kerf:
        return "Kerf: none allowed for, as asked."
    said = "as measured for" if how.source == MEASURED else "as given, for"
    return (
        f"Kerf: {format_mm(how.kerf)} mm allowed for, {said} {where}: outlines lie "
        f"{format_mm(how.kerf / 2)} mm outside the pieces, holes as much inside."
    )


def _holding_lines(rest: Cutting) -> list[str]:
    lines = []
    if rest.tabs:
        width = format_mm(rest.tab_width)
        lines.append(f"Tabs: {rest.tabs} of {width} mm hold each piece in the sheet; break them by hand.")
    if rest.lead_in:
        lines.append(f"Lead-in: cuts begin {format_mm(rest.lead_in)} mm off the pieces, in the waste.")
    return lines
