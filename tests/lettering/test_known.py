"""The table of how fine the shipped fonts' letters are says what measuring says."""

from __future__ import annotations

import math

import pytest

from render.lettering import Shelf
from render.lettering.catalogue import ALPHABETS
from render.lettering.closeness import FORMAT
from render.lettering.knowing import glyphs_of, measured
from render.lettering.known import known_of
from render.resources import folder

SHELF = Shelf((folder("fonts_open"),))
STEP = 37
"""Every so manieth glyph is measured anew."""


@pytest.mark.parametrize("id_", SHELF.ids())
def test_the_table_agrees_with_the_font(id_: str) -> None:
    font = SHELF.find(id_)
    known = known_of(font.sha256, FORMAT)
    gids = glyphs_of(font, ALPHABETS.values())
    assert set(gids) <= set(known)
    for gid, stroke, gap in measured(font, gids[::STEP]):
        for length, millionths in zip(known[gid], (stroke, gap), strict=True):
            assert length == (math.inf if millionths < 0 else pytest.approx(millionths / 1e6, abs=2e-6))


def test_another_file_or_way_of_measuring_is_not_in_it() -> None:
    font = SHELF.find("great-vibes")
    assert known_of("0" * 64, FORMAT) == {}
    assert known_of(font.sha256, FORMAT + 1) == {}
