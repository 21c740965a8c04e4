"""Loads: sheets of nothing but what was approved, exactly as it was approved."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Final

from render.errors import MonikerfError, OutputError
from render.model import Artwork, Problem, Severity
from render.pipeline.artworks import Progress
from render.pipeline.grouping import LoadOptions as LoadOptions
from render.pipeline.grouping import Ready, lay_again, lay_groups, on_sheet
from render.pipeline.leftovers import laid_loads
from render.pipeline.loadfiles import finish_loads as finish_loads
from render.pipeline.loadfiles import rewrite, write_loads
from render.pipeline.loadnames import sheets_sha256
from render.pipeline.orders import Maker, order_artworks
from render.pipeline.outputs import PLAIN, FileOptions
from render.pipeline.proofs import Captions
from render.proof.sidebyside import Pair, side_by_side
from render.shop.ledger import UNSETTLED, LedgerPiece, Load, State, Terms
from render.writers.files import ready_folder, write_atomically

if TYPE_CHECKING:
    from render.lettering import Letterer
    from render.pipeline.workshop import Workshop
    from render.shop.ledger import Ledger

CHANGED: Final = "changed.png"
"""The picture of pieces that would not come out as approved."""

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
    return _lay_and_write(ledger, ready, shop, options, workshop, maker.letterer, progress)


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
    letterer: Letterer,
    progress: Progress,
) -> Loaded:
    laid, problems = lay_groups(ready, options, workshop, laid_loads(ledger, shop) if options.stock else ())
    held = {p.piece: f"{p.message} {p.hint}".strip() for p in problems if p.severity is Severity.STOP}
    if not laid:
        raise MonikerfError("nothing can be made of it", hint="; ".join(held.values()))
    loads = write_loads(ledger, laid, shop, options.files, letterer, progress)
    left = tuple((m.piece.name, held[on_sheet(m.piece)]) for m in ready if on_sheet(m.piece) in held)
    return Loaded(loads, left, tuple(p for p in problems if p.severity is not Severity.STOP))


def write_again(
    ledger: Ledger, number: int, workshop: Workshop, shop: Path, files: FileOptions = PLAIN
) -> Load:
    """Write the sheets of an open load once more, from what was approved: the same files, byte for byte.

    Other files that are asked for are written beside it.

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
    laid = lay_again(ready, load, home)
    rewrite(load, laid, home, files, maker.letterer)
    if sheets_sha256(shop, load.file) != load.sha256:
        raise OutputError(
            f"the sheet of load {number} does not come out as before", hint="drop it: monikerf made --drop"
        )
    return load
