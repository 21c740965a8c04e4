"""The plain immutable values that cross from room to room.

Nothing here opens a file, knows a font or draws; the words are those of DEVELOPERS.md.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Final, Protocol, overload

import numpy as np
from numpy.typing import NDArray

from render.geometry import Affine, Box, Path
from render.units import to_um

# ---------------------------------------------------------------- what the beam does


class Operation(StrEnum):
    """What the beam does with a mark."""

    ENGRAVE = "engrave"
    """Fill an area."""
    SCORE = "score"
    """Follow a line on the surface."""
    CUT = "cut"
    """Go through."""
    GUIDE = "guide"
    """Never burned: an aid for the eye."""


BURN_ORDER: Final = (Operation.ENGRAVE, Operation.SCORE, Operation.CUT)
"""The order of burning: a piece that is cut loose first would move under the rest."""

# ---------------------------------------------------------------- problems


class Severity(StrEnum):
    """How much a problem matters."""

    NOTE = "note"
    """Worth knowing; nothing to do."""
    LOOK = "look"
    """Made, but someone should look at it."""
    STOP = "stop"
    """The piece is held back until this is mended."""


@dataclass(frozen=True, slots=True)
class Problem:
    """Something about one row, piece or file that a person should know.

    Attributes:
        code: stable short name in kebab-case, such as ``missing-glyph``.
        message: what is so and why, one sentence.
        hint: what would mend it, one sentence; may be empty.
        row: physical line number in the table (the heading line is 1), or None.
        column: heading of the column, or empty.
        value: the offending value, or empty.
        piece: id of the piece, or empty.
    """

    severity: Severity
    code: str
    message: str
    hint: str = ""
    row: int | None = None
    column: str = ""
    value: str = ""
    piece: str = ""


# ---------------------------------------------------------------- orders


@dataclass(frozen=True, slots=True)
class Piece:
    """One thing to be made.

    Attributes:
        id: stable within the order: ``p`` and the row's line number, ``-2`` and so on for further copies.
        row: physical line number in the table it came from.
        fields: text by field name (``name``, ``given``, ``surname``, ``table``, ``note``, ...).
    """

    id: str
    row: int
    fields: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Order:
    """What one customer asked for: the pieces of a table, and what its reading brought to light."""

    name: str
    pieces: tuple[Piece, ...]
    problems: tuple[Problem, ...] = ()


# ---------------------------------------------------------------- things and machines


class Hold(StrEnum):
    """How a blank is held under the beam."""

    STOCK = "stock"
    """Cut out of a flat sheet of stock."""
    JIG = "jig"
    """Ready-made, lying in a jig."""
    ROTARY = "rotary"
    """Round, turning in a rotary."""


class Surface(StrEnum):
    """What kind of surface a body shows to the beam."""

    ROUND = "round"
    """A body of revolution that turns in a rotary."""
    FLAT = "flat side"
    """A flat side of a bottle: it lies level and does not turn."""
    CAP = "cap"
    """Part of a sphere, such as a bowl or a spoon: it lies still under the beam."""
    SLEEVE = "sleeve"
    """Flat stock that is cut so that it goes round a body of revolution."""


class Lay(StrEnum):
    """How a drawing lies on a body that tapers."""

    RIM = "follow-the-rim"
    """Level lines run along circles; widths are true at every height, measured from the place's middle."""
    LABEL = "flat-label"
    """Like a paper label stuck on: nothing is stretched, straight lines stay straight when unrolled."""
    TURN = "full-turn"
    """The drawing's width is one full turn at every height: what closes on itself."""


@dataclass(frozen=True, slots=True)
class Place:
    """A place round a thing, for what lies near it in the drawing.

    Attributes:
        at: degrees round the thing from the start line, the drawing's left edge.
        width: mm of the drawing, about `at`, that belong to it; 0 for all that is nearest to it.
        lay: how what lies there is laid.
    """

    name: str
    at: float
    width: float = 0.0
    lay: Lay = Lay.RIM


