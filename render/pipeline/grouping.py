"""Pieces that share thing, material and machine, laid out together, whichever orders they are of."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path as FilePath
from typing import TYPE_CHECKING, Any

from render.errors import MonikerfError
from render.model import Artwork, Hold, Piece, Problem, Severity, Sheet
from render.pipeline.cutting import (
    AS_EVER,
    Cut,
    CutOptions,
    cut_ready,
    cutting_lines,
    how_to_cut,
    with_room,
)
from render.pipeline.laying import lay_out, suits_of, wrap_all
from render.pipeline.leftovers import (
    LaidLoad,
    laid_again,
    laying_text,
    on_stock,
    read_laying,
    read_sections,
    sections_text,
)
from render.pipeline.nests import KeptNests
from render.pipeline.outputs import PLAIN, FileOptions
from render.pipeline.packing import packing_order
from render.pipeline.rounding import as_cut
from render.pipeline.stocktell import stock_lines
from render.sheets.burn import finished
from render.sheets.layout import AS_SUITS, Layout, LayoutOptions
from render.sheets.taken import Taken
from render.shop.ledger import LedgerPiece, Load
from render.shop.suitability import refuse_material

if TYPE_CHECKING:
    from render.pipeline.workshop import Job, Workshop


@dataclass(frozen=True, slots=True)
class LoadOptions:
    """How to load.

    Attributes:
        machine: id of the machine; empty: each order's own.
        unasked: why pieces may be made that the customer has not approved; empty: they may not.
        remake: lay out what failed instead of what is approved.
        cutting: kerf, tabs and lead-in, where they are not to be as ever.
        layout: how pieces are laid out, and the place to begin at.
        stock: ids of the sheets to cut from, in this order.
        by: the field of the bags whose order pieces are laid in, order by order; empty: that of their tables.
        files: which files are written.
    """

    machine: str = ""
    unasked: str = ""
    remake: bool = False
    cutting: CutOptions = AS_EVER
    layout: LayoutOptions = AS_SUITS
    stock: tuple[str, ...] = ()
    by: str = ""
    files: FileOptions = PLAIN


@dataclass(frozen=True, slots=True)
class Ready:
    """A piece with its artwork, computed anew and found equal to the approved one, and its job."""

    piece: LedgerPiece
    artwork: Artwork
    job: Job


@dataclass(frozen=True, slots=True)
class LaidSheet:
    """A sheet, or the sections of one long piece, that are about to become a load.

    Attributes:
        ready: its pieces, and others of its group, by their names on sheets.
        laying: how it lies on its stock, or what its sections were cut by, to be kept beside it; empty where
            nothing is to be kept.
        lines: what to tell of its stock and of how it is cut.
        taken: what it takes of its stock, where that is known.
        more: the sections that follow the first, of a piece that is longer than the bed.
    """

    sheet: Sheet
    ready: Mapping[str, Ready]
    job: Job
    laying: bytes = b""
    lines: tuple[str, ...] = ()
    taken: tuple[Taken, ...] = ()
    more: tuple[Sheet, ...] = ()

    @property
    def sheets(self) -> tuple[Sheet, ...]:
        """All that is burned for it, in this order."""
        return (self.sheet, *self.more)


def on_sheet(piece: LedgerPiece) -> str:
    """How the piece is called in a sheet's file, where pieces of several orders may lie."""
    return f"{piece.order}-{piece.id}"


def lay_groups(
    ready: Sequence[Ready], options: LoadOptions, workshop: Workshop, loads: Sequence[LaidLoad]
) -> tuple[list[LaidSheet], list[Problem]]:
    """All sheets of all pieces, and what came up.

    Args:
        ready: the pieces.
        options: how.
        workshop: where stock comes from.
        loads: of the shop, with how they lie on stock.

    Raises:
        MonikerfError: a material must not go under the beam, the machine cannot do it, or a sheet of stock
            does not suit.
    """
    groups: dict[tuple[str, str, str], list[Ready]] = {}
    for each in _bag_by_bag(ready, options.by) if options.by else ready:
        key = (each.job.blank.id, each.job.material.id, each.job.machine.id)
        groups.setdefault(key, []).append(each)
    if options.stock and len(groups) > 1:
        raise MonikerfError(
            "these orders are of several things or materials, and --stock would be used for each",
            hint="load them one after another",
        )
    problems: list[Problem] = []
    laid: list[LaidSheet] = []
    for members in groups.values():
        job = on_stock(members[0].job, options.stock, workshop, loads)
        layout, found = _lay_group(members, job, options, KeptNests.of(workshop.shop))
        cut = cut_ready(layout, job, options.cutting)
        laid += _laid_sheets(layout, cut, members, job, options.cutting)
        problems += [*found, *layout.problems, *cut.problems]
    return laid, problems


