"""Cut lines made ready: the kerf allowed for, held by tabs, begun in the waste, inner ones first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

from render.geometry import CLOSE, Path
from render.model import Artwork, Mark, Operation, Problem, Severity
from render.sheets.errands import levels_of
from render.sheets.inside import flattened
from render.sheets.kerf import Grown, grow
from render.sheets.offset import region
from render.sheets.tabs import led, with_tabs
from render.units import format_mm

_SHOWN: Final = 3
_WIDEST_MM: Final = 5.0


@dataclass(frozen=True, slots=True)
class CutPlan:
    """What is done to cut lines, mm.

    Attributes:
        kerf: full width of the cut; 0 allows for none.
        tabs: how many hold each part in the sheet; 0 for none.
        tab_width: of each.
        lead: how far in the waste a closed cut begins; 0: on its line.
    """

    kerf: float = 0.0
    tabs: int = 0
    tab_width: float = 0.0
    lead: float = 0.0

    @property
    def reach(self) -> float:
        """How far cut lines may come to lie beyond the piece, mm."""
        return self.kerf / 2 + self.lead


@dataclass(frozen=True, slots=True, eq=False)
class CutLines:
    """The cut lines of one piece.

    Attributes:
        lines: one contour each, those that lie in most others first.
        levels: in how many of the piece's closed cuts each of them lies.
        grown: what the kerf did.
        untabbed, unled: how many parts found no room for their tabs, how many cuts none for their lead-in.
    """

    lines: tuple[Path, ...]
    levels: tuple[int, ...]
    grown: Grown
    untabbed: int = 0
    unled: int = 0


@lru_cache(maxsize=512)
def cut_lines(cuts: Path, plan: CutPlan = CutPlan()) -> CutLines:
    """The cut lines of one piece by a plan; remembered, since most pieces of an order are cut alike.

    Outlines move outward by half the kerf, holes inward. Of closed cuts the outermost get tabs, all others
    (and those without tabs) a lead-in. Lines that cross each other are left as they are; open ones have no
    inside, and get no kerf.

    Raises:
        ValueError: the kerf is negative or wider than 5 mm.
    """
    if not 0 <= plan.kerf <= _WIDEST_MM:
        raise ValueError(f"a kerf of {plan.kerf:g} mm is not a width that a beam cuts")
    grown = grow(cuts, plan.kerf / 2) if plan.kerf else Grown(cuts)
    contours = tuple(grown.path.contours())
    depth = levels_of(grown.path)
    order = sorted(range(len(contours)), key=lambda i: -depth[i])
    if grown.crossing or not (plan.tabs or plan.lead):
        return CutLines(tuple(contours[i] for i in order), tuple(depth[i] for i in order), grown)
    closed = [c for c in contours if c.commands[-1] == CLOSE]
    kept = region(closed, [flattened(c) for c in closed]) if closed and plan.lead else None
    lines: list[Path] = []
    levels: list[int] = []
    untabbed = unled = 0
    for index in order:
        contour, parts = contours[index], None
        is_closed = contour.commands[-1] == CLOSE
        if plan.tabs and depth[index] == 0 and is_closed:
            parts = _tabbed(contour, plan)
            untabbed += parts is None
        if parts is None and plan.lead and is_closed:
            begun = led(contour, kept, plan.lead)
            unled += begun is None
            parts = None if begun is None else (begun,)
        lines += parts or (contour,)
        levels += [depth[index]] * (len(lines) - len(levels))
    return CutLines(tuple(lines), tuple(levels), grown, untabbed, unled)


def _tabbed(contour: Path, plan: CutPlan) -> tuple[Path, ...] | None:
    try:
        return tuple(with_tabs(contour, plan.tabs, plan.tab_width, plan.kerf).contours())
    except ValueError:  # too short for its tabs
        return None


def with_cuts(artwork: Artwork, cuts: CutLines) -> Artwork:
    """The artwork with other cut lines."""
    kept = tuple(mark for mark in artwork.marks if mark.operation is not Operation.CUT)
    return replace(artwork, marks=kept + tuple(Mark(Operation.CUT, line) for line in cuts.lines))


def told(pieces: Sequence[str], cuts: CutLines, plan: CutPlan) -> list[Problem]:
    """What a person should know of pieces that are cut alike; each piece bears its problem, told alike."""
    found: list[tuple[Severity, str, str, str]] = []
    if cuts.grown.crossing:
        found.append((
            Severity.LOOK, "cut-lines-cross",
            "{} has cut lines that cross or touch each other, so the kerf is not allowed for in it.",
            "Join the parts into one outline, or let the piece be cut as drawn.",
        ))  # fmt: skip
    for what in ("hole", "gap", "neck"):
        places = [d for d in cuts.grown.lost if d.what == what]
        if places:
            at = "; ".join(f"({d.at.real:.1f}, {d.at.imag:.1f})" for d in places[:_SHOWN])
            more = " and more" if len(places) > _SHOWN else ""
            said = f"a {what}" if len(places) == 1 else f"{len(places)} {what}s"
            text = (
                f"{{}} has {said} narrower than the kerf of {format_mm(plan.kerf)} mm at {at} mm{more}: lost."
            )
            hint = "Make the detail wider, or leave it out on purpose."
            found.append((Severity.LOOK, "lost-to-kerf", text, hint))
    if cuts.untabbed:
        text = (
            f"{{}} has {_parts(cuts.untabbed)} too small for {plan.tabs} tabs of {plan.tab_width:g} mm: none."
        )
        hint = "Take fewer or narrower tabs, or lay a backing under it."
        found.append((Severity.LOOK, "no-tabs", text, hint))
    if cuts.unled:
        text = f"{{}} has {_parts(cuts.unled)} without room for a lead-in: the cut begins on the line."
        found.append((Severity.NOTE, "no-lead-in", text, "Begin with a shorter one, or expect a mark there."))
    return [
        Problem(severity, code, text.format(f"Piece {piece}"), hint, piece=piece)
        for severity, code, text, hint in found
        for piece in pieces
    ]


def _parts(count: int) -> str:
    return "a part" if count == 1 else f"{count} parts"
