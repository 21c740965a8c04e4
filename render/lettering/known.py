"""How fine the letters of the shipped fonts are: facts of their files, measured once and shipped beside them.

``python -m render.lettering.catalogue`` writes them after a font was added or changed, or after
:data:`render.lettering.closeness.FORMAT` was raised. A font's measures bear its file's SHA-256, so that they
never stand for another file; a letter that is not in the table is measured when it is needed.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterable
from functools import cache
from itertools import repeat
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from render.resources import folder

if TYPE_CHECKING:
    from render.lettering.font import Font

FINEST: Final = "finest.json"
"""The table: by SHA-256, glyph numbers with thinnest stroke and narrowest gap, in millionths of an em."""

_MILLIONTHS: Final = 1_000_000
_NONE: Final = -1


@cache
def known_of(sha256: str, fmt: int) -> dict[int, tuple[float, float]]:
    """The thinnest stroke and narrowest gap, em, of each glyph of a shipped font that is in the table.

    Args:
        sha256: of the font file.
        fmt: the way of measuring that is in force; what was measured in another is left alone.
    """
    table = _table()
    rows = table["fonts"].get(sha256, []) if table.get("format") == fmt else []
    return {gid: (_length(stroke), _length(gap)) for gid, stroke, gap in rows}


@cache
def _table() -> dict[str, Any]:
    try:
        return dict(json.loads((folder("fonts_open") / FINEST).read_text("utf-8")))
    except (OSError, ValueError):
        return {}  # then everything is measured when it is needed


def _length(millionths: int) -> float:
    return math.inf if millionths == _NONE else millionths / _MILLIONTHS


def glyphs_of(font: Font) -> list[int]:
    """The glyphs that common names are set in: of every letter by itself and beside others."""
    from render.lettering.catalogue import ALPHABETS
    from render.lettering.shaping import shape

    plain = "".join(map(chr, range(0x21, 0x7F))) + "‘’“”–—·"
    letters = [c for text in (plain, *ALPHABETS.values()) for c in text if c in font.covered]
    texts = [*letters, *(a + b for a in letters for b in letters if a.isascii() and b.isascii())]
    texts += [a + a + a for a in letters]
    found: set[int] = set()
    for begin in range(0, len(texts), 400):
        found.update(shape(font, " ".join(texts[begin : begin + 400]), font_key="").run.gids)
    return sorted(found)


def measured(font: Font, gids: Iterable[int]) -> list[list[int]]:
    """Rows of the table for glyphs of a font; some 20 ms each."""
    from render.lettering.closeness import Closeness
    from render.lettering.outlines import GlyphReader
    from render.lettering.stitch import Stitcher

    closeness = Closeness(Stitcher(GlyphReader(font.data)).glyph, font.upem)
    rows = []
    for gid in gids:
        lengths = closeness.of_glyph(gid)
        rows.append([gid, *(round(x * _MILLIONTHS) if math.isfinite(x) else _NONE for x in lengths)])
    return rows


def write(where: Path) -> None:
    """Measure the fonts of a folder and write their table."""
    from concurrent.futures import ProcessPoolExecutor

    from render.lettering.closeness import FORMAT
    from render.lettering.shelf import Shelf

    shelf = Shelf((where,))
    fonts = [shelf.find(name) for name in shelf.ids()]
    with ProcessPoolExecutor() as pool:
        rows = list(pool.map(_rows, shelf.ids(), repeat(where)))
    lines = [
        f'    "{f.sha256}": {json.dumps(r, separators=(",", ":"))}' for f, r in zip(fonts, rows, strict=True)
    ]
    text = f'{{\n  "format": {FORMAT},\n  "fonts": {{\n' + ",\n".join(lines) + "\n  }\n}\n"
    (where / FINEST).write_text(text, encoding="utf-8", newline="\n")


def _rows(id_: str, where: Path) -> list[list[int]]:
    from render.lettering.shelf import Shelf

    font = Shelf((where,)).find(id_)
    return measured(font, glyphs_of(font))
