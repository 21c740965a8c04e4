"""The finest of a line: by letters, between letters, thickened, and what is kept of it."""

from __future__ import annotations

import math
from itertools import pairwise
from pathlib import Path as FilePath

import numpy as np
import pytest
import shapely

from render.geometry import Path
from render.geometry.bending import curves_of, on_curves
from render.lettering import Letterer, Shelf
from render.lettering.finest import finest
from render.lettering.outlines import GlyphReader
from render.lettering.union import unite
from render.model import SetLine, Setting
from render.resources import folder

SHELF = Shelf((folder("fonts_open"),))


@pytest.fixture(scope="module")
def letterer() -> Letterer:
    return Letterer(SHELF)


def parts(path: Path) -> list[shapely.Polygon]:
    whole = shapely.Polygon()
    for contour in path.contours():
        c = curves_of(contour).controls
        at = on_curves(c, np.broadcast_to(np.arange(32) / 32, (len(c), 32))).reshape(-1)
        whole = whole.symmetric_difference(shapely.Polygon(np.stack((at.real, at.imag), 1)).buffer(0))
    return sorted(shapely.get_parts(whole).tolist(), key=lambda part: part.bounds[0])


def line(letterer: Letterer, text: str, font: str, size: float = 10, **more: float) -> SetLine:
    return SetLine(letterer.line(text, Setting(font)), size, 0j, **more)


@pytest.mark.parametrize(("text", "font"), [("LTVT", "montserrat"), ("LTVA", "cinzel"), ("rfk", "noto-sans")])
def test_gaps_between_letters_are_the_distances_of_their_outlines(
    letterer: Letterer, text: str, font: str
) -> None:
    """By GEOS on the finished outlines in mm."""
    each = line(letterer, text, font)
    drawn = parts(letterer.outlines([[each]])[0])
    least = min(a.distance(b) for a, b in pairwise(drawn))
    found = letterer.finest(each)
    assert found.gap == pytest.approx(least, abs=0.003)
    assert len(letterer.letters(found.gap_of, text)) == 2


def test_letters_that_touch_leave_no_gap(letterer: Letterer) -> None:
    alone = min(letterer.finest(line(letterer, c, "pacifico")).gap for c in "nm")
    assert letterer.finest(line(letterer, "nm", "pacifico")).gap >= alone * 0.999


def test_strokes_are_those_of_the_thinnest_letter(letterer: Letterer) -> None:
    font = SHELF.find("eb-garamond")
    reader = GlyphReader(font.data)
    by_letter = {}
    for letter in "Zoe":
        contours = unite(reader.contours(font.shaper.get_nominal_glyph(ord(letter)))).contours
        upem = font.upem
        fine = finest(contours, short=0.14 * upem, most=0.3 * upem, tolerance=5e-5 * upem)
        by_letter[letter] = fine.stroke / upem * 10
    found = letterer.finest(line(letterer, "Zoe", "eb-garamond"))
    thinnest = min(by_letter, key=by_letter.__getitem__)
    assert found.stroke == pytest.approx(by_letter[thinnest], rel=1e-4)
    assert letterer.letters(found.stroke_of, "Zoe") == thinnest


def test_single_strokes_have_neither(letterer: Letterer) -> None:
    assert letterer.finest(line(letterer, "Ana", "plain-hand")).stroke == math.inf


def test_thickened_lines_are_measured_as_they_will_be_drawn(letterer: Letterer) -> None:
    plain = line(letterer, "Ida", "playfair-display", 8)
    stout = line(letterer, "Ida", "playfair-display", 8, stroke=0.25, gap=0.15)
    assert letterer.finest(plain).stroke < 0.2
    assert letterer.finest(stout).stroke >= 0.24
    before, after = (sum(p.area for p in parts(path)) for path in letterer.outlines([[plain], [stout]]))
    assert 1.01 * before < after < 1.3 * before


def test_thickened_letters_that_were_apart_stay_apart(letterer: Letterer) -> None:
    """Cinzel's hairline serifs would meet if each letter grew where it stands."""
    text = "HILI"
    plain = line(letterer, text, "cinzel", 3)
    stout = line(letterer, text, "cinzel", 3, stroke=0.4, gap=0.3)
    drawn = [parts(path) for path in letterer.outlines([[plain], [stout]])]
    assert len(drawn[0]) == len(drawn[1]) == 4
    assert min(a.distance(b) for a, b in pairwise(drawn[1])) >= min(
        0.295, 0.99 * min(a.distance(b) for a, b in pairwise(drawn[0]))
    )
    middle = [(p[0].bounds[0] + p[-1].bounds[2]) / 2 for p in drawn]
    assert middle[0] == pytest.approx(middle[1], abs=0.05)


def test_what_was_measured_is_kept(tmp_path: FilePath, monkeypatch: pytest.MonkeyPatch) -> None:
    first = Letterer(SHELF, cache=tmp_path)
    each = line(first, "AVA", "montserrat")
    stout = line(first, "AVA", "cinzel", 6, stroke=0.3, gap=0.1)
    found = first.finest(each), first.finest(stout)
    first.keep()

    def not_again(*_: object, **__: object) -> None:
        raise AssertionError("measured again")

    monkeypatch.setattr("render.lettering.closeness.finest_of_letter", not_again)
    monkeypatch.setattr("render.lettering.stouter.drawn_stouter", not_again)
    second = Letterer(SHELF, cache=tmp_path)
    assert (second.finest(each), second.finest(stout)) == found
    for file in tmp_path.glob("*.json"):
        file.write_text("{}")
    with pytest.raises(AssertionError, match="again"):
        Letterer(SHELF, cache=tmp_path).finest(stout)


def test_letters_that_stay_as_they_were_are_not_measured_again(
    letterer: Letterer, monkeypatch: pytest.MonkeyPatch
) -> None:
    plain = line(letterer, "Anna", "montserrat", 12)
    stout = line(letterer, "Anna", "montserrat", 12, stroke=0.3, gap=0.2)
    thin = line(letterer, "Anna", "playfair-display", 12, stroke=0.4, gap=0.2)

    def not_again(*_: object, **__: object) -> None:
        raise AssertionError("measured again")

    monkeypatch.setattr("render.lettering.closeness.finest_of_letter", not_again)
    assert letterer.finest(stout) == letterer.finest(plain)
    with pytest.raises(AssertionError, match="again"):
        letterer.finest(thin)
