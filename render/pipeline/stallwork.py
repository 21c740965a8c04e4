"""The stall's own work: a typed name drawn at once, by the same stages as every other piece."""

from __future__ import annotations

import threading
import unicodedata
from collections import OrderedDict
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Final

from render.errors import LibraryError
from render.fitting import explain_set
from render.geometry import Affine
from render.model import Artwork, Order, Piece, Problem, Severity
from render.pipeline.artworks import Lettered, letter_order
from render.pipeline.laying import suits_of, wrap_all
from render.pipeline.orders import drawn_of
from render.pipeline.workshop import Workshop
from render.proof.sketch import Shared, Sketch
from render.proof.things import Thing
from render.shop.ledger import Drawn, Making, Terms
from render.shop.ledger.stallorders import PIECE

if TYPE_CHECKING:
    from render.lettering import Letterer
    from render.pipeline.workshop import Job
    from render.shop.stalltable import StallTable, ThingTable

LONGEST: Final = 60
"""Letters that a customer may type in one line, at most."""
KEPT: Final = 600
"""Drawings that are kept in memory."""
MOST_OTHERS: Final = 3
"""So many things are offered instead of one that cannot be made."""

_ROOM: Final = (150.0, 100.0)
_RIM: Final = 2.4

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
}
"""What a customer is told of a problem, by its code."""

_SORRY: Final = "We cannot make exactly that."


@dataclass(frozen=True, slots=True)
class Wish:
    """What a customer asks for: ids of thing and style, the name, and a second line or none."""

    thing: str
    style: str
    name: str
    second: str = ""


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
class _View:
    """A thing from above, or, round, unrolled; and how it lies on its picture of `size` mm."""

    thing: Thing
    to_page: Affine
    size: tuple[float, float]

    @classmethod
    def of(cls, job: Job) -> _View:
        box = job.blank.outline.bounds()
        scale = min(
            (side - 2 * _RIM) / most for side, most in zip(_ROOM, (box.width, box.height), strict=True)
        )
        to_page = Affine(scale, 0, 0, scale, _RIM - box.x0 * scale, _RIM - box.y0 * scale)
        size = (box.width * scale + 2 * _RIM, box.height * scale + 2 * _RIM)
        return cls(Thing.of(job.blank, job.material, scale), to_page, size)


@dataclass(frozen=True, slots=True)
class _Style:
    job: Job
    view: _View
    terms: Terms


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
        self._styles = {(t.id, s): self._style(t, s) for t in stall.thing for s in t.styles}
        self.samples = {t.id: self.bare(t) for t in stall.thing}

    @classmethod
    def open(cls, shop: Path) -> Bench:
        """The bench of a shop folder."""
        from render.shop.stalltable import read_stall

        return cls(Workshop.open(shop), read_stall(shop))

    def _style(self, thing: ThingTable, style: str) -> _Style:
        job = self.workshop.job(
            thing.template, blank=thing.blank or None, machine=thing.machine or None, font=style
        )
        self._letterer.joined(style)
        known = (*job.template.fields, *job.template.optional_fields)
        if "name" not in known or (thing.second and thing.second not in known):
            missing = "name" if "name" not in known else thing.second
            raise LibraryError(
                f"the template {thing.template} has no field {missing}",
                hint=f"it has {', '.join(known)}",
                place=f"stall.toml, {thing.id}",
            )
        terms = Terms(job.template.id, job.blank.id, job.machine.id, style)
        return _Style(job, _View.of(job), terms)

    def job(self, thing: str, style: str) -> Job:
        """What is used for a thing in a style."""
        return self._styles[thing, style].job

    def terms(self, thing: str, style: str) -> Terms:
        """The same, by ids."""
        return self._styles[thing, style].terms

    def font_title(self, style: str) -> str:
        """A font's own name."""
        return self._letterer.shelf.find(style).family

    def fields(self, wish: Wish) -> Mapping[str, str]:
        """A wish as the fields of a piece."""
        thing = self.stall.named(wish.thing)
        second = thing.second if thing else ""
        return {"name": wish.name, **({second: wish.second} if second and wish.second else {})}

    def bare(self, thing: ThingTable) -> str:
        """The thing by itself, without anything on it."""
        style = self._styles[thing.id, thing.styles[0]]
        return _svg(style.view, Artwork("", "", ()))

    def draw(self, wish: Wish) -> Picture:
        """Draw a wish, or say kindly why it cannot be made."""
        with self._lock:
            if wish in self._kept:
                self._kept.move_to_end(wish)
                return self._kept[wish]
            picture = self._draw(wish)
            self._kept[wish] = picture
            if len(self._kept) > KEPT:
                self._kept.popitem(last=False)
            return picture

    def _draw(self, wish: Wish) -> Picture:
        refused = why_not(wish.name) or (wish.second and why_not(wish.second))
        if refused:
            return Picture(sorry=refused)
        style = self._styles[wish.thing, wish.style]
        piece = Piece(PIECE, 1, self.fields(wish))
        lettered = letter_order(Order("", (piece,)), style.job, self._letterer, self.workshop, 1, _nobody)
        wrapped = wrap_all(lettered.artworks, style.job.blank, style.job)
        problems = (*lettered.problems, *wrapped.problems, *suits_of(lettered.artworks, style.job))
        stop = next((p for p in problems if p.severity is Severity.STOP), None)
        if stop is not None or not lettered.artworks:
            return Picture(sorry=_kindly(stop))
        sizes = {s.slot: s.size for s in explain_set(lettered.fitted)}
        drawn, _ = drawn_of(lettered, [PIECE])
        return Picture(
            svg=_svg(style.view, lettered.artworks[0]),
            digest=lettered.artworks[0].digest(),
            texts=_texts(lettered),
            drawn=drawn[0],
            making=Making(style.terms, {}, (piece,), sizes),
        )

    def instead(self, wish: Wish, out: Collection[str]) -> tuple[tuple[Wish, Picture], ...]:
        """What can be made where a wish cannot: this thing in its other styles, then others that are out."""
        thing = self.stall.named(wish.thing)
        if thing is None or why_not(wish.name):
            return ()
        others = [replace(wish, style=s) for s in thing.styles if s != wish.style]
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
    return tuple(line.line.text for fitted in lettered.fitted for line in fitted.lines)


def _nobody(_stage: str, _done: int, _total: int) -> None:
    """Nobody watches."""


def _svg(view: _View, artwork: Artwork) -> str:
    """The thing and the artwork on it as one SVG element: outlines and numbers only, never a text."""
    sketch = Sketch()
    view.thing.draw(sketch, view.to_page, artwork)
    width, height = (round(100 * size) for size in view.size)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" role="img">'
        f"{Shared([]).svg(sketch)}</svg>"
    )
