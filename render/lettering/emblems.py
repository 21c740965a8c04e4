"""Emblems: a monogram with its frame, ready to be fitted to an area."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final, TypeVar

from render.geometry import Affine, Path
from render.lettering.cells import SHAPES
from render.lettering.frames import FRAMES, Frame, round_frame
from render.lettering.initials import given_outright
from render.lettering.letters import Letters
from render.lettering.monograms import FORMS, SPLIT, STROKE, Form, split_letter
from render.lettering.people import couple
from render.model import Operation, SetLine, Setting, Shaping

if TYPE_CHECKING:
    from render.lettering.letterer import Letterer

_T = TypeVar("_T")

NAME_HIGH: Final = 0.62
"""Height of a name in the gap of a split initial, as a share of the gap."""
NAME_WIDE: Final = 1.3
"""Width that the name may take there, as a multiple of the initial's, which counts as at least 0.8."""

_CLEAR, _BAND = 0.13, 0.2
"""How far from the letters of a shape its frame begins and ends."""


class MonogramError(ValueError):
    """A monogram cannot be made; message and hint say why and what to do.

    Attributes:
        missing: characters that the font cannot draw.
    """

    def __init__(self, message: str, hint: str = "", missing: tuple[str, ...] = ()) -> None:
        super().__init__(message)
        self.hint = hint
        self.missing = missing


@dataclass(frozen=True, slots=True, eq=False)
class Emblem:
    """A monogram about (0, 0), of no particular size.

    Attributes:
        initials: its letters in the order in which they stand.
        path: closed outlines, without the frame.
        hull: corners of a convex polygon round it, in order.
        height: of its letters; of the largest where they differ.
        thinnest: its thinnest stroke.
        frame: what stands round it, on the unit circle; None without, or where it belongs to `path`.
    """

    initials: tuple[str, ...]
    path: Path
    hull: tuple[complex, ...]
    height: float
    thinnest: float
    frame: Frame | None = None


class Emblems:
    """Makes monograms, each once. Not for use by two threads at once."""

    def __init__(self, letterer: Letterer) -> None:
        self._letterer = letterer
        self._letters: dict[Setting, Letters] = {}
        self._made: dict[tuple[object, ...], Emblem] = {}

    def make(self, text: str, setting: Setting, shaping: Shaping, operation: Operation) -> Emblem:
        """The emblem of a name.

        Args:
            text: the name; ``&`` joins two people, `` / `` stands before a surname (see :func:`couple`).
            setting: font and language of the letters.
            shaping: form, frame, and letters given outright.
            operation: whether the frame is filled or followed.

        Raises:
            MonogramError: there is no such form or frame, the name has not the letters that the form needs,
                or the font lacks one.
        """
        form = _known(FORMS, shaping.monogram, "form of monogram")
        frame = _known(FRAMES, shaping.frame, "frame") if shaping.frame else None
        initials = letters_of(text, setting, shaping)
        name = " ".join(text.replace(" / ", " ").split()) if shaping.monogram == "split" else ""
        key = (initials, setting, shaping.monogram, shaping.frame, shaping.name_font, operation, name)
        if key not in self._made:
            write = self._letters.setdefault(setting, Letters(self._letterer, setting))
            lacking = tuple(dict.fromkeys(c for letter in initials for c in _lacking(write, letter)))
            if lacking:
                raise MonogramError(f"the font {setting.font} has no {', '.join(lacking)}", missing=lacking)
            drawn = form.draw(write, initials)
            if name:
                drawn = Path.joined((drawn, self._name(name, write, initials[0], shaping)))
            self._made[key] = _emblem(
                initials, drawn, form, shaping, write, operation, framed=frame is not None
            )
        return self._made[key]

    def _name(self, name: str, write: Letters, letter: str, shaping: Shaping) -> Path:
        """The name in the gap of a split initial, as large as it may be."""
        setting = replace(
            write.setting, font=shaping.name_font or write.setting.font, features=(), tracking=0.0
        )
        line = self._letterer.line(name, setting)
        if line.missing or line.ink is None:
            raise MonogramError(
                f"the font {setting.font} has no {', '.join(line.missing)}", missing=line.missing
            )
        wide = NAME_WIDE * max(split_letter(write, letter)[1], 0.8)
        size = min(SPLIT * NAME_HIGH / line.ink.height, wide / line.ink.width)
        centre = line.ink.centre
        (drawn,) = self._letterer.outlines([(SetLine(line, size, -complex(centre) * size),)])
        return drawn


