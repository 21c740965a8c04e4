"""`monikerf test-card` and `test-read`: cards to burn, and what is read off them."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from render.cli.options import AsJson, Shop
from render.cli.tell import console, print_json
from render.errors import MonikerfError

Settings = Annotated[
    list[str] | None,
    typer.Option("--set", metavar="NAME=VALUE", help="A setting that all cells share, such as interval=0.1."),
]


def numbers(texts: list[str] | None, names: tuple[str, ...]) -> dict[str, float]:
    """NAME=VALUE pairs.

    Raises:
        MonikerfError: one is not such a pair, or its name is unknown.
    """
    found: dict[str, float] = {}
    for text in texts or ():
        name, _, value = text.partition("=")
        try:
            found[name] = float(value)
        except ValueError as error:
            raise MonikerfError(f"{text!r} is not NAME=VALUE.", hint="such as --set interval=0.1") from error
        if name not in names:
            raise MonikerfError(f"There is no setting {name!r}.", hint=f"There are: {', '.join(names)}.")
    return found


def draw_card(
    kind: Annotated[
        str, typer.Argument(help="grid, interval, letters, kerf, focus, details or rotary.", metavar="KIND")
    ],
    machine: Annotated[str, typer.Option(metavar="ID", help="The machine it is burned on.")],
    material: Annotated[str, typer.Option(metavar="ID", help="The material it is burned on.")],
    out: Annotated[Path, typer.Option("--out", "-o", metavar="FOLDER", help="Where the files go.")],
    rows: Annotated[
        str, typer.Option(metavar="NAME=FIRST:LAST:STEP", help="grid: what changes downwards, in your range.")
    ] = "",
    columns: Annotated[
        str, typer.Option(metavar="NAME=FIRST:LAST:STEP", help="grid: what changes to the right.")
    ] = "",
    operation: Annotated[str, typer.Option(help="grid: engrave, score or cut.")] = "engrave",
    settings: Settings = None,
    thickness: Annotated[float, typer.Option(min=0, help="Of the sheet in mm, by caliper.")] = 0.0,
    circumference: Annotated[float, typer.Option(min=0, help="rotary: of the thing in mm, by tape.")] = 0.0,
    rise: Annotated[float, typer.Option(min=0.1, max=100, help="focus: height of the wedge in mm.")] = 10.0,
    shop: Shop = None,
    as_json: AsJson = False,
) -> None:
    """Draw a test card of labelled cells, to find settings, kerf, focus, smallest detail or a turn.

    Settings are yours: Monikerf proposes no power and no speed. Writes test-card-KIND.svg, .png and .json.
    """
    from render.model import Operation
    from render.pipeline import Workshop
    from render.pipeline.testcards import CardWish, make_card
    from render.shop.cards import SETTINGS, Sweep

    workshop = Workshop.open(shop)
    if operation not in ("engrave", "score", "cut"):
        raise MonikerfError(f"There is no operation {operation!r}.", hint="engrave, score or cut")
    wish = CardWish(
        kind=kind,
        operation=Operation(operation),
        rows=Sweep.parse(rows) if rows else None,
        columns=Sweep.parse(columns) if columns else None,
        fixed=tuple(numbers(settings, tuple(SETTINGS)).items()),
        thickness=thickness,
        circumference=circumference,
        rise=rise,
    )
    library = workshop.library
    made = make_card(wish, library.machine(machine), library.material(material), workshop, out)
    if as_json:
        print_json({"files": list(made.files), **made.values})
        return
    say = console()
    say.print("Before anything burns:", style="bold")
    say.print("\n".join(f"  {line}" for line in made.cautions), markup=False)
    for doubt in made.doubts:
        say.print(f"! {doubt}", markup=False, style="yellow")
    say.print("How to use it:", style="bold")
    say.print("\n".join(f"  {step}" for step in made.steps), markup=False)
    say.print("written: " + ", ".join(str(out / name) for name in made.files), markup=False)


def read_card(
    card: Annotated[Path, typer.Argument(metavar="CARD.json", help="The file written beside the card.")],
    best: Annotated[str, typer.Option(metavar="CELL", help="The best cell of a grid, such as b3.")] = "",
    date: Annotated[str, typer.Option(metavar="YYYY-MM-DD", help="Of the test; else today.")] = "",
    batch: Annotated[str, typer.Option(help="Of the material.")] = "",
    photo: Annotated[str, typer.Option(metavar="PATH", help="A photo of the burned card.")] = "",
    note: Annotated[str, typer.Option(help="Anything worth remembering.")] = "",
    settings: Settings = None,
    kerf: Annotated[float | None, typer.Option(help="kerf: what the snug slot says, mm.")] = None,
    row: Annotated[float | None, typer.Option(help="kerf: the ten squares pushed together, mm.")] = None,
    stroke: Annotated[float | None, typer.Option(help="details: thinnest stroke that stands, mm.")] = None,
    gap: Annotated[float | None, typer.Option(help="details: narrowest gap that stays open, mm.")] = None,
    overshoot: Annotated[
        float | None, typer.Option(help="rotary: how far the turn went too far (+) or fell short (-), mm.")
    ] = None,
    shop: Shop = None,
    as_json: AsJson = False,
) -> None:
    """Keep what a burned test card showed: a recipe, the kerf, the smallest detail, one full turn.

    It goes into the shop folder: recipes/, library/machines/ and library/materials/, where fitting, timing
    and rotary runs use it.
    """
    import datetime

    from render.pipeline import Workshop
    from render.pipeline.cardreading import CardReading, keep_reading, load_card
    from render.shop.cards import SETTINGS

    reading = CardReading(
        best=best,
        settings=numbers(settings, tuple(SETTINGS)),
        date=date or datetime.date.today().isoformat(),
        batch=batch,
        photo=photo,
        note=note,
        kerf=kerf,
        row=row,
        stroke=stroke,
        gap=gap,
        overshoot=overshoot,
    )
    kept = keep_reading(load_card(card), reading, Workshop.open(shop))
    if as_json:
        print_json({"kept": [{"what": each.what, "file": str(each.file)} for each in kept]})
    else:
        console().print("\n".join(f"kept: {each.what} ({each.file})" for each in kept), markup=False)