@dataclass(frozen=True, slots=True)
class KeepOut:
    """Part of a body's surface that stays free: degrees round it (may pass 360), mm down from the rim.

    Attributes:
        what: ``handle``, ``seam``, ``lip``, ``base``, ``grip``, ``logo`` ...
        severity: what artwork that reaches into it means.
    """

    what: str
    start: float
    end: float
    top: float
    bottom: float
    severity: Severity = Severity.STOP


@dataclass(frozen=True, slots=True)
class Sleeve:
    """How a flat sleeve is closed, mm.

    Attributes:
        seam: width of the flap beyond the full turn; 0 where the edges meet.
        holes: diameter of the holes along both edges; 0 for none.
        pitch: distance of two holes.
        edge: from an edge to the middle of its holes.
    """

    seam: float = 0.0
    holes: float = 0.0
    pitch: float = 5.0
    edge: float = 3.0


@dataclass(frozen=True, slots=True)
class RoundBody:
    """A round body and how it is drawn: unrolled, x running round it and y along its surface from the rim.

    Attributes:
        circumference: width of the unrolled drawing, mm: measured by tape, or, where the body is not
            straight, reckoned half way down its surface.
        height: length along the surface that may be marked, mm.
        seam: width that stays free where the unrolled surface closes on itself, mm.
        stations: pairs of distance along the axis and circumference, mm, from the top of what may be marked
            down; empty for a straight cylinder.
        lay: how what belongs to no place is laid.
        error: by how much a measured circumference may be wrong, mm.
        inside: whether the inner side is marked, as in a ring.
        lying: whether the drawing lies on its side, its x running along the axis.
        sagitta: depth of a CAP, mm; its circumference and height are its chords then.
        overlap: by how much what goes all round runs on over its beginning, mm.
        hide_seam: whether the turn begins in the widest gap of the artwork.
        rim: from the thing's own rim down to the top of the drawing, mm.
        contact: where rollers touch it, mm down the surface; None for its thickest part.
        length, weight: of the whole thing, mm and g; 0 where unknown.
        sleeve: how a SLEEVE is closed.
        sent: what a machine is sent for one full turn and for the whole height, mm, where that is settled.
    """

    circumference: float
    height: float
    seam: float = 0.0
    stations: tuple[tuple[float, float], ...] = ()
    surface: Surface = Surface.ROUND
    lay: Lay = Lay.RIM
    places: tuple[Place, ...] = ()
    keep_outs: tuple[KeepOut, ...] = ()
    error: float = 0.0
    inside: bool = False
    lying: bool = False
    sagitta: float = 0.0
    overlap: float = 0.0
    hide_seam: bool = False
    rim: float = 0.0
    contact: float | None = None
    length: float = 0.0
    weight: float = 0.0
    sleeve: Sleeve | None = None
    sent: tuple[float, float] | None = None

    @property
    def drawn(self) -> tuple[float, float]:
        """Width and height of its drawing, mm."""
        return (self.height, self.circumference) if self.lying else (self.circumference, self.height)


@dataclass(frozen=True, slots=True)
class Stock:
    """A flat sheet of material to cut from, mm: `gap` lies between pieces, `margin` at the rim.

    `used` are closed regions that are gone, from its top left corner; `id` names a remembered offcut.
    """

    width: float
    height: float
    margin: float = 5.0
    gap: float = 2.0
    used: tuple[Path, ...] = ()
    id: str = ""


@dataclass(frozen=True, slots=True)
class Jig:
    """Places for ready-made blanks on the bed, columns × rows; the first's top left corner at `origin`."""

    id: str
    title: str
    columns: int
    rows: int
    origin: tuple[float, float]
    pitch: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Cutting:
    """How a thing is best cut out, mm.

    Attributes:
        tabs: how many hold it in the sheet until it is broken out by hand; 0 for none.
        tab_width: of each.
        lead_in: how far off, in the waste, a cut begins, so that the start mark is not on the piece.
        apart: how far apart pieces lie that are cut one after another, so that heat can go; 0 does not care.
    """

    tabs: int = 0
    tab_width: float = 0.5
    lead_in: float = 0.0
    apart: float = 0.0


