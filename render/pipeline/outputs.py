"""What else a job writes beside its sheets: other formats, and sheets in parts."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from pathlib import Path
from typing import Final

from render.errors import MonikerfError
from render.model import BURN_ORDER, Sheet
from render.sheets.layout import AS_SUITS, LayoutOptions
from render.sheets.verifyothers import verify_other
from render.writers import WRITERS, safe_stem, write_atomically
from render.writers.dxf import sheet_dxf_r12

FORMATS: Final[Mapping[str, tuple[str, Callable[[Sheet], bytes]]]] = {
    "svg": (".svg", WRITERS[".svg"]),
    "dxf": (".dxf", WRITERS[".dxf"]),
    "dxf-r12": ("-r12.dxf", sheet_dxf_r12),
    "pdf": (".pdf", WRITERS[".pdf"]),
}
"""By the name a person gives: how a file's name ends, and what writes it."""


class Split(StrEnum):
    """Into what parts a sheet is written besides."""

    OPERATION = "operation"
    PIECE = "piece"


@dataclass(frozen=True, slots=True)
class FileOptions:
    """What is written, and how pieces are laid out.

    Attributes:
        formats: names of :data:`FORMATS`; SVG is written whether named or not.
        split: parts to write as SVG besides the whole sheets; None for none.
        run_list: whether a list of the loads is drawn for the bench.
        layout: how pieces are laid out, and the place to begin at.
        by: the field of the bags whose order pieces are laid in; empty: the table's own order.
    """

    formats: tuple[str, ...] = ("svg",)
    split: Split | None = None
    run_list: bool = False
    layout: LayoutOptions = AS_SUITS
    by: str = ""


PLAIN: Final = FileOptions()


def formats_of(text: str) -> tuple[str, ...]:
    """The formats of a list such as ``svg,dxf``.

    Raises:
        MonikerfError: one is unknown.
    """
    names = tuple(dict.fromkeys(word.strip().lower() for word in text.split(",") if word.strip()))
    for name in names:
        if name not in FORMATS:
            raise MonikerfError(f"there is no format {name!r}", hint=f"choose from {', '.join(FORMATS)}")
    return names


def parts_of(sheet: Sheet, split: Split) -> Iterator[tuple[str, Sheet]]:
    """The parts of a sheet, each with a word for its file's name; all in their places on the sheet."""
    if split is Split.PIECE:
        for placement in sheet.placements:
            yield safe_stem(placement.artwork.piece), replace(sheet, placements=(placement,))
        return
    for operation in BURN_ORDER:
        kept = []
        for placement in sheet.placements:
            marks = tuple(m for m in placement.artwork.marks if m.operation is operation and m.path)
            if marks:
                kept.append(replace(placement, artwork=replace(placement.artwork, marks=marks)))
        if kept:
            yield str(operation), replace(sheet, placements=tuple(kept))


def write_others(
    aside: Path | None,
    sheets: Sequence[Sheet],
    names: Sequence[str],
    options: FileOptions,
    write_svg: Callable[[Sheet, str], object],
) -> tuple[str, ...]:
    """Write the sheets in other formats and in parts; return the names of the files.

    Args:
        aside: the folder; None only names them.
        sheets: the loads.
        names: file name of each whole sheet, ``.svg``.
        options: what is wanted.
        write_svg: writes and verifies a part as SVG under a name.

    Raises:
        OutputError: a file cannot be written.
        VerificationError: a file, read back, is not what was meant.
    """
    written = []
    for sheet, name in zip(sheets, names, strict=True):
        stem = name.removesuffix(".svg")
        for wanted in options.formats:
            ending, writer = FORMATS[wanted]
            if ending == ".svg":
                continue
            written.append(stem + ending)
            if aside is not None:
                check = _checker(sheet)
                write_atomically(aside / written[-1], writer(sheet), check)
        for word, part in parts_of(sheet, options.split) if options.split else ():
            written.append(f"{stem}-{word}.svg")
            write_svg(part, written[-1])
    return tuple(written)


def _checker(sheet: Sheet) -> Callable[[Path], None]:
    return lambda path: verify_other(path, sheet)
