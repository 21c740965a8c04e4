"""Files out: one finished sheet goes to every format; written, verified, then renamed."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Final

from render.errors import OutputError
from render.model import Sheet
from render.writers.dxf import sheet_dxf
from render.writers.files import move, ready_folder, safe_stem, write_atomically
from render.writers.sheetpdf import sheet_pdf
from render.writers.svg import sheet_svg

WRITERS: Final[Mapping[str, Callable[[Sheet], bytes]]] = {
    ".svg": sheet_svg,
    ".dxf": sheet_dxf,
    ".pdf": sheet_pdf,
}
"""By suffix: what turns a sheet into a file's bytes. Every one of them takes the same finished value."""


def write_sheet(sheet: Sheet, path: Path, verify: Callable[[Path], object] | None = None) -> None:
    """Write a sheet in the format that the suffix of `path` names.

    Args:
        sheet: the finished sheet.
        path: the final name; what is there is replaced.
        verify: reads the written file before it gets its name, and raises if it is not what was meant.

    Raises:
        OutputError: no such format, or the file cannot be written.
        VerificationError: from `verify`; nothing is then left behind.
    """
    writer = WRITERS.get(path.suffix.lower())
    if writer is None:
        raise OutputError(
            f"sheets cannot be written as {path.suffix or 'a file without suffix'}",
            hint=f"use one of {', '.join(WRITERS)}",
            place=str(path),
        )
    write_atomically(path, writer(sheet), verify)


__all__ = ["WRITERS", "move", "ready_folder", "safe_stem", "sheet_svg", "write_atomically", "write_sheet"]