@dataclass(frozen=True, slots=True)
class Blank:
    """The thing before personalisation. All lengths mm; (0, 0) is the top left of its outline's box.

    Attributes:
        outline: closed; what is cut (or, ready-made, what the thing looks like).
        holes: closed contours through the thing; cut with it where it is cut from stock.
        folds: open lines to be scored.
        markable: closed region where artwork may lie.
        material: id of its material.
        thickness: mm.
        jig: id of the jig that holds it, when `hold` is JIG.
        stock: the sheet it is cut from, when `hold` is STOCK.
        body: its round surface: when `hold` is ROTARY, and of what lies or is cut to go round something.
        hazards: ids of what can hurt about the thing, whatever it is made of.
        outline_cut: whether the outline is cut; else it bounds the room of a piece that is itself cut out.
        cutting: how it is best cut out.
        grain: whether its width must run with the grain of the stock; None: as its material has one.
    """

    id: str
    title: str
    outline: Path
    holes: tuple[Path, ...]
    folds: tuple[Path, ...]
    markable: Path
    material: str
    thickness: float
    hold: Hold
    jig: str = ""
    stock: Stock | None = None
    body: RoundBody | None = None
    hazards: tuple[str, ...] = ()
    outline_cut: bool = True
    cutting: Cutting = Cutting()
    grain: bool | None = None


class Works(StrEnum):
    """Whether a light source does something to a material, as the trade knows it."""

    YES = "yes"
    NO = "no"
    COATED = "coated"
    """Only with a marking compound or a coating that takes up the light."""
    TEST = "test"
    """It depends: a test card tells."""


@dataclass(frozen=True, slots=True)
class LightRule:
    """What one light source does to a material: common practice, no setting; `why` unless both are YES."""

    mark: Works
    cut: Works
    why: str = ""


@dataclass(frozen=True, slots=True)
class Hazard:
    """Something about a thing, whatever it is made of, that can hurt: a closed space, a blade, a battery.

    Attributes:
        severity: LOOK where a person must decide before each job, NOTE where a reminder is enough.
        caution: what to do, one sentence.
    """

    id: str
    title: str
    severity: Severity
    caution: str


@dataclass(frozen=True, slots=True)
class Material:
    """A material: how it looks in a proof, and the smallest detail it holds.

    Attributes:
        tone: its colour in proofs, ``#rrggbb``.
        mark_tone: the colour of an engraved mark in proofs.
        smallest_stroke: thinnest stroke that survives, mm.
        smallest_gap: narrowest gap that stays open, mm.
        cautions: safety words that belong on each report, each one sentence.
        kind: what it is, such as ``wood`` or ``metal``; empty where nobody said.
        refuse: why it must never go under a beam; empty where it may.
        warning: what speaks strongly against it; mostly empty.
        fumes: what comes off it and what to do about it.
        lights: what each light source, by id, does to it.
        neck: narrowest bridge of it, mm, that holds a cut-out piece together; 0 where nobody said.
        grain: whether it has a grain, which runs along the width of its sheets.
    """

    id: str
    title: str
    tone: str
    mark_tone: str
    smallest_stroke: float
    smallest_gap: float
    cautions: tuple[str, ...] = ()
    kind: str = ""
    refuse: str = ""
    warning: str = ""
    fumes: str = ""
    lights: Mapping[str, LightRule] = field(default_factory=dict)
    neck: float = 0.0
    grain: bool = False


class RotaryKind(StrEnum):
    """How a rotary turns the thing."""

    CHUCK = "chuck"
    """Grips it: turns by angle, whatever the thing's size."""
    ROLLER = "roller"
    """Carries it on rollers: turns by length on the surface."""


