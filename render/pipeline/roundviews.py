"""A template's sample, or a name of one's own, on its round thing: a picture from its sides and unrolled."""

from __future__ import annotations

from pathlib import Path as FilePath
from typing import TYPE_CHECKING

from render.errors import MonikerfError
from render.model import Order, Piece
from render.pipeline.artworks import letter_order
from render.pipeline.proofs import Captions
from render.pipeline.rounding import on_surface, wrapper_for
from render.proof.roundpage import Round, round_proof
from render.wrap import Wrapper
from render.wrap.bodies import profile_of

if TYPE_CHECKING:
    from render.pipeline.workshop import Workshop


def draw_round(
    workshop: Workshop, blank: str, machine: str | None, template: str, name: str, out: FilePath
) -> None:
    """Draw a design on a round blank into a PNG: the template named, or the first for that blank.

    Raises:
        MonikerfError: there is no design for it, or see :func:`picture_of_round`.
    """
    from render.design import list_templates, load_template
    from render.writers import ready_folder, write_atomically
    from render.writers.png import render_png

    if not template:
        files = list_templates(workshop.templates).values()
        template = next((t.id for t in map(load_template, files) if t.blank == blank), "")
        if not template:
            raise MonikerfError(f"No design is made for {blank}.", hint="name one: --template")
    svg = picture_of_round(workshop, template, machine, name)
    ready_folder(out.parent)
    write_atomically(out, render_png(svg, width_px=1600).png)


def picture_of_round(workshop: Workshop, template: str, machine: str | None, name: str = "") -> bytes:
    """The template's sample on its thing, with `name` in the place of its name if there is one, as SVG.

    Raises:
        MonikerfError: there is no such template, its thing is not round, or the name does not fit it.
    """
    job = workshop.job(template, machine=machine)
    wrapper = wrapper_for(job.blank, job.machine, job.light)
    if wrapper is None or job.blank.body is None:
        raise MonikerfError(
            f"{job.template.title} is for something flat.", hint="take a template for a round thing"
        )
    fields = {**job.template.sample, **({"name": name} if name else {})}
    order = Order(template, (Piece("p002", 2, fields),))
    lettered = letter_order(order, job, workshop.letterer(), workshop, 1, lambda *_: None)
    if not lettered.artworks:
        told = lettered.problems[0].message if lettered.problems else "nothing is left of it"
        raise MonikerfError(f"{fields.get('name', '')!r} cannot be lettered: {told}")
    (artwork,) = lettered.artworks
    laid = on_surface(artwork, wrapper) if isinstance(wrapper, Wrapper) else wrapper.wrap(artwork).on_surface
    shown = Round(
        job.blank,
        job.blank.body,
        job.material,
        artwork,
        laid,
        profile_of(job.blank.body),
    )
    title = f"{artwork.title}: {job.blank.title}"
    return round_proof(shown, Captions(workshop.letterer()), title=title)
