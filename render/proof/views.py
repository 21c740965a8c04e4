"""What is seen of a thing: a flat one from above, a round one from the front and from the back."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from render.geometry import Affine
from render.model import Artwork, Blank, Hold, Material, Surface
from render.proof.cups import Cup, Placed, draw_cup, draw_shade, draw_wrapped
from render.proof.things import Sink, Thing

RIM: Final = 2.4
"""Free paper round a drawing, mm: room for its shadow."""


Layer = Callable[[Sink, Artwork], None]


@dataclass(frozen=True, slots=True)
class View:
    """One side of a thing on a page of its own.

    Attributes:
        name: of the side; empty where there is only one.
        size: of the page, mm.
        layers: what draws the thing, the marks on it and the light over them, from back to front.
    """

    name: str
    size: tuple[float, float]
    layers: tuple[Layer, ...]


def views_of(blank: Blank, material: Material, room: tuple[float, float]) -> tuple[View, ...]:
    """The sides of a thing, each as large as `room` (width, height in mm) allows."""
    body = blank.body
    turns = body is not None and body.surface is Surface.ROUND and not (body.lying or body.inside)
    if body is not None and turns and blank.hold is Hold.ROTARY:
        cup = Cup.of(body)
        return tuple(_round(cup, material, room, name) for name in ("front", "back"))
    return (_flat(blank, material, room),)


def _scale(width: float, height: float, room: tuple[float, float]) -> float:
    return min((room[0] - 2 * RIM) / width, (room[1] - 2 * RIM) / height)


def _flat(blank: Blank, material: Material, room: tuple[float, float]) -> View:
    box = blank.outline.bounds()
    scale = _scale(box.width, box.height, room)
    thing = Thing.of(blank, material, scale)
    to_page = Affine(scale, 0, 0, scale, RIM - box.x0 * scale, RIM - box.y0 * scale)
    return View(
        "",
        (box.width * scale + 2 * RIM, box.height * scale + 2 * RIM),
        (
            lambda sink, artwork: thing.draw_blank(sink, to_page, artwork),
            lambda sink, artwork: thing.draw_marks(sink, to_page, artwork),
            lambda sink, artwork: thing.draw_rim(sink, to_page, artwork),
        ),
    )


def _round(cup: Cup, material: Material, room: tuple[float, float], name: str) -> View:
    box = cup.box
    scale = _scale(box.width, box.height, room)
    placed = Placed(scale, RIM - box.x0 * scale, RIM - box.y0 * scale)
    return View(
        name,
        (box.width * scale + 2 * RIM, box.height * scale + 2 * RIM),
        (
            lambda sink, _: draw_cup(sink, cup, material, placed),
            lambda sink, artwork: draw_wrapped(sink, cup, material, artwork, placed, back=name == "back"),
            lambda sink, _: draw_shade(sink, cup, material, placed),
        ),
    )
