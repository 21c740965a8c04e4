"""Single-stroke hands: letters as open lines that the beam follows once.

They are asked for by id like any font, for scoring only; what fills or cuts needs outlines.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import cache, lru_cache
from pathlib import Path as FilePath
from typing import Final

from render.geometry import Affine, Box, Path
from render.lettering import single_stroke_cursive as cursive
from render.lettering.single_stroke_curves import Stroke, chained, smooth_path
from render.lettering.single_stroke_marks import ABOVE, BELOW, DOTLESS, THROUGH, TOGETHER, parts_of
from render.model import Clusters, Setting
from render.model import Line as SetText
from render.resources import folder


@dataclass(frozen=True, slots=True)
class About:
    """What is known of a hand before it is read.

    Attributes:
        file: its letters; for a generated hand those it borrows capitals and figures from.
        caps: height of its capitals in the units of the file.
        joined: whether its small letters join.
        smooth: turns up to so many degrees are curves.
    """

    title: str
    file: str
    caps: float
    joined: bool = False
    smooth: float = 50.0
    manner: cursive.Manner | None = None


HANDS: Final = {
    "plain-hand": About(
        "Newstroke, a plain hand with all the letters of Europe", "newstroke/newstroke.txt", 21
    ),
    "simple-roman": About("Hershey's simple roman", "hershey/rowmans.txt", 21),
    "line-script": About("Hershey's simple script", "hershey/cursive.txt", 21, joined=True),
    "joined-hand": About(
        "a joined hand of our own, generated",
        "newstroke/newstroke.txt",
        21,
        joined=True,
        manner=cursive.Manner(),
    ),
}
"""The hands by id."""

CAP_EM: Final = 0.7
"""Height of capitals in em, for every hand."""


@dataclass(frozen=True, slots=True)
class Drawn:
    """One character: its strokes, em, y up, and how far it takes the pen."""

    strokes: tuple[Stroke, ...]
    advance: float
    above: tuple[float, float] | None = None
    below: tuple[float, float] | None = None
    joins: bool = False

    def moved(self, dx: float, dy: float = 0.0) -> tuple[Stroke, ...]:
        """The strokes shifted."""
        return tuple(tuple((x + dx, y + dy, c) for x, y, c in stroke) for stroke in self.strokes)

    def box(self) -> tuple[float, float, float, float]:
        """Left, low, right, high of the strokes' places."""
        xs = [x for stroke in self.strokes for x, _, _ in stroke]
        ys = [y for stroke in self.strokes for _, y, _ in stroke]
        return min(xs), min(ys), max(xs), max(ys)


@dataclass(frozen=True, slots=True)
class StrokeRun:
    """A set line, em, y down: each cluster's strokes with its pen at 0, the whole line, and the pens."""

    clusters: tuple[Path, ...]
    whole: Path
    pens: tuple[float, ...]


