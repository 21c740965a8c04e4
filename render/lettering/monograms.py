"""Monograms: initials put together in the customary forms.

Each form is a function that takes the writer of the letters and the initials in the order in which they
stand, and gives closed outlines about (0, 0), cap height 1. How the initials come from names, and in which
order, is told by :mod:`render.lettering.monogram_rules`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from render.geometry import Affine, Path
from render.geometry.shapes import circle, rectangle
from render.lettering.cells import SHAPES
from render.lettering.clip import CutError, best_place, parted, united, woven
from render.lettering.contours import Floats
from render.lettering.even import fill, prepared
from render.lettering.letters import Letters, chords
from render.lettering.monogram_rules import (
    by_name,
    couples,
    first_only,
    four,
    given_and_surname,
    surname_first_only,
    surname_in_the_middle,
)
from render.lettering.people import Person

SPACE: Final = 0.16
"""Free room between the ink of two letters, in cap heights."""

STROKE: Final = 0.115
"""Thickness of the strokes of letters that fill a shape of half height 1."""


@dataclass(frozen=True, slots=True)
class Form:
    """A form of monogram.

    Attributes:
        title: for people.
        counts: how many letters it takes.
        draw: puts them together.
        rule: which initials, in which order, of one person or two.
        shape: id of the shape that the letters fill; empty for letters as they are.
    """

    title: str
    counts: tuple[int, ...]
    draw: Callable[[Letters, Sequence[str]], Path]
    rule: Callable[[Sequence[Person], str], tuple[str, ...]]
    shape: str = ""


# ---------------------------------------------------------------- putting them together


def in_a_row(parts: Sequence[Path], space: float = SPACE) -> Path:
    """Paths side by side, with at least so much room between their inks; the whole centred on x = 0.

    A tail that lies lower than the body of its letter may reach under the next one.
    """
    placed: list[Path] = []
    for part in parts:
        if part:
            pen = _apart(placed[-1], part, space) if placed else -part.bounds().x0
            placed.append(part.moved(pen, 0))
    if not placed:
        return Path.empty()
    row = Path.joined(placed)
    box = row.bounds()
    return row.moved(-(box.x0 + box.x1) / 2, 0)


_ROWS: Final = 48
_BODY: Final = 0.55


def _apart(left: Path, right: Path, space: float) -> float:
    """By how much the right one of two paths is to be moved."""
    boxes = left.bounds(), right.bounds()
    low, high = (min(b.y0 for b in boxes) - space, max(b.y1 for b in boxes) + space)
    edges = np.linspace(low, high, _ROWS + 1)
    _, ends = _profile(left, edges, space)
    begins, _ = _profile(right, edges, space)
    touching = float((ends - begins).max()) + space
    body = (edges[:-1] > -_BODY) & (edges[1:] < _BODY)
    bodies = float(ends[body].max() - begins[body].min()) + 0.7 * space
    whole = boxes[0].x1 - boxes[1].x0 + space
    return min(whole, max(touching, bodies)) if np.isfinite(bodies) else whole


def _profile(path: Path, edges: Floats, reach: float) -> tuple[Floats, Floats]:
    """For each band between edges, the leftmost and rightmost ink within it or `reach` above and below."""
    begins, ends = chords(path)
    low, high = np.minimum(begins.imag, ends.imag) - reach, np.maximum(begins.imag, ends.imag) + reach
    meets = (low[:, None] <= edges[None, 1:]) & (high[:, None] >= edges[None, :-1])
    near = np.minimum(begins.real, ends.real)[:, None]
    far = np.maximum(begins.real, ends.real)[:, None]
    return np.where(meets, near, np.inf).min(axis=0), np.where(meets, far, -np.inf).max(axis=0)


def _centred(path: Path, scale: float = 1.0) -> Path:
    """A letter with the middle of its cap height and of its ink's width at (0, 0), scaled."""
    if not path:
        return path
    box = path.bounds()
    return path.transformed(Affine(scale, 0, 0, scale, -(box.x0 + box.x1) / 2 * scale, scale / 2))


