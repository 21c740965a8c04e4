"""Lettering bent into envelopes, raised from its ground, and work made in mirror image."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from render.fitting.envelopes import in_envelope, straight_room
from render.geometry import Affine, Path
from render.geometry.shapes import rectangle
from render.geometry.turning import backward, signed_area
from render.model import Artwork, Blank, Fitted, LetterRequest, Mark, Operation
from render.pipeline.stamps import shouldered


def set_straight(
    requests: Sequence[LetterRequest],
) -> tuple[list[LetterRequest], dict[tuple[str, str], Path]]:
    """The requests, those with an envelope in the straight part of their area; and the whole areas of these.

    Areas are found again by piece and slot.
    """
    whole: dict[tuple[str, str], Path] = {}
    rooms: dict[tuple[Path, str, float], Path] = {}
    told = []
    for request in requests:
        shaping = request.shaping
        if shaping is None or not shaping.envelope:
            told.append(request)
            continue
        key = (request.area, shaping.envelope, shaping.bend)
        if key not in rooms:
            box = straight_room(request.area.bounds(), shaping.envelope, shaping.bend)
            rooms[key] = rectangle(box.x0, box.y0, box.width, box.height)
        whole[request.piece, request.slot] = request.area
        told.append(replace(request, area=rooms[key]))
    return told, whole


def bend_into(fitted: Fitted, path: Path, whole: Path) -> Path:
    """Straight lettering in its envelope."""
    shaping, lines = fitted.request.shaping, fitted.lines
    if shaping is None or not path or not lines:
        return path
    first, last = lines[0], lines[-1]
    tops = first.origin.imag - first.line.cap_height * first.size
    return in_envelope(path, whole.bounds(), shaping.envelope, shaping.bend, tops, last.origin.imag)


def marks_of(lettering: Sequence[tuple[Fitted, Path]], spot: float, outline: Path | None) -> list[Mark]:
    """The marks of a piece's lettering; what is raised is left standing, and its ground is engraved away.

    Args:
        lettering: texts with their outlines.
        spot: of the beam, mm.
        outline: of the thing, to whose rim a ground may reach.
    """
    marks: list[Mark] = []
    grounds: dict[tuple[Path, float], list[Path]] = {}
    for fitted, path in lettering:
        shaping = fitted.request.shaping
        if shaping and shaping.ground:
            grounds.setdefault((shaping.ground, shaping.shoulder), []).append(path)
        else:
            marks.append(Mark(fitted.request.operation, path))
    for (ground, width), paths in grounds.items():
        if width:
            marks += shouldered(ground, paths, width, spot, outline)
        else:
            marks.append(Mark(Operation.ENGRAVE, raised(ground, paths)))
    return marks


def raised(ground: Path, letters: Sequence[Path]) -> Path:
    """A ground without the letters on it: these run the other way round, so that they stay unfilled."""
    standing = Path.joined(letters)
    if (signed_area(standing) > 0) == (signed_area(ground) > 0):
        standing = backward(standing)
    return Path.joined((ground, standing))


def mirrored_artwork(artwork: Artwork, width: float) -> Artwork:
    """The artwork as seen through the thing from behind."""
    mirror = Affine(-1, 0, 0, 1, width, 0)
    marks = tuple(Mark(mark.operation, mark.path.transformed(mirror)) for mark in artwork.marks)
    return replace(artwork, marks=marks)


def mirrored_blank(blank: Blank) -> Blank:
    """The thing lying on its face."""
    box = blank.outline.bounds()
    mirror = Affine(-1, 0, 0, 1, box.x0 + box.x1, 0)
    return replace(
        blank,
        outline=blank.outline.transformed(mirror),
        holes=tuple(hole.transformed(mirror) for hole in blank.holes),
        folds=tuple(fold.transformed(mirror) for fold in blank.folds),
        markable=blank.markable.transformed(mirror),
    )
