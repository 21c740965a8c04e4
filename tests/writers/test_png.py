"""Drawings as PNG, with and without libcairo."""

from __future__ import annotations

import io
import json
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from render.errors import OutputError
from render.model import Sheet
from render.writers.png import ENGINES, render_png, why_no_cairo
from render.writers.pngbytes import packed, with_density
from render.writers.svg import sheet_svg

HOME = Path(__file__).parents[2]
MASK = """
import cffi
real = cffi.FFI.dlopen
def dlopen(self, name, *flags):
    if name and "cairo" in str(name):
        raise OSError(f"cannot load library {name!r}")
    return real(self, name, *flags)
cffi.FFI.dlopen = dlopen
"""
"""What happens where the system has no libcairo: the library's import raises OSError, not ImportError."""


def _grey(png: bytes) -> np.ndarray:
    image = Image.open(io.BytesIO(png)).convert("RGBA")
    white = Image.new("RGBA", image.size, "white")
    return np.asarray(Image.alpha_composite(white, image).convert("L"), float)


def test_true_size(two_cards: Sheet) -> None:
    """CSS Values and Units Level 3: 1in = 96px = 25.4mm, so that 100 × 50 mm is 377.95 × 188.98 px."""
    picture = render_png(sheet_svg(two_cards))
    assert (picture.width, picture.height) == (378, 189)
    image = Image.open(io.BytesIO(picture.png))
    assert image.size == (378, 189)
    assert render_png(sheet_svg(two_cards), dpi=254).width == 1000
    assert render_png(sheet_svg(two_cards), width_px=500).height == 250


def test_the_picture_says_how_large_it_is(two_cards: Sheet) -> None:
    image = Image.open(io.BytesIO(render_png(sheet_svg(two_cards), dpi=254).png))
    assert image.info["dpi"] == pytest.approx((254, 254), abs=0.02)


def test_a_size_that_a_renderer_wrote_is_replaced() -> None:
    stream = io.BytesIO()
    Image.new("L", (4, 4)).save(stream, "PNG", dpi=(300, 300))
    twice = with_density(stream.getvalue(), 10)
    assert twice.count(b"pHYs") == 1
    assert Image.open(io.BytesIO(twice)).info["dpi"] == pytest.approx((254, 254), abs=0.02)
    Image.open(io.BytesIO(twice)).load()


def test_opaque_pixels_are_packed_as_they_are() -> None:
    """Read back by Pillow."""
    pixels = np.random.default_rng(7).integers(0, 256, (5, 7, 4), np.uint8)
    pixels[..., 3] = 255
    png = packed(pixels.tobytes(), 7, 5)
    assert png is not None
    image = Image.open(io.BytesIO(png))
    assert image.mode == "RGB"
    assert (np.asarray(image) == pixels[..., 2::-1]).all()
    pixels[2, 3, 3] = 254
    assert packed(pixels.tobytes(), 7, 5) is None
    assert packed(pixels.tobytes(), 7, 4) is None


def test_the_renderers_agree(two_cards: Sheet) -> None:
    svg = sheet_svg(two_cards)
    assert list(ENGINES) == ["cairosvg", "resvg"]
    drawn = [_grey(engine(svg, 1000, 500)) for engine in ENGINES.values()]
    assert drawn[0].shape == drawn[1].shape == (500, 1000)
    assert np.abs(drawn[0] - drawn[1]).mean() < 0.5  # of 255: edges only, 0.15 when recorded
    for grey in drawn:
        assert grey[170, 230] > 250  # the leaf's hole is open
        assert 80 < grey[120, 250] < 120  # and the leaf filled


