"""Materials, and what light and hazards have to do with them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from render.model.problems import Severity


class Works(StrEnum):
    """Whether a light source does something to a material, as the trade knows it."""

    YES = "yes"
    NO = "no"
    COATED = "coated"
    """Only with a marking compound or a coating that takes up the light."""
    TEST = "test"
    """It depends: a test card tells."""


@dataclass(frozen=True, slots=True)
class LightRule:
    """What one light source does to a material: common practice, no setting; `why` unless both are YES."""

    mark: Works
    cut: Works
    why: str = ""


@dataclass(frozen=True, slots=True)
class Hazard:
    """Something about a thing, whatever it is made of, that can hurt: a closed space, a blade, a battery.

    Attributes:
        severity: LOOK where a person must decide before each job, NOTE where a reminder is enough.
        caution: what to do, one sentence.
    """

    id: str
    title: str
    severity: Severity
    caution: str


@dataclass(frozen=True, slots=True)
class Material:
    """A material: how it looks in a proof, and the smallest detail it holds.

    Attributes:
        tone: its colour in proofs, ``#rrggbb``.
        mark_tone: the colour of an engraved mark in proofs.
        smallest_stroke: thinnest stroke that survives, mm.
        smallest_gap: narrowest gap that stays open, mm.
        cautions: safety words that belong on each report, each one sentence.
        kind: what it is, such as ``wood`` or ``metal``; empty where nobody said.
        refuse: why it must never go under a beam; empty where it may.
        warning: what speaks strongly against it; mostly empty.
        fumes: what comes off it and what to do about it.
        lights: what each light source, by id, does to it.
        neck: narrowest bridge of it, mm, that holds a cut-out piece together; 0 where nobody said.
        grain: whether it has a grain, which runs along the width of its sheets.
        mark_word: what an engraved mark is called in proofs.
    """

    id: str
    title: str
    tone: str
    mark_tone: str
    smallest_stroke: float
    smallest_gap: float
    cautions: tuple[str, ...] = ()
    kind: str = ""
    refuse: str = ""
    warning: str = ""
    fumes: str = ""
    lights: Mapping[str, LightRule] = field(default_factory=dict)
    neck: float = 0.0
    grain: bool = False
    mark_word: str = "engraved"
