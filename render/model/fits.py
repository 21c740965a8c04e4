"""How lettering is to be fitted, and how it was."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from render.geometry import Affine, Box, Path
from render.model.lines import Line, Setting
from render.model.operations import Operation
from render.model.problems import Problem


class Align(StrEnum):
    """Where lettering stands across its area (SVG's ``text-anchor``)."""

    START = "start"
    MIDDLE = "middle"
    END = "end"


class Anchor(StrEnum):
    """What is put on the vertical place of an area."""

    BASELINE = "baseline"
    """One baseline for the whole set, where the largest ascent and descent of the set are centred."""
    INK = "ink"
    """Each piece's own ink is centred."""


class Balance(StrEnum):
    """By what a line is put in its place."""

    BOX = "box"
    """The box of its ink."""
    MASS = "mass"
    """The centre of mass of its ink; where it begins or ends at an edge, the edge that the eye sees."""


class SizePolicy(StrEnum):
    """How sizes relate over an order."""

    SET = "set"
    """One size for the whole order, exceptions named."""
    EACH = "each"
    """As large as each area allows."""
    FIXED = "fixed"
    """Exactly the template's font size; what does not fit is a problem."""


class Hang(StrEnum):
    """What of the letters lies on the path they follow."""

    BASELINE = "baseline"
    MIDDLE = "middle"
    """The middle of the capitals: lines on both sides of one ring then share one band."""
    TOPS = "tops"
    """The tops of the capitals."""


class Swash(StrEnum):
    """Where a text may take a swash, an ending with a flourish: at most one at each place."""

    NONE = "none"
    START = "start"
    END = "end"
    BOTH = "both"


@dataclass(frozen=True, slots=True)
class FitRule:
    """How lettering is fitted to its area; lengths in mm, sizes are em sizes.

    Attributes:
        largest, smallest: em size limits; lettering that must go below `smallest` is held back.
        leading: distance of baselines in em when a line is broken.
        most_lines: how many lines the text may be broken into.
        tightest: least tracking tried, in em (0 or negative); joined scripts always keep 0.
        narrower: font ids tried, in order, for a name that is too long in the first.
        joined: whether the font joins its letters (tracking would break it).
        pinned: the size that a set with one size has already, since others of it were made; 0: to be chosen.
        hangs: along a path, what of the letters lies on it.
        closes: along a closed path, whether letters that do not join are spaced so as to close the round.
        optical: along a bent path, how much of what the bend does to the spaces is made up for, 0 to 1.
        swash: where it may take a swash, once it is fitted and if there is room.
        balance: by what straight lines are put in their place.
    """

    policy: SizePolicy = SizePolicy.SET
    align: Align = Align.MIDDLE
    anchor: Anchor = Anchor.BASELINE
    largest: float = 20.0
    smallest: float = 3.0
    leading: float = 1.1
    most_lines: int = 1
    tightest: float = 0.0
    narrower: tuple[str, ...] = ()
    joined: bool = False
    pinned: float = 0.0
    hangs: Hang = Hang.BASELINE
    closes: bool = False
    optical: float = 0.0
    swash: Swash = Swash.NONE
    balance: Balance = Balance.BOX


class Side(StrEnum):
    """On which side of a cut a shape is."""

    SOLID = "solid"
    """It is part of the piece: what lies outside it falls away."""
    HOLE = "hole"
    """It is taken out of the piece."""


@dataclass(frozen=True, slots=True)
class CutRule:
    """How lettering that is cut through is kept together; lengths in mm.

    Attributes:
        side: SOLID lettering is joined into one piece, HOLE lettering is bridged so that nothing falls out.
        neck: narrowest place allowed; 0 takes the material's.
        closer: how far, in em, a letter may be brought towards the one before so that the two overlap.
        thicken: how far, at most, outlines may be moved outward so that thin strokes are a neck wide.
        bridges: how many bridges hold each island (HOLE only).
        stakes: how many stakes are put below (SOLID only), each `stake_width` wide, in `stakes_in`.
        drawn_at: the text's x + iy in the template, from which shapes that follow it are moved.
        free_standing: whether the piece is to stand on its own foot.
        play: by how much the joined outline is made wider all round, as the pocket of an insert is (SOLID
            only).
        halo: how far outside the joined outline a backing is cut, without holes; 0 for none (SOLID only).
    """

    side: Side
    neck: float = 0.0
    closer: float = 0.0
    thicken: float = 0.0
    bridges: int = 2
    stakes: int = 0
    stake_width: float = 4.0
    stakes_in: Box | None = None
    drawn_at: complex = 0j
    free_standing: bool = False
    play: float = 0.0
    halo: float = 0.0


@dataclass(frozen=True, slots=True)
class CutPart:
    """A template's own shape that is one with the lettering.

    Attributes:
        follows: id of the text whose ends and baseline it is moved with; empty where it stays.
        level: whether it is moved up and down only, with the baseline.
    """

    side: Side
    path: Path
    operation: Operation
    follows: str = ""
    level: bool = False


@dataclass(frozen=True, slots=True)
class Shaping:
    """How lettering is made other than as plain lines.

    Attributes:
        monogram: id of a form of monogram; the text is then a name, from which its letters are taken.
        frame: id of a frame round the monogram.
        letters: the letters of the monogram, given outright; empty where they come from the name.
        name_font: font of a name within a monogram; empty for that of its letters.
        envelope: id of an envelope that the line is bent into.
        bend: how much the envelope bends, as a share of the area's height, 0 to 1.
        ground: closed region that is engraved away round the lettering, which is left standing.
        shoulder: width in mm of the band round what stands, that is scored instead of engraved away.
    """

    monogram: str = ""
    frame: str = ""
    letters: str = ""
    name_font: str = ""
    envelope: str = ""
    bend: float = 0.35
    ground: Path | None = None
    shoulder: float = 0.0


@dataclass(frozen=True, slots=True)
class LetterRequest:
    """Lettering that a template asks for on one piece.

    Attributes:
        piece: the piece's id.
        slot: id of the text in the template; all requests of one slot over an order are one set.
        area: closed region, mm, that the ink must stay in; may have holes (non-zero rule).
        along: open or closed path, mm, that the baseline follows instead; the area then only limits it.
        start: where on `along` the anchor of the text lies, 0 to 1 of its length.
        cut: how it is kept together when cut through; None for any other lettering.
        shaping: how it is made other than as plain lines; None for plain lines.
        thicken: least width in mm that thin strokes are thickened to; 0 for what material and beam ask for,
            None for none.
    """

    piece: str
    slot: str
    text: str
    setting: Setting
    operation: Operation
    rule: FitRule
    area: Path
    along: Path | None = None
    start: float = 0.5
    cut: CutRule | None = None
    shaping: Shaping | None = None
    thicken: float | None = None


@dataclass(frozen=True, slots=True)
class SetLine:
    """A line in its final place: `size` mm to the em, the pen starting on the baseline at `origin` (x + iy).

    `turns`, where the baseline is curved, has one map per cluster of the line: it takes the cluster, drawn in
    em with its pen at the origin, to its place in mm.

    `stroke` is the least width in mm that its strokes are thickened to, 0 for none, as far as gaps of `gap`
    mm stay open.
    """

    line: Line
    size: float
    origin: complex
    turns: tuple[Affine, ...] = ()
    stroke: float = 0.0
    gap: float = 0.0


class Remedy(StrEnum):
    """What was done so that a text fits, in the order in which remedies are tried."""

    NONE = "none"
    TIGHTER = "tighter"
    """Set with less space between letters."""
    BROKEN = "second line"
    """Broken into lines."""
    NARROWER = "narrower font"
    """Set in a narrower font."""
    SMALLER = "smaller"
    """Set smaller than the rest of the order."""
    HELD = "held back"
    """Does not fit at the smallest allowed size."""


@dataclass(frozen=True, slots=True)
class Fitted:
    """One request, fitted: its lines in place, the remedy used, and what should be known about it."""

    request: LetterRequest
    lines: tuple[SetLine, ...]
    remedy: Remedy = Remedy.NONE
    problems: tuple[Problem, ...] = ()