def test_without_libcairo_the_other_renderer_draws_and_says_so(two_cards: Sheet, tmp_path: Path) -> None:
    (tmp_path / "sheet.svg").write_bytes(sheet_svg(two_cards))
    code = MASK + (
        "import json, pathlib, sys\n"
        "import render, render.writers\n"
        "from render.writers.png import render_png, why_no_cairo\n"
        "folder = pathlib.Path(sys.argv[1])\n"
        "picture = render_png((folder / 'sheet.svg').read_bytes())\n"
        "(folder / 'sheet.png').write_bytes(picture.png)\n"
        "print(json.dumps([picture.engine, picture.note, picture.width, why_no_cairo()]))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(tmp_path)], capture_output=True, text=True, cwd=HOME, check=False
    )
    assert done.returncode == 0, done.stderr
    engine, note, width, why = json.loads(done.stdout)
    assert (engine, width) == ("resvg", 378)
    assert "libcairo" in note
    assert "install" in note
    assert "cairo" in why
    here = render_png(sheet_svg(two_cards))
    assert np.abs(_grey((tmp_path / "sheet.png").read_bytes()) - _grey(here.png)).mean() < 1


def test_with_no_renderer_at_all_the_message_says_what_to_do(two_cards: Sheet, tmp_path: Path) -> None:
    (tmp_path / "sheet.svg").write_bytes(sheet_svg(two_cards))
    code = MASK + (
        "import pathlib, sys\n"
        "sys.modules['resvg_py'] = None\n"
        "from render.errors import OutputError\n"
        "from render.writers.png import render_png\n"
        "try:\n    render_png(pathlib.Path(sys.argv[1]).read_bytes())\n"
        "except OutputError as error:\n    print(error)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(tmp_path / "sheet.svg")],
        capture_output=True, text=True, cwd=HOME, check=True,
    )  # fmt: skip
    assert "no renderer" in done.stdout
    assert "install libcairo" in done.stdout


def test_importing_brings_in_no_renderer() -> None:
    heavy = "('cairosvg', 'resvg_py', 'lxml')"
    code = f"import sys, render.writers.png; print([m for m in {heavy} if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=HOME, check=True)
    assert done.stdout.strip() == "[]"


OPEN = '<svg xmlns="http://www.w3.org/2000/svg" width="10mm" height="10mm" viewBox="0 0 10 10">'


@pytest.mark.parametrize(
    "body",
    [
        '<image href="file:///etc/passwd"/>',
        '<g><use xlink:href="#a"/></g>',
        "<script>1</script>",
        "<style>*{}</style>",
        "<text>a</text>",
        '<path d="M0 0" fill="url(#a)"/>',
        '<path d="M0 0" HREF="x"/>',
        "<!-- -->",
        "&lol;",
    ],
)
def test_a_drawing_that_is_not_ours_is_refused(body: str) -> None:
    with pytest.raises(OutputError, match="only drawings made by Monikerf"):
        render_png(f"{OPEN}{body}</svg>".encode())


def test_a_document_type_is_refused() -> None:
    with pytest.raises(OutputError, match="only drawings"):
        render_png(f"<!DOCTYPE svg [<!ENTITY a 'b'>]>{OPEN}</svg>".encode())


def test_a_customer_may_be_called_anything(two_cards: Sheet) -> None:
    svg = f"{OPEN}<title>href=url(x) &amp; co</title></svg>"
    assert render_png(svg.encode()).width == 38


@pytest.mark.parametrize("size", ['width="x" height="1mm"', 'width="0mm" height="1mm"', 'height="1mm"'])
def test_a_drawing_without_a_size_is_refused(size: str) -> None:
    with pytest.raises(OutputError):
        render_png(f'<svg xmlns="http://www.w3.org/2000/svg" {size}></svg>'.encode())


def test_a_picture_too_large_is_refused(two_cards: Sheet) -> None:
    with pytest.raises(OutputError, match="pixels cannot be drawn"):
        render_png(sheet_svg(two_cards), width_px=1_000_000)


def test_libcairo_is_here() -> None:
    """The fallback must not hide that the tests themselves ran without the usual renderer."""
    assert why_no_cairo() == ""
