"""Round things: the wrapper that a job needs, and what its blank and its machine come to together."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from render.geometry import Path
from render.model import Artwork, Blank, Hold, Light, Machine, Problem, Severity, Surface
from render.wrap import WrapNumbers, Wrapped, Wrapper
from render.wrap.focus import focus_depth
from render.wrap.still import SleeveWrapper, StillWrapper

if TYPE_CHECKING:
    from render.pipeline.workshop import Job

AnyWrapper = Wrapper | StillWrapper | SleeveWrapper


@dataclass(frozen=True, slots=True)
class Rounded:
    """Every artwork of an order, wrapped; the figures of the one that reaches furthest; what came up."""

    wrapped: tuple[Wrapped, ...]
    numbers: WrapNumbers | None
    problems: tuple[Problem, ...]

    @property
    def artworks(self) -> tuple[Artwork, ...]:
        """In machine coordinates."""
        return tuple(each.artwork for each in self.wrapped)


def depth_of_focus(machine: Machine, light: Light | None) -> float:
    """How far out of focus a machine still marks well, mm either way: as tried, or the best a beam can do.

    0 where neither is known.
    """
    if machine.focus_depth or light is None:
        return machine.focus_depth
    return focus_depth(machine.spot, sum(light.wavelength) / 2)


def wrapper_for(blank: Blank, machine: Machine, light: Light | None) -> AnyWrapper | None:
    """What wraps artwork round this blank on this machine; None for flat things, or without a rotary.

    Raises:
        LibraryError: the body or the rotary makes no sense.
    """
    body = blank.body
    if body is None:
        return None
    if body.surface is Surface.SLEEVE:
        return SleeveWrapper.of(blank)
    focus = depth_of_focus(machine, light)
    if body.surface is not Surface.ROUND:
        return StillWrapper.of(body, focus=focus)
    if blank.hold is not Hold.ROTARY or machine.rotary is None:
        return None
    return Wrapper.of(body, machine.rotary, focus=focus)


def as_sent(blank: Blank, machine: Machine, light: Light | None) -> Blank:
    """The blank with what the machine is sent for a full turn and the whole height of its body."""
    wrapper = wrapper_for(blank, machine, light)
    if not isinstance(wrapper, Wrapper) or blank.body is None:
        return blank
    turned, body = wrapper.turning, blank.body
    turn = turned.turn * (1 + body.overlap / body.circumference)
    return replace(blank, body=replace(body, sent=(turn, turned.reach)))


def as_cut(blank: Blank) -> Blank:
    """The blank as it is cut from stock: a sleeve as its development, anything else as it is."""
    if blank.body is None or blank.body.surface is not Surface.SLEEVE:
        return blank
    return SleeveWrapper.of(blank).cut


def round_off(artworks: Sequence[Artwork], job: Job) -> Rounded | None:
    """Every artwork laid on the job's round thing; None where the thing is flat or nothing turns it."""
    wrapper = wrapper_for(job.blank, job.machine, job.light)
    if wrapper is None:
        return None
    wrapped = tuple(wrapper.wrap(artwork) for artwork in artworks)
    problems = (*_of_all(wrapper.problems(), artworks), *_told_once(wrapped))
    return Rounded(wrapped, _furthest(wrapped), problems)


def on_surface(artwork: Artwork, wrapper: Wrapper) -> Artwork:
    """An artwork as the machine will lay it on the thing: radians, from the drawing's left edge, + i mm."""
    wrapped = wrapper.wrap(artwork)
    marks = (
        replace(mark, path=Path(mark.path.commands, mark.path.points + wrapped.start))
        for mark in wrapped.on_surface.marks
    )
    return replace(wrapped.on_surface, marks=tuple(marks))


def _of_all(problems: Sequence[Problem], artworks: Sequence[Artwork]) -> Iterator[Problem]:
    """The device's own problems: one that stops the work holds every piece back."""
    for problem in problems:
        if problem.severity is not Severity.STOP:
            yield problem
        else:
            yield from (replace(problem, piece=artwork.piece) for artwork in artworks)


_OF_THE_THING: Final = ("out-of-focus", "too-steep")
"""Problems that are the thing's rather than a piece's: told once for an order, at their worst."""


def _told_once(wrapped: Sequence[Wrapped]) -> Iterator[Problem]:
    """The problems of all pieces; what all of them share without a piece, from the one that shows it most."""
    shared: dict[str, tuple[float, Problem]] = {}
    for each in wrapped:
        for problem in each.problems:
            if problem.code in _OF_THE_THING and problem.severity is Severity.LOOK:
                rank = each.numbers.focus_change
                if problem.code not in shared or rank > shared[problem.code][0]:
                    shared[problem.code] = (rank, replace(problem, piece=""))
            else:
                yield problem
    yield from (problem for _, problem in shared.values())


def _furthest(wrapped: Sequence[Wrapped]) -> WrapNumbers | None:
    """The figures of the piece that reaches furthest round, with the worst of each doubt of all pieces."""
    if not wrapped:
        return None
    every = [each.numbers for each in wrapped]
    widest = max(every, key=lambda n: (n.degrees, n.surface))
    return replace(
        widest,
        focus_change=max(n.focus_change for n in every),
        distortion=max((n.distortion for n in every), key=lambda d: (d.length[0], d.angle[0], d.area[0])),
    )