def single(write: Letters, letters: Sequence[str]) -> Path:
    """One initial.

    Rule: that of the given name; for a couple the shared surname's. Common practice.
    """
    return _centred(write.letter(letters[0]))


def _joined_by(sign: Callable[[Letters], Path]) -> Callable[[Letters, Sequence[str]], Path]:
    def draw(write: Letters, letters: Sequence[str]) -> Path:
        """Two initials with a sign between them.

        Rule: given name and surname, or both given names of a couple as they are named. Common
        practice.
        """
        first, second = (_centred(write.letter(letter)) for letter in letters)
        return in_a_row((first, sign(write), second), 1.1 * SPACE)

    return draw


def _ampersand(write: Letters) -> Path:
    return _centred(write.letter("&"), 0.62)


def _bullet(_write: Letters) -> Path:
    return circle(0j, 0.075)


def _divider(_write: Letters) -> Path:
    return rectangle(-0.02, -0.72, 0.04, 1.44)


def three(write: Letters, letters: Sequence[str]) -> Path:
    """Initials of one size in name order.

    Rule: Unicode CLDR person names, usage monogram, long and formal.
    """
    return in_a_row([_centred(write.letter(letter)) for letter in letters])


MIDDLE: Final = 1.55
"""How much larger the surname's initial is."""


def surname_middle(write: Letters, letters: Sequence[str]) -> Path:
    """The surname's initial, larger, between those of two given names.

    Rule: given, SURNAME, second given name. Common practice, no source; not in CLDR.
    """
    scales = (1.0, MIDDLE, 1.0)
    parts = [_centred(write.letter(c), s) for c, s in zip(letters, scales, strict=True)]
    return in_a_row(parts, SPACE * 0.9).transformed(Affine.scale(0.8))


def couple_form(write: Letters, letters: Sequence[str]) -> Path:
    """Two people: both given names' initials round the larger one of their surname.

    Rule: as the two are named, first left. Common practice, no source.
    """
    return surname_middle(write, letters)


def square(write: Letters, letters: Sequence[str]) -> Path:
    """Four letters in a square, read in rows.

    Rule: two people, a row each (given, surname); one person: given names, then surname. Common practice,
    no source.
    """
    parts = [_centred(write.letter(letter)) for letter in letters]
    half = max(part.bounds().width for part in parts if part) / 2 + 0.11
    low = max(part.bounds().y1 for part in parts[:2] if part)
    high = min(part.bounds().y0 for part in parts[2:] if part)
    rise = max(low - high, 1.0) / 2 + 0.12
    at = ((-half, -rise), (half, -rise), (-half, rise), (half, rise))
    four_of_them = Path.joined(p.moved(*place) for p, place in zip(parts, at, strict=True))
    return four_of_them.transformed(Affine.scale(0.62))


def stacked(write: Letters, letters: Sequence[str]) -> Path:
    """Two letters one above the other.

    Rule: given name above surname; a couple as they are named. Common practice, no source.
    """
    above, below = (_centred(write.letter(letter)) for letter in letters)
    low, high = above.bounds().y1, below.bounds().y0
    gap = 0.13
    both = Path.joined((above.moved(0, -low - gap / 2), below.moved(0, gap / 2 - high)))
    return both.transformed(Affine.scale(0.7))


def _filling(shape: str) -> Callable[[Letters, Sequence[str]], Path]:
    def draw(write: Letters, letters: Sequence[str]) -> Path:
        """Letters bent to fill a shape, their strokes even.

        Rule: three with the surname in the middle (as above), or two, or one. Common practice, no
        source.
        """
        return Path.joined(_filled(write, shape, len(letters), k, c) for k, c in enumerate(letters))

    return draw


def _filled(write: Letters, shape: str, count: int, place: int, letter: str) -> Path:
    key = f"{shape} {count} {place} {letter}"
    path = write.kept.get(key)
    if path is None:
        plain = write.letter(letter)
        path = plain
        if plain:
            cell = SHAPES[shape].cells(count)[place]
            outline = prepared(plain, write.strokes)
            path = united(fill(outline, plain, cell.bend(), cell.size, STROKE, write.strokes))
        write.kept[key] = path
    return path


