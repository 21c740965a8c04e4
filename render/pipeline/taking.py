"""A customer's table, taken into the ledger or compared with what is there."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from render.errors import MonikerfError
from render.model import Order
from render.shop.ledger import About, Taken, Terms
from render.shop.settings import Settings

if TYPE_CHECKING:
    from render.pipeline.workshop import Workshop
    from render.shop.ledger import Ledger


@dataclass(frozen=True, slots=True)
class Wanted:
    """What was asked for; empty: as the ledger, the shop's settings or the template have it."""

    template: str = ""
    blank: str = ""
    machine: str = ""
    font: str = ""


def take_in(
    ledger: Ledger,
    id_: str,
    order: Order,
    table: str,
    workshop: Workshop,
    wanted: Wanted,
    about: About,
    *,
    settings: Settings | None = None,
    apply: bool = False,
) -> Taken:
    """Take a table in under an order's id; see :meth:`render.shop.ledger.Ledger.take`.

    Raises:
        MonikerfError: a new order names no template, or something of it cannot be used.
    """
    settings = settings or Settings()
    known = ledger.order(id_).terms if id_ in ledger.order_ids() else None
    if known is None and not wanted.template:
        hint = "name it with --template; monikerf show templates lists them"
        raise MonikerfError(f"{id_} is a new order, and no template is named", hint=hint)
    same = known if known and wanted.template in ("", known.template) else None
    template = wanted.template or (known.template if known else "")
    job = workshop.job(
        template,
        blank=wanted.blank or (same.blank if same else None),
        machine=wanted.machine or (same.machine if same else settings.work.machine) or None,
        font=(font := wanted.font or (same.font if same else settings.work.font)) or None,
    )
    terms = Terms(job.template.id, job.blank.id, job.machine.id, font)
    looks = {*job.template.fields, *job.template.optional_fields}
    return ledger.take(
        id_,
        terms,
        order.pieces,
        table=table,
        problems=order.problems,
        about=about,
        drawn=looks,
        apply=apply,
    )
