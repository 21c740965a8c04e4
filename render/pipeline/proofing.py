"""Proofs for a customer: what is shown of each piece, and the files that show it."""

from __future__ import annotations

import json
import re
import secrets
import shutil
import unicodedata
from collections.abc import Collection, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Final

from render.model import Artwork, Fitted, Order, Piece, Problem, Remedy
from render.pipeline.artworks import Progress, letter_order, title_of
from render.pipeline.laying import suits_of, wrap_all
from render.pipeline.painter import painter
from render.pipeline.proofs import Captions
from render.pipeline.rounding import on_surface, wrapper_for
from render.pipeline.seeing import seen_note, seen_thing
from render.proof import ProofPiece, contact_sheet
from render.proof.page import proof_page
from render.proof.picture import piece_picture
from render.proof.roundcells import Cells
from render.proof.shown import ShopWords, Shown, ShownPiece, ShownText
from render.proof.truesize import true_size_pages
from render.wrap import Wrapper
from render.wrap.bodies import profile_of
from render.writers import move, ready_folder, safe_stem, write_atomically
from render.writers.pages import pages_pdf

if TYPE_CHECKING:
    from render.lettering import Letterer
    from render.pipeline.workshop import Job, Workshop

PAGE, PAPER, CONTACT, VALUES = "proof.html", "proof.pdf", "contact.png", "proof.json"
"""Names of the files of a proof; its pictures lie in the folder :data:`PICTURES`."""
PICTURES: Final = "pieces"
PICTURE_PX: Final = 1000
CONTACT_PX: Final = 2400

_NOTES: Final = {
    "same-name": "This name comes more than once in your order.",
    "nearly-same-name": "A name spelt nearly like this one comes in your order too.",
    "all-capitals": "This name was given in capitals throughout.",
    "no-capitals": "This name was given without capitals.",
    "surname-first": "The surname was given first.",
}
"""What a customer is told of a problem, by its code; what is not here is for the maker only."""

_MENDED: Final = "mended"
_QUOTES: Final = str.maketrans(
    {"\N{RIGHT SINGLE QUOTATION MARK}": "'", "\N{LEFT SINGLE QUOTATION MARK}": "'"}
)


@dataclass(frozen=True, slots=True)
class Proofed:
    """A proof as values, before it is written, and what sets its words."""

    shown: Shown
    problems: tuple[Problem, ...]
    letter: Captions


def proof_of_table(
    order: Order, job: Job, workshop: Workshop, words: ShopWords, workers: int, progress: Progress
) -> Proofed:
    """The proof of a table's pieces, without a ledger.

    Raises:
        MonikerfError: the job cannot be done at all.
    """
    letterer = workshop.letterer()
    for font in (job.font, *job.template.fonts):
        if font:
            letterer.joined(font)
    lettered = letter_order(order, job, letterer, workshop, workers, progress)
    wrapped = wrap_all(lettered.artworks, job.blank, job)
    problems = (*suits_of(lettered.artworks, job), *lettered.problems, *wrapped.problems)
    return proof_of(order, job, letterer, lettered.artworks, lettered.seen, lettered.fitted, problems, words)


def proof_of(
    order: Order,
    job: Job,
    letterer: Letterer,
    artworks: Sequence[Artwork],
    seen: Sequence[Artwork],
    fitted: Sequence[Fitted],
    problems: Sequence[Problem],
    words: ShopWords,
    *,
    title: str = "",
    only: Collection[str] | None = None,
) -> Proofed:
    """The proof of artworks that are already there.

    Args:
        order: the pieces.
        job: what they are made on.
        letterer: knows the fonts.
        artworks: their geometry, the same that goes to the sheet.
        seen: the same as they look to whoever gets them; see :mod:`render.pipeline.seeing`.
        fitted: how their lettering was fitted.
        problems: what came up; what concerns the customer is told.
        words: what the shop says of itself.
        title: of the proof; else the order's name.
        only: ids of the pieces to show; None shows all.
    """
    from render.pipeline.artworks import held_back

    held = held_back(problems)
    digests = {artwork.piece: artwork.digest() for artwork in artworks if artwork.piece not in held}
    good = {artwork.piece: artwork for artwork in seen if artwork.piece in digests}
    of_piece: dict[str, list[Fitted]] = {}
    for each in fitted:
        of_piece.setdefault(each.request.piece, []).append(each)
    told: dict[str, list[Problem]] = {}
    for problem in problems:
        told.setdefault(problem.piece, []).append(problem)
    note = seen_note(job.template)
    pieces = [
        _piece(p, good.get(p.id), digests.get(p.id, ""), of_piece.get(p.id, ()), told.get(p.id, ()), letterer)
        for p in order.pieces
        if only is None or p.id in only
    ]
    if note:
        pieces = [replace(p, notes=(note, *p.notes)) if p.artwork else p for p in pieces]
    wrapper = wrapper_for(job.blank, job.machine, job.light)
    shown = Shown(order.name, title or order.name, tuple(pieces), *seen_thing(job), words)
    body = job.blank.body
    if isinstance(wrapper, Wrapper) and body is not None:
        laid = tuple(
            replace(p, surface=on_surface(p.artwork, wrapper) if p.artwork else None) for p in shown.pieces
        )
        shown = replace(shown, pieces=laid, profile=profile_of(body))
    return Proofed(shown, tuple(problems), Captions(letterer))


