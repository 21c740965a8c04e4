"""DXF and PDF read back: what is right passes, one thing changed is found."""

from __future__ import annotations

import re
import zlib
from dataclasses import replace
from pathlib import Path as FilePath

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from render.errors import VerificationError
from render.geometry import CUBIC, MOVE, Path
from render.model import Artwork, Mark, Operation, Placement, Sheet
from render.sheets.verifyothers import dxf_findings, pdf_findings, verify_other
from render.writers.dxf import PLAIN_R12, Curves, DxfOptions, Release, sheet_dxf
from render.writers.sheetpdf import sheet_pdf


@pytest.fixture(scope="module")
def sheet(make) -> Sheet:
    return make.sheet_of(5)


@pytest.mark.parametrize(
    ("options", "tolerance"),
    [
        (DxfOptions(), 0.0),
        (DxfOptions(curves=Curves.ARCS, tolerance=0.003), 0.003),
        (DxfOptions(curves=Curves.LINES, tolerance=0.02), 0.02),
        (DxfOptions(Release.R12, Curves.ARCS), 0.01),
        (PLAIN_R12, 0.01),
    ],
)
def test_dxf_is_the_sheet_within_its_tolerance(sheet: Sheet, options: DxfOptions, tolerance: float) -> None:
    assert dxf_findings(sheet_dxf(sheet, options), sheet, tolerance) == []


@settings(max_examples=60)
@given(st.lists(st.complex_numbers(max_magnitude=40), min_size=4, max_size=4), st.sampled_from((0.05, 0.01)))
@example([0j, 30 + 30j, 0 + 30j, 30 + 0j], 0.01)  # a loop
@example([0j, 30 + 30j, -0.0 + 30j, 30 + 0.001j], 0.01)
@example([0j, 40 + 40j, 0 + 40j, 40 + 0j], 0.05)
@example([0j, 40 + 0j, -20 + 0j, 20 + 0j], 0.01)  # there and back on a line
@example([0j, 0j, 10 + 10j, 10 + 10j], 0.01)  # handles of no length
def test_arcs_of_any_curve_keep_their_tolerance(control: list[complex], tolerance: float) -> None:
    path = Path.of([MOVE, CUBIC], [p + 50 + 50j for p in control])
    art = Artwork("p2", "", (Mark(Operation.SCORE, path),))
    sheet = Sheet(1, "One", (100, 100), 1, (Placement(art, 1, 0, 0),))
    options = DxfOptions(Release.R12, Curves.ARCS, tolerance)
    assert dxf_findings(sheet_dxf(sheet, options), sheet, tolerance) == []


def test_what_a_person_sets_is_in_the_file_and_compared(sheet: Sheet) -> None:
    told = "Rotary: one turn is 360 mm; tilt by 3.2°\nMind: both hands away — é ≤"
    turned = replace(sheet, settings=told)
    for write, findings in ((sheet_dxf, dxf_findings), (sheet_pdf, pdf_findings)):
        assert findings(write(turned), turned) == []
        assert {f.code for f in findings(write(sheet), turned)} == {"settings"}
        assert {f.code for f in findings(write(turned), sheet)} == {"settings"}
    assert dxf_findings(sheet_dxf(turned, PLAIN_R12), turned) == []  # release 12 has no place for it


def test_coarse_chords_are_found(sheet: Sheet) -> None:
    coarse = sheet_dxf(sheet, DxfOptions(curves=Curves.LINES, tolerance=0.2))
    assert {f.code for f in dxf_findings(coarse, sheet, 0.01)} == {"shape"}


def _first_number(data: bytes, code: bytes, add: float) -> bytes:
    """The file with the first coordinate of that group code among its entities changed."""
    begin = data.index(b"ENTITIES")
    begin = max(begin, data.find(b"VERTEX", begin))
    match = re.compile(rb"\n %s\n(-?[\d.]+)\n" % code).search(data, begin)
    assert match is not None
    return data[: match.start(1)] + b"%.6f" % (float(match[1]) + add) + data[match.end(1) :]


@pytest.mark.parametrize("release", [DxfOptions(), PLAIN_R12])
def test_a_changed_coordinate_is_found(sheet: Sheet, release: DxfOptions) -> None:
    data = sheet_dxf(sheet, release)
    assert [f.code for f in dxf_findings(_first_number(data, b"10", 0.0001), sheet)] == []
    assert "shape" in [f.code for f in dxf_findings(_first_number(data, b"10", 0.05), sheet)]


def test_other_differences_of_dxf_are_found(sheet: Sheet) -> None:
    data = sheet_dxf(sheet)
    begin = data.index(b"ENTITIES")
    moved = data[:begin] + data[begin:].replace(b"\nCUT\n", b"\nSCORE\n", 1)
    assert [f.code for f in dxf_findings(moved, sheet)] == ["operation"]
    inches = data.replace(b"$INSUNITS\n 70\n4\n", b"$INSUNITS\n 70\n1\n")
    assert inches != data
    assert [f.code for f in dxf_findings(inches, sheet)] == ["units"]
    fewer = Sheet(1, sheet.title, sheet.size, sheet.gap, sheet.placements[:-1], sheet.colours)
    assert [f.code for f in dxf_findings(data, fewer)] == ["contours"]


def test_pdf_is_the_sheet(sheet: Sheet) -> None:
    assert pdf_findings(sheet_pdf(sheet), sheet) == []


def test_changes_of_a_pdf_are_found(sheet: Sheet) -> None:
    data = sheet_pdf(sheet)
    match = re.search(rb"/Length (\d+) /Filter /FlateDecode >>\nstream\n", data)
    assert match is not None
    content = zlib.decompress(data[match.end() : match.end() + int(match[1])])
    number = re.search(rb"\n(\d+)(\.\d+)? [\d.]+ m ", content)
    assert number is not None
    at = number.start(1)
    packed = zlib.compress(content[:at] + b"1" + content[at:])
    head = b"/Length %d /Filter /FlateDecode >>\nstream\n" % len(packed)
    changed = data[: match.start()] + head + packed + data[match.end() + int(match[1]) :]
    assert "shape" in [f.code for f in pdf_findings(changed, sheet)]
    wider = data.replace(b"/MediaBox [0 0 ", b"/MediaBox [0 0 1")
    assert "size" in [f.code for f in pdf_findings(wider, sheet)]


def test_files_are_refused_by_name(sheet: Sheet, tmp_path: FilePath) -> None:
    good, bad = tmp_path / "sheet-1.dxf", tmp_path / "sheet-2.dxf"
    good.write_bytes(sheet_dxf(sheet))
    verify_other(good, sheet)
    bad.write_bytes(sheet_dxf(sheet)[:-400])
    with pytest.raises(VerificationError, match=r"sheet-2\.dxf.*cannot be read"):
        verify_other(bad, sheet)
    picture = tmp_path / "sheet-3.pdf"
    picture.write_bytes(b"%PDF-1.5\n")
    with pytest.raises(VerificationError, match="not a PDF of one page"):
        verify_other(picture, sheet)
