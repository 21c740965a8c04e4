"""Measures how fine the letters of a folder's fonts are: the table of :mod:`render.lettering.known`."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable
from itertools import repeat
from pathlib import Path

from render.lettering.closeness import FORMAT, Closeness
from render.lettering.font import Font
from render.lettering.known import FINEST, MILLIONTHS, NONE
from render.lettering.outlines import GlyphReader
from render.lettering.shaping import shape
from render.lettering.shelf import Shelf
from render.lettering.stitch import Stitcher


def glyphs_of(font: Font, alphabets: Iterable[str]) -> list[int]:
    """The glyphs that common names are set in: of every letter by itself and beside others."""
    plain = "".join(map(chr, range(0x21, 0x7F))) + "‘’“”–—·"
    letters = [c for text in (plain, *alphabets) for c in text if c in font.covered]
    texts = [*letters, *(a + b for a in letters for b in letters if a.isascii() and b.isascii())]
    texts += [a + a + a for a in letters]
    found: set[int] = set()
    for begin in range(0, len(texts), 400):
        found.update(shape(font, " ".join(texts[begin : begin + 400]), font_key="").run.gids)
    return sorted(found)


def measured(font: Font, gids: Iterable[int]) -> list[list[int]]:
    """Rows of the table for glyphs of a font; some 20 ms each."""
    closeness = Closeness(Stitcher(GlyphReader(font.data)).glyph, font.upem)
    rows = []
    for gid in gids:
        lengths = closeness.of_glyph(gid)
        rows.append([gid, *(round(x * MILLIONTHS) if math.isfinite(x) else NONE for x in lengths)])
    return rows


def write(where: Path, alphabets: Iterable[str]) -> None:
    """Measure the fonts of a folder and write their table."""
    from concurrent.futures import ProcessPoolExecutor

    shelf = Shelf((where,))
    fonts = [shelf.find(name) for name in shelf.ids()]
    with ProcessPoolExecutor() as pool:
        rows = list(pool.map(_rows, shelf.ids(), repeat(where), repeat(tuple(alphabets))))
    lines = [
        f'    "{f.sha256}": {json.dumps(r, separators=(",", ":"))}' for f, r in zip(fonts, rows, strict=True)
    ]
    text = f'{{\n  "format": {FORMAT},\n  "fonts": {{\n' + ",\n".join(lines) + "\n  }\n}\n"
    (where / FINEST).write_text(text, encoding="utf-8", newline="\n")


def _rows(id_: str, where: Path, alphabets: tuple[str, ...]) -> list[list[int]]:

    font = Shelf((where,)).find(id_)
    return measured(font, glyphs_of(font, alphabets))
