"""The stall's own work: a typed name drawn at once, by the same stages as every other piece."""

from __future__ import annotations

import logging
import threading
import unicodedata
from collections import OrderedDict
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Final

from render.errors import LibraryError
from render.fitting import explain_set
from render.model import Order, Piece, Problem, Severity
from render.pipeline.artworks import Lettered, letter_order
from render.pipeline.emblems import is_emblem
from render.pipeline.laying import suits_of
from render.pipeline.orders import drawn_of
from render.pipeline.rounding import round_off
from render.pipeline.stallview import View
from render.pipeline.workshop import Workshop
from render.shop.ledger import Drawn, Making, Terms
from render.shop.ledger.stallorders import PIECE
from render.wrap import Wrapped

if TYPE_CHECKING:
    from render.lettering import Letterer
    from render.pipeline.workshop import Job
    from render.shop.stalltable import StallTable, ThingTable

_log = logging.getLogger(__name__)

LONGEST: Final = 60
"""Letters that a customer may type in one line, at most."""
KEPT: Final = 600
"""Drawings that are kept in memory."""
MOST_OTHERS: Final = 3
"""So many things are offered instead of one that cannot be made."""

_KIND: Final = {
    "missing-glyph": "We have no letters for all of that in any of our styles. Would another spelling do?",
    "does-not-fit": "That is too long for this thing to stay legible.",
    "stroke-too-thin": "At this length the strokes would be too fine to last.",
    "heaped-accents": "Those accents are too many for one letter.",
    "lone-accent": "There is an accent without a letter.",
    "control-character": "There is a sign in it that nobody can see. Please type it again.",
    "invisible-character": "There is a sign in it that nobody can see. Please type it again.",
    "direction-character": "There is a sign in it that turns the writing round. Please type it again.",
    "unusable-character": "There is a sign in it that cannot be made. Please type it again.",
    "not-in-one-piece": "Cut like this it would not hold together.",
    "falls-out": "Cut like this, parts of it would fall out.",
    "does-not-stand": "Made like this it would fall over.",
    "monogram": "These initials take another number of names: with a given name and a surname they work.",
}
"""What a customer is told of a problem, by its code."""

_FIRST_WORDS: Final = (
    "Abcdef", "Ghijkl", "Mnopqr", "Stuvwx", "Yzabcd", "Befgha", "Ceijko", "Deflmo", "Finess", "Hokepu",
    "Ivette", "Jabuzy", "Kequix", "Lovage", "Norway", "Orchid", "Pewter", "Quince", "Ruby", "Tulip", "Umber",
    "Violet", "Willow", "Xylo", "Zinnia",
)  # fmt: skip
"""Every letter of the alphabet, large and small."""

_SORRY: Final = "We cannot make exactly that."


@dataclass(frozen=True, slots=True)
class Wish:
    """What a customer asks for.

    Attributes:
        thing: its id.
        style: id of the font.
        second: a second line; empty for none.
        design: id of the template that makes initials of the name; empty for the name as it is.
    """

    thing: str
    style: str
    name: str
    second: str = ""
    design: str = ""


@dataclass(frozen=True, slots=True)
class Picture:
    """What comes of a wish.

    Attributes:
        svg: the thing with the very artwork on it; empty where it cannot be made.
        digest: of that artwork.
        sorry: why it cannot be made, in kind words; empty if it can.
        texts: what is written on it, line by line, exactly.
        drawn: for the ledger.
        making: for the ledger.
    """

    svg: str = ""
    digest: str = ""
    sorry: str = ""
    texts: tuple[str, ...] = ()
    drawn: Drawn | None = field(default=None, repr=False)
    making: Making | None = field(default=None, repr=False)


@dataclass(frozen=True, slots=True)
class _Style:
    job: Job
    view: View
    terms: Terms
    second: bool


