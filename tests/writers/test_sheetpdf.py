"""Sheets as PDF, seen by mutool (list of paths), poppler (picture at 300 dpi) and qpdf (structure)."""

from __future__ import annotations

import io
import re
import shutil
import subprocess
from pathlib import Path as FilePath

import numpy as np
import pytest
from PIL import Image

from render.model import Sheet
from render.writers.sheetpdf import sheet_pdf


def run(*words: object) -> bytes:
    if shutil.which(str(words[0])) is None:
        pytest.skip(f"{words[0]} is not installed")
    return subprocess.run([str(w) for w in words], check=True, capture_output=True, timeout=60).stdout


@pytest.fixture
def file(two_cards: Sheet, tmp_path: FilePath) -> FilePath:
    path = tmp_path / "sheet.pdf"
    path.write_bytes(sheet_pdf(two_cards))
    return path


def test_same_bytes_again(two_cards: Sheet) -> None:
    assert sheet_pdf(two_cards) == sheet_pdf(two_cards)


def test_qpdf_finds_nothing(file: FilePath) -> None:
    assert b"No syntax or stream encoding errors" in run("qpdf", "--check", file)


def test_mutool_sees_true_paths_in_layers(file: FilePath) -> None:
    text = run("mutool", "trace", file).decode()
    assert re.findall(r'<layer name="(\w+)"', text) == ["guide", "engrave", "score", "cut"]
    assert 'mediabox="0 0 283.465 141.732"' in text  # 100 × 50 mm in 1/72 inch
    scale = re.search(r'transform="([\d.]+) 0 0 ([\d.]+) 0 0"', text)
    assert scale is not None
    assert float(scale[1]) == float(scale[2]) == pytest.approx(72 / 25.4, abs=1e-6)
    assert '<moveto x="13" y="7"/>' in text  # the score's own mm
    assert "<fill_image" not in text


def test_true_size_at_300_dpi(file: FilePath, tmp_path: FilePath) -> None:
    """poppler draws 100 × 50 mm as 1181 × 591 pixels, and the bar 20 mm long in its place."""
    run("pdftoppm", "-r", 300, "-png", "-singlefile", file, tmp_path / "page")
    picture = np.asarray(Image.open(io.BytesIO((tmp_path / "page.png").read_bytes())).convert("RGB"), int)
    assert abs(picture.shape[1] - 100 / 25.4 * 300) <= 1
    assert abs(picture.shape[0] - 50 / 25.4 * 300) <= 1
    row = picture[round((5 + 26.75) / 25.4 * 300)]
    left = row[: round(47 / 25.4 * 300)]
    blue = np.flatnonzero((np.abs(left - (0x00, 0x72, 0xB2)) < 6).all(axis=1))
    assert blue[0] == pytest.approx(15 / 25.4 * 300, abs=1.5)
    assert blue[-1] == pytest.approx(35 / 25.4 * 300, abs=1.5)
