"""The contact sheet of an order: captions set by the letterer, pieces flagged where a look is needed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, Final

from render.model import Artwork, Order, Problem, SetLine, Setting, Severity, Sheet
from render.pipeline.artworks import title_of
from render.pipeline.rounding import on_surface, wrapper_for
from render.pipeline.seeing import seen_thing
from render.pipeline.stocktell import taken_words, waste_words
from render.proof import Flag, ProofPiece, Wording, contact_sheet
from render.proof.papers import Head
from render.proof.roundcells import Cells
from render.proof.runlist import RunLoad, draw_run_list
from render.sheets.taken import Taken
from render.wrap import Wrapper

if TYPE_CHECKING:
    from render.lettering import Letterer
    from render.pipeline.workshop import Job

PLAIN_FONT: Final = "noto-sans"
STRONG_FONT: Final = "source-sans-3"
"""The fonts of captions; other scripts are set in the first font that covers them."""

_WORDS: Final = {
    "all-capitals": "all in capitals",
    "look-alike": "a look-alike letter",
    "mojibake": "letters misread",
    "nearly-same-name": "nearly the same name twice",
    "same-name": "same name twice",
    "set-on-lines": "on two lines",
    "set-narrower": "in a narrower font",
    "set-smaller": "smaller than the rest",
    "stroke-too-thin": "strokes too thin",
}
"""A problem in a few words, for captions, where its code does not say it well."""


def proof_pages(
    order: Order, artworks: Sequence[Artwork], problems: Iterable[Problem], job: Job, letterer: Letterer
) -> tuple[bytes, ...]:
    """The pages of the order's contact sheet, as SVG; none if the order has no pieces.

    `artworks` are drawn as given: as they look to whoever gets them.
    """
    worst: dict[str, Problem] = {}
    for problem in problems:  # worst first
        if problem.severity is not Severity.NOTE and problem.piece:
            worst.setdefault(problem.piece, problem)
    by_piece = {artwork.piece: artwork for artwork in artworks}
    pieces = []
    for piece in order.pieces:
        found = worst.get(piece.id)
        held = found is not None and found.severity is Severity.STOP
        flag = Flag.HELD if held else Flag.LOOK if found else Flag.NONE
        reason = _WORDS.get(found.code, found.code.replace("-", " ")) if found else ""
        artwork = None if held else by_piece.get(piece.id)
        pieces.append(ProofPiece(piece.id, title_of(piece), artwork, flag, reason))
    if not pieces:
        return ()
    return contact_sheet(
        pieces, *seen_thing(job), Captions(letterer), title=order.name, round_=_cells(pieces, job)
    )


def _cells(pieces: Sequence[ProofPiece], job: Job) -> Cells | None:
    """How the pieces look on the job's round thing; None for what does not turn, or is marked inside."""
    wrapper = wrapper_for(job.blank, job.machine, job.light)
    if not isinstance(wrapper, Wrapper) or wrapper.body.inside:
        return None
    laid = {p.id: on_surface(p.artwork, wrapper) for p in pieces if p.artwork is not None}
    return Cells.of(job.blank, job.material, wrapper.profile, laid)


class Captions:
    """Words as outlines, each text in a font that has all its letters."""

    def __init__(self, letterer: Letterer) -> None:
        """Set by `letterer`."""
        self._letterer = letterer
        self._set: dict[tuple[str, bool], Wording] = {}

    def __call__(self, text: str, strong: bool = False) -> Wording:
        """See :class:`render.proof.Letter`. Characters that no font has are shown by their code points."""
        known = self._set.get((text, strong))
        if known is None:
            known = self._set[text, strong] = self._letter(text, strong)
        return known

    def _letter(self, text: str, strong: bool) -> Wording:
        for font in self._fonts(text, strong):
            line = self._letterer.line(text, Setting(font))
            if not line.missing:
                break
        else:
            missing = {*line.missing}
            text = "".join(f"[U+{ord(c):04X}]" if c in missing else c for c in text)
            line = self._letterer.line(text, Setting(PLAIN_FONT))
        (path,) = self._letterer.outlines([(SetLine(line, 1.0, 0j),)])
        return Wording(path, line.advance)

    def _fonts(self, text: str, strong: bool) -> Iterator[str]:
        """The fonts to try; the shelf is searched only where the usual ones will not do."""
        yield STRONG_FONT if strong else PLAIN_FONT
        yield PLAIN_FONT
        yield from self._letterer.shelf.fonts_with(text)


def run_list_pages(
    sheets: Sequence[Sheet],
    files: Sequence[str],
    cautions: Sequence[str],
    order: Order,
    job: Job,
    letterer: Letterer,
    taken: Sequence[Taken] = (),
) -> tuple[bytes, ...]:
    """The pages of the list for the bench: safety words, then each load as a numbered picture.

    What each sheet takes of its stock is told where it is known.
    """
    waste = (("Stock", waste_words(taken)),) if taken else ()
    facts = (
        ("Machine", job.machine.title),
        ("Material", job.material.title),
        ("Loads", str(len(sheets))),
        ("Pieces", str(sum(len(sheet.placements) for sheet in sheets))),
        *waste,
    )
    head = Head("", (), "Run list", facts, order.name, job.blank.title)
    notes = [taken_words(each) for each in taken] or [""] * len(sheets)
    loads = [RunLoad(*each) for each in zip(sheets, files, notes, strict=True)]
    return draw_run_list(head, cautions, loads, Captions(letterer))