@dataclass(slots=True)
class Hand:
    """One hand, read and ready."""

    about: About
    letters: dict[str, Drawn]
    _made: dict[str, Drawn | None] = field(default_factory=dict)

    @property
    def x_height(self) -> float:
        """Height of x, em."""
        return self.letters["x"].box()[3]

    def drawn(self, character: str) -> Drawn | None:
        """A character, put together if need be; None if the hand cannot draw it."""
        if character not in self._made:
            self._made[character] = self.letters.get(character) or self._put_together(character)
        return self._made[character]

    def _put_together(self, character: str) -> Drawn | None:
        if character in THROUGH:
            return self._barred(*THROUGH[character])
        dotted = next((base for base, without in DOTLESS.items() if without == character), "")
        if dotted in self.letters:
            return self._undotted(self.letters[dotted])
        letter, marks = parts_of(character)
        if marks:
            return self._marked(letter, marks)
        if character in TOGETHER:
            several = [self.drawn(c) for c in TOGETHER[character]]
            if any(one is None for one in several):
                return None
            strokes: list[Stroke] = []
            pen = 0.0
            for one in several:
                assert one is not None  # noqa: S101
                strokes += one.moved(pen)
                pen += one.advance
            return Drawn(tuple(strokes), pen)
        return None

    def _barred(self, letter: str, across: float, up: float, reach: tuple[float, float]) -> Drawn | None:
        base = self.drawn(letter)
        if base is None:
            return None
        x0, y0, x1, y1 = base.box()
        if self.about.joined and letter.isupper() and letter not in "OH":
            across = 0.42  # capitals with a flourish on their left
        x, y = x0 + (x1 - x0) * across, y0 + (y1 - y0) * up
        small = letter.islower()
        dx, dy = reach[0] * self.x_height, reach[1] * self.x_height
        if letter in "Oo":
            dx, dy = (x1 - x0) * reach[0], (y1 - y0) * reach[1]
        bar: Stroke = ((x - dx, y - dy, False), (x + dx, y + dy, False))
        return Drawn((*base.strokes, bar), base.advance, base.above, base.below, base.joins and small)

    def _marked(self, letter: str, marks: str) -> Drawn | None:
        base = self.drawn(letter)
        if any(mark in ABOVE for mark in marks) and letter in DOTLESS:
            base = self.drawn(DOTLESS[letter]) or (base and self._undotted(base))
        if base is None or any(mark not in ABOVE and mark not in BELOW for mark in marks):
            return None
        slant = self.about.manner.slant if self.about.manner else 0.0
        x0, y0, x1, y1 = base.box()
        unit = self.x_height
        above = base.above or ((x0 + x1) / 2 + slant * (y1 - (y0 + y1) / 2), y1 + 0.08 * unit)
        below = base.below or ((x0 + x1) / 2 - slant * (y1 - y0) / 2, min(y0, 0.0))
        strokes = list(base.strokes)
        for mark in marks:
            x, y = above if mark in ABOVE else below
            lines = ABOVE.get(mark) or BELOW[mark]
            strokes.extend(
                tuple((x + (a + slant * b) * unit, y + b * unit, None) for a, b in line) for line in lines
            )
            if mark in ABOVE:
                above = (x + slant * 0.3 * unit, y + 0.3 * unit)
        return Drawn(tuple(strokes), base.advance, above, below, base.joins)

    def _undotted(self, letter: Drawn) -> Drawn:
        """A letter without the strokes that lie wholly above its x-height."""
        kept = [s for s in letter.strokes if min(y for _, y, _ in s) < 1.02 * self.x_height]
        return Drawn(tuple(kept), letter.advance, None, letter.below, letter.joins)

    def line(self, text: str, setting: Setting) -> tuple[SetText, StrokeRun]:
        """A text set and measured.

        Raises:
            ValueError: the setting asks for space between letters that join.
        """
        if self.about.joined and setting.tracking:
            raise ValueError(f"letters that join, as in {text!r}, cannot be set with space between them")
        shapes, missing = self._shapes(text)
        space = self.letters.get(" ")
        pens, pen = [], 0.0
        for shape in shapes:
            pens.append(pen)
            pen += shape.advance + setting.tracking
            if setting.word_space and shape is space:
                pen += setting.word_space
        clusters = tuple(smooth_path(shape.moved(0.0), self.about.smooth) for shape in shapes)
        if self.about.manner:
            joined = _joined_up(shapes, pens)
        else:
            joined = [stroke for shape, at in zip(shapes, pens, strict=True) for stroke in shape.moved(at)]
            joined = chained(joined) if self.about.joined else joined
        whole = smooth_path(joined, self.about.smooth)
        box = whole.bounds() if whole else None
        ink = Box(box.x0, box.y0, box.x1, box.y1) if box else None
        line = SetText(
            text, setting, ink, pen, CAP_EM, self.x_height, math.inf, Clusters(tuple(pens), pen), missing
        )
        return line, StrokeRun(clusters, whole, tuple(pens))

    def _shapes(self, text: str) -> tuple[list[Drawn], tuple[str, ...]]:
        """The characters of a text, marks with their letters; and those that cannot be drawn."""
        import unicodedata

        shapes: list[Drawn] = []
        missing: dict[str, None] = {}
        clusters: list[str] = []
        for c in unicodedata.normalize("NFC", text):
            if unicodedata.combining(c) and clusters:
                clusters[-1] += c
            elif c not in "\u200b\u200c\u200d\ufeff":
                clusters.append(c)
        for cluster in clusters:
            drawn = self.drawn(cluster) if len(cluster) == 1 else self._marked(cluster[0], cluster[1:])
            if drawn is None:
                missing[cluster] = None
                drawn = self.letters["?"]
            shapes.append(drawn)
        return shapes, tuple(missing)


