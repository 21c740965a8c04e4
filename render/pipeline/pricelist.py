"""The price list of a stall: each design, priced as it is made, some at a time from finished designs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from render.errors import MonikerfError
from render.pipeline.artworks import Progress
from render.pipeline.offers import Listed
from render.pipeline.quoting import job_at, reckon, sample_order
from render.shop.ledger import Terms
from render.shop.prices.lists import list_prices

if TYPE_CHECKING:
    from render.pipeline.workshop import Workshop
    from render.shop.prices.settings import Prices


def price_designs(
    templates: Sequence[str], workshop: Workshop, prices: Prices, progress: Progress
) -> tuple[tuple[Listed, ...], dict[str, MonikerfError]]:
    """Every design with its prices, and why the others were left out.

    Args:
        templates: ids; none means all that can be priced (the rest is left out with the reason).
        workshop: designs and things.
        prices: the shop's figures.
        progress: told how far it is.

    Raises:
        MonikerfError: a design that was named cannot be priced, or none can.
    """
    from render.design import list_templates

    ids = list(templates) or list(list_templates(workshop.templates))
    listed: list[Listed] = []
    left_out: dict[str, MonikerfError] = {}
    for number, id_ in enumerate(ids):
        progress("pricing", number, len(ids))
        try:
            listed.append(_listed(id_, workshop, prices))
        except MonikerfError as error:
            if templates:
                raise
            left_out[id_] = error
    if not listed:
        first = next(iter(left_out.values()))
        why = f"{first.message}; {first.hint}" if first.hint else first.message
        raise MonikerfError("none of the designs has a price", hint=f"{next(iter(left_out))}: {why}")
    return tuple(listed), left_out


def _listed(id_: str, workshop: Workshop, prices: Prices) -> Listed:
    job = job_at(workshop, prices, Terms(id_, "", ""))
    reckoned = reckon(sample_order(job), job, workshop, prices, [prices.stall.run], lambda *_: None)
    return Listed(job, reckoned.artworks[0], reckoned.works[0], list_prices(reckoned.works[0], prices))
