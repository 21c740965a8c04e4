"""Loads: sheets of nothing but what was approved, exactly as it was approved."""

from __future__ import annotations

import hashlib
import os
import secrets
import shutil
import time
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Final

from render.errors import MonikerfError, OutputError
from render.model import Artwork, Hold, Problem, Severity, Sheet
from render.pipeline.artworks import Progress
from render.pipeline.files import write_sheet
from render.pipeline.grouping import LaidSheet, Ready, lay_again, lay_groups, on_sheet
from render.pipeline.grouping import LoadOptions as LoadOptions
from render.pipeline.laying import operations_of
from render.pipeline.leftovers import LAYING, laid_loads, read_laying
from render.pipeline.orders import Maker, order_artworks
from render.pipeline.proofs import Captions
from render.pipeline.times import time_lines, times_of
from render.proof.sidebyside import Pair, side_by_side
from render.sheets.layout import reach
from render.sheets.second import SecondReader
from render.shop.ledger import UNSETTLED, LedgerPiece, Load, NewLoad, State, Terms
from render.shop.safety import safety
from render.writers.files import move, ready_folder, safe_stem, write_atomically

if TYPE_CHECKING:
    from render.pipeline.workshop import Workshop
    from render.shop.ledger import Ledger

SHEET: Final = "sheet.svg"
SUMMARY: Final = "summary.txt"
CHANGED: Final = "changed.png"
"""The picture of pieces that would not come out as approved."""

_ASIDE: Final = ".loads-"
_OLD_S: Final = 3600.0
"""A folder aside that is older than this belongs to nobody any more."""

_PICTURE_PX: Final = 2000


@dataclass(frozen=True, slots=True)
class Loaded:
    """The loads that were made, the pieces that were left out and why, and what else to know."""

    loads: tuple[Load, ...]
    left: tuple[tuple[str, str], ...]
    problems: tuple[Problem, ...]


def make_loads(
    ledger: Ledger,
    orders: Sequence[str],
    workshop: Workshop,
    shop: Path,
    options: LoadOptions,
    progress: Progress,
) -> Loaded:
    """Lay out what is approved, write and verify the sheets, and write the loads down.

    Every piece is computed anew from its texts, its template and its font. Only if its digest is the approved
    one does it go on a sheet; pieces of several orders share a load where they share thing, material and
    machine. Sheets are written aside, then the ledger says that they exist, then they get their names: there
    is never a sheet in sight that the ledger does not know.

    Args:
        ledger: where the orders are.
        orders: their ids.
        workshop: designs, fonts, things.
        shop: the shop folder.
        options: how.
        progress: told how far it is.

    Raises:
        MonikerfError: nothing can be made, or a piece would come out otherwise than approved: then a picture
            shows both, and nothing is made.
    """
    finish_loads(ledger, shop)
    maker = Maker.of(workshop, progress)
    if options.unasked:
        _approve_unasked(ledger, orders, workshop, options, progress)
    pieces = [p for order in dict.fromkeys(orders) for p in _loadable(ledger, order, options)]
    if not pieces:
        raise _nothing(ledger, orders, options)
    ready, changed = _computed_anew(ledger, maker, pieces, options.machine)
    if changed and options.unasked:
        _approve_as_now(ledger, changed, workshop, options, progress)
        maker = Maker.of(workshop, progress)
        pieces = [ledger.piece(p.order, p.id) for p in pieces]
        ready, changed = _computed_anew(ledger, maker, pieces, options.machine)
    if changed:
        raise _not_as_approved(changed, maker, shop)
    maker.letterer.keep()
    return _lay_and_write(ledger, ready, shop, options, workshop, progress)


def _loadable(ledger: Ledger, order: str, options: LoadOptions) -> list[LedgerPiece]:
    state = State.FAILED if options.remake else State.APPROVED
    return [piece for piece in ledger.pieces(order, state) if not piece.load]