class Bench:
    """Draws wishes. It is warm from the start, keeps what it drew, and may be asked by several threads."""

    def __init__(self, workshop: Workshop, stall: StallTable) -> None:
        """Gather what every thing and style needs.

        Raises:
            MonikerfError: a template, blank, machine or font of the stall's file is not there.
        """
        self.workshop, self.stall = workshop, stall
        self._letterer: Letterer = workshop.letterer()
        self._lock = threading.Lock()
        self._kept: OrderedDict[Wish, Picture] = OrderedDict()
        self._styles = {
            (t.id, s, d): self._style(t, s, d)
            for t in stall.thing
            for s in t.styles
            for d in ("", *t.monograms)
        }
        self.samples = {t.id: self.bare(t) for t in stall.thing}

    @classmethod
    def open(cls, shop: Path) -> Bench:
        """The bench of a shop folder."""
        from render.shop.stalltable import read_stall

        return cls(Workshop.open(shop), read_stall(shop))

    def _style(self, thing: ThingTable, style: str, design: str) -> _Style:
        job = self.workshop.job(
            design or thing.template, blank=thing.blank or None, machine=thing.machine or None, font=style
        )
        self._letterer.joined(style)
        place = f"stall.toml, {thing.id}"
        known = (*job.template.fields, *job.template.optional_fields)
        needed = ("name", "" if design else thing.second)
        missing = next((field for field in needed if field and field not in known), "")
        if missing:
            hint = f"it has {', '.join(known)}"
            raise LibraryError(
                f"the template {job.template.id} has no field {missing}", hint=hint, place=place
            )
        if design and not any(slot.shaping and slot.shaping.monogram for slot in job.template.slots):
            hint = "name one with mk:monogram, or leave it out"
            raise LibraryError(f"the template {design} makes no initials", hint=hint, place=place)
        terms = Terms(job.template.id, job.blank.id, job.machine.id, style)
        return _Style(job, View.of(job), terms, bool(thing.second) and thing.second in known)

    def job(self, thing: str, style: str, design: str = "") -> Job:
        """What is used for a thing in a style."""
        return self._styles[thing, style, design].job

    def has(self, wish: Wish) -> bool:
        """Whether the stall has this thing in this style and design."""
        return (wish.thing, wish.style, wish.design) in self._styles

    def terms(self, wish: Wish) -> Terms:
        """The same, by ids."""
        return self._styles[wish.thing, wish.style, wish.design].terms

    def font_title(self, style: str) -> str:
        """A font's own name."""
        return self._letterer.shelf.find(style).family

    def designs(self, thing: ThingTable) -> tuple[tuple[str, str, bool], ...]:
        """The designs of initials that a thing can have: id, title, whether a second line goes with it."""
        found = ((d, self._styles[thing.id, thing.styles[0], d]) for d in thing.monograms)
        return tuple((d, style.job.template.title, style.second) for d, style in found)

    def fields(self, wish: Wish) -> Mapping[str, str]:
        """A wish as the fields of a piece."""
        thing = self.stall.named(wish.thing)
        room = self._styles[wish.thing, wish.style, wish.design].second
        return {"name": wish.name, **({thing.second: wish.second} if thing and room and wish.second else {})}

    def bare(self, thing: ThingTable) -> str:
        """The thing by itself, without anything on it."""
        return self._styles[thing.id, thing.styles[0], ""].view.svg()

    def draw(self, wish: Wish) -> Picture:
        """Draw a wish, or say kindly why it cannot be made."""
        with self._lock:
            if wish in self._kept:
                self._kept.move_to_end(wish)
                return self._kept[wish]
            try:
                picture = self._draw(wish)
            except Exception:  # whatever one name brings to light, the next customer can still order
                _log.exception("the stall could not draw %r", wish)
                return Picture(sorry=_SORRY)
            self._kept[wish] = picture
            if len(self._kept) > KEPT:
                self._kept.popitem(last=False)
            return picture

    def _draw(self, wish: Wish) -> Picture:
        refused = why_not(wish.name) or (wish.second and why_not(wish.second))
        if refused:
            return Picture(sorry=refused)
        style = self._styles[wish.thing, wish.style, wish.design]
        piece = Piece(PIECE, 1, self.fields(wish))
        lettered = letter_order(Order("", (piece,)), style.job, self._letterer, self.workshop, 1, _nobody)
        rounded = round_off(lettered.artworks, style.job) if style.job.blank.body is not None else None
        problems = (*lettered.problems, *(rounded.problems if rounded else ()),
                    *suits_of(lettered.artworks, style.job))  # fmt: skip
        stop = next((p for p in problems if p.severity is Severity.STOP), None)
        if stop is not None or not lettered.artworks:
            return Picture(sorry=_kindly(stop))
        sizes = {s.slot: s.size for s in explain_set(lettered.fitted)}
        drawn, _ = drawn_of(lettered, self._letterer, [PIECE])
        wrapped = rounded.wrapped[0] if rounded else None
        return Picture(
            svg=style.view.svg(lettered.seen[0], wrapped if isinstance(wrapped, Wrapped) else None),
            digest=lettered.artworks[0].digest(),
            texts=_texts(lettered),
            drawn=drawn[0],
            making=Making(style.terms, {}, (piece,), sizes),
        )

    def first_words(self) -> Iterator[Wish]:
        """Wishes that between them have every letter of the alphabet in every font."""
        fonts = {style: thing for thing, style, design in reversed(self._styles) if not design}
        for style, thing in fonts.items():
            yield from (Wish(thing, style, word) for word in _FIRST_WORDS)

    def instead(self, wish: Wish, out: Collection[str]) -> tuple[tuple[Wish, Picture], ...]:
        """What can be made where a wish cannot: this thing in its other styles, then others that are out."""
        thing = self.stall.named(wish.thing)
        if thing is None or why_not(wish.name):
            return ()
        others = [replace(wish, style=s) for s in thing.styles if s != wish.style]
        others += [replace(wish, design="")] if wish.design else []
        others += [Wish(t.id, t.styles[0], wish.name) for t in self.stall.thing if t.id in out]
        others = [other for other in others if other != wish]
        found: list[tuple[Wish, Picture]] = []
        for other in others:
            picture = self.draw(other)
            if not picture.sorry and len(found) < MOST_OTHERS:
                found.append((other, picture))
        return tuple(found)

    def keep(self) -> None:
        """Keep for next time what was worked out about fonts."""
        with self._lock:
            self._letterer.keep()