SHIFTS: Final = tuple(complex(x, y) for x in (0.3, 0.38, 0.46, 0.54) for y in (0.2, 0.28, 0.36))
"""Where the second of two interlaced letters may stand: to the right by a share of the widths, and lower."""
WEAVE_GAP: Final = 0.05


def interlaced(write: Letters, letters: Sequence[str]) -> Path:
    """Two letters woven through each other, by turns over and under.

    Rule: given name, and surname lower to the right; a couple as they are named. Common practice, no
    source.
    """
    key = f"interlaced {letters[0]} {letters[1]}"
    if key not in write.kept:
        one, two = (_centred(write.letter(letter)) for letter in letters)
        reach = (one.bounds().width + two.bounds().width) / 2
        places = [complex(max(0.16, reach * shift.real), shift.imag) for shift in SHIFTS]
        place = best_place(one, two, places, WEAVE_GAP)
        second = two.moved(place.real, place.imag)
        try:
            both = woven(one, second, WEAVE_GAP)
        except CutError:
            both = Path.joined((one, two.moved(reach + SPACE, 0)))
        write.kept[key] = _middle(both).transformed(Affine.scale(0.8))
    return write.kept[key]


def _middle(path: Path) -> Path:
    """Moved so that its box is centred on (0, 0)."""
    centre = path.bounds().centre
    return path.moved(-centre.x, -centre.y)


SPLIT: Final = 0.36
"""How far the halves of a split letter are moved apart, in cap heights."""


def split_letter(write: Letters, letter: str) -> tuple[Path, float]:
    """An initial cut across its middle, the halves moved apart; and the width of its ink."""
    key = f"split {letter}"
    if key not in write.kept:
        whole = _centred(write.letter(letter))
        box = whole.bounds()
        upper = rectangle(box.x0 - 1, box.y0 - 1, box.width + 2, -box.y0 + 1)
        above, below = parted(whole, upper)
        write.kept[key] = Path.joined((above.moved(0, -SPLIT / 2), below.moved(0, SPLIT / 2)))
    return write.kept[key], write.kept[key].bounds().width


def split(write: Letters, letters: Sequence[str]) -> Path:
    """An initial cut across its middle, the name in the gap (see :mod:`render.lettering.emblems`).

    Rule: the surname's initial with the whole name or the couple's names; failing that the given name's.
    Common practice, no source.
    """
    return split_letter(write, letters[0])[0]


def _shaped(shape: str, title: str) -> Form:
    return Form(title, (1, 2, 3), _filling(shape), surname_in_the_middle, shape)


FORMS: Final = {
    "single": Form("one initial", (1,), single, first_only),
    "ampersand": Form("two letters and an ampersand", (2,), _joined_by(_ampersand), given_and_surname),
    "bullet": Form("two letters and a bullet", (2,), _joined_by(_bullet), given_and_surname),
    "divider": Form("two letters and a line between", (2,), _joined_by(_divider), given_and_surname),
    "three": Form("letters in name order", (2, 3, 4), three, by_name),
    "surname-middle": Form(
        "three letters, the surname larger in the middle", (3,), surname_middle, surname_in_the_middle
    ),
    "couple": Form("two given names round the shared surname", (3,), couple_form, couples),
    "square": Form("four letters in a square", (4,), square, four),
    "stacked": Form("one letter above the other", (2,), stacked, given_and_surname),
    "circle": _shaped("circle", "letters that fill a circle"),
    "diamond": _shaped("diamond", "letters that fill a diamond"),
    "shield": _shaped("shield", "letters that fill a shield"),
    "oval": _shaped("oval", "letters that fill an oval"),
    "split": Form("an initial split by the name", (1,), split, surname_first_only),
    "interlaced": Form("two letters woven through each other", (2,), interlaced, given_and_surname),
}
"""The forms by id."""
