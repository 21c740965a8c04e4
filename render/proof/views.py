"""What is seen of a thing: a flat one from above, a round one from its sides."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from render.geometry import Affine, Path
from render.geometry.solids import Profile
from render.model import RoundBody
from render.proof.inside import Inner
from render.proof.round import (
    Solid,
    draw_before,
    draw_behind,
    draw_marks,
    extent,
    placed_at,
    sides_of,
    view_of,
)
from render.proof.shown import Shown, ShownPiece
from render.proof.things import Look, Sink, Thing

RIM: Final = 2.4
"""Free paper round a drawing, mm: room for its shadow."""

LONG: Final = 2.0
"""What is more than so many times as wide as high is shown side below side, not side by side."""

Layer = Callable[[Sink, ShownPiece], None]


@dataclass(frozen=True, slots=True)
class Seen:
    """One side of a thing on a page of its own.

    Attributes:
        name: of the side; empty where there is only one.
        size: of the page, mm.
        layers: what draws the thing, the marks on it and what lies over them, from back to front.
    """

    name: str
    size: tuple[float, float]
    layers: tuple[Layer, ...]


def views_of(shown: Shown, room: tuple[float, float]) -> tuple[Seen, ...]:
    """The sides of a thing, each as large as its share of `room` (width, height in mm) allows."""
    body = shown.blank.body
    if body is None or shown.profile is None:
        return (_flat(shown, room),)
    if body.inside:
        return _inside(shown, body, shown.profile, room)
    sides = sides_of(body)
    solid = Solid.of(body, shown.profile)
    boxes = [extent(body, solid, view_of(solid, at)) for _, at in sides]
    width, height = max(b.width for b in boxes), max(b.height for b in boxes)
    width, height = (height, width) if body.lying else (width, height)
    part = (room[0], room[1] / len(sides)) if width > LONG * height else (room[0] / len(sides), room[1])
    scale = _scale(width, height, part)
    size = (width * scale + 2 * RIM, height * scale + 2 * RIM)
    return tuple(_round(shown, body, solid, side, scale, size) for side in sides)


def _scale(width: float, height: float, room: tuple[float, float]) -> float:
    return min((room[0] - 2 * RIM) / width, (room[1] - 2 * RIM) / height)


def _flat(shown: Shown, room: tuple[float, float]) -> Seen:
    box = shown.blank.outline.bounds()
    scale = _scale(box.width, box.height, room)
    thing = Thing.of(shown.blank, shown.material, scale)
    to_page = Affine(scale, 0, 0, scale, RIM - box.x0 * scale, RIM - box.y0 * scale)

    def layer(name: str) -> Layer:
        def draw(sink: Sink, piece: ShownPiece) -> None:
            if piece.artwork is not None:
                getattr(thing, name)(sink, to_page, piece.artwork)

        return draw

    layers = tuple(layer(name) for name in ("draw_blank", "draw_marks", "draw_rim"))
    return Seen("", (box.width * scale + 2 * RIM, box.height * scale + 2 * RIM), layers)


class Moved:
    """A sink whose origin lies elsewhere."""

    def __init__(self, sink: Sink, x: float, y: float) -> None:
        """Everything goes to `sink`, moved by x and y mm."""
        self._sink, self._x, self._y = sink, x, y

    def draw(self, path: Path, look: Look) -> None:
        """See :class:`render.proof.things.Sink`."""
        self._sink.draw(path.moved(self._x, self._y), look)


def _inside(shown: Shown, body: RoundBody, profile: Profile, room: tuple[float, float]) -> tuple[Seen, ...]:
    """A ring that is looked into, and what stands in it unrolled, since lettering goes out of sight."""
    size = (room[0], room[1] / 2)
    inner, material = Inner.of(shown.blank, body, profile), shown.material
    box, middle = inner.box, complex(size[0] / 2, size[1] / 2)
    to_page = placed_at(box, _scale(box.width, box.height, size), middle, turned=False)

    def marks(sink: Sink, piece: ShownPiece) -> None:
        if piece.surface is not None:
            inner.draw_marks(sink, piece.surface, material, to_page)

    def ring(sink: Sink, _: ShownPiece) -> None:
        inner.draw_behind(sink, material, to_page)

    flat = _flat(shown, size)
    by = ((size[0] - flat.size[0]) / 2, (size[1] - flat.size[1]) / 2)

    def moved(layer: Layer) -> Layer:
        return lambda sink, piece: layer(Moved(sink, *by), piece)

    return (
        Seen("inside", size, (ring, marks, lambda _sink, _piece: None)),
        Seen("unrolled", size, tuple(moved(layer) for layer in flat.layers)),
    )


def _round(
    shown: Shown,
    body: RoundBody,
    solid: Solid,
    side: tuple[str, float],
    scale: float,
    size: tuple[float, float],
) -> Seen:
    name, at = side
    view, material = view_of(solid, at), shown.material
    box = extent(body, solid, view)
    to_page = placed_at(box, scale, complex(size[0] / 2, size[1] / 2), turned=body.lying)

    def marks(sink: Sink, piece: ShownPiece) -> None:
        if piece.surface is not None:
            draw_marks(sink, piece.surface, material, solid, view, to_page)

    return Seen(
        name,
        size,
        (
            lambda sink, _: draw_behind(sink, body, material, solid, view, to_page),
            marks,
            lambda sink, _: draw_before(sink, body, material, solid, view, to_page),
        ),
    )
