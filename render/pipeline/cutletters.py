"""The letters of cut-through lettering before they are joined: thin strokes stouter, brought together."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from render.geometry import Affine, Box, Path
from render.model import Align, CutRule, Fitted, SetLine, Side

if TYPE_CHECKING:
    from render.lettering import Letterer

MARGIN: Final = 1.08
"""Thin strokes are thickened to so many necks: those thinner than most would else be knotty."""

STEP: Final = 1.1
"""Strokes are rounded up, as parts of the size, to a power of this: nearly equal sizes share letters."""

LITTLE_EM: Final = 0.01
"""Outlines that need to move outward by no more than this part of the size are moved all round."""

CLOSES: Final = 0.4
"""So are those of letters of whose whites that would close no more than this share: it is quick and smooth.
Of others only the thin strokes are made stouter."""

ROUND_EM: Final = 0.004
"""And then all is moved outward by this part of the size, which smooths where strokes branch."""

_FAR: Final = 64.0
"""Clusters are drawn so many em apart: no letter is so wide."""


@dataclass(frozen=True, slots=True)
class CutLetters:
    """The letters of one text, each by itself, in place, mm.

    Attributes:
        drawn: as they are joined.
        plain: as the font draws them; empty where letters are not told apart (on a path).
        aloft: boxes of letters that are tied near their tops.
        longer: whether they reach further than those that the font sets, or stand on a bar that does.
        swallowed: how many letters have marks below that shapes of the design hide.
    """

    drawn: tuple[Path, ...]
    plain: tuple[Path, ...] = ()
    aloft: tuple[Box, ...] = ()
    longer: bool = False
    swallowed: int = 0


@dataclass(frozen=True, slots=True)
class CutTerms:
    """What the letters of a piece must hold to, all lengths in mm.

    Attributes:
        neck: narrowest neck allowed.
        gap: narrowest gap that stays open in the material.
        solids: the design's own shapes that are one with the letters.
        grow: how far outlines are moved outward all round, once the letters are put together.
        stouter: whether thin strokes are to be made stouter by themselves besides.
    """

    neck: float
    gap: float
    solids: tuple[Path, ...] = ()
    grow: float = 0.0
    stouter: bool = False

    def settled(
        self, lines: Sequence[tuple[SetLine, CutRule]], letters: Sequence[Sequence[Path]]
    ) -> CutTerms:
        """The same, once it is known how the strokes of a piece come to hold.

        Args:
            lines: every line of its lettering.
            letters: the outlines of their letters, as the font draws them; empty for lines on a path.
        """
        from render.fitting.legible import closed_by_growing

        needs = [
            max(0.0, min(rule.thicken, (MARGIN * self.neck - line.line.thinnest * line.size) / 2))
            for line, rule in lines
        ]
        most = max(needs, default=0.0)
        little = all(need <= LITTLE_EM * line.size for need, (line, _) in zip(needs, lines, strict=True))
        if little or closed_by_growing([path for some in letters for path in some], most) <= CLOSES:
            return replace(self, grow=most)
        return replace(self, grow=min(ROUND_EM * line.size for line, _ in lines), stouter=True)


def cut_letters(
    fitted: Fitted, path: Path, plain: Sequence[Sequence[Path]], terms: CutTerms, letterer: Letterer
) -> CutLetters:
    """The letters of a text as they are to be joined.

    Args:
        fitted: the text.
        path: its outlines as the font draws them.
        plain: its letters line by line, from :func:`plain_letters`.
        terms: settled.
        letterer: draws.
    """
    from render.fitting.bars import bars, tied_aloft
    from render.fitting.swallowed import swallowed

    stout = [_stouter(line, fitted, terms) for line in fitted.lines]
    if not fitted.lines or any(line.turns for line in fitted.lines):
        if all(line is other for line, other in zip(stout, fitted.lines, strict=True)):
            return CutLetters((path,))
        return CutLetters(tuple(letterer.outlines([tuple(stout)])))
    drawn: list[Path] = []
    as_set: list[Path] = []
    aloft: list[Box] = []
    below: list[Path] = []
    longer, hidden = False, 0
    lowest = fitted.request.area.bounds().y1
    for line, stouter, mine in zip(fitted.lines, stout, plain, strict=True):
        grown = mine if stouter is line else clusters(stouter, letterer)
        scripts, base = letterer.scripts_of(line.line), line.origin.imag
        shifts = _shifts(grown, scripts, fitted, line, terms)
        moved = [p.moved(by, 0) for p, by in zip(grown, shifts, strict=True)]
        where = [p.moved(by, 0) for p, by in zip(mine, shifts, strict=True)]
        drawn += [p for p in moved if p]
        as_set += [p for p in where if p]
        aloft += tied_aloft(moved, scripts, base, line.size)
        below += bars(moved, scripts, base, line.size, terms.neck, lowest, terms.solids)
        longer |= bool(shifts) and shifts[-1] > shifts[0]
        hidden += len(swallowed(where, base, line.size, terms.solids))
    return CutLetters((*drawn, *below), tuple(as_set), tuple(aloft), longer or bool(below), hidden)


def rule_of(fitted: Fitted) -> CutRule:
    """How a text is kept together; by default as a solid one."""
    return fitted.request.cut or CutRule(Side.SOLID)


def _stouter(line: SetLine, fitted: Fitted, terms: CutTerms) -> SetLine:
    """The line, its thin strokes to be drawn a neck wide once all has been moved outward.

    All the way, if the rule lets outlines be moved at all: what stays thinner the joining would have to
    widen, place by place, and knots would come of it.
    """
    wanted = MARGIN * terms.neck - 2 * terms.grow
    thin = line.line.thinnest * line.size
    if not terms.stouter or not rule_of(fitted).thicken or wanted <= thin:
        return line
    stroke = _stepped(wanted / line.size) * line.size
    return replace(line, stroke=stroke, gap=stroke * _stepped(terms.gap / wanted))


def _stepped(share: float) -> float:
    return math.pow(STEP, math.ceil(math.log(share, STEP) - 1e-9))


def _shifts(
    letters: Sequence[Path], scripts: Sequence[str], fitted: Fitted, line: SetLine, terms: CutTerms
) -> list[float]:
    """How far each cluster of a line goes to the right, mm, so that letters meet or keep apart."""
    rule, size = rule_of(fitted), line.size
    if not rule.closer:
        return [0.0] * len(letters)
    from render.fitting.closer import brought_together

    long = line.line.ink.width * size if line.line.ink else 0.0
    room = max(fitted.request.area.bounds().width - long, 0.0)
    moves = brought_together(letters, terms.neck, rule.closer * size, size, scripts, room, terms.grow)
    share = {Align.START: 0.0, Align.MIDDLE: 0.5, Align.END: 1.0}[fitted.request.rule.align]
    back = share * moves[-1] if moves else 0.0
    return [back - by for by in moves]


def plain_letters(fitted: Fitted, letterer: Letterer) -> list[list[Path]]:
    """The letters of each line as the font draws them; empty for those on a path."""
    return [[] if line.turns else clusters(line, letterer) for line in fitted.lines]


def clusters(line: SetLine, letterer: Letterer) -> list[Path]:
    """The outlines of each cluster of a straight line, in place: drawn far apart, then put back."""
    pens = [pen for pen, _ in line.line.clusters]
    far = _FAR * line.size
    turns = tuple(
        Affine.scale(line.size, line.size).then(Affine.translation(far * k, 0)) for k in range(len(pens))
    )
    (drawn,) = letterer.outlines([(replace(line, turns=turns),)])
    found: list[list[Path]] = [[] for _ in pens]
    for contour in drawn.contours():
        found[round(contour.bounds().centre.x / far)].append(contour)
    return [
        Path.joined(some).moved(line.origin.real + pen * line.size - far * k, line.origin.imag)
        for k, (some, pen) in enumerate(zip(found, pens, strict=True))
    ]
