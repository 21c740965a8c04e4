"""The true-size PDF, measured by other programs; the picture of one piece."""

from __future__ import annotations

import re
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path

import pytest

from render.geometry.shapes import rectangle
from render.model import Blank
from render.proof.picture import WIDTH, piece_picture
from render.proof.shown import ShopWords, Shown
from render.proof.truesize import RULER, true_size_pages
from render.writers.pages import pages_pdf
from render.writers.png import checked_size

MM = 72 / 25.4  # points: ISO 32000-1, 8.3.2.3


def needs(program: str) -> None:
    if shutil.which(program) is None:
        pytest.skip(f"{program} is not installed")


@pytest.fixture
def pdf(tmp_path: Path, shown: Shown, blocks: object) -> Path:
    pages = true_size_pages(replace(shown, shop=ShopWords()), blocks)  # type: ignore[arg-type]
    path = tmp_path / "proof.pdf"
    path.write_bytes(pages_pdf(pages, title=shown.title))
    return path


def boxes(trace: str) -> list[tuple[float, float]]:
    """Width and height in mm of every path that mutool traced."""
    found = []
    for path in re.findall(r"<(?:fill|stroke)_path (.*?)</(?:fill|stroke)_path>", trace, re.DOTALL):
        matrix = re.search(r'transform="([^"]+)"', path)
        scale = [abs(float(n)) for n in matrix[1].split()] if matrix else [1.0, 0, 0, 1.0]
        xs = [float(x) for x in re.findall(r'\bx\d?="([-\d.]+)"', path)]
        ys = [float(y) for y in re.findall(r'\by\d?="([-\d.]+)"', path)]
        if xs:
            found.append(((max(xs) - min(xs)) * scale[0] / MM, (max(ys) - min(ys)) * scale[3] / MM))
    return found


def has(found: list[tuple[float, float]], width: float, height: float) -> int:
    return sum(abs(w - width) < 0.03 and abs(h - height) < 0.03 for w, h in found)


def test_mutool_measures_pieces_and_ruler(pdf: Path, shown: Shown) -> None:
    needs("mutool")
    done = subprocess.run(["mutool", "trace", pdf], capture_output=True, text=True, check=True)
    found = boxes(done.stdout)
    box = shown.blank.outline.bounds()
    assert has(found, box.width, box.height) >= 3 * 2  # filled and outlined
    assert has(found, 20, 4) == 3  # the marks of the tests
    assert has(found, RULER, 0) == 1


def test_other_programs_take_the_pdf(pdf: Path, tmp_path: Path) -> None:
    needs("qpdf")
    needs("pdftoppm")
    subprocess.run(["qpdf", "--check", pdf], capture_output=True, check=True)
    subprocess.run(["pdftoppm", "-r", "25.4", "-png", pdf, tmp_path / "page"], check=True)
    assert [path.stat().st_size > 0 for path in tmp_path.glob("page*.png")] == [True]


def test_the_same_proof_gives_the_same_pdf(pdf: Path, shown: Shown, blocks: object) -> None:
    pages = true_size_pages(replace(shown, shop=ShopWords()), blocks)  # type: ignore[arg-type]
    assert pages_pdf(pages, title=shown.title) == pdf.read_bytes()


@pytest.mark.parametrize(
    ("size", "paper", "pages"),
    [((60, 24), (210, 297), 1), ((89, 51), (210, 297), 1), ((228.6, 100), (297, 210), 3),
     ((600, 150), (622, 215), 3)],
)  # fmt: skip
def test_paper_is_as_large_as_it_must_be(
    shown: Shown, blocks: object, size: tuple[float, float], paper: tuple[float, float], pages: int
) -> None:
    blank: Blank = replace(shown.blank, outline=rectangle(0, 0, *size), holes=(), folds=())
    drawn = true_size_pages(replace(shown, blank=blank), blocks)  # type: ignore[arg-type]
    assert len(drawn) == pages
    assert checked_size(drawn[0]) == pytest.approx(paper)


def test_a_picture_shows_one_piece_and_says_which(shown: Shown, blocks: object) -> None:
    svg = piece_picture(shown, shown.pieces[0], blocks)  # type: ignore[arg-type]
    assert checked_size(svg)[0] == WIDTH
    assert (shown.pieces[0].title, True) in blocks.texts  # type: ignore[attr-defined]
    assert ("PROOF", True) in blocks.texts  # type: ignore[attr-defined]
    assert any("gaste-3" in text and "p002" in text for text, _ in blocks.texts)  # type: ignore[attr-defined]
    assert piece_picture(shown, shown.pieces[1], blocks) != svg  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="p005"):
        piece_picture(shown, shown.pieces[3], blocks)  # type: ignore[arg-type]


def test_a_round_piece_is_pictured_from_both_sides(turning: Shown, blocks: object) -> None:
    piece_picture(turning, turning.pieces[0], blocks)  # type: ignore[arg-type]
    assert {("front", False), ("back", False)} <= set(blocks.texts)  # type: ignore[attr-defined]
