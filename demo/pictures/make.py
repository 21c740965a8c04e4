"""Makes the pictures of the README anew: python demo/pictures/make.py."""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path

from PIL import Image

HERE = Path(__file__).resolve().parent
DEMO = HERE.parent


def monikerf(*words: object) -> None:
    """Run a command of this checkout."""
    subprocess.run([sys.executable, "-m", "render.cli", *map(str, words)], check=True, cwd=DEMO.parent,
                   stdout=subprocess.DEVNULL)  # fmt: skip


def keep(source: Path, name: str, width: int, box: tuple[float, float, float, float] = (0, 0, 1, 1)) -> None:
    """A part of a picture (shares of its width and height), `width` pixels wide, in few colours."""
    with Image.open(source) as picture:
        w, h = picture.size
        part = picture.convert("RGB").crop(
            (int(box[0] * w), int(box[1] * h), int(box[2] * w), int(box[3] * h))
        )
    part = part.resize((width, round(width * part.height / part.width)), Image.Resampling.LANCZOS)
    part.quantize(128, dither=Image.Dither.NONE).save(HERE / name, optimize=True)


def main() -> None:
    """Make all of them."""
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder)
        for kind in ("templates", "fonts"):
            monikerf("show", kind, "--picture", out / f"{kind}.png")
            keep(out / f"{kind}.png", f"{kind}.png", 1100)
        monikerf("batch", "demo/wedding/guests.csv", "-t", "place-card", "-o", out / "w")
        keep(out / "w" / "proof.png", "wedding-proof.png", 1100, (0, 0, 1, 0.38))
        draw_sheet(out / "w" / "sheet-2.svg", out / "sheet.png")
        keep(out / "sheet.png", "wedding-sheet.png", 1100)


def draw_sheet(sheet: Path, png: Path) -> None:
    """A sheet as a picture on white, its hairlines thick enough to be seen."""
    from render.writers.png import render_png

    svg = sheet.read_bytes().replace(b'stroke-width="0.1"', b'stroke-width="0.35"')
    head, _, rest = svg.partition(b"<title>")
    svg = head + b'<rect width="100%" height="100%" fill="#ffffff"/><title>' + rest
    png.write_bytes(render_png(svg, width_px=2200).png)


if __name__ == "__main__":
    main()
