"""Timed loads, looked up in their reports, teach a machine's file how long things really take."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from pathlib import Path as FilePath
from typing import TYPE_CHECKING, Final

from render.errors import LibraryError, MonikerfError
from render.model import Timing
from render.pipeline.files import REPORT
from render.shop.calibration import TimedJob, fitted_timing
from render.shop.records import own_entry
from render.writers import ready_folder, write_atomically

if TYPE_CHECKING:
    from render.pipeline.workshop import Workshop

_CLOCK: Final = re.compile(r"(?:(\d+):)?(\d{1,3}):(\d{2}(?:\.\d+)?)\Z|(\d+(?:\.\d+)?)s?\Z", re.ASCII)


def seconds_of(text: str) -> float:
    """Seconds from ``12:30`` (min:s), ``1:02:30`` (h:min:s) or ``750`` (s).

    Raises:
        MonikerfError: it is none of these.
    """
    match = _CLOCK.match(text.strip())
    if match is None:
        raise MonikerfError(f"{text!r} is not a time.", hint="write 12:30, 1:02:30 or 750")
    hours, minutes, seconds, plain = match.groups()
    return float(plain) if plain else int(hours or 0) * 3600 + int(minutes) * 60 + float(seconds)


def timed_job(text: str, machine: str) -> TimedJob:
    """A load from ``FOLDER/sheet-1.svg=12:30``, with the time that its report computed.

    Raises:
        MonikerfError: there is no such sheet in a report, it was for another machine, or no time was
            computed.
    """
    name, _, clock = text.rpartition("=")
    sheet = FilePath(name)
    report_file = sheet.parent / REPORT
    hint = "write FOLDER/sheet-1.svg=12:30, with the report.json still beside the sheet"
    try:
        report = json.loads(report_file.read_text(encoding="utf-8"))
        of = report["machine"]
        found = [each for each in report["sheets"] if each["file"] == sheet.name]
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise MonikerfError(f"{text!r} has no report.", hint=hint, place=str(report_file)) from error
    if not found:
        raise MonikerfError(f"The report knows no {sheet.name!r}.", hint=hint, place=str(report_file))
    if of != machine:
        raise MonikerfError(
            f"{sheet.name} was made for {of}, not for {machine}.",
            hint="calibrate that machine, or time a load of this one",
            place=str(report_file),
        )
    computed = (found[0].get("time") or {}).get("computed_s")
    if computed is None:
        raise MonikerfError(
            f"No time was computed for {sheet.name}.",
            hint="keep recipes for all its operations (monikerf recipe add) and make the order again",
            place=str(report_file),
        )
    return TimedJob(name, float(computed), seconds_of(clock))


def calibrate(
    machine: str, timed: Sequence[str], date: str, workshop: Workshop
) -> tuple[Timing, tuple[TimedJob, ...], FilePath]:
    """Fit a machine's timing to timed loads and keep it in the shop's own file of the machine.

    Raises:
        MonikerfError: there is no shop folder, no such machine, or a load cannot be used.
    """
    if workshop.shop is None:
        raise LibraryError("There is no shop folder to keep it in.", hint="name it with --shop")
    workshop.library.machine(machine)
    jobs = tuple(timed_job(text, machine) for text in timed)
    timing = fitted_timing(jobs)
    values: dict[str, object] = {
        "timing.factor": round(timing.factor, 4),
        "timing.start": round(timing.start, 2),
        "timing.jobs": timing.jobs,
        "timing.date": date,
    }
    if timing.error is not None:
        values["timing.error"] = round(timing.error, 4)
    path, text = own_entry(workshop.library, "machines", machine, workshop.shop, values)
    ready_folder(path.parent)
    write_atomically(path, text.encode())
    return timing, jobs, path
