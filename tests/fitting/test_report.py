"""What is said about a set, as plain values."""

import json
from dataclasses import asdict

from render.fitting import explain_set, fit_order
from render.geometry.shapes import rectangle
from render.model import SizePolicy
from render.units import round_mm

NAMES = ["Anna", "Ben", "Clara", "Doro", "Emil", "Fritz", "Greta", "Anna"]


def test_figures_of_a_set(measure, ask):
    names = [*NAMES, "Hamamemamamem"]
    requests = [*ask(names, slot="b"), *ask(["Ida"], slot="a")]
    first, second = explain_set(fit_order(requests, measure))
    assert (first.slot, second.slot) == ("a", "b")
    assert (second.font, second.size, second.largest) == ("hand", 12, 12)
    assert 3 <= second.smallest < 12
    assert (second.x_height, second.cap_height) == (6, 8.4)
    assert second.thinnest == round_mm(0.04 * second.smallest)
    assert (second.pieces, second.distinct) == (9, 8)
    assert second.remedies == {
        "none": 8,
        "tighter": 0,
        "second line": 0,
        "narrower font": 0,
        "smaller": 1,
        "held back": 0,
    }
    assert json.loads(json.dumps(asdict(second)))["remedies"]["smaller"] == 1


def test_a_set_of_which_nothing_fits(measure, ask):
    (report,) = explain_set(fit_order(ask(["Hamam" * 9], rectangle(0, 0, 9, 9)), measure))
    assert (report.size, report.thinnest, report.remedies["held back"]) == (0, 0, 1)


def test_each_reports_the_range(measure, ask):
    names = ["Hamamemamamem", "Ida"]
    (report,) = explain_set(fit_order(ask(names, policy=SizePolicy.EACH), measure))
    assert report.smallest < report.largest == 12


def test_nothing_to_explain():
    assert explain_set(()) == ()


def test_what_is_held_back_has_no_say_in_the_size(measure, ask):
    (alone,) = explain_set(fit_order(ask(NAMES), measure))
    (beside,) = explain_set(fit_order(ask([*NAMES, "Hamam" * 40, "Memem" * 40, "Namam" * 40]), measure))
    assert beside.remedies["held back"] == 3
    assert beside.size == alone.size