def _nothing(ledger: Ledger, orders: Sequence[str], options: LoadOptions) -> MonikerfError:
    """Why there is nothing to lay out."""
    counts: dict[str, int] = {}
    for order in dict.fromkeys(orders):
        for piece in ledger.pieces(order):
            word = f"on load {piece.load}" if piece.load else str(piece.state)
            counts[word] = counts.get(word, 0) + 1
    what = "nothing has failed" if options.remake else "nothing is approved and waiting to be made"
    seen = ", ".join(f"{count} {word}" for word, count in counts.items()) or "no pieces"
    return MonikerfError(f"{what} in {', '.join(orders)}", hint=f"its pieces: {seen}; see monikerf today")


def _computed_anew(
    ledger: Ledger, maker: Maker, pieces: Iterable[LedgerPiece], machine: str
) -> tuple[list[Ready], list[tuple[Ready, Artwork | None]]]:
    """The pieces whose digest is the approved one; and the others, each with what it would be now."""
    ready, changed = [], []
    drawn: dict[int, tuple[dict[str, Artwork], Terms]] = {}
    for piece in pieces:
        kept = ledger.version(piece.order, piece.id, piece.version)
        if kept.making not in drawn:
            making = ledger.making(kept.making)
            terms = replace(making.terms, machine=machine) if machine else making.terms
            drawn[kept.making] = ({a.piece: a for a in maker.draw(making).artworks}, terms)
        artworks, terms = drawn[kept.making]
        now, job = artworks.get(piece.id), maker.job(terms)
        if now is not None and now.digest() == piece.approved:
            ready.append(Ready(piece, now, job))
        else:
            changed.append((Ready(piece, kept.artwork, job), now))
    return ready, changed


def _approve_unasked(
    ledger: Ledger, orders: Sequence[str], workshop: Workshop, options: LoadOptions, progress: Progress
) -> None:
    for order in dict.fromkeys(orders):
        order_artworks(ledger, order, workshop, progress, why=options.unasked)
        with ledger.atomic():
            for piece in ledger.pieces(order, *UNSETTLED):
                if not piece.held and piece.version:
                    ledger.approve_unasked(order, piece.id, options.unasked)


def _approve_as_now(
    ledger: Ledger,
    changed: Sequence[tuple[Ready, Artwork | None]],
    workshop: Workshop,
    options: LoadOptions,
    progress: Progress,
) -> None:
    """Take what would be made now for approved, on the maker's word."""
    for ready, _ in changed:
        ledger.correct(ready.piece.order, ready.piece.id, {}, why=options.unasked)
    _approve_unasked(ledger, [ready.piece.order for ready, _ in changed], workshop, options, progress)


def _not_as_approved(
    changed: Sequence[tuple[Ready, Artwork | None]], maker: Maker, shop: Path
) -> MonikerfError:
    """Draw old and new beside each other, and say what to do."""
    from render.writers.png import render_png

    names = ", ".join(f"{r.piece.name} ({r.piece.title})" for r, _ in changed[:5])
    names += f" and {len(changed) - 5} more" if len(changed) > 5 else ""
    pairs = [
        Pair(f"{r.piece.name}: {r.piece.title}", r.job.blank, r.job.material, r.artwork,
             now or Artwork(r.piece.id, "", ()))
        for r, now in changed[:12]
    ]  # fmt: skip
    file = ready_folder(shop / "out") / CHANGED
    page = side_by_side(pairs, Captions(maker.letterer), title="Not as approved")
    write_atomically(file, render_png(page, width_px=_PICTURE_PX).png)
    return MonikerfError(
        f"not made, since it would not come out as approved: {names}",
        hint=f"its template, font or thing has changed since; see {file}. Put the old one back, or have it"
        ' approved as it is now: monikerf correct, then monikerf proof; or load --without-approval "reason"',
        place=str(shop),
    )