def _piece(
    piece: Piece,
    artwork: Artwork | None,
    digest: str,
    fitted: Sequence[Fitted],
    problems: Sequence[Problem],
    letterer: Letterer,
) -> ShownPiece:
    texts = tuple(_text(each, piece, letterer) for each in fitted if each.lines)
    notes = [note for each in fitted for note in _notes(each, letterer)]
    notes += [_apostrophe(text) for text in texts if _curled(text)]
    notes += [_NOTES[problem.code] for problem in problems if _NOTES.get(problem.code)]
    return ShownPiece(piece.id, title_of(piece), artwork, digest, texts, tuple(dict.fromkeys(notes)))


def _text(fitted: Fitted, piece: Piece, letterer: Letterer) -> ShownText:
    text, first = fitted.request.text, fitted.lines[0]
    field = next((f for f, value in piece.fields.items() if _plain(value) == _plain(text)), "")
    slot = fitted.request.slot
    return ShownText(
        field=field,
        label=_label(field or slot),
        text=text,
        typed=piece.fields.get(field, text),
        lines=tuple(line.line.text for line in fitted.lines),
        language=fitted.request.setting.language,
        font=" and ".join(font_name(font, letterer) for font, _ in letterer.fonts_of(first.line)),
        size=first.size,
        capitals=first.size * first.line.cap_height,
    )


def _plain(text: str) -> str:
    """A text without what a design may change of it: capitals, apostrophes, spaces."""
    return " ".join(unicodedata.normalize("NFC", text).translate(_QUOTES).casefold().split())


def _label(name: str) -> str:
    """A field's or slot's id as a person says it: ``line2`` is Line 2."""
    words = re.sub(r"(?<=[a-z])(?=\d)|[-_]+", " ", name).strip()
    return words[:1].upper() + words[1:]


def font_name(id_: str, letterer: Letterer) -> str:
    """A font's own name, with its style where that is not the regular one."""
    font = letterer.shelf.find(id_)
    style = "" if font.style in ("Regular", "") else f" {font.style}"
    return f"{font.family}{style}"


def _notes(fitted: Fitted, letterer: Letterer) -> Iterator[str]:
    """What the customer should know about how a text was fitted."""
    lines = " / ".join(line.line.text for line in fitted.lines)
    if len(fitted.lines) > 1:
        yield f"Set on {len(fitted.lines)} lines: {lines}"
    if fitted.remedy is Remedy.NARROWER and fitted.lines:
        name = font_name(fitted.lines[0].line.setting.font, letterer)
        yield f"Set in a narrower font than the rest, {name}, since it is long."
    if fitted.remedy is Remedy.SMALLER:
        yield "Set smaller than the rest, since it is long."


def _curled(text: ShownText) -> bool:
    return text.text != text.typed and "\N{RIGHT SINGLE QUOTATION MARK}" in text.text and "'" in text.typed


def _apostrophe(text: ShownText) -> str:
    return f"The apostrophe is set as a curved one: {text.text}"


# ---------------------------------------------------------------- files


