"""Several lines in an oval, a diamond, a shield and a heart: inside, and never smaller than in the middle."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from render.fitting import fit_order, seats
from render.fitting.regions import region_of
from render.geometry import Path
from render.geometry.bending import curves_of, on_curves
from render.geometry.pathtext import parse_path
from render.geometry.shapes import ellipse
from render.lettering import Letterer, Shelf
from render.model import Align, FitRule, LetterRequest, Operation, Setting, SizePolicy
from render.resources import folder

SHAPES = {
    "oval": ellipse(40 + 25j, 38, 23),
    "diamond": Path.polygon([40 + 0j, 80 + 25j, 40 + 50j, 25j]),
    "shield": parse_path("M5 3 H75 V25 C75 40 55 47 40 50 C25 47 5 40 5 25 Z"),
    "heart": parse_path("M40 50 C10 32 4 20 6 12 C9 1 31 -1 40 13 C49 -1 71 1 74 12 C76 20 70 32 40 50 Z"),
    "holed": Path.joined(
        [parse_path("M0 0 H80 V50 H0 Z"), parse_path("M36 4 V12 H44 V4 Z")]  # runs the other way: a hole
    ),
}
NAMES = [
    "Anna Maria Kowalska",
    "Jo Featherstonehaugh",
    "Wilhelmina Ng",
    "To the best nan in all the wide world",
]


@pytest.fixture(scope="module")
def letterer() -> Letterer:
    return Letterer(Shelf((folder("fonts_open"),)))


def polygon(path: Path) -> shapely.Geometry:
    whole = shapely.Polygon()
    for contour in path.contours():
        c = curves_of(contour).controls
        at = on_curves(c, np.broadcast_to(np.arange(64) / 64, (len(c), 64))).reshape(-1)
        ring = shapely.Polygon(np.stack((at.real, at.imag), axis=1)).buffer(0)
        whole = whole.symmetric_difference(ring)
    return whole


def requests(texts, area, font, **rule):
    fit = FitRule(**({"policy": SizePolicy.EACH, "largest": 60, "smallest": 2, "most_lines": 4} | rule))
    return [
        LetterRequest(f"p{k}", "s", text, Setting(font), Operation.ENGRAVE, fit, area)
        for k, text in enumerate(texts)
    ]


@pytest.mark.parametrize("font", ["great-vibes", "montserrat"])
@pytest.mark.parametrize("shape", SHAPES)
def test_the_ink_is_inside_and_no_smaller_than_in_the_middle(letterer, monkeypatch, shape, font) -> None:
    area = SHAPES[shape]
    asked = requests(NAMES, area, font, joined=font == "great-vibes")
    free = fit_order(asked, letterer.line, letterer.skyline)
    room = polygon(area).buffer(0.006)
    for path in letterer.outlines([f.lines for f in free]):
        assert room.contains(polygon(path))
    monkeypatch.setattr(seats.Flat, "_place_freely", lambda *_: None)
    monkeypatch.setattr(seats.Flat, "guess", lambda *_: 0.0)
    middle = fit_order(asked, letterer.line, letterer.skyline)
    gains = [f.lines[0].size / m.lines[0].size for f, m in zip(free, middle, strict=True)]
    assert min(gains) >= 1.0
    if shape in ("diamond", "heart"):
        assert np.mean(gains) > 1.1


@settings(max_examples=25, deadline=None)
@given(
    st.lists(st.text("aceimnoghlpWA", min_size=1, max_size=7), min_size=2, max_size=4),
    st.sampled_from(sorted(SHAPES)),
)
def test_boxes_stay_inside_too(measure, words, shape) -> None:
    """Without skylines a line is its box: all four corners lie in the region, as shapely sees it."""
    area = SHAPES[shape]
    (fitted,) = fit_order(requests([" ".join(words)], area, "hand", smallest=0.5), measure)
    room = polygon(area).buffer(0.003)
    for line in fitted.lines:
        box = line.line.ink.scaled(line.size).moved(line.origin.real, line.origin.imag)
        assert room.contains(shapely.box(box.x0, box.y0, box.x1, box.y1))


@pytest.mark.parametrize("shape", ["oval", "diamond", "shield", "heart"])
def test_room_by_column_is_the_region_cut_by_uprights(shape) -> None:
    """Shapely cuts the region along both sides of a column and in its middle: the least room of the three."""
    area = SHAPES[shape]
    hollow, whole = region_of(area).hollow, polygon(area)
    x0, step = hollow._left, hollow._step
    for column in range(3, 1021, 47):
        cuts = []
        for x in (x0 + column * step, x0 + (column + 0.5) * step, x0 + (column + 1) * step):
            cut = shapely.intersection(whole, shapely.linestrings([[x, -99], [x, 99]]))
            cuts.append(max(shapely.get_parts(cut).tolist(), key=lambda part: part.length).bounds)
        assert hollow._tops[0][column] == pytest.approx(max(cut[1] for cut in cuts), abs=0.03)
        assert hollow._bottoms[0][column] == pytest.approx(min(cut[3] for cut in cuts), abs=0.03)


@given(st.integers(1, 40), st.floats(0.3, 900), st.floats(0, 120))
def test_many_columns_at_once_are_the_worst_of_each(count, width, left) -> None:
    """The quick way (two runs of columns that overlap) against each column by itself."""
    from render.fitting.hollows import Block, Hollow
    from render.model import SKYLINE_STEP

    rng = np.random.default_rng(count)
    hollow = Hollow(0.0, 0.1, rng.random(1024), 5 + rng.random(1024))
    size = width / 100
    edges = np.arange(count) * SKYLINE_STEP
    block = Block(
        edges, edges + SKYLINE_STEP, np.zeros(count), np.ones(count), 1.0,
        np.zeros(count, bool), 0.0, float(edges[-1] + SKYLINE_STEP), False,
    )  # fmt: skip
    x = left * (102.4 - block.right * size) / 120
    low, high = hollow.between(block, x, size)
    each = hollow.between(replace(block, boxed=True), x, size)
    assert (low, high) == pytest.approx(each)


def test_lettering_that_begins_at_an_edge_stays_there(letterer) -> None:
    asked = requests(["Anna Maria Kowalska"], SHAPES["heart"], "montserrat", align=Align.START)
    (fitted,) = fit_order(asked, letterer.line, letterer.skyline)
    lefts = [line.origin.real + line.line.ink.x0 * line.size for line in fitted.lines]
    assert lefts == pytest.approx([lefts[0]] * len(lefts))
