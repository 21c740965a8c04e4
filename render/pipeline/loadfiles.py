"""The files of loads: written aside, verified, known to the ledger, and only then in sight."""

from __future__ import annotations

import os
import secrets
import shutil
import time
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

from render.errors import OutputError
from render.model import Hold, Order
from render.pipeline.artworks import Progress
from render.pipeline.files import RUN_LIST, write_sheet
from render.pipeline.grouping import LaidSheet
from render.pipeline.laying import operations_of
from render.pipeline.leftovers import LAYING
from render.pipeline.loadnames import SECTION, sheet_files, sheets_sha256
from render.pipeline.outputs import FileOptions, write_others
from render.pipeline.proofs import run_list_pages
from render.pipeline.times import time_lines, times_of
from render.sheets.layout import reach
from render.sheets.second import SecondReader
from render.shop.ledger import Load, NewLoad
from render.shop.safety import safety
from render.writers.files import move, ready_folder, safe_stem, write_atomically
from render.writers.pages import pages_pdf

if TYPE_CHECKING:
    from render.lettering import Letterer
    from render.shop.ledger import Ledger

SHEET: Final = "sheet.svg"
SUMMARY: Final = "summary.txt"

_ASIDE: Final = ".loads-"
_OLD_S: Final = 3600.0
"""A folder aside that is older than this belongs to nobody any more."""


def write_loads(
    ledger: Ledger,
    laid: Sequence[LaidSheet],
    shop: Path,
    files: FileOptions,
    letterer: Letterer,
    progress: Progress,
) -> tuple[Load, ...]:
    """Write sheets aside, verify them, write them down in the ledger, and give them their names.

    Raises:
        OutputError: a file cannot be written.
        VerificationError: a file, read back, is not what was meant.
        LedgerError: a piece is not approved as it lies there, or lies on another load already.
    """
    out = ready_folder(shop / "out")
    aside = ready_folder(out / f"{_ASIDE}{secrets.token_hex(6)}")
    try:
        new = []
        with SecondReader() as second:
            for number, each in enumerate(laid, 1):
                folder = ready_folder(aside / str(number))
                new.append(_write_aside(each, folder, second))
                if each.laying:
                    write_atomically(folder / LAYING, each.laying)
                _write_others(each, folder, files, letterer, second)
                progress("writing and verifying", number, len(laid))
        with ledger.atomic():
            loads = ledger.open_loads(new)
            for load, each in zip(loads, laid, strict=True):
                text = _summary(load, each)
                write_atomically(out / load.aside / SUMMARY, text.encode())
    except BaseException:
        shutil.rmtree(aside, ignore_errors=True)
        raise
    finish_loads(ledger, shop)
    return loads


def _names(laid: LaidSheet) -> tuple[str, ...]:
    """The file names of a load's sheets."""
    if laid.more:
        count = len(laid.sheets)
        return tuple(SECTION.format(n, count) for n in range(1, count + 1))
    if laid.job.blank.hold is Hold.ROTARY:  # one piece a run: its file says which
        artwork = laid.sheet.placements[0].artwork
        return (f"sheet-{safe_stem(f'{artwork.piece}-{artwork.title}')}.svg",)
    return (SHEET,)


def _write_aside(laid: LaidSheet, folder: Path, second: SecondReader) -> NewLoad:
    """Write and verify a load's sheets; every section of a long piece, or none of it becomes a load."""
    ready, job, names = laid.ready, laid.job, _names(laid)
    for name, sheet in zip(names, laid.sheets, strict=True):
        write_sheet(folder / name, sheet, reach(job.machine, job.blank), second)
    places = tuple(
        (p.place, r.piece.order, r.piece.id, r.piece.approved)
        for p in laid.sheet.placements
        for r in (ready[p.artwork.piece],)
    )
    return NewLoad(
        machine=job.machine.id,
        blank=job.blank.id,
        material=job.material.id,
        places=places,
        sha256=sheets_sha256(folder, names[0]),
        aside=f"{folder.parent.name}/{folder.name}",
        sheet=names[0],
    )


