"""Cut-through lettering kept together: joined into one piece, or bridged, piece by piece."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, Final

from render.geometry import Path
from render.model import (
    CutPart,
    Fitted,
    Mark,
    Material,
    Operation,
    Problem,
    Severity,
    Side,
)
from render.pipeline.cutletters import CutLetters, CutTerms, cut_letters, plain_letters, rule_of
from render.pipeline.inlays import solid_marks
from render.units import format_mm, round_mm

if TYPE_CHECKING:
    from render.design import Drawing
    from render.fitting.bridging import Bridged
    from render.fitting.joining import Fault, Joined
    from render.fitting.standing import Footing
    from render.lettering import Letterer
    from render.pipeline.workshop import Job

SMALL_MM: Final = 10.0
"""Waste that is no longer than this can fall between the slats of a bed (common practice, no source)."""

TIPS_AT: Final = 8.0
"""A free-standing piece that tips over before so many degrees needs a look (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Held:
    """How the cut-through lettering of one piece is kept together.

    Attributes:
        piece: its id.
        marks: what is cut instead of the lettering alone.
        problems: what does not hold, or should be known.
        values: figures for the report.
        weak: the places where it does not hold, mm.
    """

    piece: str
    marks: tuple[Mark, ...]
    problems: tuple[Problem, ...] = ()
    values: Mapping[str, Any] = field(default_factory=dict)
    weak: tuple[complex, ...] = ()


def wants_holding(drawing: Drawing, fitted: Sequence[Fitted]) -> bool:
    """Whether a piece has lettering or shapes that must be kept together."""
    return bool(drawing.parts) or any(f.request.cut for f in fitted)


def hold(
    piece: str, drawing: Drawing, lettering: Sequence[tuple[Fitted, Path]], job: Job, letterer: Letterer
) -> Held:
    """The cut marks of one piece, from its fitted lettering (with outlines) and its template's own shapes.

    Solid lettering and shapes become one outline, less the holes; lettering that is a hole is bridged in it,
    or in the blank where there is nothing solid.
    """
    from render.fitting.bridging import bridge
    from render.fitting.joining import Asked, join
    from render.fitting.standing import footing

    cut = [(f, path) for f, path in lettering if f.request.cut and path]
    rules = [f.request.cut for f, _ in cut if f.request.cut]
    neck = max((rule.neck for rule in rules), default=0.0) or job.material.neck
    if not neck > 0:
        return Held(piece, (), (_no_neck(job.material, piece),))
    solid = [(f, path) for f, path in cut if f.request.cut and f.request.cut.side is Side.SOLID]
    through = [(f, path) for f, path in cut if f.request.cut and f.request.cut.side is Side.HOLE]
    operation = cut[0][0].request.operation if cut else drawing.parts[0].operation
    ends = {f.request.slot: _ends(f, path) for f, path in cut}
    parts = [(part.side, _following(part, ends)) for part in drawing.parts]
    marks: list[Mark] = []
    problems: list[Problem] = []
    values: dict[str, Any] = {"piece": piece}
    weak: list[complex] = []
    plate: Path | None = None
    if solid or any(side is Side.SOLID for side, _ in parts):
        shapes = [part for side, part in parts if side is Side.SOLID]
        terms = CutTerms(neck, job.material.smallest_gap, tuple(shapes))
        terms, letters = _letters(solid, terms, letterer)
        for (f, _), each in zip(solid, letters, strict=True):
            if each.longer:
                ends[f.request.slot] = _ends(f, Path.joined(each.drawn))
        parts = [(part.side, _following(part, ends)) for part in drawing.parts]
        joined = join(_asked(Asked, solid, letters, terms, parts))
        plate = joined.path
        marks += solid_marks(joined.path, operation, rules)
        problems += _faults(joined.faults, cut, "not-in-one-piece")
        problems += _swallowed(solid, letters)
        problems += _hard_to_read(solid, letters, joined.path)
        weak += [fault.at for fault in joined.faults]
        values |= _join_values(joined)
        if operation is not Operation.CUT:
            values["small_waste"] = 0
        if any(rule.free_standing for rule in rules):
            stand = footing(joined.path, job.blank.thickness)
            values["stands"] = {"sideways_deg": round(stand.sideways, 1), "over_deg": round(stand.over, 1)}
            problems += _tipping(stand, piece)
    if through:
        base = plate if plate is not None else Path.joined((job.blank.outline, *job.blank.holes))
        bridged = bridge([path for _, path in through], base, neck, max(rule.bridges for rule in rules))
        marks.append(Mark(operation, bridged.path))
        problems += _faults(bridged.faults, through, "falls-out")
        weak += [fault.at for fault in bridged.faults]
        problems += _tongues(bridged, through)
        values |= _bridge_values(bridged)
    return Held(piece, tuple(marks), tuple(replace(p, piece=piece) for p in problems), values, tuple(weak))


def joined_lettering(fitted: Fitted, path: Path, neck: float, gap: float, letterer: Letterer) -> Joined:
    """One text by itself, with its outlines, joined into one piece as its rule asks; lengths in mm."""
    from render.fitting.joining import Asked, join

    solid = [(fitted, path)]
    terms, letters = _letters(solid, CutTerms(neck, gap), letterer)
    return join(_asked(Asked, solid, letters, terms, ()))


# ---------------------------------------------------------------- what goes in


def _letters(
    solid: Sequence[tuple[Fitted, Path]], terms: CutTerms, letterer: Letterer
) -> tuple[CutTerms, list[CutLetters]]:
    """The terms, settled, and the letters of each solid text."""
    plain = [plain_letters(fitted, letterer) for fitted, _ in solid]
    lines = [(line, rule_of(fitted)) for fitted, _ in solid for line in fitted.lines]
    terms = terms.settled(lines, [some for every in plain for some in every])
    letters = [
        cut_letters(fitted, path, every, terms, letterer)
        for (fitted, path), every in zip(solid, plain, strict=True)
    ]
    return terms, letters


def _asked(
    asked: Any,
    solid: Sequence[tuple[Fitted, Path]],
    letters: Sequence[CutLetters],
    terms: CutTerms,
    parts: Sequence[tuple[Side, Path]],
) -> Any:
    baselines: list[tuple[float, float]] = []
    stakes = None
    for fitted, _ in solid:
        rule = rule_of(fitted)
        baselines += [(line.origin.imag, line.line.x_height * line.size) for line in fitted.lines]
        if rule.stakes and rule.stakes_in:
            stakes = (rule.stakes, rule.stake_width, rule.stakes_in)
    return asked(
        tuple(path for each in letters for path in each.drawn),
        terms.neck,
        tuple(path for side, path in parts if side is Side.SOLID),
        tuple(path for side, path in parts if side is Side.HOLE),
        thicken=terms.grow,
        baselines=tuple(dict.fromkeys(baselines)),
        aloft=tuple(box for each in letters for box in each.aloft),
        stakes=stakes,
    )


_Ends = tuple[float, float, float, float, complex]


def _ends(fitted: Fitted, path: Path) -> _Ends:
    """How far the ends of lettering are from its area's, and its baseline from the template's; the middle."""
    request = fitted.request
    area, ink = request.area.bounds(), path.bounds()
    drawn_at = request.cut.drawn_at if request.cut else 0j
    base = fitted.lines[-1].origin.imag
    return ink.x0 - area.x0, ink.x1 - area.x1, base - drawn_at.imag, area.centre.x, drawn_at


def _following(part: CutPart, ends: Mapping[str, _Ends]) -> Path:
    """A shape moved with the text it follows.

    What of it lies left of the middle of the text's area goes with the left end of the lettering, the rest
    with the right end, and all of it with the baseline.
    """
    import numpy as np

    if part.follows not in ends:
        return part.path
    left, right, down, middle, _ = ends[part.follows]
    if part.level:
        return part.path.moved(0, down)
    points = part.path.points
    shift = np.where(points.real < middle, left, right) + 1j * down
    return Path(part.path.commands, points + shift)


# ---------------------------------------------------------------- what comes out


def _no_neck(material: Material, piece: str) -> Problem:
    return Problem(
        Severity.STOP,
        "no-neck",
        f"Nobody has said how narrow a bridge of {material.title} may be.",
        f"Give the material {material.id} a neck (mm) in its file, or the template an mk:neck.",
        piece=piece,
    )


def _faults(faults: Iterable[Fault], lettering: Sequence[tuple[Fitted, Path]], code: str) -> list[Problem]:
    """A problem that names the places where a piece does not hold."""
    every = list(faults)
    if not every:
        return []
    told = "; ".join(
        f"{fault.why} at x {format_mm(fault.at.real, 1)}, y {format_mm(fault.at.imag, 1)} mm"
        f"{_near(fault.at, lettering)}"
        for fault in every[:3]
    )
    more = f", and {len(every) - 3} more" if len(every) > 3 else ""
    text = lettering[0][0].request.text if lettering else ""
    hint = "Choose a stouter font or a larger size, or a template with a bar, ring or frame."
    return [Problem(Severity.STOP, code, f"It does not hold together: {told}{more}.", hint, value=text)]


def _swallowed(solid: Sequence[tuple[Fitted, Path]], letters: Sequence[CutLetters]) -> Iterator[Problem]:
    """A problem for each text with marks that the design hides: without them it may be another name."""
    for (fitted, _), each in zip(solid, letters, strict=True):
        if not each.swallowed:
            continue
        text = fitted.request.text
        severity = Severity.LOOK if text.lower() != text.upper() else Severity.STOP
        of = f"{each.swallowed} letter{'s' * (each.swallowed != 1)}"
        message = f"Marks below {of} lie within a bar or foot of the design, where nobody sees them."
        hint = "Take a design without a bar under the letters, or a spelling without these marks."
        yield Problem(severity, "marks-hidden", message, hint, value=text)


def _hard_to_read(
    solid: Sequence[tuple[Fitted, Path]], letters: Sequence[CutLetters], whole: Path
) -> list[Problem]:
    """A problem for each text whose letters close up so far that they are hard to read."""
    from render.fitting.legible import HARD, HIDDEN, closed_whites

    problems = []
    for (fitted, _), each in zip(solid, letters, strict=True):
        told = zip(each.plain, closed_whites(each.plain, whole), strict=True)
        shares = [(share, letter.bounds().centre) for letter, share in told if share == share]
        mean = sum(share for share, _ in shares) / max(len(shares), 1)
        hidden = [centre for share, centre in shares if share > HIDDEN]
        if mean <= HARD and not hidden:
            continue
        text = fitted.request.text
        where = "".join(_near(complex(centre.x, centre.y), solid) for centre in hidden[:1])
        are = "is" if len(hidden) == 1 else "are"
        also = f"; {len(hidden)} of its letters {are} hardly to be seen{where}" if hidden else ""
        message = (
            f"It may be hard to read: held together, {100 * mean:.0f} % of the open space in and round its "
            f"letters closes up{also}."
        )
        hint = "Look at its picture. A larger thing, fewer letters, or a font with wider letters would help."
        problems.append(Problem(Severity.LOOK, "hard-to-read", message, hint, value=text))
    return problems


def _tongues(bridged: Bridged, lettering: Sequence[tuple[Fitted, Path]]) -> list[Problem]:
    """One problem for all tongues of a plate that hang by less than a neck."""
    if not bridged.tongues:
        return []
    at = bridged.tongues[0]
    where = f"x {format_mm(at.real, 1)}, y {format_mm(at.imag, 1)} mm{_near(at, lettering)}"
    message = (
        f"A tongue of the plate hangs by less than {format_mm(bridged.neck, 2)} mm "
        f"in {len(bridged.tongues)} places, the first at {where}."
    )
    hint = "Handle it with care, or choose a wider font or a larger size."
    text = lettering[0][0].request.text
    return [Problem(Severity.LOOK, "thin-tongue", message, hint, value=text)]


def _near(at: complex, lettering: Sequence[tuple[Fitted, Path]]) -> str:
    """The letters nearest to a place, in words."""
    best: tuple[float, str] | None = None
    for fitted, _ in lettering:
        for line in fitted.lines:
            clusters = list(line.line.clusters)
            if line.turns or len(clusters) != len(line.line.text):
                continue
            for n, (pen, advance) in enumerate(clusters):
                x = line.origin.real + (pen + advance / 2) * line.size
                off = abs(at - complex(x, line.origin.imag - line.line.x_height * line.size / 2))
                if best is None or off < best[0]:
                    best = (off, line.line.text[max(0, n - 1) : n + 2])
    return f" (near “{best[1].strip()}”)" if best else ""


def _join_values(joined: Joined) -> dict[str, Any]:
    return {
        "pieces": 1 if not joined.faults else None,
        "neck_mm": round_mm(joined.neck),
        "ties": len(joined.ties),
        "longest_tie_mm": round(max((shown for _, shown in joined.ties), default=0.0), 2),
        "added_mm2": round(joined.added, 1),
        "small_waste": sum(size <= SMALL_MM for size in joined.waste),
    }


def _bridge_values(bridged: Bridged) -> dict[str, Any]:
    return {
        "islands": bridged.islands,
        "bridges": len(bridged.bridges),
        "bridge_mm": round_mm(bridged.neck),
        "small_waste": sum(size <= SMALL_MM for size in bridged.waste),
    }


def _tipping(stand: Footing, piece: str) -> list[Problem]:
    worst = min(stand.sideways, stand.over)
    if worst >= TIPS_AT:
        return []
    falls = stand.sideways < 0
    way = "to the side" if stand.sideways <= stand.over else "over its face"
    message = (
        "Its weight does not lie above its foot: it falls."
        if falls
        else f"It tips {way} when it is tilted by {format_mm(worst, 1)}°."
    )
    hint = "Give it a longer foot or a thicker sheet, or set it into a slotted base."
    return [Problem(Severity.STOP if falls else Severity.LOOK, "does-not-stand", message, hint, piece=piece)]


def held_values(held: Sequence[Held]) -> list[dict[str, Any]]:
    """How each piece is kept together, for the report."""
    return [dict(h.values) for h in held]


def held_lines(held: Sequence[Held]) -> tuple[str, ...]:
    """The same in a line or two, of the pieces that hold."""
    good = [h.values for h in held if not h.weak]
    joined = [v for v in good if "neck_mm" in v]
    bridged = [v for v in good if "bridge_mm" in v]
    lines = []
    if joined:
        neck = format_mm(min(v["neck_mm"] for v in joined), 2)
        longest = format_mm(max(v["longest_tie_mm"] for v in joined), 1)
        ties = sum(v["ties"] for v in joined)
        lines.append(
            f"Held together: {len(joined)} in one piece each, no neck narrower than {neck} mm; "
            + (f"{ties} tie{'s' * (ties != 1)}, the longest shows {longest} mm" if ties else "without a tie")
        )
    if bridged:
        width = format_mm(min(v["bridge_mm"] for v in bridged), 2)
        lines.append(
            f"Bridged: {sum(v['bridges'] for v in bridged)} bridges of {width} mm hold the "
            f"{sum(v['islands'] for v in bridged)} insides of letters of {len(bridged)} pieces"
        )
    return tuple(lines)


def waste_note(held: Sequence[Held]) -> tuple[Problem, ...]:
    """One note for an order whose pieces leave waste small enough to fall into the machine."""
    counts = [h.values.get("small_waste", 0) for h in held]
    if not sum(counts):
        return ()
    message = (
        f"Waste no larger than {SMALL_MM:g} mm falls out and can drop into the machine: {sum(counts)} in "
        f"all, from {sum(map(bool, counts))} of the pieces."
    )
    hint = "Lay a fine mesh or a sacrificial sheet beneath, and clear the bed: loose bits can catch fire."
    return (Problem(Severity.NOTE, "small-waste", message, hint),)