@dataclass(frozen=True, slots=True)
class Calibration:
    """What marks measured on a turning thing taught: the axis must be sent `factor` times what it was.

    Attributes:
        error: by what share the factor may be wrong (95 % of cases).
        marks: how many measurements it rests on; 0 where nothing was measured.
        date: of the last, ISO 8601.
    """

    factor: float = 1.0
    error: float = 0.0
    marks: int = 0
    date: str = ""


@dataclass(frozen=True, slots=True)
class Rotary:
    """A rotary device.

    Attributes:
        turn: mm of the replaced axis that make one full turn of the chuck (CHUCK only; 0 for ROLLER).
        axis: the machine axis it replaces, ``x`` or ``y``: that axis runs round the thing.
        fastest, acceleration: its limits in mm/s and mm/s² of that axis; 0 where they are the axis' own.
        steps: motor steps in one full turn of the chuck; 0 where they do not matter.
        scales: whether the machine itself scales, told the circumference: files then hold surface lengths.
        reversed: whether it turns the other way than the axis would go.
        slip: share of each turn that rollers lose, such as 0.01.
        tilt: degrees by which its axis is tilted so that a thin lower end comes up; None: as the thing needs.
        longest, thinnest, thickest: of what it takes, mm; 0 where unknown.
        heaviest: of what it takes, g; 0 where unknown.
    """

    kind: RotaryKind
    turn: float = 0.0
    axis: str = "y"
    fastest: float = 0.0
    acceleration: float = 0.0
    steps: int = 0
    scales: bool = False
    reversed: bool = False
    slip: float = 0.0
    tilt: float | None = 0.0
    longest: float = 0.0
    thinnest: float = 0.0
    thickest: float = 0.0
    heaviest: float = 0.0
    calibration: Calibration = Calibration()


@dataclass(frozen=True, slots=True)
class Motion:
    """How fast a machine's head can move: limits of motion, never a setting for a material.

    Attributes:
        fastest: mm/s along x and y.
        acceleration: mm/s² along x and y.
        corner: by how much, mm, the head may be thought to round a corner: it sets the speed there.
        together: whether everything on one scan line of a sheet is swept in one go, or each piece by itself.
        hurries: whether gaps within a scan line are crossed at full speed, or at the engraving speed.
    """

    fastest: tuple[float, float]
    acceleration: tuple[float, float]
    corner: float = 0.01
    together: bool = True
    hurries: bool = False


@dataclass(frozen=True, slots=True)
class Timing:
    """What timed jobs taught: true seconds = start + factor × computed seconds.

    Attributes:
        error: by what share a job not used for the fit was wrong, at most; None where too few were timed.
        jobs: how many were timed.
    """

    factor: float = 1.0
    start: float = 0.0
    error: float | None = None
    jobs: int = 0


@dataclass(frozen=True, slots=True)
class Recipe:
    """Settings that a shop found by its own test cards: Monikerf keeps them and never makes one up.

    Attributes:
        machine, material: ids.
        speed: mm/s, as the machine's software is told (in the machine's mm, also on a rotary).
        power: per cent of that machine's own scale.
        passes: how often the operation is run.
        interval: distance of scan lines, mm (ENGRAVE only; else 0).
        both_ways: whether scan lines are burned going forth and back.
        thickness: of the material tested, mm; 0 where it does not matter.
        date: of the test, ISO 8601.
        batch: of the material; may be empty.
        photo: path of a photo of the test; may be empty.
    """

    id: str
    machine: str
    material: str
    operation: Operation
    speed: float
    power: float
    date: str
    passes: int = 1
    interval: float = 0.0
    both_ways: bool = True
    thickness: float = 0.0
    batch: str = ""
    photo: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Light:
    """A kind of light source.

    Attributes:
        wavelength: shortest and longest, nm.
        seen: whether the eye can see it.
        cuts_to: thickness in mm that a source of `cuts_to_watts` goes through well; 0 where nothing is said.
        cautions: safety words that belong on each report.
    """

    id: str
    title: str
    wavelength: tuple[float, float]
    seen: bool
    cuts_to: float = 0.0
    cuts_to_watts: float = 0.0
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Machine:
    """A laser: its bed (width, height in mm), light, spot and the colours it tells operations apart by.

    Attributes:
        light: in words.
        light_source: id of its light source; empty where unknown.
        watts: optical output by its data sheet; 0 where unknown.
        motion: limits of its motion; None where nobody has said.
        timing: what timed jobs taught.
        kerfs: width in mm that the beam takes away, by material, as measured.
        focus_depth: how far, mm, the surface may be out of focus either way, as tried; 0 where not tried.
        passes_through: the way, ``x`` or ``y``, in which longer material can be moved on; or empty.
    """

    id: str
    title: str
    bed: tuple[float, float]
    light: str
    spot: float
    colours: Mapping[Operation, str]
    rotary: Rotary | None = None
    cautions: tuple[str, ...] = ()
    light_source: str = ""
    watts: float = 0.0
    motion: Motion | None = None
    timing: Timing = Timing()
    kerfs: Mapping[str, float] = field(default_factory=dict)
    focus_depth: float = 0.0
    passes_through: str = ""


