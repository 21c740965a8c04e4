"""Options of which files are written, and how their text is read."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Final

import typer

from render.errors import MonikerfError

if TYPE_CHECKING:
    from render.pipeline.outputs import FileOptions
    from render.sheets.layout import LayoutOptions

FILES: Final = "Files"
"""Heading over these options in the help."""

Formats = Annotated[
    str,
    typer.Option(
        "--format",
        metavar="LIST",
        help="Of svg, dxf, dxf-r12, pdf; SVG is always written.",
        rich_help_panel=FILES,
    ),
]
SplitBy = Annotated[
    str | None,
    typer.Option(
        "--split",
        metavar="PART",
        help="Also one SVG an operation or a piece: operation, piece.",
        rich_help_panel=FILES,
    ),
]
RunList = Annotated[
    bool,
    typer.Option(
        "--run-list",
        help="Also draw the list of the loads that lies beside the machine.",
        rich_help_panel=FILES,
    ),
]


def file_options(
    formats: str, split: str | None, run_list: bool, layout: LayoutOptions | None = None, by: str = ""
) -> FileOptions:
    """The options from what was typed.

    Raises:
        MonikerfError: a format is unknown, or sheets cannot be split so.
    """
    from render.pipeline.outputs import PLAIN, FileOptions, Split, formats_of

    if split is not None and split not in tuple(Split):
        raise MonikerfError(f"sheets cannot be split by {split!r}", hint=f"choose from {', '.join(Split)}")
    parts = Split(split) if split else None
    return FileOptions(formats_of(formats), parts, run_list, layout or PLAIN.layout, by)
