"""Orders of the ledger, drawn: the very artworks that are shown, approved and made."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from render.fitting import explain_set
from render.model import Artwork, Fitted, Order, Problem, SetLine, Severity
from render.pipeline.artworks import Lettered, Progress, letter_order
from render.shop.ledger import UNSETTLED, Drawn, LedgerPiece, Making, Terms

if TYPE_CHECKING:
    from render.lettering import Letterer
    from render.pipeline.workshop import Job, Workshop
    from render.shop.ledger import Ledger


def _nobody(_stage: str, _done: int, _total: int) -> None:
    """Progress that nobody watches."""


@dataclass(frozen=True, slots=True)
class OrderArtworks:
    """An order as the ledger has it, drawn.

    Attributes:
        order: its pieces (of the newest table, corrected) and the problems of its table and its drawing.
        job: design, thing, material and machine.
        artworks: of every piece that can be made, in the order's order. Those of pieces yet to be approved
            have just been computed; the others are those that were approved.
        seen: those of pieces yet to be approved as they look to whoever gets them.
        fitted: how the lettering of the pieces yet to be approved was fitted.
        problems: everything that a person should know.
        digests: of each artwork, by piece.
        versions: number of each artwork, by piece.
        to_show: ids of the pieces that the customer has yet to approve and that can be made.
    """

    order: Order
    job: Job
    artworks: tuple[Artwork, ...]
    seen: tuple[Artwork, ...]
    fitted: tuple[Fitted, ...]
    problems: tuple[Problem, ...]
    digests: Mapping[str, str]
    versions: Mapping[str, int]
    to_show: tuple[str, ...]


@dataclass(slots=True)
class Maker:
    """Draws makings, each once."""

    workshop: Workshop
    letterer: Letterer
    progress: Progress = _nobody
    _jobs: dict[Terms, Job] = field(default_factory=dict)
    _made: dict[int, Lettered] = field(default_factory=dict)

    @classmethod
    def of(cls, workshop: Workshop, progress: Progress = _nobody) -> Maker:
        """With the fonts of a workshop."""
        return cls(workshop, workshop.letterer(), progress)

    def job(self, terms: Terms) -> Job:
        """What these terms need.

        Raises:
            MonikerfError: something of it is not there any more.
        """
        if terms not in self._jobs:
            self._jobs[terms] = self.workshop.job(
                terms.template, blank=terms.blank, machine=terms.machine, font=terms.font or None
            )
        return self._jobs[terms]

    def draw(self, making: Making, problems: Sequence[Problem] = ()) -> Lettered:
        """All pieces of a making, lettered as they would be now."""
        if making.id and making.id in self._made:
            return self._made[making.id]
        order = Order("", making.pieces, tuple(problems))
        lettered = letter_order(
            order, self.job(making.terms), self.letterer, self.workshop, 0, self.progress, making.pins
        )
        if making.id:
            self._made[making.id] = lettered
        return lettered


def order_artworks(
    ledger: Ledger, order: str, workshop: Workshop, progress: Progress = _nobody, *, why: str = ""
) -> OrderArtworks:
    """Draw an order's pieces as the ledger has them, and write new versions down.

    A piece keeps its version as long as nothing changes its geometry. Those that are drafted or proofed and
    would look different (a correction, another template, another font) get a new one, in the same size as
    those approved already. Approved pieces are never drawn anew here.

    Args:
        ledger: where the order is.
        order: its id.
        workshop: designs, fonts, things.
        progress: told how far it is.
        why: what is written beside new versions.

    Raises:
        MonikerfError: there is no such order, or its template, blank, machine or font cannot be used.
    """
    known = ledger.order(order)
    maker = Maker.of(workshop, progress)
    job = maker.job(known.terms)
    rows = ledger.pieces(order)
    open_ = [row for row in rows if row.state in UNSETTLED]
    kept = _still_alike(ledger, maker, known.terms, open_)
    renewed = [row for row in open_ if row.id not in kept]
    fitted = dict(kept)
    found: list[Problem] = [p for lettered in _once(kept.values()) for p in lettered.problems]
    if renewed:
        pins = ledger.pins(order)
        making = Making(known.terms, pins, tuple(row.as_piece() for row in rows), {})
        lettered = maker.draw(making, known.problems)
        making = replace(making, sizes={s.slot: s.size for s in explain_set(lettered.fitted)})
        drawn, held = drawn_of(lettered, maker.letterer, [row.id for row in renewed])
        ledger.keep_artworks(order, making, drawn, held, why=why)
        fitted |= {row.id: lettered for row in renewed}
        found += [*lettered.problems, *_resized(pins, making.sizes)]
    maker.letterer.keep()
    return _gathered(ledger, order, job, fitted, (*known.problems, *found))


def _still_alike(
    ledger: Ledger, maker: Maker, terms: Terms, pieces: Sequence[LedgerPiece]
) -> dict[str, Lettered]:
    """Pieces whose newest artwork comes out the same again, each with the lettering it came out of."""
    alike: dict[str, Lettered] = {}
    for number, members in _by_making(ledger, pieces).items():
        making = ledger.making(number)
        texts = {p.id: dict(p.fields) for p in making.pieces}
        same = [p for p in members if not p.held and texts.get(p.id) == dict(p.fields)]
        if making.terms != terms or not same:
            continue
        lettered = maker.draw(making)
        artworks = {a.piece: a for a in lettered.artworks}
        for piece in same:
            if piece.id in artworks and artworks[piece.id].digest() == piece.digest:
                alike[piece.id] = lettered
    return alike


def _by_making(ledger: Ledger, pieces: Sequence[LedgerPiece]) -> dict[int, list[LedgerPiece]]:
    """The pieces that have an artwork, by the making it came out of."""
    found: dict[int, list[LedgerPiece]] = {}
    for piece in pieces:
        if piece.version:
            found.setdefault(ledger.making_of(piece.order, piece.id, piece.version), []).append(piece)
    return found


def drawn_of(
    lettered: Lettered, letterer: Letterer, ids: Iterable[str]
) -> tuple[list[Drawn], dict[str, str]]:
    """What is to be kept of some pieces: artworks with fonts and size, and why the others have none.

    The fonts told are all in which anything of a piece is set, those of its largest line first; the size is
    that line's.
    """
    wanted = set(ids)
    lines: dict[str, list[SetLine]] = {}
    for each in lettered.fitted:
        if each.request.piece in wanted:
            lines.setdefault(each.request.piece, []).extend(each.lines)
    drawn = []
    for artwork in lettered.artworks:
        if artwork.piece in wanted:
            largest = sorted(lines.get(artwork.piece, ()), key=lambda line: -line.size)
            fonts = dict.fromkeys(font for line in largest for font, _ in letterer.fonts_of(line.line))
            drawn.append(Drawn(artwork, ", ".join(fonts), largest[0].size if largest else 0.0))
    missing = wanted - {each.artwork.piece for each in drawn}
    why = {p.piece: f"{p.message} {p.hint}".strip() for p in lettered.problems if p.severity is Severity.STOP}
    return drawn, {id_: why.get(id_, "it cannot be drawn") for id_ in sorted(missing)}


def _resized(pins: Mapping[str, float], sizes: Mapping[str, float]) -> Iterable[Problem]:
    """What to know where a set could not keep the size of the pieces approved before."""
    for slot, pin in pins.items():
        if slot in sizes and abs(sizes[slot] - pin) > 1e-6:
            yield Problem(
                Severity.LOOK,
                "size-changed",
                f"“{slot}” is now set at {sizes[slot]:g} mm; the pieces approved before are at {pin:g} mm.",
                "Look whether they go together.",
            )


def _gathered(
    ledger: Ledger, order: str, job: Job, fitted: Mapping[str, Lettered], problems: Iterable[Problem]
) -> OrderArtworks:
    known, rows = ledger.order(order), ledger.pieces(order)
    fresh = {a.piece: a for lettered in _once(fitted.values()) for a in lettered.artworks}
    artworks = []
    for row in rows:
        if row.version and not row.held:
            artwork = fresh.get(row.id) if row.id in fitted else None
            if artwork is None or artwork.digest() != row.digest:
                artwork = ledger.version(order, row.id, row.version).artwork
            artworks.append(artwork)
    ids = {row.id for row in rows}
    told = tuple(dict.fromkeys(p for p in problems if not p.piece or p.piece in ids))
    return OrderArtworks(
        order=Order(known.id, tuple(row.as_piece() for row in rows), told),
        job=job,
        artworks=tuple(artworks),
        seen=tuple(a for each in _once(fitted.values()) for a in each.seen if fitted.get(a.piece) is each),
        fitted=tuple(
            f for each in _once(fitted.values()) for f in each.fitted if fitted.get(f.request.piece) is each
        ),
        problems=told,
        digests={row.id: row.digest for row in rows if row.version and not row.held},
        versions={row.id: row.version for row in rows if row.version and not row.held},
        to_show=tuple(row.id for row in ledger.to_show(order)),
    )


def _once(values: Iterable[Lettered]) -> list[Lettered]:
    """Each of them once."""
    return list({id(value): value for value in values}.values())
