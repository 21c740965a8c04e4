"""What a joined outline becomes besides itself: the pocket of an insert, or a backing all round it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from render.geometry import Path
from render.geometry.inside import depths
from render.geometry.offset import offset
from render.geometry.turning import backward, signed_area
from render.model import CutRule, Mark, Operation, Problem, Severity
from render.units import format_mm

if TYPE_CHECKING:
    from render.design import Template

_SMOOTH: Final = 0.4
"""Bights of a backing narrower than twice this share of its halo are filled: they would only gather dust."""

_SLACK_MM: Final = 0.0005


def solid_marks(outline: Path, operation: Operation, rules: Sequence[CutRule]) -> list[Mark]:
    """The marks of an outline in one piece, by the rules of the texts in it.

    With play it is made wider, as the pocket that an insert of the same text goes into; corners that point
    outward become round, as the beam leaves the insert's. With a halo a backing is cut round it besides.
    """
    play = max((rule.play for rule in rules), default=0.0)
    halo = max((rule.halo for rule in rules), default=0.0)
    marks = [Mark(operation, wider(outline, play))]
    return [*marks, Mark(Operation.CUT, backing(outline, halo))] if halo else marks


def tight_pockets(design: Template, kerf: float) -> list[Problem]:
    """Pockets whose play lets the corners of an insert catch: less than half the kerf that it is cut with.

    A beam leaves the corners of a pocket round, with half its kerf as their radius, and the outer ones of an
    insert sharp; with that much play they go in all the same (derived here).

    Args:
        design: the template.
        kerf: mm; 0 where none is known.
    """
    found = []
    for slot in design.slots:
        play = slot.cut.play if slot.cut else 0.0
        if 0 < play < kerf / 2 - _SLACK_MM:
            need = format_mm(math.ceil(50 * kerf) / 100)
            message = (
                f"The pocket of “{slot.id}” is {format_mm(play)} mm wider all round than its insert, less "
                f"than half the kerf of {format_mm(kerf)} mm: corners may not go in."
            )
            hint = f'Write mk:play="{need}" or more into {design.id}, or ease the insert with a file.'
            found.append(Problem(Severity.LOOK, "tight-pocket", message, hint))
    return found


def wider(outline: Path, by: float) -> Path:
    """Closed contours moved outward by so many mm, their holes inward."""
    if not by:
        return outline
    found = [path for path, _ in offset(tuple(outline.contours()), by)]
    inside = depths(found).tolist()
    around = [path for path, depth in zip(found, inside, strict=True) if depth == 0]
    outer = signed_area(around[0]) if around else 0.0
    # a bight whose mouth has closed is a hole now, and must run the other way to be filled as one
    wrong = [
        bool(depth % 2) and signed_area(path) * outer > 0 for path, depth in zip(found, inside, strict=True)
    ]
    return Path.joined(backward(path) if turn else path for path, turn in zip(found, wrong, strict=True))


def backing(outline: Path, halo: float) -> Path:
    """What reaches so many mm beyond an outline, without holes, its narrow bights filled."""
    more = _SMOOTH * halo
    grown = [path for path, _ in offset(tuple(outline.contours()), halo + more)]
    rims = [path for path, depth in zip(grown, depths(grown).tolist(), strict=True) if depth == 0]
    return Path.joined(path for path, _ in offset(rims, -more))
