"""Where upright letters stand in a column: by what their font says, or in cells of our own.

A font for columns says how far down each letter takes the pen and where it hangs (OpenType 1.9, "vmtx",
"VORG"). Many fonts say nothing, and some are seen to say what cannot be: letters that lie outside their cell
or over one another. There each letter stands in a cell one em high, all in the same place, so that small
kana, commas and the long-vowel mark keep theirs.
"""

from __future__ import annotations

from typing import Any, Final

from render.lettering.font import Font

_FULL: Final = "国東語愛한빛각철국あかアホ"
"""Letters that fill their cells."""

_SIGNS: Final = "Hani"
"""The script as which signs are asked for their forms."""

_SPILL: Final = 0.15
"""How far, in em, the ink of such a letter may lie outside its cell before we stop believing the font."""


def cell_top(font: Font) -> int | None:
    """Height of the top of a cell of our own above the baseline, font units; None if the font says it well.

    The letters that fill their cells lie in the middle of them (derived here).
    """
    shaper = font.shaper
    ink = [
        (gid, shaper.get_glyph_extents(gid))
        for gid in (shaper.get_nominal_glyph(ord(c)) for c in _FULL)
        if gid is not None
    ]
    if not ink or (_says(font) and all(_inside(shaper, gid, box, font.upem) for gid, box in ink)):
        return None
    high: float = max(box.y_bearing for _, box in ink)
    low: float = min(box.y_bearing + box.height for _, box in ink)
    return round((high + low + font.upem) / 2)


def has_form(font: Font, character: str) -> bool:
    """Whether a font has a form of a character for columns (features ``vert`` and ``vrt2``)."""
    import uharfbuzz as hb

    buffer = hb.Buffer()
    buffer.add_str(character)
    buffer.direction = "ttb"
    buffer.script = _SIGNS
    hb.shape(font.shaper, buffer)
    return [info.codepoint for info in buffer.glyph_infos] != [font.shaper.get_nominal_glyph(ord(character))]


def _says(font: Font) -> bool:
    return {"vhea", "vmtx"} <= set(font.shaper.face.table_tags)


def _inside(shaper: Any, gid: int, box: Any, upem: int) -> bool:
    """Whether the ink of a letter is where the font says its cell is."""
    _, origin = shaper.get_glyph_v_origin(gid)
    height = abs(shaper.get_glyph_v_advance(gid))
    top, foot = box.y_bearing - origin, box.y_bearing + box.height - origin
    return bool(top <= _SPILL * upem and foot >= -height - _SPILL * upem)