def write_proof(proof: Proofed, out: Path, progress: Progress, *, pictures: bool = True) -> tuple[str, ...]:
    """Write a proof's files into a folder, in place of those that an earlier proof left there.

    Everything is written aside first: a proof that fails leaves the folder as it was.

    Args:
        proof: what to show.
        out: the folder.
        progress: told how far it is.
        pictures: whether each piece gets a picture of its own.

    Returns:
        The files' names below `out`, in order.

    Raises:
        OutputError: a file cannot be written.
        MonikerfError: no piece can be shown.
    """
    before = _earlier(out / VALUES)
    with _aside(ready_folder(out)) as aside:
        names = list(_write(proof, aside, progress, pictures))
        if pictures:
            ready_folder(out / PICTURES)
        for name in names:
            move(aside / name, out / name)
    for old in before - set(names):
        (out / old).unlink(missing_ok=True)
    return tuple(names)


@contextmanager
def _aside(out: Path) -> Iterator[Path]:
    aside = ready_folder(out / f".monikerf-{secrets.token_hex(6)}")
    try:
        yield aside
    finally:
        shutil.rmtree(aside, ignore_errors=True)


def _write(proof: Proofed, aside: Path, progress: Progress, pictures: bool) -> Iterator[str]:
    """Write all files and name them; pictures are drawn beside the rest."""
    shown, letter = proof.shown, proof.letter
    with painter(len(shown.drawn) if pictures else 0) as draw:
        begun = [(name, draw(svg, CONTACT_PX)) for name, svg in _contact(shown, letter)]
        if pictures:
            ready_folder(aside / PICTURES)
            begun += [(name, draw(svg, PICTURE_PX)) for name, svg in _pictures(shown, letter)]
        pages = true_size_pages(shown, letter)
        files = {
            PAGE: proof_page(shown, letter),
            PAPER: pages_pdf(pages, title=shown.title, author=shown.shop.name),
        }
        names = [*files, *(name for name, _ in begun), VALUES]
        files[VALUES] = (json.dumps(_values(shown, names), ensure_ascii=False, indent=1) + "\n").encode()
        for name, data in files.items():
            write_atomically(aside / name, data)
        for number, (name, picture) in enumerate(begun, 1):
            write_atomically(aside / name, picture().png)
            progress("drawing the pictures", number, len(begun))
    yield from names


def _contact(shown: Shown, letter: Captions) -> Iterator[tuple[str, bytes]]:
    """The pages of the contact sheet: name of the picture, SVG."""
    pieces = [ProofPiece(p.id, p.title, p.artwork, reason="to come") for p in shown.pieces]
    cells = None
    if shown.profile is not None and shown.blank.body is not None and not shown.blank.body.inside:
        laid = {p.id: p.surface for p in shown.pieces if p.surface is not None}
        cells = Cells.of(shown.blank, shown.material, shown.profile, laid)
    pages = contact_sheet(pieces, shown.blank, shown.material, letter, title=shown.title, round_=cells)
    for number, page in enumerate(pages, 1):
        yield CONTACT if number == 1 else CONTACT.replace(".", f"-{number}."), page


def _pictures(shown: Shown, letter: Captions) -> Iterator[tuple[str, bytes]]:
    """A picture of each piece: its name, SVG."""
    for piece in shown.drawn:
        name = safe_stem(f"{piece.id}-{piece.title}")
        yield f"{PICTURES}/{name}.png", piece_picture(shown, piece, letter)


def _values(shown: Shown, names: Sequence[str]) -> Mapping[str, object]:
    return {
        "order": shown.order,
        "title": shown.title,
        "pieces": [
            {"id": p.id, "text": p.title, "digest": p.digest, "notes": list(p.notes)} for p in shown.drawn
        ],
        "not_shown": [{"id": p.id, "text": p.title} for p in shown.missing],
        "files": list(names),
    }


def _earlier(path: Path) -> frozenset[str]:
    """Files of an earlier proof, as it names them itself: only what lies where a proof's files lie."""
    try:
        names = json.loads(path.read_text(encoding="utf-8"))["files"]
    except (OSError, ValueError, KeyError, TypeError):
        return frozenset()
    plain = re.compile(rf"(?:proof|contact)[\w-]*\.(?:html|pdf|png|json)|{PICTURES}/[^/\\]+\.png")
    return frozenset(name for name in names if isinstance(name, str) and plain.fullmatch(name))


def next_folder(parent: Path) -> Path:
    """The first of ``proof-1``, ``proof-2`` ... that is not there yet."""
    number = 1
    while (parent / f"proof-{number}").exists():
        number += 1
    return parent / f"proof-{number}"
