"""How things look to whoever gets them, where they are made in mirror image.

A clear panel is engraved from behind and looked at from the front; a stamp is looked at by what it prints.
Pictures show that, while sheets stay in mirror image: only the sheet goes to the machine.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from render.geometry import Path
from render.geometry.turning import backward, signed_area
from render.model import Artwork, Blank, Fitted, Mark, Material, Operation, Problem, Severity
from render.pipeline.shaped import mirrored_blank, raised
from render.pipeline.stamps import at_rim

if TYPE_CHECKING:
    from render.design import Template
    from render.pipeline.workshop import Job

PAPER: Final = "#FBFAF6"
INK: Final = "#2C3350"
"""Colours of a stamp's print in pictures: our own choice."""

_PRINTED: Final = "This is what the stamp prints; the stamp itself is in mirror image."
_BEHIND: Final = "You see it from the front; it is engraved from behind, in mirror image."
"""What a customer is told beside the picture."""


def prints(template: Template) -> bool:
    """Whether a template is a stamp: made in mirror image, with lettering left standing on its ground."""
    return template.mirror and any(slot.shaping and slot.shaping.ground for slot in template.slots)


def seen_thing(job: Job) -> tuple[Blank, Material]:
    """The thing as it is looked at, and its colours: those of the print for a stamp."""
    if not job.template.mirror:
        return job.blank, job.material
    thing = mirrored_blank(job.blank)
    if not prints(job.template):
        return replace(thing, title=f"{thing.title}, from the front"), job.material
    print_ = replace(job.material, tone=PAPER, mark_tone=INK, mark_word="printed")
    return replace(thing, title=f"{thing.title}, its print"), print_


def seen_note(template: Template) -> str:
    """What a customer is told of the picture; empty for what is not made in mirror image."""
    return "" if not template.mirror else _PRINTED if prints(template) else _BEHIND


def mirror_note(template: Template) -> Problem:
    """What the maker is told of work in mirror image."""
    shown = "what it prints" if prints(template) else "it from the front"
    return Problem(
        Severity.NOTE,
        "mirrored",
        f"This design is made in mirror image: sheets are mirrored, proofs show {shown}.",
        "Do not mirror it again at the machine."
        + ("" if prints(template) else " Lay the thing on its face, so that it is engraved from behind."),
    )


def as_printed(artwork: Artwork, lettering: Sequence[tuple[Fitted, Path]], blank: Blank) -> Artwork:
    """An artwork, not mirrored yet, as it is looked at: of a stamp what stands and takes ink, else as it is.

    Args:
        artwork: with its ground engraved away.
        lettering: its texts with their outlines.
        blank: the thing; only the size of its outline counts.
    """
    grounds: dict[Path, list[Path]] = {}
    for fitted, path in lettering:
        shaping = fitted.request.shaping
        if shaping and shaping.ground:
            grounds.setdefault(shaping.ground, []).append(path)
    if not grounds:
        return artwork
    faces = [Mark(Operation.ENGRAVE, _face(raised(g, paths), blank.outline)) for g, paths in grounds.items()]
    through = [mark for mark in artwork.marks if mark.operation in (Operation.CUT, Operation.GUIDE)]
    return replace(artwork, marks=(*faces, *through))


def _face(ground: Path, outline: Path) -> Path:
    """What is left standing where a ground is taken away from a thing.

    Where the ground reaches to the rim, rim and outline cancel each other out and are left out both.
    """
    contours = list(ground.contours())
    inner = [contour for contour in contours if not at_rim(contour, outline)]
    if len(inner) == len(contours):
        same = (signed_area(ground) > 0) == (signed_area(outline) > 0)
        return Path.joined((outline, backward(ground) if same else ground))
    return Path.joined(inner)