# ---------------------------------------------------------------- lettering


@dataclass(frozen=True, slots=True)
class Setting:
    """How a text is set.

    Attributes:
        font: id of the font on the shelf, such as ``great-vibes``; of a variable font also with its axes, such
            as ``source-serif:opsz=12,wght=600``.
        language: BCP 47 tag, or empty when unknown.
        features: OpenType features in HarfBuzz's notation, such as ``swsh=1`` or ``-liga``.
        tracking: extra space after each cluster, in em; refused on joined scripts.
        word_space: extra space at each space between words, in em.
        stand_ins: pairs of a script (ISO 15924) and the id of the font that its letters are set in instead,
            since `font` lacks some of them.
        vertical: for text that runs down a column, how letters stand that are not made for it: ``mixed`` or
            ``upright`` (CSS's ``text-orientation``); empty for lines.
    """

    font: str
    language: str = ""
    features: tuple[str, ...] = ()
    tracking: float = 0.0
    word_space: float = 0.0
    stand_ins: tuple[tuple[str, str], ...] = ()
    vertical: str = ""


@dataclass(frozen=True, slots=True)
class Clusters(Sequence[tuple[float, float]]):
    """For each cluster left to right the pen's x at its left edge and its advance, in em.

    It keeps `pens`, where each cluster begins, and the `end` of the last: a tuple of pairs for each of many
    thousand lines would cost more than shaping them.
    """

    pens: tuple[float, ...]
    end: float

    def __len__(self) -> int:
        return len(self.pens)

    @overload
    def __getitem__(self, index: int) -> tuple[float, float]: ...
    @overload
    def __getitem__(self, index: slice) -> tuple[tuple[float, float], ...]: ...
    def __getitem__(self, index: int | slice) -> tuple[float, float] | tuple[tuple[float, float], ...]:
        return tuple(self)[index]

    def __iter__(self) -> Iterator[tuple[float, float]]:
        for pen, end in zip(self.pens, (*self.pens[1:], self.end), strict=False):
            yield pen, end - pen


@dataclass(frozen=True, slots=True)
class Line:
    """A shaped line of text, measured in em (1 em = the size it is set at), y down, origin on the baseline.

    Attributes:
        ink: exact box of its outlines; None if there is no ink (spaces only).
        advance: how far the pen travels.
        cap_height, x_height: of the font, measured on H and x.
        thinnest: thinnest stroke of the font's letters (10th percentile over a-zA-Z), in em.
        clusters: for each cluster left to right the pen's x at its left edge and its advance.
        missing: characters that the font cannot draw.
    """

    text: str
    setting: Setting
    ink: Box | None
    advance: float
    cap_height: float
    x_height: float
    thinnest: float
    clusters: Sequence[tuple[float, float]] = ()
    missing: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Skyline:
    """How high and how low the ink of a line reaches, column by column; em, y down, from the baseline.

    Attributes:
        first: number of the leftmost column; column k reaches from k × STEP to (k + 1) × STEP.
        tops, bottoms: for each column; inf and -inf where it has no ink.
    """

    first: int
    tops: NDArray[np.float64]
    bottoms: NDArray[np.float64]


