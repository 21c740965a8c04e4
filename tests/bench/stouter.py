"""Milliseconds a glyph to measure how fine it is and to make its thin strokes stouter, font by font.

Run it by hand, alone on the machine::

    python tests/bench/stouter.py [--rounds 5] [--order 40] [FONT ...]

Each glyph's time is the least of several rounds, in processor time of this process. An order is so many
invented names in Great Vibes or the font named, set at 6 mm with strokes of 0.25 mm and gaps of 0.2 mm, from
nothing: shaped, thickened, kept apart, measured and drawn.
"""

from __future__ import annotations

import argparse
import statistics
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from time import process_time

sys.path[:0] = [str(Path(__file__).parents[2]), str(Path(__file__).parent)]

from invented import invented  # noqa: E402

from render.lettering import Letterer, Shelf  # noqa: E402
from render.lettering.finest import finest_of_letter  # noqa: E402
from render.lettering.outlines import GlyphReader  # noqa: E402
from render.lettering.stouter import Stoutness  # noqa: E402
from render.lettering.thicken import thickened  # noqa: E402
from render.lettering.union import unite  # noqa: E402
from render.model import SetLine, Setting  # noqa: E402
from render.resources import folder  # noqa: E402

FONTS = ("great-vibes", "playfair-display", "pinyon-script", "eb-garamond", "cinzel")
LETTERS = "aeghkostABRS&8@é"
STROKE, GAP, SIZE = 0.25, 0.2, 6.0


def least(rounds: int, job: Callable[[], object]) -> float:
    """Milliseconds, the least of some rounds."""
    took = []
    for _ in range(rounds):
        begun = process_time()
        job()
        took.append(1000 * (process_time() - begun))
    return min(took)


def glyphs(shelf: Shelf, name: str, rounds: int) -> list[tuple[float, float, float]]:
    """For each letter of a font what it takes to measure it, to thicken it, and to measure it then."""
    font = shelf.find(name)
    reader = GlyphReader(font.data)
    wanted = Stoutness.of(STROKE, GAP, SIZE).wanted(font.upem)
    told = []
    for letter in LETTERS:
        gid = font.shaper.get_nominal_glyph(ord(letter))
        plain = unite(reader.contours(gid)).contours
        stout = thickened(plain, wanted).contours
        told.append(
            (
                least(rounds, lambda p=plain: finest_of_letter(p, font.upem)),  # type: ignore[misc]
                least(rounds, lambda p=plain: thickened(p, wanted)),  # type: ignore[misc]
                least(rounds, lambda s=stout: finest_of_letter(s, font.upem)),  # type: ignore[misc]
            )
        )
    return told


def order(shelf: Shelf, name: str, count: int) -> tuple[float, float]:
    """Seconds for an order from nothing: thickened, kept apart and drawn; and then measured."""
    letterer = Letterer(shelf)
    lines = [letterer.line(text, Setting(name)) for text in invented(count)]
    placed = [SetLine(line, SIZE, 0j, stroke=STROKE, gap=GAP) for line in lines]
    begun = process_time()
    letterer.outlines([[line] for line in placed])
    drawn = process_time()
    for line in placed:
        letterer.finest(line, GAP)
    return drawn - begun, process_time() - drawn


def main() -> None:
    """Print a table."""
    ask = argparse.ArgumentParser()
    ask.add_argument("--rounds", type=int, default=5)
    ask.add_argument("--order", type=int, default=40)
    ask.add_argument("fonts", nargs="*", default=FONTS)
    asked = ask.parse_args()
    shelf = Shelf((folder("fonts_open"),))
    print(f"{'ms a glyph, median':24} measure  thicken  measure then   order: drawn, measured, s")
    whole = []
    for name in asked.fonts:
        told = [statistics.median(column) for column in zip(*glyphs(shelf, name, asked.rounds), strict=True)]
        whole.append((*told, *order(shelf, name, asked.order)))
        show(name, whole[-1])
    show("median of fonts", [statistics.median(column) for column in zip(*whole, strict=True)])


def show(name: str, told: Sequence[float]) -> None:
    """Print a row."""
    print(f"{name:24} {told[0]:7.1f}  {told[1]:7.1f}  {told[2]:12.1f}   {told[3]:13.2f} {told[4]:9.2f}")


if __name__ == "__main__":
    main()
