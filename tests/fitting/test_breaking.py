"""Long texts in shapes: what the search proposes against every way of breaking there is."""

from __future__ import annotations

from itertools import combinations, pairwise

import pytest

from render.fitting import fit_order
from render.fitting.breaking import proposed
from render.fitting.forms import Form, Setter, pieces
from render.fitting.regions import region_of
from render.fitting.remedies import largest
from render.fitting.seats import Flat
from render.geometry import Path
from render.geometry.pathtext import parse_path
from render.geometry.shapes import ellipse, rectangle
from render.model import FitRule, Setting, SizePolicy

SHAPES = {
    "oval": ellipse(40 + 25j, 38, 23),
    "diamond": Path.polygon([40 + 0j, 80 + 25j, 40 + 50j, 25j]),
    "wedge": Path.polygon([0j, 80 + 0j, 40 + 60j]),
    "heart": parse_path("M40 50 C10 32 4 20 6 12 C9 1 31 -1 40 13 C49 -1 71 1 74 12 C76 20 70 32 40 50 Z"),
    "sheet": rectangle(0, 0, 80, 50),
}
TEXT = "mia lina ham wilhelma and a nice old gnome hung ten lampions on a pole"


@pytest.mark.parametrize("shape", SHAPES)
def test_it_is_within_3_per_cent_of_the_best_of_all_ways(measure, shape) -> None:
    """All 286 ways of breaking 14 words into four lines, each as large as it may be."""
    rule = FitRule(policy=SizePolicy.EACH, largest=40, smallest=1, most_lines=4)
    seat = Flat(region_of(SHAPES[shape]), rule, 0.3, SHAPES[shape].bounds().centre.y)
    setting = Setting("hand")
    setter = Setter(TEXT, setting, rule, measure)
    words = pieces(TEXT)
    assert "".join(words) == TEXT
    every = []
    for ends in combinations(range(1, len(words)), 3):
        texts = ["".join(words[a:b]).strip() for a, b in pairwise((0, *ends, len(words)))]
        every.append(Form(tuple(measure(text, setting) for text in texts)))
    _, best = largest(every, seat, 1, 40)
    offered = [form for form in proposed(setter, seat, 1, 40) if len(form.lines) == 4]
    assert 1 <= len(offered) <= 2
    _, found = largest(offered, seat, 1, 40)
    assert 0.97 * best <= found <= best


def test_no_word_is_lost_and_short_texts_are_left_to_be_tried_out(measure, ask) -> None:
    rule = FitRule(policy=SizePolicy.EACH, largest=40, smallest=1, most_lines=6)
    seat = Flat(region_of(SHAPES["oval"]), rule, 0.3, 25)
    for form in proposed(Setter(TEXT, Setting("hand"), rule, measure), seat, 1, 40):
        assert " ".join(line.text for line in form.lines) == TEXT
    assert not list(proposed(Setter("mia lina ham", Setting("hand"), rule, measure), seat, 1, 40))
    asked = ask([TEXT], SHAPES["heart"], policy=SizePolicy.EACH, most_lines=6, largest=40.0, smallest=1.0)
    (fitted,) = fit_order(asked, measure)
    assert " ".join(line.line.text for line in fitted.lines) == TEXT
