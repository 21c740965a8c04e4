"""Recipes: settings that the shop found by its own test cards, one TOML file each in ``recipes/``.

Monikerf keeps them, finds them and names them; it never makes one up, and it converts none from one machine,
material or thickness to another.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import asdict
from datetime import date
from pathlib import Path
from typing import Annotated

from pydantic import Field, ValidationError, model_validator

from render.errors import LibraryError
from render.model import BURN_ORDER, Operation, Recipe
from render.shop.outlines import Count, Distance, Length, Table, Words

FOLDER = "recipes"
"""Of the shop folder."""

_THICKNESS_MM = 0.11
"""A recipe for cutting is taken for stock that differs from the tested one by no more than this."""


class RecipeTable(Table):
    """A file of ``recipes/``."""

    machine: Words
    material: Words
    operation: Operation
    speed: Length
    power: Annotated[float, Field(gt=0, le=100, allow_inf_nan=False)]
    passes: Count = 1
    interval: Distance = 0.0
    both_ways: bool = True
    thickness: Distance = 0.0
    date: date
    batch: str = Field(default="", max_length=200)
    photo: str = Field(default="", max_length=500)
    note: str = Field(default="", max_length=2000)

    @model_validator(mode="after")
    def _whole(self) -> RecipeTable:
        if self.operation is Operation.GUIDE:
            raise ValueError("a guide is never burned and has no recipe")
        if (self.interval > 0) != (self.operation is Operation.ENGRAVE):
            raise ValueError("interval (mm between scan lines) belongs to engrave, and only to engrave")
        if self.operation is Operation.CUT and not self.thickness:
            raise ValueError("a recipe for cutting needs the thickness (mm) that was tested")
        return self

    def value(self, id_: str) -> Recipe:
        """The recipe."""
        return Recipe(id=id_, **{**self.model_dump(), "date": self.date.isoformat()})


def read_recipes(shop: Path | None) -> tuple[Recipe, ...]:
    """All recipes of a shop folder, by id; none without a folder.

    Raises:
        LibraryError: a file is wrong.
    """
    if shop is None:
        return ()
    from render.shop.library import checked

    files = sorted((shop / FOLDER).glob("*.toml"))
    return tuple(checked(file, RecipeTable).value(file.stem) for file in files)


def checked_recipe(id_: str, values: Mapping[str, object]) -> Recipe:
    """A recipe of plain values.

    Raises:
        LibraryError: something is wrong with them.
    """
    from render.shop.schema import first_complaint

    try:
        return RecipeTable.model_validate(values).value(id_)
    except ValidationError as error:
        key, words, hint = first_complaint(error, RecipeTable)
        raise LibraryError(words, hint=hint, place=f"recipe, {key}" if key else "recipe") from error


def recipe_text(recipe: Recipe) -> str:
    """The recipe's file."""
    from render.shop.records import toml_text

    values = {k: v for k, v in asdict(recipe).items() if k != "id" and v not in ("", 0.0)}
    return toml_text({**values, "operation": str(recipe.operation), "date": date.fromisoformat(recipe.date)})


def new_id(recipe: Recipe, taken: Iterable[str]) -> str:
    """A free id such as ``card-cut-co2``, with -2, -3 ... where that is taken."""
    stem = f"{recipe.material}-{recipe.operation}-{recipe.machine}"
    used = set(taken)
    number = 1
    while (name := stem if number == 1 else f"{stem}-{number}") in used:
        number += 1
    return name


def recipes_for(
    recipes: Iterable[Recipe], machine: str, material: str, thickness: float
) -> dict[Operation, Recipe]:
    """The newest recipe of each operation for a machine and a material; for CUT only of about this thickness.

    Of several of one day the one whose id comes last.
    """
    found: dict[Operation, Recipe] = {}
    fitting = (r for r in recipes if r.machine == machine and r.material == material)
    for recipe in sorted(fitting, key=lambda r: (r.date, r.id)):
        near = abs(recipe.thickness - thickness) <= _THICKNESS_MM
        if recipe.operation is not Operation.CUT or near:
            found[recipe.operation] = recipe
    return {operation: found[operation] for operation in BURN_ORDER if operation in found}
