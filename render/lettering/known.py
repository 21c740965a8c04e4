"""How fine the letters of the shipped fonts are: facts of their files, measured once and shipped beside them.

``python -m render.lettering.catalogue`` writes them after a font was added or changed, or after
:data:`render.lettering.closeness.FORMAT` was raised. A font's measures bear its file's SHA-256, so that they
never stand for another file; a letter that is not in the table is measured when it is needed.
"""

from __future__ import annotations

import json
import math
from functools import cache
from typing import Any, Final

from render.resources import folder

FINEST: Final = "finest.json"
"""The table: by SHA-256, glyph numbers with thinnest stroke and narrowest gap, in millionths of an em."""

MILLIONTHS: Final = 1_000_000
NONE: Final = -1


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
    return math.inf if millionths == NONE else millionths / MILLIONTHS