SKYLINE_STEP: Final = 1 / 32
"""Width of a skyline's column, em."""


@dataclass(frozen=True, slots=True)
class Weight:
    """Where the eye finds a line's weight, em, y down, from its origin on the baseline.

    Attributes:
        x, y: the centre of mass of its ink.
        left, right: its edges as the eye sees them: little ink lies beyond.
    """

    x: float
    y: float
    left: float
    right: float


class Measure(Protocol):
    """Shape and measure a text: what fitting needs of lettering, cached, without outlines."""

    def __call__(self, text: str, setting: Setting) -> Line:
        """The measured line."""
        ...


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
        play: by how much the joined outline is made wider all round, as the pocket of an insert is (SOLID only).
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


# ---------------------------------------------------------------- artwork


@dataclass(frozen=True, slots=True)
class Mark:
    """A path and what the beam does with it. ENGRAVE fills it by the non-zero rule; the others follow it."""

    operation: Operation
    path: Path


@dataclass(frozen=True, slots=True)
class Artwork:
    """The finished geometry of one piece, mm, (0, 0) at the top left of its blank."""

    piece: str
    title: str
    marks: tuple[Mark, ...]

    def digest(self) -> str:
        """The SHA-256, in hexadecimal, of what would be burned, in canonical form.

        For each operation in burn order that has geometry: its name, a zero byte, then its commands (one byte
        each) and its points in whole micrometres (little-endian 64-bit integers x, y), each preceded by its
        number of bytes as a little-endian 64-bit integer. Guides, ids and titles do not count.

        Raises:
            ValueError: a coordinate is not finite.
        """
        sha = hashlib.sha256()
        for operation in BURN_ORDER:
            path = self.burned(operation)
            if path:
                sha.update(operation.encode() + b"\0")
                for block in (path.commands.tobytes(), to_um(path.points).astype("<i8").tobytes()):
                    sha.update(len(block).to_bytes(8, "little") + block)
        return sha.hexdigest()

    def burned(self, operation: Operation) -> Path:
        """All contours of one operation, in order."""
        return Path.joined(mark.path for mark in self.marks if mark.operation is operation)


# ---------------------------------------------------------------- sheets


@dataclass(frozen=True, slots=True)
class Placement:
    """A piece on a sheet: turned clockwise by `quarters` × 90° about (0, 0), then moved by whole micrometres.

    `place` counts the places of the sheet from 1, as a person would point at them.
    """

    artwork: Artwork
    place: int
    x_um: int
    y_um: int
    quarters: int = 0

    def path_um(self, path: Path) -> np.ndarray[tuple[int, int], np.dtype[np.int64]]:
        """The path's points on the sheet in whole micrometres, shape (n, 2): exact after one rounding."""
        um = to_um(path.points)
        if self.quarters % 4 == 0:
            um[:, 0] += self.x_um
            um[:, 1] += self.y_um
            return um
        x, y = um[:, 0], um[:, 1]
        x, y = ((x, y), (-y, x), (-x, -y), (y, -x))[self.quarters % 4]
        return np.stack((x + self.x_um, y + self.y_um), axis=1)


@dataclass(frozen=True, slots=True)
class Sheet:
    """One load of the machine.

    Attributes:
        number: from 1.
        size: width and height of the drawing in mm: the bed or the sheet of stock.
        gap: least distance in mm that pieces keep from each other.
        colours: stroke and fill colour by operation.
        settings: what a person sets at the machine for this load, in words, a line each; written into the
            file beside its title. Empty for flat work.
    """

    number: int
    title: str
    size: tuple[float, float]
    gap: float
    placements: tuple[Placement, ...]
    colours: Mapping[Operation, str] = field(default_factory=dict)
    settings: str = ""
