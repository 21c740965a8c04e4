"""From pieces to artworks: composed, fitted over the whole order, lettered; and what came up on the way."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Final

from render.fitting import Limits, fit_order
from render.fitting.poise import poised
from render.geometry import Path
from render.model import (
    Artwork,
    FitRule,
    Fitted,
    LetterRequest,
    Order,
    Piece,
    Problem,
    Remedy,
    SetLine,
    Setting,
    Severity,
)
from render.pipeline.detailing import (
    SetDetail,
    detail_problems,
    details_of,
    thickened,
    with_room_to_thicken,
)
from render.pipeline.emblems import emblems, is_emblem
from render.pipeline.forms import fit_for_size, form_problems
from render.pipeline.holding import Held, wants_holding, waste_note
from render.pipeline.holdworkers import Todo, hold_all
from render.pipeline.seeing import as_printed, mirror_note
from render.pipeline.shaped import bend_into, marks_of, mirrored_artwork, set_straight
from render.pipeline.stamps import shoulder_notes
from render.pipeline.standins import with_stand_ins
from render.pipeline.strokes import stroke_problems
from render.pipeline.swashing import with_swashes

if TYPE_CHECKING:
    from render.design import Drawing
    from render.lettering import Letterer
    from render.pipeline.workshop import Job, Workshop

Progress = Callable[[str, int, int], None]
"""Told of a stage's name, how many are done, and how many there are."""

CHUNK: Final = 24
"""Groups of lines lettered in one go: enough to share numpy's cost, few enough to stay in the cache."""

MANY: Final = 4_000
"""From so many groups on, one more process pays for its start."""


@dataclass(frozen=True, slots=True)
class Lettered:
    """An order's artworks before they are wrapped and laid out.

    Attributes:
        artworks: of the pieces that can be made, in the order's order.
        seen: the same as they look to whoever gets them; see :mod:`render.pipeline.seeing`.
        fitted: every text of the order, also of pieces held back.
        problems: those of the table and all that came up since.
        held: how cut-through lettering is kept together, of pieces that have any.
        details: the finest detail of each slot of plain lettering.
    """

    artworks: tuple[Artwork, ...]
    seen: tuple[Artwork, ...]
    fitted: tuple[Fitted, ...]
    problems: tuple[Problem, ...]
    held: tuple[Held, ...] = ()
    details: Mapping[str, SetDetail] = field(default_factory=dict)


def letter_order(
    order: Order,
    job: Job,
    letterer: Letterer,
    workshop: Workshop,
    workers: int,
    progress: Progress,
    pins: Mapping[str, float] | None = None,
) -> Lettered:
    """Compose, fit and letter every piece of an order.

    A piece with a problem that is STOP is held back; the others go on. `pins` are sizes in mm by slot that
    sets have already, since others of them were made.
    """
    drawings = [job.template.compose(piece.fields, piece.id, font=job.font) for piece in order.pieces]
    requests = _with_joins([r for d in drawings for r in d.requests], letterer)
    drawn = [request for request in requests if is_emblem(request)]
    requests = [request for request in requests if not is_emblem(request)] if drawn else requests
    requests, changed = with_stand_ins(requests, letterer)
    if pins:
        requests = _pinned(requests, pins)
    limits = Limits.of(job.material, job.machine)
    requests, whole_areas = set_straight(with_room_to_thicken(requests, limits))
    progress("measuring", 0, len(requests))
    fitted = fit_for_size(requests, letterer, lambda some: fit_order(some, letterer.line, letterer.skyline))
    fitted, swashed = with_swashes(
        poised(fitted, letterer.weight),
        {p.id: d for p, d in zip(order.pieces, drawings, strict=True)},
        letterer,
        limits,
    )
    fitted = thickened(fitted, limits)
    details = details_of(fitted, letterer, limits)
    emblem_paths = emblems(drawn, letterer, limits) if drawn else []
    plain, fitted = fitted, (*fitted, *(f for f, _ in emblem_paths))
    progress("measuring", len(requests), len(requests))
    rows = {piece.id: piece for piece in order.pieces}
    found = [p for d in drawings for p in d.problems]
    found += [p for f in fitted for p in f.problems]
    found += changed
    found += stroke_problems(requests, letterer)
    found += form_problems([*requests, *drawn], letterer)
    found += swashed
    found += detail_problems(details)
    problems = (*order.problems, *(_at_row(p, rows) for p in found))
    held = held_back(problems)
    good = [f for f in plain if f.request.piece not in held and f.remedy is not Remedy.HELD]
    paths = _outlines([f.lines for f in good], letterer, workshop, workers, progress)
    if whole_areas:
        at = [whole_areas.get((f.request.piece, f.request.slot)) for f in good]
        paths = [
            path if area is None else bend_into(f, path, area)
            for f, path, area in zip(good, paths, at, strict=True)
        ]
    whole = [(f, path) for f, path in emblem_paths if f.request.piece not in held]
    lettering = _by_piece([*good, *(f for f, _ in whole)], [*paths, *(path for _, path in whole)])
    kept = _held_together(order, drawings, lettering, held, job, letterer, workshop, workers, progress)
    problems = (*problems, *(_at_row(p, rows) for h in kept.values() for p in h.problems))
    problems += (*waste_note(list(kept.values())), *(_at_row(p, rows) for p in letterer.notes()))
    artworks = seen = _artworks(order, drawings, lettering, kept, held_back(problems), job)
    if job.template.mirror:
        seen = tuple(as_printed(a, lettering.get(a.piece, ()), job.blank) for a in artworks)
        artworks = tuple(mirrored_artwork(artwork, job.template.size[0]) for artwork in artworks)
        problems = (*problems, mirror_note(job.template))
    problems += shoulder_notes(requests, job.machine.spot)
    return Lettered(artworks, seen, fitted, problems, tuple(kept.values()), details)


