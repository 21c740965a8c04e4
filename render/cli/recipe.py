"""`monikerf recipe`: settings that the shop found by its own tests."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from render.cli.options import AsJson, Shop
from render.cli.tell import console, print_json, printable
from render.errors import MonikerfError

if TYPE_CHECKING:
    from render.model import Recipe

app = typer.Typer(help="Keep and list the settings that your own tests found.", no_args_is_help=True)


@app.command()
def add(
    machine: Annotated[str, typer.Option(metavar="ID", help="The machine that was tested.")],
    material: Annotated[str, typer.Option(metavar="ID", help="The material that was tested.")],
    operation: Annotated[str, typer.Option(help="engrave, score or cut.")],
    speed: Annotated[float, typer.Option(help="mm/s, as the machine's software was told.")],
    power: Annotated[float, typer.Option(help="Per cent of the machine's own scale.")],
    interval: Annotated[float, typer.Option(help="engrave: mm between scan lines.")] = 0.0,
    passes: Annotated[int, typer.Option(help="How often it was run.")] = 1,
    one_way: Annotated[bool, typer.Option("--one-way", help="engrave: burned one way only.")] = False,
    thickness: Annotated[float, typer.Option(help="mm; needed for cut.")] = 0.0,
    date: Annotated[str, typer.Option(metavar="YYYY-MM-DD", help="Of the test; else today.")] = "",
    batch: Annotated[str, typer.Option(help="Of the material.")] = "",
    photo: Annotated[str, typer.Option(metavar="PATH", help="A photo of the test.")] = "",
    note: Annotated[str, typer.Option(help="Anything worth remembering.")] = "",
    shop: Shop = None,
    as_json: AsJson = False,
) -> None:
    """Keep a recipe from a test of your own; Monikerf never makes one up."""
    import datetime

    from render.pipeline import Workshop
    from render.pipeline.cardreading import keep_new_recipe

    values = {
        "machine": machine,
        "material": material,
        "operation": operation,
        "speed": speed,
        "power": power,
        "interval": interval,
        "passes": passes,
        "both_ways": not one_way,
        "thickness": thickness,
        "date": date or datetime.date.today().isoformat(),
        "batch": batch,
        "photo": photo,
        "note": note,
    }
    kept = keep_new_recipe(values, Workshop.open(shop))
    if as_json:
        print_json({"kept": kept.what, "file": str(kept.file)})
    else:
        console().print(f"kept: {kept.what} ({kept.file})", markup=False)


@app.command("list")
def list_(
    machine: Annotated[str, typer.Option(metavar="ID", help="Only of this machine.")] = "",
    material: Annotated[str, typer.Option(metavar="ID", help="Only for this material.")] = "",
    shop: Shop = None,
    as_json: AsJson = False,
) -> None:
    """The recipes of the shop folder, newest first."""
    from render.pipeline import Workshop
    from render.pipeline.times import recipe_values
    from render.shop.recipes import read_recipes

    workshop = Workshop.open(shop)
    if workshop.shop is None:
        raise MonikerfError("Recipes are kept in a shop folder.", hint="name it with --shop")
    found = [
        recipe
        for recipe in sorted(read_recipes(shop), key=lambda r: (r.date, r.id), reverse=True)
        if machine in ("", recipe.machine) and material in ("", recipe.material)
    ]
    if as_json:
        print_json([recipe_values(recipe) for recipe in found])
    elif not found:
        console().print("No recipe yet: burn a test card, then monikerf test-read or monikerf recipe add.")
    else:
        for recipe in found:
            _tell(recipe)


def _tell(recipe: Recipe) -> None:
    """A recipe on two lines: its name, and what stands in it."""
    facts = [
        f"{recipe.speed:g} mm/s", f"{recipe.power:g} % power",
        f"{recipe.passes} passes" if recipe.passes > 1 else "",
        f"{recipe.interval:g} mm between lines" if recipe.interval else "",
        "" if recipe.both_ways else "one way", f"{recipe.thickness:g} mm thick" if recipe.thickness else "",
        f"batch {recipe.batch}" if recipe.batch else "", f"photo {recipe.photo}" if recipe.photo else "",
        recipe.note,
    ]  # fmt: skip
    head = f"{recipe.operation} {recipe.material} on {recipe.machine}, tested {recipe.date}"
    console().print(f"{recipe.id}: {head}", markup=False, style="bold")
    console().print("    " + "; ".join(map(printable, filter(None, facts))), markup=False)