def _bag_by_bag(ready: Sequence[Ready], by: str) -> list[Ready]:
    """The pieces order by order, and within an order parcel by parcel."""
    found = []
    for order in dict.fromkeys(r.piece.order for r in ready):
        mine = {r.piece.id: r for r in ready if r.piece.order == order}
        pieces = [Piece(r.piece.id, r.piece.row, r.piece.fields) for r in mine.values()]
        found += [mine[id_] for id_ in packing_order(pieces, by)]
    return found


def _lay_group(
    members: Sequence[Ready], job: Job, options: LoadOptions, kept: KeptNests
) -> tuple[Layout, list[Problem]]:
    """The sheets of pieces that share thing, material and machine, before kerf and the like."""
    refuse_material(job.material)
    artworks = [replace(m.artwork, piece=on_sheet(m.piece)) for m in members]
    suits = suits_of(artworks, job)
    stop = next((p for p in suits if p.severity is Severity.STOP), None)
    if stop is not None:
        raise MonikerfError(stop.message, hint=stop.hint, place=f"machine {job.machine.id}")
    wrapped = wrap_all(artworks, job.blank, job)
    held = frozenset(p.piece for p in wrapped.problems if p.severity is Severity.STOP)
    layout = lay_out(wrapped, held, with_room(job, options.cutting), options.layout, kept, options.cutting)
    return layout, [*suits, *wrapped.problems]


def _laid_sheets(
    layout: Layout, cut: Cut, members: Sequence[Ready], job: Job, cutting: CutOptions
) -> list[LaidSheet]:
    ready = {on_sheet(m.piece): m for m in members}
    if layout.sections:
        return _laid_sections(cut, ready, job, cutting)
    told = [cutting_lines(replace(cut, travel=(way,)), job) for way in cut.travel]
    if job.blank.hold is not Hold.STOCK:
        pairs = zip(cut.layout.sheets, told, strict=True)
        return [LaidSheet(sheet, ready, job, lines=lines) for sheet, lines in pairs]
    kerf = how_to_cut(job, cutting).kerf
    found = []
    for before, after, taken, way in zip(layout.sheets, cut.layout.sheets, layout.taken, told, strict=True):
        text = laying_text(before, after, taken, asdict(replace(cutting, kerf=kerf)), kerf)
        lines = (*stock_lines([taken], layout.way), *way)
        found.append(LaidSheet(after, ready, job, text, lines, (taken,)))
    return found


def _laid_sections(cut: Cut, ready: Mapping[str, Ready], job: Job, cutting: CutOptions) -> list[LaidSheet]:
    """A load for each piece, of all its sections: they are burned one after another, on one length of stock.

    Sections are numbered from 1 within their load, whichever pieces were laid out along with it.
    """
    by_piece: dict[str, list[tuple[Sheet, tuple[float, float]]]] = {}
    for sheet, way in zip(cut.layout.sheets, cut.travel, strict=True):
        (placement,) = sheet.placements
        by_piece.setdefault(placement.artwork.piece, []).append((sheet, way))
    text = sections_text(asdict(replace(cutting, kerf=how_to_cut(job, cutting).kerf)))
    found = []
    for sections in by_piece.values():
        first, *more = (replace(sheet, number=n) for n, (sheet, _) in enumerate(sections, 1))
        lines = cutting_lines(replace(cut, travel=tuple(way for _, way in sections)), job)
        found.append(LaidSheet(first, ready, job, text, lines, more=tuple(more)))
    return found


def lay_again(ready: Sequence[Ready], load: Load, home: FilePath) -> LaidSheet:
    """The sheet of one load once more, or all its sections.

    Args:
        ready: its pieces.
        load: as the ledger has it.
        home: its folder, where it may stand how it lay on its stock, or what its sections were cut by.

    Raises:
        MonikerfError: it cannot be laid out any more.
    """
    job, laying, sections = ready[0].job, read_laying(home), read_sections(home)
    if laying is None:
        options = LoadOptions(layout=replace(AS_SUITS, first_place=load.places[0].place))
        if sections is not None:
            options = replace(options, cutting=CutOptions(**_tupled(sections)))
        layout, _ = _lay_group(ready, job, options, KeptNests(None))
        cut = cut_ready(layout, job, options.cutting)
        return replace(_laid_sheets(layout, cut, ready, job, options.cutting)[0], laying=b"")
    cutting = CutOptions(**_tupled(laying["cutting"]))
    blank = as_cut(job.blank)
    wrapped = wrap_all([replace(m.artwork, piece=on_sheet(m.piece)) for m in ready], blank, job)
    layout = laid_again(laying, finished(wrapped.artworks, blank), job.machine)
    sheet = cut_ready(layout, job, cutting).layout.sheets[0]
    return LaidSheet(sheet, {on_sheet(m.piece): m for m in ready}, job)


def _tupled(values: Mapping[str, Any]) -> dict[str, Any]:
    """Values as they came from JSON, lists made tuples again."""
    return {key: tuple(v) if isinstance(v, list) else v for key, v in values.items()}
