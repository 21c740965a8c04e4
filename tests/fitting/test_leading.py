"""Lines of one text never touch."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
import shapely

from render.fitting import fit_order
from render.fitting.leading import INK_GAP_EM
from render.geometry import Path
from render.geometry.bending import curves_of, on_curves
from render.geometry.shapes import ellipse, rectangle
from render.lettering import Letterer, Shelf
from render.model import SKYLINE_STEP, Align, FitRule, LetterRequest, Operation, SetLine, Setting, SizePolicy
from render.resources import folder

NAMES = ["JOSIE ADEYEMI", "Peggy Fjeldstad", "Gyöngyi Åberg", "Jürg Ängström-Łysy", "Quincy Jeffery Ball"]


@pytest.fixture(scope="module")
def letterer() -> Letterer:
    return Letterer(Shelf((folder("fonts_open"),)))


def drawn(path: Path) -> shapely.Geometry:
    controls = curves_of(path).controls
    t = np.linspace(0, 1, 9)
    at = on_curves(controls, np.broadcast_to(t, (len(controls), t.size)))
    return shapely.union_all(shapely.linestrings(np.stack((at.real, at.imag), axis=2)))


@pytest.mark.parametrize("font", ["great-vibes", "pinyon-script", "eb-garamond", "lobster"])
@pytest.mark.parametrize("align", list(Align))
def test_ink_keeps_its_distance(font: str, align: Align, letterer: Letterer) -> None:
    rule = FitRule(SizePolicy.EACH, align, most_lines=3, leading=0.7, largest=30, smallest=2)
    area = ellipse(25 + 20j, 25, 20) if align is Align.MIDDLE else rectangle(0, 0, 40, 40)
    requests = [
        LetterRequest(f"p{k}", "name", name, Setting(font), Operation.ENGRAVE, rule, area)
        for k, name in enumerate(NAMES)
    ]
    several = 0
    for fitted in fit_order(requests, letterer.line, letterer.skyline):
        assert fitted.lines
        alone = [drawn(letterer.outlines([(line,)])[0]) for line in fitted.lines]
        for above, below in itertools.pairwise(alone):
            several += 1
            assert above.distance(below) > 0.6 * INK_GAP_EM * fitted.lines[0].size
    assert several >= len(NAMES)


def test_lines_that_do_not_meet_keep_the_leading_that_was_asked_for(letterer: Letterer) -> None:
    rule = FitRule(SizePolicy.FIXED, most_lines=2, leading=1.4, largest=8)
    request = LetterRequest(
        "p", "name", "Anna Sommer", Setting("montserrat"), Operation.ENGRAVE, rule, rectangle(0, 0, 45, 40)
    )
    (fitted,) = fit_order([request], letterer.line, letterer.skyline)
    first, second = fitted.lines
    assert (second.origin - first.origin).imag == pytest.approx(1.4 * 8)


def test_a_skyline_lies_round_the_ink(letterer: Letterer) -> None:
    line = letterer.line("Jüngling", Setting("great-vibes"))
    sky = letterer.skyline(line)
    assert sky is not None
    assert line.ink is not None
    assert sky.tops.min() == pytest.approx(line.ink.y0, abs=0.01)
    assert sky.bottoms.max() == pytest.approx(line.ink.y1, abs=0.01)
    (path,) = letterer.outlines([(SetLine(line, 1.0, 0j),)])
    at = on_curves(curves_of(path).controls, np.full(len(curves_of(path).controls), 0.3))
    column = np.floor(at.real / SKYLINE_STEP).astype(int) - sky.first
    assert (at.imag >= sky.tops[column] - 0.01).all()
    assert (at.imag <= sky.bottoms[column] + 0.01).all()
    assert letterer.skyline(letterer.line(" ", Setting("great-vibes"))) is None