@cache
def hand(name: str) -> Hand:
    """A hand by its id.

    Raises:
        KeyError: there is none.
    """
    about = HANDS[name]
    letters = _read(folder("fonts_open") / about.file, about)
    if about.manner is not None:
        letters = _generated(about.manner, letters)
    return Hand(about, letters)


def _read(path: FilePath, about: About) -> dict[str, Drawn]:
    """The characters of a file of strokes; what lies between two places of it is a corner where it turns."""
    scale = CAP_EM / about.caps
    found: dict[str, Drawn] = {}
    for row in path.read_text(encoding="ascii").splitlines():
        if row.startswith("#"):
            continue
        head, _, body = row.partition("|")
        code, left, right, *places = head.split()
        shift = -float(left)
        strokes = []
        for part in filter(None, body.split("/")):
            pairs = [tuple(map(float, pair.split(","))) for pair in part.split()]
            strokes.append(tuple(((x + shift) * scale, y * scale, None) for x, y in pairs))
        marks = {}
        for place in places:
            name, _, at = place.partition("=")
            x, y = map(float, at.split(","))
            marks[name] = ((x + shift) * scale, (y - 3) * scale if name == "above" else (y + 5) * scale)
        found[chr(int(code, 16))] = Drawn(
            tuple(strokes), (float(right) - float(left)) * scale, marks.get("above"), marks.get("below")
        )
    return found


def _generated(manner: cursive.Manner, others: dict[str, Drawn]) -> dict[str, Drawn]:
    """The small letters from their ways, the other characters slanted."""
    letters: dict[str, Drawn] = {}
    for character, drawn in others.items():
        if len(parts_of(character)[1]) or character in THROUGH or character in TOGETHER:
            continue
        leaning = tuple(
            tuple((x * 0.94 + y * manner.slant * 0.8, y, corner) for x, y, corner in stroke)
            for stroke in drawn.strokes
        )
        letters[character] = Drawn(leaning, drawn.advance * 0.9)
    for character, way in cursive.WAYS.items():
        main: list[tuple[float, float, bool | None]] = []
        begin, end = (0.0, cursive.JOIN), (way.width, cursive.HIGH if way.high else cursive.JOIN)
        for x, y, *corner in (begin, *way.pen, end):
            main.append((*cursive.bent(x, y, manner), bool(corner)))
        strokes: list[Stroke] = [tuple(main)]
        strokes.extend(tuple((*cursive.bent(x, y, manner), False) for x, y in extra) for extra in way.extra)
        height = max(y for _, y, *_ in way.pen) + 0.12
        top = cursive.bent(0.36 * way.width / 0.7, height, manner)
        letters[character] = Drawn(tuple(strokes), way.width * manner.wide * manner.x_height, top, None, True)
    return letters


def _joined_up(shapes: list[Drawn], pens: list[float]) -> list[Stroke]:
    """The strokes of a line in the generated hand: the main strokes of small letters run on."""
    done: list[Stroke] = []
    running: list[tuple[float, float, bool | None]] = []
    lifted: list[Stroke] = []
    for shape, pen in zip(shapes, pens, strict=True):
        strokes = shape.moved(pen)
        if not shape.joins:
            if running:
                done.append(tuple(running))
                running = []
            done += [*lifted, *strokes]
            lifted = []
            continue
        lifted += strokes[1:]
        running += strokes[0][1:] if running else strokes[0]
    if running:
        done.append(tuple(running))
    return [*done, *lifted]


def turned(run: StrokeRun, turns: tuple[Affine, ...]) -> Path:
    """A line along a curve: its clusters, each turned by itself."""
    return Path.joined(path.transformed(turn) for path, turn in zip(run.clusters, turns, strict=True))


@lru_cache(maxsize=4096)
def set_line(text: str, setting: Setting) -> tuple[SetText, StrokeRun]:
    """A text set in the hand that its setting names."""
    return hand(setting.font).line(text, setting)
