"""What was decided for each set, as plain values for a report."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from render.model import Fitted, Remedy, SetLine
from render.units import round_mm


@dataclass(frozen=True, slots=True)
class SetReport:
    """One slot over an order; lengths in mm, rounded to micrometres.

    Attributes:
        slot: id of the text in the template.
        font: the font of most of its lines.
        size: the em size most pieces were set at (of equals the larger).
        smallest, largest: the least and greatest em size used.
        x_height, cap_height: of that font at `size`.
        thinnest: the thinnest stroke over all lines as set; 0 where unknown.
        pieces: how many pieces asked for this lettering.
        distinct: how many different texts they have.
        remedies: how many pieces got each remedy, in the order of the remedies, none left out.
        narrowest: the narrowest gap over all lines as set, within letters or between them; 0 where unknown.
        thinnest_in, narrowest_in: the letters and the text that have it, in words.
        thickened: what thin strokes were thickened to; 0 where they were not.
    """

    slot: str
    font: str
    size: float
    smallest: float
    largest: float
    x_height: float
    cap_height: float
    thinnest: float
    pieces: int
    distinct: int
    remedies: Mapping[str, int]
    narrowest: float = 0.0
    thinnest_in: str = ""
    narrowest_in: str = ""
    thickened: float = 0.0


def explain_set(fitted: Iterable[Fitted]) -> tuple[SetReport, ...]:
    """What was decided for each slot, slots in alphabetical order."""
    slots: dict[str, list[Fitted]] = {}
    for value in fitted:
        slots.setdefault(value.request.slot, []).append(value)
    return tuple(_explain(slot, slots[slot]) for slot in sorted(slots))


def _explain(slot: str, values: list[Fitted]) -> SetReport:
    counts = Counter(value.remedy for value in values)
    lines = [value.lines[0] for value in values if value.lines]
    usual = _usual([v.lines[0] for v in values if v.lines and v.remedy is Remedy.NONE] or lines)
    every = [line for value in values for line in value.lines]
    size = usual.size if usual else 0.0
    thin = [line.line.thinnest * line.size for line in every if line.line.thinnest > 0]
    return SetReport(
        slot=slot,
        font=usual.line.setting.font if usual else values[0].request.setting.font,
        size=round_mm(size),
        smallest=round_mm(min((line.size for line in every), default=0.0)),
        largest=round_mm(max((line.size for line in every), default=0.0)),
        x_height=round_mm(usual.line.x_height * size) if usual else 0.0,
        cap_height=round_mm(usual.line.cap_height * size) if usual else 0.0,
        thinnest=round_mm(min(thin, default=0.0)),
        pieces=len(values),
        distinct=len({(value.request.text, value.request.setting) for value in values}),
        remedies={remedy.value: counts[remedy] for remedy in Remedy},
    )


def _usual(lines: list[SetLine]) -> SetLine | None:
    """A line of the most common size and font; of equally common ones the larger."""
    if not lines:
        return None
    counts = Counter((line.size, line.line.setting.font) for line in lines)
    best = max(counts, key=lambda pair: (counts[pair], pair))
    return next(line for line in lines if (line.size, line.line.setting.font) == best)
