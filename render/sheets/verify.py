"""A written sheet, read back and compared with what was meant.

Nothing here is shared with the writers: the file is read by lxml and by a path reader of its own, every
piece's geometry is put back where it came from and hashed anew, and svgpathtools reads a sample of the pieces
once more.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path as FilePath

from render.errors import VerificationError
from render.model import Sheet
from render.sheets import checks
from render.sheets.checks import Finding, Meant
from render.sheets.pathpool import UnreadableError
from render.sheets.reader import SheetFile, read_sheet
from render.sheets.sampling import compared, sample_items
from render.sheets.second import SecondReader, read_with_svgpathtools

_SHOWN = 3


@dataclass(frozen=True, slots=True)
class Verification:
    """What reading a sheet back brought to light.

    Attributes:
        pieces, contours, points: how many were read.
        sampled: pieces that svgpathtools read as well.
        findings: every difference from what was meant; none if the sheet is right.
    """

    sheet: int
    pieces: int
    contours: int
    points: int
    sampled: tuple[str, ...]
    findings: tuple[Finding, ...]

    @property
    def ok(self) -> bool:
        """Whether the file is what was meant."""
        return not self.findings


def verify_sheet(
    source: FilePath | bytes,
    sheet: Sheet,
    bed: tuple[float, float],
    *,
    thorough: bool = False,
    second: SecondReader | None = None,
) -> Verification:
    """Read a sheet file back and insist that it is what was meant.

    Args:
        source: the file, or its bytes.
        sheet: what was meant.
        bed: width and height that a drawing may have, mm (see :func:`render.sheets.layout.reach`).
        thorough: let svgpathtools read and measure every piece instead of a sample.
        second: a running second reader; without one svgpathtools is imported here.

    Raises:
        VerificationError: it is not; the message names the first differences.
        OSError: the file cannot be read.
    """
    found = inspect_sheet(source, sheet, bed, thorough=thorough, second=second)
    if found.findings:
        told = " ".join(finding.message for finding in found.findings[:_SHOWN])
        more = len(found.findings) - _SHOWN
        raise VerificationError(
            f"Sheet {sheet.number}, read back, is not what was meant: {told}"
            + (f" And {more} more." if more > 0 else ""),
            hint="Do not burn this file; unless the disk failed, this is a fault of Monikerf.",
            place=source.name if isinstance(source, FilePath) else "",
        )
    return found


def inspect_sheet(
    source: FilePath | bytes,
    sheet: Sheet,
    bed: tuple[float, float],
    *,
    thorough: bool = False,
    second: SecondReader | None = None,
) -> Verification:
    """Like :func:`verify_sheet`, but returns what it finds instead of raising."""
    data = source if isinstance(source, bytes) else source.read_bytes()
    try:
        file = read_sheet(data)
    except UnreadableError as error:
        finding = Finding("unreadable", f"It cannot be read: {error}.")
        return Verification(sheet.number, 0, 0, 0, (), (finding,))
    meant = Meant.of(sheet)
    items, sampled = sample_items(file, thorough=thorough)
    if second is not None:
        second.ask(items)
    findings = list(_findings(file, sheet, meant, bed))
    readings = second.collect() if second is not None else read_with_svgpathtools(items)
    findings += compared(items, readings)
    contours = int((file.pool.commands == 0).sum())
    pieces = len({group.id.rpartition("-")[0] for group in file.groups})
    return Verification(sheet.number, pieces, contours, len(file.pool.points), sampled, tuple(findings))


def _findings(file: SheetFile, sheet: Sheet, meant: Meant, bed: tuple[float, float]) -> Iterator[Finding]:
    yield from _true_size(file, sheet, bed)
    yield from checks.words(file, sheet)
    yield from checks.groups(file, meant)
    yield from checks.looks(file, sheet)
    yield from checks.contours(file, meant)
    yield from checks.digests(file, meant)
    yield from checks.areas(file, meant)
    yield from checks.bounds(file, sheet)
    yield from checks.distances(file, sheet)
    yield from checks.burn_order(file, meant)


def _true_size(file: SheetFile, sheet: Sheet, bed: tuple[float, float]) -> Iterator[Finding]:
    """Width and height in mm, the view box in the same, and both as meant; all of it on the bed."""
    size = tuple(round(side * 1000) for side in sheet.size)
    said = []
    for name in ("width", "height"):
        match = re.fullmatch(r"(\d+(?:\.\d{1,3})?)mm", file.attributes.get(name, ""))
        said.append(round(float(match[1]) * 1000) if match else -1)
    box = re.fullmatch(r"0 0 (\d+(?:\.\d{1,3})?) (\d+(?:\.\d{1,3})?)", file.attributes.get("viewBox", ""))
    view = tuple(round(float(v) * 1000) for v in box.groups()) if box else ()
    if tuple(said) != size or view != size:
        yield Finding("size", "Its width, height or view box is not the true size of the sheet in mm.")
    if any(side > round(limit * 1000) for side, limit in zip(size, bed, strict=True)):
        yield Finding("off-bed", "The sheet is larger than the bed.")
