"""How a thing of the stall is shown: flat ones from above, round ones as they stand, never unrolled."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from render.geometry import Path
from render.model import Artwork, Place, RoundBody
from render.pipeline.rounding import wrapper_for
from render.pipeline.seeing import seen_thing
from render.proof.round import sides_of
from render.proof.shown import Shown, ShownPiece
from render.proof.sketch import Shared, Sketch
from render.proof.views import LONG, Seen, views_of
from render.wrap import Wrapped, Wrapper
from render.wrap.bodies import profile_of

if TYPE_CHECKING:
    from render.pipeline.workshop import Job

_ROOM: Final = (150.0, 100.0)
_NOTHING: Final = Artwork("", "", ())

_FRONT: Final = math.radians(80)
"""What lies further round than this is not seen from the front: the thing is turned half left, half right."""
_TURNED: Final = math.radians(120)
"""What lies further round than this is not seen from there either: front and back are shown."""
_HALF: Final = 45.0


@dataclass(frozen=True, slots=True)
class _Sides:
    """Sides that are shown together, each with what lies under the marks and over them."""

    seen: tuple[Seen, ...]
    under: tuple[str, ...]
    over: tuple[str, ...]

    @classmethod
    def of(cls, shown: Shown, body: RoundBody, angles: Sequence[tuple[str, float]]) -> _Sides:
        places = tuple(Place(name, at) for name, at in angles)
        seen = views_of(replace(shown, blank=replace(shown.blank, body=replace(body, places=places))), _ROOM)
        seen = seen[: len(angles)]
        under, over = ([_layer(side, k, _piece(_NOTHING, None)) for side in seen] for k in (0, 2))
        return cls(seen, tuple(under), tuple(over))


@dataclass(frozen=True, slots=True)
class View:
    """A thing ready to be drawn again and again.

    Attributes:
        flat: what is shown from above; None for what is shown as it stands.
        sides: of a round thing, and how far round, in radians, each shows; the first that shows all is taken.
        front: angle of its front, radians.
    """

    flat: Seen | None
    sides: tuple[tuple[float, _Sides], ...] = ()
    front: float = 0.0

    @classmethod
    def of(cls, job: Job) -> View:
        """The view of what a job is made on."""
        shown = Shown("", "", (), *seen_thing(job))
        body = job.blank.body
        wrapper = wrapper_for(job.blank, job.machine, job.light) if body is not None else None
        if not isinstance(wrapper, Wrapper) or body is None or body.inside:
            return cls(views_of(shown, _ROOM)[0])
        shown = replace(shown, profile=profile_of(body))
        angles = sides_of(body)
        front = angles[0][1]
        if len(body.places) >= 2:
            return cls(None, ((math.inf, _Sides.of(shown, body, angles)),), math.radians(front))
        turned = (("left", front - _HALF), ("right", front + _HALF))
        kinds = ((_FRONT, angles[:1]), (_TURNED, turned), (math.inf, angles))
        return cls(None, tuple((most, _Sides.of(shown, body, a)) for most, a in kinds), math.radians(front))

    def svg(self, artwork: Artwork = _NOTHING, wrapped: Wrapped | None = None) -> str:
        """The thing and the artwork on it as one SVG element: outlines and numbers only, never a text.

        Args:
            artwork: in the drawing of the blank, as it looks to whoever gets it.
            wrapped: the same on the body of a round thing, as the wrapper laid it.
        """
        if self.flat is not None:
            piece = _piece(artwork, None)
            drawn = ["".join(_layer(self.flat, k, piece) for k in range(len(self.flat.layers)))]
            return _svg(self.flat.size, drawn)
        surface = laid(wrapped) if wrapped is not None else None
        reach = self._reach(surface)
        sides = next(sides for most, sides in self.sides if reach <= most)
        piece = _piece(artwork, surface)
        parts = zip(sides.under, sides.seen, sides.over, strict=True)
        return _svg(
            sides.seen[0].size, [under + _layer(seen, 1, piece) + over for under, seen, over in parts]
        )

    def _reach(self, surface: Artwork | None) -> float:
        """How far from the front something lies, radians."""
        turn, found = 2 * math.pi, 0.0
        for mark in surface.marks if surface is not None else ():
            away = (mark.path.points.real - self.front + math.pi) % turn - math.pi
            found = max(found, float(abs(away).max())) if away.size else found
        return found


def _svg(size: tuple[float, float], drawn: Sequence[str]) -> str:
    """Pictures of one size side by side, or below each other where they are long."""
    width, height = size
    below = width > LONG * height
    across, down = (1, len(drawn)) if below else (len(drawn), 1)
    step = (0.0, height) if below else (width, 0.0)
    parts = "".join(
        f'<g transform="translate({_units(k * step[0])} {_units(k * step[1])})">{one}</g>' if k else one
        for k, one in enumerate(drawn)
    )
    box = f"0 0 {_units(width * across)} {_units(height * down)}"
    return f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{box}" aria-hidden="true">{parts}</svg>'


def laid(wrapped: Wrapped) -> Artwork:
    """Artwork on a body, counted from the drawing's own left edge: radians round it + i mm along it."""
    start = wrapped.start
    marks = tuple(
        replace(mark, path=Path(mark.path.commands, mark.path.points + start))
        for mark in wrapped.on_surface.marks
    )
    return replace(wrapped.on_surface, marks=marks)


def _piece(artwork: Artwork, surface: Artwork | None) -> ShownPiece:
    return ShownPiece("", "", artwork, "", surface=surface)


def _layer(side: Seen, number: int, piece: ShownPiece) -> str:
    sketch = Sketch()
    side.layers[number](sketch, piece)
    return Shared([]).svg(sketch)


def _units(mm: float) -> int:
    return round(100 * mm)
