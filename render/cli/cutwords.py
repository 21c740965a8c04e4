"""Options of how pieces are cut, and how their text is read."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Annotated, Final

import typer

from render.errors import MonikerfError

if TYPE_CHECKING:
    from render.pipeline.cutting import CutOptions

CUTTING: Final = "Cutting"
"""Heading over these options in the help."""

Kerf = Annotated[
    str | None,
    typer.Option(
        metavar="MM|none",
        help="Width of the cut; else as measured for this material, if it was.",
        rich_help_panel=CUTTING,
    ),
]
Tabs = Annotated[
    str | None,
    typer.Option(
        metavar="NxMM|none",
        help="Tabs that hold each piece, such as 3x0.6; else the thing's own.",
        rich_help_panel=CUTTING,
    ),
]
LeadIn = Annotated[
    str | None,
    typer.Option(
        "--lead-in", metavar="MM|none", help="How far off, in the waste, cuts begin.", rich_help_panel=CUTTING
    ),
]
Apart = Annotated[
    str | None,
    typer.Option(
        metavar="MM|none",
        help="How far apart pieces lie that are cut one after another.",
        rich_help_panel=CUTTING,
    ),
]

_TABS: Final = re.compile(r"(\d{1,2}) ?[x×] ?(\d+(?:\.\d+)?)", re.ASCII)
_NUMBER: Final = re.compile(r"\d+(?:\.\d+)?", re.ASCII)
_MOST: Final = {"--kerf": 5.0, "--lead-in": 20.0, "--apart": 1000.0}
"""More than this is a slip of the hand, mm."""


def cut_options(kerf: str | None, tabs: str | None, lead_in: str | None, apart: str | None) -> CutOptions:
    """The options from what was typed.

    Raises:
        MonikerfError: one is not a length, or too long to be meant.
    """
    from render.pipeline.cutting import CutOptions

    return CutOptions(
        _length("--kerf", kerf), _tabs(tabs), _length("--lead-in", lead_in), _length("--apart", apart)
    )


def _length(option: str, text: str | None) -> float | None:
    if text is None:
        return None
    word = text.strip().lower()
    if word == "none":
        return 0.0
    if not _NUMBER.fullmatch(word) or float(word) > _MOST[option]:
        hint = f"give mm, such as 0.2 and at most {_MOST[option]:g}, or none"
        raise MonikerfError(f"{option} {text!r} is not a length that can be meant", hint=hint)
    return float(word)


def _tabs(text: str | None) -> tuple[int, float] | None:
    if text is None:
        return None
    word = text.strip().lower()
    if word == "none":
        return 0, 0.0
    match = _TABS.fullmatch(word)
    if not match or not 0 < float(match[2]) <= 20:
        hint = "write 3x0.6 for three of 0.6 mm, or none"
        raise MonikerfError(f"--tabs {text!r} does not say how many and how wide", hint=hint)
    return int(match[1]), float(match[2])