def _lay_and_write(
    ledger: Ledger,
    ready: Sequence[Ready],
    shop: Path,
    options: LoadOptions,
    workshop: Workshop,
    progress: Progress,
) -> Loaded:
    laid, problems = lay_groups(ready, options, workshop, laid_loads(ledger, shop) if options.stock else ())
    held = {p.piece: f"{p.message} {p.hint}".strip() for p in problems if p.severity is Severity.STOP}
    if not laid:
        raise MonikerfError("nothing can be made of it", hint="; ".join(held.values()))
    loads = _write_loads(ledger, laid, shop, progress)
    left = tuple((m.piece.name, held[on_sheet(m.piece)]) for m in ready if on_sheet(m.piece) in held)
    return Loaded(loads, left, tuple(p for p in problems if p.severity is not Severity.STOP))


def _write_loads(
    ledger: Ledger,
    laid: Sequence[LaidSheet],
    shop: Path,
    progress: Progress,
) -> tuple[Load, ...]:
    out = ready_folder(shop / "out")
    aside = ready_folder(out / f"{_ASIDE}{secrets.token_hex(6)}")
    try:
        new = []
        with SecondReader() as second:
            for number, each in enumerate(laid, 1):
                folder = ready_folder(aside / str(number))
                new.append(_write_aside(each.sheet, each.ready, folder, second))
                if each.laying:
                    write_atomically(folder / LAYING, each.laying)
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


def _write_aside(sheet: Sheet, ready: Mapping[str, Ready], folder: Path, second: SecondReader) -> NewLoad:
    job = ready[sheet.placements[0].artwork.piece].job
    name = SHEET
    if job.blank.hold is Hold.ROTARY:  # one piece a run: its file says which
        artwork = sheet.placements[0].artwork
        name = f"sheet-{safe_stem(f'{artwork.piece}-{artwork.title}')}.svg"
    write_sheet(folder / name, sheet, reach(job.machine, job.blank), second)
    places = tuple(
        (p.place, r.piece.order, r.piece.id, r.piece.approved)
        for p in sheet.placements
        for r in (ready[p.artwork.piece],)
    )
    return NewLoad(
        machine=job.machine.id,
        blank=job.blank.id,
        material=job.material.id,
        places=places,
        sha256=hashlib.sha256((folder / name).read_bytes()).hexdigest(),
        aside=f"{folder.parent.name}/{folder.name}",
        sheet=name,
    )


def _summary(load: Load, laid: LaidSheet) -> str:
    """What lies beside a sheet: safety first, then which piece lies where."""
    sheet, job = laid.sheet, laid.job
    cautions = safety(
        job.machine,
        job.light,
        job.material,
        hazards=job.hazards,
        operations=operations_of([p.artwork for p in sheet.placements], job.blank),
        rotary=job.blank.hold is Hold.ROTARY,
    )
    lines = [f"Load {load.id}: {sheet.title}, for {job.machine.title}", "", "Before anything burns:"]
    lines += [f"* {caution}" for caution in cautions]
    lines += ["", *laid.lines, *time_lines(times_of([sheet], job), job)]
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
        if (shop / load.file).is_file():
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


def write_again(ledger: Ledger, number: int, workshop: Workshop, shop: Path) -> Load:
    """Write the sheet of an open load once more, from what was approved: the same file, byte for byte.

    Raises:
        MonikerfError: a piece would come out otherwise, or the file would.
    """
    load = ledger.load(number)
    if load.state != "open":
        raise MonikerfError(
            f"load {number} is {load.state}", hint="lay out what failed: monikerf load --remake"
        )
    maker = Maker.of(workshop)
    pieces = [ledger.piece(p.order, p.piece) for p in load.places]
    ready, changed = _computed_anew(ledger, maker, pieces, load.machine)
    if changed:
        raise _not_as_approved(changed, maker, shop)
    home = ready_folder((shop / load.file).parent)
    laid = lay_again(ready, load, read_laying(home))
    with SecondReader() as second:
        bed = reach(laid.job.machine, laid.job.blank)
        write_sheet(home / Path(load.file).name, laid.sheet, bed, second)
    write_atomically(home / SUMMARY, _summary(load, laid).encode())
    if hashlib.sha256((shop / load.file).read_bytes()).hexdigest() != load.sha256:
        raise OutputError(
            f"the sheet of load {number} does not come out as before", hint="drop it: monikerf made --drop"
        )
    return load