def letters_of(text: str, setting: Setting, shaping: Shaping) -> tuple[str, ...]:
    """The letters of a monogram in the order in which they stand.

    Raises:
        MonogramError: the form needs more letters than the name has, or fewer.
    """
    form = FORMS[shaping.monogram]
    outright = given_outright(shaping.letters)
    found = outright or form.rule(couple(text, setting.language), setting.language)
    if len(found) in form.counts:
        return found
    wanted = " or ".join(map(str, form.counts))
    what = (
        f"the letters {' '.join(found)}" if outright else f"{text!r} gives {' '.join(found) or 'no letter'}"
    )
    raise MonogramError(
        f"the monogram {shaping.monogram} ({form.title}) takes {wanted} letters, but {what}",
        "Write the letters as they should stand in a column called monogram, or choose another form.",
    )


def _known(table: dict[str, _T], name: str, what: str) -> _T:
    if name not in table:
        raise MonogramError(f"there is no {what} {name!r}", f"There are: {', '.join(table)}.")
    return table[name]


def _lacking(write: Letters, letter: str) -> tuple[str, ...]:
    return () if write.letter(letter) else write.letterer.line(letter, write.setting).missing or (letter,)


def _emblem(
    initials: tuple[str, ...],
    drawn: Path,
    form: Form,
    shaping: Shaping,
    write: Letters,
    operation: Operation,
    *,
    framed: bool,
) -> Emblem:
    """The drawn letters with what is known of them, and their frame."""
    frame = None
    if not form.shape:
        line = write.letterer.line("H", write.setting)
        smallest = 0.62 if shaping.monogram in ("square", "ampersand") else 0.7
        thinnest = line.thinnest / line.cap_height * smallest
        frame = round_frame(shaping.frame) if framed else None
        return Emblem(initials, drawn, hull_of([drawn]), 1.0, thinnest, frame)
    shape = SHAPES[form.shape]
    rim = shape.outline
    if framed and shaping.frame == "wreath":
        frame = round_frame("wreath")
    elif framed:
        made = FRAMES[shaping.frame](lambda grow: rim(_BAND + grow))
        drawn = Path.joined((drawn, made.filled if operation is Operation.ENGRAVE else made.lines))
        return Emblem(initials, drawn, hull_of([rim(_BAND)]), 2.0, STROKE * 0.8)
    return Emblem(initials, drawn, hull_of([rim(0.0)]), 2.0, STROKE * 0.8, frame)


def hull_of(paths: Iterable[Path]) -> tuple[complex, ...]:
    """Corners, in order, of the convex hull of all points of some paths (A. M. Andrew's chain, 1979)."""
    from render.lettering.letters import chords

    places = sorted({(round(z.real, 6), round(z.imag, 6)) for p in paths for z in chords(p, 8)[0].tolist()})
    if len(places) < 3:
        return tuple(complex(*place) for place in places)

    def chain(some: Iterable[tuple[float, float]]) -> list[tuple[float, float]]:
        kept: list[tuple[float, float]] = []
        for x, y in some:
            while len(kept) > 1:
                (ax, ay), (bx, by) = kept[-2:]
                if (bx - ax) * (y - ay) - (by - ay) * (x - ax) > 0:
                    break
                kept.pop()
            kept.append((x, y))
        return kept

    corners = chain(places)[:-1] + chain(reversed(places))[:-1]
    return tuple(complex(*corner) for corner in corners)


def placed(emblem: Emblem, scale: float, centre: complex) -> Path:
    """The emblem's letters at a scale about a centre."""
    return emblem.path.transformed(Affine(scale, 0, 0, scale, centre.real, centre.imag))
