"""Sheets in other formats than SVG, read back and compared with what was meant."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Final

from render.errors import VerificationError
from render.model import Sheet
from render.sheets.alike import compared_contours
from render.sheets.checks import Finding
from render.sheets.dxfreader import read_dxf
from render.sheets.pathpool import UnreadableError
from render.sheets.pdfreader import read_pdf

_MILLIMETRES: Final = 4
_SETTINGS: Final = Finding("settings", "What it says about setting the machine is not as meant.")


def dxf_findings(data: bytes, sheet: Sheet, tolerance: float = 0.01) -> list[Finding]:
    """What is not as meant in a DXF file whose curves may be off by `tolerance` mm."""
    file = read_dxf(data, round(sheet.size[1], 3))
    findings = compared_contours(file.contours, sheet, tolerance)
    if file.release > "AC1009" and file.units != _MILLIMETRES:
        findings.append(Finding("units", "It does not say that its unit is the millimetre."))
    if file.release > "AC1009" and file.settings != sheet.settings:
        findings.append(_SETTINGS)
    return findings


def pdf_findings(data: bytes, sheet: Sheet) -> list[Finding]:
    """What is not as meant in a PDF file."""
    file = read_pdf(data)
    findings = compared_contours(file.contours, sheet, 0.0)
    if max(abs(a - b) for a, b in zip(file.size, sheet.size, strict=True)) > 0.001:
        findings.append(Finding("size", "Its page is not the true size of the sheet."))
    if file.subject != sheet.settings:
        findings.append(_SETTINGS)
    return findings


_FINDINGS: Final[Mapping[str, Callable[[bytes, Sheet], list[Finding]]]] = {
    ".dxf": dxf_findings,
    ".pdf": pdf_findings,
}


def verify_other(path: Path, sheet: Sheet) -> None:
    """Read a DXF or PDF file back and insist that it holds the sheet.

    DXF may leave the true curves by 0.01 mm and every format by 0.004 mm for rounding and chords.

    Raises:
        VerificationError: it does not; the message names the first difference.
        OSError: it cannot be read.
    """
    try:
        found = _FINDINGS[path.suffix](path.read_bytes(), sheet)
    except (UnreadableError, ValueError) as error:
        found = [Finding("unreadable", f"It cannot be read: {error}.")]
    if found:
        more = f" And {len(found) - 1} more." if len(found) > 1 else ""
        raise VerificationError(
            f"Sheet {sheet.number}, read back, is not what was meant: {found[0].message}{more}",
            hint="Do not burn this file; unless the disk failed, this is a fault of Monikerf.",
            place=path.name,
        )