def _write_others(
    laid: LaidSheet,
    folder: Path,
    files: FileOptions,
    letterer: Letterer,
    second: SecondReader,
) -> None:
    """The sheet in other formats and in parts, and its list for the bench, as far as they are asked for."""
    bed, names = reach(laid.job.machine, laid.job.blank), _names(laid)
    write_others(
        folder, laid.sheets, names, files, lambda part, to: write_sheet(folder / to, part, bed, second)
    )
    if not files.run_list:
        return
    on_it = (laid.ready[p.artwork.piece] for p in laid.sheet.placements)
    orders = ", ".join(dict.fromkeys(each.piece.order for each in on_it))
    order = Order(orders, ())
    pages = run_list_pages(laid.sheets, names, _cautions(laid), order, laid.job, letterer, laid.taken)
    write_atomically(folder / RUN_LIST, pages_pdf(pages, title=f"Run list, {orders}"))


def rewrite(load: Load, laid: LaidSheet, home: Path, files: FileOptions, letterer: Letterer) -> None:
    """Write the files of one load once more.

    Raises:
        OutputError: a file cannot be written.
        VerificationError: a file, read back, is not what was meant.
    """
    if laid.more and Path(load.file).name != _names(laid)[0]:
        raise OutputError(
            f"load {load.id} is in other sections than before", hint="drop it: monikerf made --drop"
        )
    names = _names(laid) if laid.more else (Path(load.file).name,)
    with SecondReader() as second:
        for name, sheet in zip(names, laid.sheets, strict=True):
            write_sheet(home / name, sheet, reach(laid.job.machine, laid.job.blank), second)
        _write_others(laid, home, files, letterer, second)
    write_atomically(home / SUMMARY, _summary(load, laid).encode())


def _cautions(laid: LaidSheet) -> tuple[str, ...]:
    job = laid.job
    return safety(
        job.machine,
        job.light,
        job.material,
        hazards=job.hazards,
        operations=operations_of([p.artwork for s in laid.sheets for p in s.placements], job.blank),
        rotary=job.blank.hold is Hold.ROTARY,
    )


def _summary(load: Load, laid: LaidSheet) -> str:
    """What lies beside a sheet: safety first, then which piece lies where."""
    sheet, job = laid.sheet, laid.job
    title = f"{job.blank.title}, {len(laid.sheets)} sections" if laid.more else sheet.title
    lines = [f"Load {load.id}: {title}, for {job.machine.title}", "", "Before anything burns:"]
    lines += [f"* {caution}" for caution in _cautions(laid)]
    lines += ["", *laid.lines, *time_lines(times_of(laid.sheets, job), job)]
    if laid.more:
        lines += ["", "One piece in sections, burned in this order:", *(f"  {name}" for name in _names(laid))]
        lines += ["After each pass the material on until its crosses lie under those of the next."]
    lines += ["", "Places, as they are counted on the sheet:"]
    width = len(str(load.places[-1].place))
    lines += [f"{p.place:>{width}}  {p.order}/{p.piece}  {p.title}" for p in load.places]
    lines += ["", f"Afterwards: monikerf made {load.id}, with --failed and the places that came out spoilt."]
    return "\n".join(lines) + "\n"


def finish_loads(ledger: Ledger, shop: Path) -> tuple[str, ...]:
    """Give their names to sheets that the ledger knows and that a stroke of fate left aside.

    Also clears away old folders aside that the ledger knows nothing of.

    Returns:
        The files of open loads that are missing all the same.
    """
    out, missing, spoken_for = shop / "out", [], set()
    for load in ledger.loads("open"):
        aside, home = out / load.aside, (shop / load.file).parent
        spoken_for.add(aside.parent)
        if all((shop / file).is_file() for file in sheet_files(load.file)):
            continue
        if (aside / Path(load.file).name).is_file():
            move(aside, home)
        else:
            missing.append(load.file)
    for left in (*out.glob(f"{_ASIDE}*"), *out.glob(".monikerf-*")) if out.is_dir() else ():
        _clear(left, old_only=left not in spoken_for)
    return tuple(missing)


def _clear(folder: Path, *, old_only: bool) -> None:
    """Remove what was put aside: a folder if it is empty; anything that has been nobody's for long."""
    try:
        if old_only and time.time() - folder.stat().st_mtime > _OLD_S:
            shutil.rmtree(folder) if folder.is_dir() else folder.unlink()
        elif not old_only and not os.listdir(folder):
            folder.rmdir()
    except OSError:
        return
