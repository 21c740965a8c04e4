"""Tables of what things are made of, of the light that marks them, and of what can hurt."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final, Literal

from pydantic import Field, model_validator

from render.model import Hazard, Light, LightRule, Material, Severity, Works
from render.shop.outlines import Colour, Distance, Length, Table, Words

Kind = Literal[
    "wood",
    "paper",
    "plastic",
    "leather",
    "textile",
    "rubber",
    "stone",
    "glass",
    "metal",
    "composite",
    "other",
]
"""What materials can be."""

_GREY: Final = "#BDBDBD"
_DARK: Final = "#5A5A5A"
_NEEDED: Final = ("tone", "mark_tone", "smallest_stroke", "smallest_gap")


class LightRuleTable(Table):
    """What one light source does to the material: ``yes``, ``no``, ``coated`` or ``test``."""

    mark: Works
    cut: Works
    why: str = Field(default="", max_length=500)

    @model_validator(mode="after")
    def _reason(self) -> LightRuleTable:
        if not self.why and (self.mark, self.cut) != (Works.YES, Works.YES):
            raise ValueError('say why: what is not "yes" needs a reason')
        return self


class MaterialTable(Table):
    """A file of ``materials/``. One that is refused needs nothing but its reason."""

    title: Words
    source: Words
    kind: Kind = "other"
    refuse: str = Field(default="", max_length=500)
    warning: str = Field(default="", max_length=500)
    tone: Colour | None = None
    mark_tone: Colour | None = None
    smallest_stroke: Length | None = None
    smallest_gap: Length | None = None
    fumes: str = Field(default="", max_length=500)
    cautions: tuple[Words, ...] = ()
    lights: Mapping[str, LightRuleTable] = Field(default_factory=dict)
    neck: Distance = 0.0
    grain: bool = False

    @model_validator(mode="after")
    def _complete(self) -> MaterialTable:
        lacking = [key for key in _NEEDED if getattr(self, key) is None]
        lacking += [] if self.cautions else ["cautions"]
        if lacking and not self.refuse:
            raise ValueError(f"missing: {', '.join(lacking)}")
        return self

    def value(self, id_: str) -> Material:
        """The material."""
        return Material(
            id=id_,
            title=self.title,
            tone=self.tone or _GREY,
            mark_tone=self.mark_tone or _DARK,
            smallest_stroke=self.smallest_stroke or 0.0,
            smallest_gap=self.smallest_gap or 0.0,
            cautions=self.cautions,
            kind=self.kind,
            refuse=self.refuse,
            warning=self.warning,
            fumes=self.fumes,
            lights={name: LightRule(**rule.model_dump()) for name, rule in self.lights.items()},
            neck=self.neck,
            grain=self.grain,
        )


class LightTable(Table):
    """A file of ``lights/``."""

    title: Words
    source: Words
    wavelength: tuple[Length, Length]
    seen: bool
    cuts_to: Distance = 0.0
    cuts_to_watts: Distance = 0.0
    cautions: tuple[Words, ...] = Field(min_length=1)

    @model_validator(mode="after")
    def _agree(self) -> LightTable:
        if self.wavelength[0] > self.wavelength[1]:
            raise ValueError("wavelength: the shorter one first")
        if (self.cuts_to > 0) != (self.cuts_to_watts > 0):
            raise ValueError("cuts_to and cuts_to_watts belong together")
        return self

    def value(self, id_: str) -> Light:
        """The light source."""
        return Light(id=id_, **self.model_dump(exclude={"source"}))


class HazardTable(Table):
    """A file of ``hazards/``."""

    title: Words
    source: Words
    severity: Severity
    caution: Words

    def value(self, id_: str) -> Hazard:
        """The hazard."""
        return Hazard(id=id_, **self.model_dump(exclude={"source"}))
