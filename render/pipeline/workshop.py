"""What a job draws on: designs, fonts, things and machines, those that travel along and the shop's own."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Final

from render.errors import LibraryError, MonikerfError
from render.model import Blank, Hazard, Hold, Jig, Light, Machine, Material, Operation, Recipe, Stock
from render.pipeline.passing import lets_through, too_long
from render.pipeline.rounding import as_sent
from render.resources import cache_folder, folder

if TYPE_CHECKING:
    from render.design import Template
    from render.lettering import Letterer
    from render.shop.library import Library

OWN_FOLDERS: Final = {"templates": "templates", "fonts": "fonts_open", "library": "shared"}
"""Folders of a shop folder, and what of Monikerf's own they add to or override."""


@dataclass(frozen=True, slots=True)
class Job:
    """What is made of an order: the design, on which thing, of what, by which machine.

    Attributes:
        stock: the sheet it is cut from, as often as needed; None: the blank's own.
        offcuts: sheets that are used first, each once.
        light: the machine's light source; None where nobody said which.
        hazards: what can hurt about the thing.
        recipes: the shop's own settings for this material on this machine.
        others: all machines of the shop, to say which would do what this one cannot.
    """

    template: Template
    blank: Blank
    material: Material
    machine: Machine
    jig: Jig | None = None
    stock: Stock | None = None
    font: str = ""
    offcuts: tuple[Stock, ...] = ()
    light: Light | None = None
    hazards: tuple[Hazard, ...] = ()
    recipes: Mapping[Operation, Recipe] = field(default_factory=dict)
    others: tuple[Machine, ...] = ()


@dataclass(frozen=True, slots=True)
class Workshop:
    """The folders of templates, fonts and library, those of the shop first."""

    templates: tuple[Path, ...]
    fonts: tuple[Path, ...]
    library: Library
    shop: Path | None = None

    @classmethod
    def open(cls, shop: Path | None = None) -> Workshop:
        """The workshop that travels with Monikerf, with a shop's own folder over it.

        Raises:
            LibraryError: `shop` is not a folder.
        """
        from render.shop.library import Library

        if shop is not None and not shop.is_dir():
            raise LibraryError(
                "the shop folder is not there",
                hint="name a folder that may hold templates, fonts and library",
                place=str(shop),
            )
        own = [shop] if shop else []
        return cls(
            templates=(*(s / "templates" for s in own), folder("templates")),
            fonts=(folder("fonts_open"), *(s / "fonts" for s in own)),
            library=Library.standard(*(s / "library" for s in own)),
            shop=shop,
        )

    def letterer(self) -> Letterer:
        """A letterer for the fonts of this workshop."""
        from render.lettering import Letterer, Shelf

        return Letterer(Shelf(tuple(f for f in self.fonts if f.is_dir())), cache=cache_folder())

    def job(
        self,
        template: str,
        *,
        blank: str | None = None,
        machine: str | None = None,
        font: str | None = None,
        stock: Stock | None = None,
    ) -> Job:
        """Gather what a job needs, by ids; what is not named is the template's own, or the first that fits.

        Raises:
            MonikerfError: one of them does not exist or does not go with the others.
        """
        from render.design import find_template, load_template
        from render.pipeline.shaped import mirrored_blank
        from render.shop.recipes import read_recipes, recipes_for

        design = load_template(find_template(template, self.templates))
        thing = self.library.blank(blank or design.blank)
        _check_size(design, thing)
        if design.mirror:
            thing = mirrored_blank(thing)
        jig = self.library.jig(thing.jig) if thing.jig else None
        laser = self.machine_for(thing, machine)
        material = self.library.material(thing.material)
        light = self.light_of(laser)
        return Job(
            design,
            as_sent(thing, laser, light),
            material,
            laser,
            jig,
            stock,
            font or "",
            light=light,
            hazards=tuple(self.library.hazard(id_) for id_ in thing.hazards),
            recipes=recipes_for(read_recipes(self.shop), laser.id, material.id, thing.thickness),
            others=self.library.machines(),
        )

    def blank_of(self, template: str, blank: str | None = None) -> str:
        """The id of the thing that a template is for, unless another is named.

        Raises:
            TemplateError: there is no such template, or it is wrong.
        """
        from render.design import find_template, load_template

        return blank or load_template(find_template(template, self.templates)).blank

    def machine_for(self, blank: Blank, machine: str | None = None) -> Machine:
        """The machine of that id, or the first that can hold the thing and suits its material.

        Raises:
            LibraryError: there is none.
        """
        jig = self.library.jig(blank.jig) if blank.jig else None
        return self.library.machine(machine) if machine else self._first_machine(blank, jig)

    def light_of(self, machine: Machine) -> Light | None:
        """The machine's light source; None where nobody said which."""
        return self.library.light(machine.light_source) if machine.light_source else None

    def _first_machine(self, blank: Blank, jig: Jig | None) -> Machine:
        """Of the machines that can hold the thing the one whose light suits its material best, by id.

        What is sure to work comes before what a test must tell, that before what needs a coating. For flat
        things one without a rotary comes before one whose rotary must be taken out. Where none suits, the
        first that can hold it, or the first of all: what follows says why not.
        """
        from render.shop.suitability import doubt

        machines = self.library.machines()
        if not machines:
            raise LibraryError("there is no machine in the library", hint="add one, or reinstall Monikerf")
        holding = [m for m in machines if _holds(m, blank, jig)] or [machines[0]]
        if blank.hold is not Hold.ROTARY:
            holding.sort(key=lambda m: m.rotary is not None)
        material = self.library.material(blank.material)
        asked = (Operation.ENGRAVE, Operation.CUT) if blank.hold is Hold.STOCK else (Operation.ENGRAVE,)
        return min(holding, key=lambda m: doubt(m, material, asked))


def _holds(machine: Machine, blank: Blank, jig: Jig | None) -> bool:
    """Whether the machine's bed, or its rotary, takes the thing as it is held."""
    if blank.hold is Hold.ROTARY:
        if machine.rotary is None or blank.body is None:
            return machine.rotary is not None
        along = machine.bed[0] if machine.rotary.axis == "y" else machine.bed[1]
        return blank.body.height <= along
    box = blank.outline.bounds()
    need = (box.width, box.height)
    if jig is not None:
        need = (
            jig.origin[0] + jig.pitch[0] * (jig.columns - 1) + box.width,
            jig.origin[1] + jig.pitch[1] * (jig.rows - 1) + box.height,
        )
    elif too_long(blank, machine):
        return lets_through(blank, machine)
    elif blank.stock is not None:
        need = (blank.stock.width, blank.stock.height)
    return need[0] <= machine.bed[0] and need[1] <= machine.bed[1]


def _check_size(design: Template, blank: Blank) -> None:
    """A template is drawn for one size of thing."""
    box = blank.outline.bounds()
    if abs(design.size[0] - box.width) > 0.05 or abs(design.size[1] - box.height) > 0.05:
        raise MonikerfError(
            f"the template {design.id} is drawn for a thing of {design.size[0]:g} × {design.size[1]:g} mm, "
            f"but {blank.title} measures {box.width:g} × {box.height:g} mm",
            hint=f"take the blank {design.blank}, or a template of the right size",
            place=f"blank {blank.id}",
        )
