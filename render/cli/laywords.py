"""Options of how pieces are laid out on stock, and how their text is read."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Final

import typer

from render.errors import MonikerfError

if TYPE_CHECKING:
    from render.sheets.layout import LayoutOptions

LAYING: Final = "Laying out"
"""Heading over these options in the help."""

ArrangeWord = Annotated[
    str,
    typer.Option(
        "--arrange",
        metavar="WORD",
        help="Of what is cut from stock: grid, rectangles, nested by its shape; auto: as suits the thing.",
        rich_help_panel=LAYING,
    ),
]
TurnWord = Annotated[
    str,
    typer.Option(
        "--turn",
        metavar="WORD",
        help="Whether it may be turned: auto keeps to the grain, never, always, free (nested by 15°).",
        rich_help_panel=LAYING,
    ),
]
Seconds = Annotated[
    float,
    typer.Option(
        min=0,
        max=86_400,
        metavar="S",
        help="Search so long for a denser nest, by the clock: kept, but another machine may find another.",
        rich_help_panel=LAYING,
    ),
]
StockIds = Annotated[
    list[str] | None,
    typer.Option(
        "--stock",
        metavar="ID",
        help="Cut from this sheet or offcut (monikerf show stock). Repeatable.",
        rich_help_panel=LAYING,
    ),
]


ByField = Annotated[
    str,
    typer.Option(
        "--by",
        metavar="FIELD",
        help="Lay pieces bag by bag: table, department, surname; else as they came.",
        rich_help_panel=LAYING,
    ),
]


def layout_options(arrange: str, turn: str, seconds: float, first_place: int) -> LayoutOptions:
    """The options from what was typed.

    Raises:
        MonikerfError: a word is unknown, or they do not go together.
    """
    from render.sheets.layout import Arrange, LayoutOptions, Turn

    for option, word, known in (("--arrange", arrange, Arrange), ("--turn", turn, Turn)):
        if word not in tuple(known):
            raise MonikerfError(f"{option} {word!r} is not known", hint=f"choose from {', '.join(known)}")
    way = Arrange(arrange)
    if seconds:
        if way not in (Arrange.AUTO, Arrange.NESTED):
            raise MonikerfError(
                f"--seconds has nothing to search for with --arrange {arrange}", hint="leave one of them out"
            )
        way = Arrange.NESTED
    return LayoutOptions(turn=Turn(turn), first_place=first_place, arrange=way, seconds=seconds)