def tidy(text: str) -> str:
    """A typed line without the spaces that a tablet's keyboard leaves at its ends, in composed letters.

    What else might be wrong with it is told, never mended unseen: :func:`why_not`.
    """
    return unicodedata.normalize("NFC", text[: 20 * LONGEST]).strip(" ")


def why_not(text: str) -> str:
    """Why a line cannot be taken as it was typed, in kind words; empty if it can."""
    from render.intake.hygiene import TEXT_CHECKS, examine

    if not text:
        return "Please type a name."
    if len(text) > LONGEST:
        return f"That is more than we can put on it: {LONGEST} letters at most."
    _, findings = examine(text, TEXT_CHECKS)
    first = next((f for f in findings if f.severity is Severity.STOP or f.code in _KIND), None)
    return _KIND.get(first.code, first.message) if first else ""


def _kindly(problem: Problem | None) -> str:
    if problem is None:
        return _SORRY
    return _KIND.get(problem.code, _SORRY)


def _texts(lettered: Lettered) -> tuple[str, ...]:
    """What is written, line by line; of a monogram its letters."""
    found: list[str] = []
    for fitted in lettered.fitted:
        request = fitted.request
        if is_emblem(request) and request.shaping is not None:
            from render.lettering.emblems import letters_of

            found.append("".join(letters_of(request.text, request.setting, request.shaping)))
        found += [line.line.text for line in fitted.lines]
    return tuple(found)


def _nobody(_stage: str, _done: int, _total: int) -> None:
    """Nobody watches."""
