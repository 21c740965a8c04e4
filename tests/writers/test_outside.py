"""Sheets against the outside world: other renderers, the SVG 1.1 DTD, another path reader."""

from __future__ import annotations

import io
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from render.model import Sheet
from render.writers.png import ENGINES
from render.writers.svg import sheet_svg

DTD = Path("/usr/share/xml/w3c-sgml-lib/schema/dtd/REC-SVG11-20110816/svg11.dtd")
WIDTH, HEIGHT = 378, 189
"""100 × 50 mm at 96 px an inch, rounded to whole pixels: CSS Values and Units Level 3."""

DIFFERENCE = 0.8
"""Largest mean difference of grey between two renderers, of 255. They smooth edges each in its own way
(0.10 to 0.46 when recorded); a drawing shifted by one pixel differs by 2.0 to 2.3."""


def _grey(png: bytes) -> np.ndarray:
    image = Image.open(io.BytesIO(png)).convert("RGBA")
    white = Image.new("RGBA", image.size, "white")
    return np.asarray(Image.alpha_composite(white, image).convert("L"), float)


def _chromium(svg: Path, png: Path) -> bytes:
    """Debian's chromium, on a window larger than the drawing, so that its true size shows."""
    subprocess.run(
        ["chromium", "--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars",
         f"--user-data-dir={png.parent / 'profile'}", "--force-device-scale-factor=1",
         "--window-size=600,400", f"--screenshot={png}", svg.as_uri()],
        check=True, capture_output=True, timeout=120,
    )  # fmt: skip
    image = Image.open(png).convert("L")
    beyond = np.asarray(image).copy()
    beyond[:HEIGHT, :WIDTH] = 255
    assert beyond.min() == 255, "chromium drew beyond the true size"
    cut = io.BytesIO()
    image.crop((0, 0, WIDTH, HEIGHT)).save(cut, "PNG")
    return cut.getvalue()


def _librsvg(svg: Path, png: Path) -> bytes:
    """Debian's librsvg2-bin at its own idea of the drawing's size."""
    subprocess.run(["rsvg-convert", "-d", "96", "-p", "96", "-o", png, svg], check=True, capture_output=True)
    return png.read_bytes()


OTHERS: dict[str, Callable[[Path, Path], bytes]] = {"chromium": _chromium, "rsvg-convert": _librsvg}


@pytest.mark.parametrize("name", OTHERS)
def test_other_renderers_agree(two_cards: Sheet, tmp_path: Path, name: str) -> None:
    if shutil.which(name) is None:
        pytest.skip(f"{name} is not installed")
    path = tmp_path / "sheet.svg"
    path.write_bytes(sheet_svg(two_cards))
    other = _grey(OTHERS[name](path, tmp_path / "other.png"))
    assert other.shape == (HEIGHT, WIDTH)
    for engine in ENGINES.values():
        ours = _grey(engine(path.read_bytes(), WIDTH, HEIGHT))
        assert np.abs(ours - other).mean() < DIFFERENCE
        assert np.abs(np.roll(ours, 1, axis=1) - other).mean() > 2 * DIFFERENCE  # the measure can tell


def test_the_size_is_true_without_being_told(two_cards: Sheet) -> None:
    """cairosvg and resvg, asked for no size, take it from the mm of the file."""
    import cairosvg
    import resvg_py

    svg = sheet_svg(two_cards)
    for png in (cairosvg.svg2png(bytestring=svg), resvg_py.svg_to_bytes(svg_string=svg.decode(), dpi=96)):
        width, height = Image.open(io.BytesIO(bytes(png))).size
        assert abs(width - 377.95) < 1
        assert abs(height - 188.98) < 1


def test_valid_by_the_dtd_of_svg_11(two_cards: Sheet) -> None:
    """SVG 1.1 (second edition) of the W3C, from Debian's w3c-sgml-lib. It knows nothing of path data."""
    if not DTD.exists():
        pytest.skip("w3c-sgml-lib is not installed")
    from lxml import etree

    dtd = etree.DTD(str(DTD))
    assert dtd.validate(etree.fromstring(sheet_svg(two_cards))), dtd.error_log
    broken = sheet_svg(two_cards).replace(b' fill-rule="', b' fill-ruler="')
    assert not dtd.validate(etree.fromstring(broken))


def test_svgpathtools_reads_the_same_boxes(two_cards: Sheet) -> None:
    from lxml import etree
    from svgpathtools import parse_path

    root = etree.fromstring(sheet_svg(two_cards))
    for placement in two_cards.placements:
        for mark in placement.artwork.marks:
            name = f"{placement.artwork.piece}-{mark.operation}"
            data = root.xpath(f"//*[@id='{name}']/*[local-name()='path']/@d")
            boxes = np.array([parse_path(str(d)).bbox() for d in data])
            x0, x1, y0, y1 = boxes[:, 0].min(), boxes[:, 1].max(), boxes[:, 2].min(), boxes[:, 3].max()
            box = placement.artwork.burned(mark.operation).bounds()
            corners = np.array([complex(box.x0, box.y0), complex(box.x1, box.y1)]) * 1j**placement.quarters
            corners += complex(placement.x_um, placement.y_um) / 1000
            want = [corners.real.min(), corners.real.max(), corners.imag.min(), corners.imag.max()]
            assert [x0, x1, y0, y1] == pytest.approx(want, abs=0.001)