def held_back(problems: Sequence[Problem]) -> frozenset[str]:
    """Ids of the pieces that one of the problems holds back."""
    return frozenset(p.piece for p in problems if p.piece and p.severity is Severity.STOP)


def _with_joins(requests: Sequence[LetterRequest], letterer: Letterer) -> list[LetterRequest]:
    """The requests, each told whether its font joins its letters; where it does, without tracking."""
    joined: dict[tuple[FitRule, Setting], tuple[FitRule, Setting]] = {}
    told = []
    for request in requests:
        key = (request.rule, request.setting)
        if key not in joined:
            joins = letterer.joined(request.setting.font)
            rule, setting = key
            joined[key] = (replace(rule, joined=True), replace(setting, tracking=0.0)) if joins else key
        rule, setting = joined[key]
        told.append(request if rule is request.rule else replace(request, rule=rule, setting=setting))
    return told


def _pinned(requests: Sequence[LetterRequest], pins: Mapping[str, float]) -> list[LetterRequest]:
    """The requests, those of sets that share one size in the size they had before."""
    rules: dict[tuple[FitRule, str], FitRule] = {}
    told = []
    for request in requests:
        key = (request.rule, request.slot)
        if key not in rules:
            rule, pin = request.rule, pins.get(request.slot)
            rules[key] = rule if pin is None else replace(rule, pinned=pin)
        told.append(replace(request, rule=rules[key]))
    return told


def _at_row(problem: Problem, pieces: dict[str, Piece]) -> Problem:
    """The problem with the row of its piece, if it did not say."""
    if problem.row is not None or problem.piece not in pieces:
        return problem
    piece = pieces[problem.piece]
    return replace(problem, row=piece.row, value=problem.value or piece.fields.get("name", ""))


def _outlines(
    groups: Sequence[Sequence[SetLine]],
    letterer: Letterer,
    workshop: Workshop,
    workers: int,
    progress: Progress,
) -> list[Path]:
    """One path per group of lines, lettered here or by several processes."""
    chunks = [groups[i : i + CHUNK] for i in range(0, len(groups), CHUNK)]
    if workers == 0:
        workers = 1 + len(groups) // MANY
    if workers > 1 and len(chunks) > 1:
        from render.pipeline.workers import outlines_by_workers

        done = outlines_by_workers(chunks, workshop, workers)
    else:
        done = (letterer.outlines(chunk) for chunk in chunks)
    paths: list[Path] = []
    for chunk in done:
        paths += chunk
        progress("lettering", len(paths), len(groups))
    return paths


def _by_piece(good: Sequence[Fitted], paths: Sequence[Path]) -> dict[str, list[tuple[Fitted, Path]]]:
    """Lettering with its outlines, by piece."""
    lettering: dict[str, list[tuple[Fitted, Path]]] = {}
    for fitted, path in zip(good, paths, strict=True):
        if path:
            lettering.setdefault(fitted.request.piece, []).append((fitted, path))
    return lettering


def _held_together(
    order: Order,
    drawings: Sequence[Drawing],
    lettering: Mapping[str, list[tuple[Fitted, Path]]],
    held: frozenset[str],
    job: Job,
    letterer: Letterer,
    workshop: Workshop,
    workers: int,
    progress: Progress,
) -> dict[str, Held]:
    """How the cut-through lettering of each piece that has any is kept together."""
    todo: list[Todo] = [
        (piece.id, drawing, lettering.get(piece.id, []))
        for piece, drawing in zip(order.pieces, drawings, strict=True)
        if piece.id not in held and wants_holding(drawing, [f for f, _ in lettering.get(piece.id, ())])
    ]
    found: dict[str, Held] = {}
    for kept in hold_all(todo, job, letterer, workshop, workers):
        found[kept.piece] = kept
        progress("joining", len(found), len(todo))
    return found


def _artworks(
    order: Order,
    drawings: Sequence[Drawing],
    lettering: Mapping[str, Sequence[tuple[Fitted, Path]]],
    kept: Mapping[str, Held],
    held: frozenset[str],
    job: Job,
) -> tuple[Artwork, ...]:
    found = []
    for piece, drawing in zip(order.pieces, drawings, strict=True):
        if piece.id in held:
            continue
        plain = [
            (f, path)
            for f, path in lettering.get(piece.id, ())
            if piece.id not in kept or f.request.cut is None
        ]
        marks = marks_of(plain, job.machine.spot, job.blank.outline)
        marks += kept[piece.id].marks if piece.id in kept else ()
        found.append(Artwork(piece.id, title_of(piece), (*drawing.marks, *marks)))
    return tuple(found)


def title_of(piece: Piece) -> str:
    """What a person calls the piece: its name, or the first of its fields that says anything."""
    return piece.fields.get("name") or next((v for v in piece.fields.values() if v), piece.id)
