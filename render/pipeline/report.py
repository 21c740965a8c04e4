"""What came of a job, as plain values for JSON and as lines for people."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass
from math import isfinite
from typing import TYPE_CHECKING, Any, Final

from render import __version__
from render.errors import counted
from render.fitting import SetReport
from render.model import Fitted, Line, Order, Problem, Remedy, Severity, Sheet
from render.pipeline.artworks import title_of
from render.pipeline.cutting import Cut, cutting_lines, cutting_values, travel_values
from render.pipeline.roundtell import rotary_lines, rotary_values
from render.pipeline.stocktell import stock_lines, stock_values, taken_values
from render.pipeline.times import recipe_values, time_lines, time_values
from render.sheets.timing import JobTime
from render.units import format_mm, round_mm
from render.wrap import WrapNumbers

if TYPE_CHECKING:
    from render.pipeline.files import Wrote
    from render.pipeline.workshop import Job


@dataclass(frozen=True, slots=True)
class Facts:
    """Everything that a report tells; `runs_of` names the font of each run of a line."""

    order: Order
    job: Job
    fitted: tuple[Fitted, ...]
    sets: tuple[SetReport, ...]
    digests: Mapping[str, str]
    sheets: tuple[Sheet, ...]
    held_back: tuple[str, ...]
    problems: tuple[Problem, ...]
    wrote: Wrote
    rotary: WrapNumbers | None
    cautions: tuple[str, ...]
    runs_of: Callable[[Line], Sequence[tuple[str, str]]]
    times: tuple[JobTime, ...] = ()
    cut: Cut | None = None


def problem_values(problem: Problem) -> dict[str, Any]:
    """A problem as plain values; what it does not say is left out."""
    return {key: value for key, value in asdict(problem).items() if value not in ("", None)}


def problem_line(problem: Problem) -> str:
    """A problem on one line."""
    places = [f"row {problem.row}"] if problem.row is not None else []
    places += [problem.column] if problem.column else []
    places += [f"“{problem.value}”"] if problem.value else []
    where = f" ({', '.join(places)})" if places else ""
    return f"{problem.severity}{where}: {problem.message} {problem.hint}".strip()


def report_values(facts: Facts) -> dict[str, Any]:
    """The whole report; the same job gives the same report, byte for byte."""
    job = facts.job
    return {
        "monikerf": __version__,
        "order": facts.order.name,
        "template": job.template.id,
        "blank": job.blank.id,
        "material": job.material.id,
        "machine": job.machine.id,
        "cautions": list(facts.cautions),
        "counts": {
            "pieces": len(facts.order.pieces),
            "made": len(facts.order.pieces) - len(facts.held_back),
            "held_back": len(facts.held_back),
            "sheets": len(facts.sheets),
        },
        "lettering": [_set_values(report) for report in facts.sets],
        "recipes": [recipe_values(recipe) for recipe in job.recipes.values()],
        "rotary": rotary_values(facts.rotary),
        "stock": stock_values(facts.cut.layout.taken, facts.cut.layout.way) if facts.cut else None,
        "cutting": cutting_values(facts.cut) if facts.cut else None,
        "sheets": [_sheet_values(facts, index) for index in range(len(facts.sheets))],
        "proofs": list(facts.wrote.proofs),
        "notes": [facts.wrote.note] if facts.wrote.note else [],
        "problems": [problem_values(problem) for problem in facts.problems],
        "held_back": list(facts.held_back),
        "pieces": _piece_values(facts),
    }


def _set_values(report: SetReport) -> dict[str, Any]:
    values: dict[str, Any] = _rounded(asdict(report))
    if not isfinite(report.thinnest):  # JSON knows no infinity
        values["thinnest"] = None
    values["remedies"] = {str(name): count for name, count in report.remedies.items()}
    return values


def _sheet_values(facts: Facts, index: int) -> dict[str, Any]:
    sheet, found = facts.sheets[index], facts.wrote.verified[index]
    taken = facts.cut.layout.taken if facts.cut else ()
    return {
        "file": facts.wrote.sheets[index],
        "title": sheet.title,
        "width_mm": sheet.size[0],
        "height_mm": sheet.size[1],
        "pieces": [p.artwork.piece for p in sorted(sheet.placements, key=lambda p: p.place)],
        "verified": {"pieces": found.pieces, "contours": found.contours, "points": found.points},
        "read_twice": list(found.sampled),
        "stock": taken_values(taken[index]) if taken else None,
        "travel": travel_values(facts.cut.travel[index]) if facts.cut else None,
        "time": time_values(facts.times[index]) if facts.times else None,
    }


def _piece_values(facts: Facts) -> list[dict[str, Any]]:
    places = {p.artwork.piece: (s.number, p.place) for s in facts.sheets for p in s.placements}
    lettering: dict[str, list[dict[str, Any]]] = {}
    for fitted in facts.fitted:
        lettering.setdefault(fitted.request.piece, []).append(_lettering_values(fitted, facts.runs_of))
    values = []
    for piece in facts.order.pieces:
        sheet, place = places.get(piece.id, (None, None))
        values.append(
            {
                "id": piece.id,
                "row": piece.row,
                "text": title_of(piece),
                "digest": facts.digests.get(piece.id),
                "sheet": sheet,
                "place": place,
                "lettering": lettering.get(piece.id, []),
            }
        )
    return values


def _lettering_values(fitted: Fitted, runs_of: Callable[[Line], Sequence[tuple[str, str]]]) -> dict[str, Any]:
    return {
        "slot": fitted.request.slot,
        "remedy": str(fitted.remedy),
        "lines": [
            {
                "text": line.line.text,
                "font": line.line.setting.font,
                "set_in": [{"font": font, "text": text} for font, text in runs_of(line.line)],
                "size_mm": round_mm(line.size),
                "x_height_mm": round_mm(line.size * line.line.x_height),
            }
            for line in fitted.lines
        ],
    }


def _rounded(values: Mapping[str, Any]) -> dict[str, Any]:
    """The same with every float rounded to the micrometre."""
    rounded: dict[str, Any] = {}
    for key, value in values.items():
        if isinstance(value, float):
            rounded[key] = round_mm(value)
        elif isinstance(value, tuple | list):
            rounded[key] = [round_mm(v) if isinstance(v, float) else v for v in value]
        else:
            rounded[key] = value
    return rounded


def headlines(facts: Facts) -> tuple[str, ...]:
    """The summary: what was made, how it is lettered, what needs a look, what to set, what to mind."""
    job, made = facts.job, len(facts.order.pieces) - len(facts.held_back)
    loads = counted(len(facts.sheets), "load")
    lines = [
        f"{made} of {counted(len(facts.order.pieces), 'piece')} on {loads}: {_what(job)}, "
        f"for {job.machine.title}",
        *(_set_line(report) for report in facts.sets),
        *rotary_lines(facts.rotary, job),
        *(stock_lines(facts.cut.layout.taken, facts.cut.layout.way) if facts.cut else ()),
        *(cutting_lines(facts.cut, job) if facts.cut else ()),
        *time_lines(facts.times, job),
        *_look_lines(facts.problems),
        *([f"Verified: {loads} read back, every piece as it was meant."] if facts.sheets else []),
    ]
    return (*lines, facts.wrote.note) if facts.wrote.note else tuple(lines)


def _what(job: Job) -> str:
    """What is made of what; the thing is not named again where the design is called like it."""
    design, thing = job.template.title, job.blank.title
    on = "" if thing.startswith(design) else f" on {thing}"
    return f"{thing if not on else design}{on} ({job.material.title})"


_REMEDIES: Final = {
    Remedy.NONE: "",
    Remedy.TIGHTER: "set tighter",
    Remedy.BROKEN: "on several lines",
    Remedy.NARROWER: "in a narrower font",
    Remedy.SMALLER: "smaller",
    Remedy.HELD: "held back",
}


def _set_line(report: SetReport) -> str:
    usual = report.remedies.get(Remedy.NONE, 0)
    others = ", ".join(
        f"{n} {_REMEDIES[Remedy(r)]}" for r, n in report.remedies.items() if n and _REMEDIES[Remedy(r)]
    )
    if not report.size:  # monograms have a size of letters, not of lines
        return f"Lettering “{report.slot}”: {report.font}, {usual} of {report.pieces} alike" + (
            f"; {others}" if others else ""
        )
    return (
        f"Lettering “{report.slot}”: {report.font} at {format_mm(report.size, 2)} mm "
        f"(x-height {format_mm(report.x_height, 2)} mm{_detail_words(report)}), "
        f"{usual} of {report.pieces} alike" + (f"; {others}" if others else "")
    )


def _detail_words(report: SetReport) -> str:
    """The finest of a set in words, and in which piece it is."""
    found = ""
    for what, mm, where in (
        ("thinnest stroke", report.thinnest, report.thinnest_in),
        ("narrowest gap", report.narrowest, report.narrowest_in),
    ):
        if mm and isfinite(mm):  # single strokes have no thinnest, and one letter no gap
            found += f", {what} {format_mm(mm, 2)} mm" + (f": {where}" if where else "")
    return found


def _look_lines(problems: Sequence[Problem]) -> Sequence[str]:
    looks = [problem for problem in problems if problem.severity is Severity.LOOK]
    if not looks:
        return ()
    rows = {problem.row for problem in looks if problem.row is not None}
    needing = [f"{len(rows)} row{'s' * (len(rows) != 1)}"] if rows else []
    needing += ["the set as a whole"] if any(problem.row is None for problem in looks) else []
    who = " and ".join(needing)
    verb = "need" if len(rows) > 1 or len(needing) > 1 else "needs"
    listed = "each is listed with its reason" if verb == "need" else "the reason is listed"
    return (f"{who[0].upper()}{who[1:]} {verb} a look before burning; {listed}.",)
