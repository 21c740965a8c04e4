"""What a job takes on the machine, and what it burns: as values for JSON and as lines for people."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from render.model import BURN_ORDER, Hold, Operation, Recipe, Sheet
from render.sheets.timing import JobTime, OperationTime, sheet_time

if TYPE_CHECKING:
    from render.pipeline.workshop import Job

_DOING = {Operation.ENGRAVE: "engraving", Operation.SCORE: "scoring", Operation.CUT: "cutting"}


def times_of(sheets: Sequence[Sheet], job: Job) -> tuple[JobTime, ...]:
    """The time of each load."""
    rotary = job.blank.hold is Hold.ROTARY
    return tuple(sheet_time(sheet, job.machine, job.recipes, rotary=rotary) for sheet in sheets)


def time_values(time: JobTime) -> dict[str, Any]:
    """One load's time as plain values; seconds to a tenth, lengths to a tenth of a mm, None where unknown."""
    return {
        "expected_s": _tenth(time.expected),
        "computed_s": _tenth(time.computed),
        "error": time.error,
        "least_s": _tenth(time.least),
        "missing_recipes": [str(operation) for operation in time.missing],
        "operations": [_part_values(part) for part in time.parts],
    }


def _part_values(part: OperationTime) -> dict[str, Any]:
    return {
        "operation": str(part.operation),
        "recipe": part.recipe or None,
        "seconds": _tenth(part.seconds),
        "passes": part.passes,
        "length_mm": _tenth(part.length),
        "area_mm2": _tenth(part.area),
        "contours": part.contours,
    }


def _tenth(value: float | None) -> float | None:
    return None if value is None else round(value, 1)


def recipe_values(recipe: Recipe) -> dict[str, Any]:
    """A recipe as plain values, in its own order; what it does not say is left out."""
    from dataclasses import asdict

    return {key: value for key, value in asdict(recipe).items() if value not in ("", 0.0)}


def time_lines(times: Sequence[JobTime], job: Job) -> tuple[str, ...]:
    """Which recipes are assumed and how long the loads take, or why that cannot be told."""
    if not times:
        return ()
    asked = [o for o in BURN_ORDER if any(part.operation is o for time in times for part in time.parts)]
    return (*_recipe_lines(asked, job.recipes, job), _time_line(times, job))


def _recipe_lines(
    asked: Sequence[Operation], recipes: Mapping[Operation, Recipe], job: Job
) -> tuple[str, ...]:
    known = [f"{_DOING[o]} by {_named(recipes[o])}" for o in asked if o in recipes]
    lacking = [_DOING[o] for o in asked if o not in recipes]
    lines = [f"Recipes of yours assumed: {'; '.join(known)}."] if known else []
    if lacking:
        lines.append(
            f"No recipe yet for {_and(lacking)} {job.material.title} on {job.machine.id}: burn a test card "
            "on an offcut and keep what came out best (monikerf test-card, monikerf recipe add)."
        )
    return tuple(lines)


def _named(recipe: Recipe) -> str:
    batch = f", batch {recipe.batch}" if recipe.batch else ""
    return f"{recipe.id} (tested {recipe.date}{batch})"


def _time_line(times: Sequence[JobTime], job: Job) -> str:
    loads = "load" if len(times) == 1 else "loads"
    if job.machine.motion is None:
        return (
            f"Time: not known, since nobody has said how fast {job.machine.id} moves ([motion] in its file)."
        )
    expected = [time.expected for time in times if time.expected is not None]
    if len(expected) == len(times):
        error, jobs = times[0].error, job.machine.timing.jobs
        trust = (
            f"timed loads were off by up to {100 * error:.0f} %"
            if error is not None
            else f"corrected by {jobs} timed load{'s' if jobs > 1 else ''}"
            if jobs
            else "not yet checked by timed loads: monikerf calibrate-time"
        )
        return f"Time: about {spoken(sum(expected))} for {len(times)} {loads} on the machine ({trust})."
    followed = sum(
        part.length for time in times for part in time.parts if part.operation is not Operation.ENGRAVE
    )
    least = sum(time.least or 0.0 for time in times)
    line = "Time: cannot be told without recipes"
    if followed:
        length = f"{followed / 1000:.1f} m of lines"
        line += f"; following {length} takes {spoken(least)} at least, as the machine moves"
    return line + "."


def spoken(seconds: float) -> str:
    """A length of time as a person says it: ``45 s``, ``12 min 30 s``, ``2 h 5 min``."""
    whole = round(seconds)
    if whole < 60:
        return f"{whole} s"
    if whole < 3600:
        return f"{whole // 60} min {whole % 60} s" if whole % 60 else f"{whole // 60} min"
    minutes = round(seconds / 60)
    return f"{minutes // 60} h {minutes % 60} min"


def _and(words: Sequence[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
