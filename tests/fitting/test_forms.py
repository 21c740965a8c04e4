"""Where texts may be broken, and how tightly they may be set."""

import pytest

from render.fitting.forms import TRACKING_STEP_EM, Form, Setter, breaks
from render.fitting.regions import region_of
from render.fitting.remedies import _raggedness, largest
from render.fitting.seats import Flat
from render.fitting.sets import Text, _tightened
from render.geometry.shapes import rectangle
from render.model import FitRule, Remedy, Setting


@pytest.mark.parametrize(
    ("text", "count", "first"),
    [
        ("Anna Berg", 2, ("Anna", "Berg")),
        ("Anna  Berg", 2, ("Anna", "Berg")),
        ("Anna-Maria", 2, ("Anna-", "Maria")),
        ("Anna\u00a0Berg", 2, None),  # a no-break space holds
        ("Anna", 2, None),
        ("- Anna", 2, ("-", "Anna")),
        ("Anna-", 2, None),  # nothing would be left for the second line
        ("a bbb c d", 3, ("a", "bbb", "c d")),
        ("one two three", 3, ("one", "two", "three")),
        ("Anna Berg", 3, None),
    ],
)
def test_breaks(text, count, first):
    ways = breaks(text, count)
    assert (ways[0] if ways else None) == first
    assert all("".join(way).replace(" ", "") == text.replace(" ", "") for way in ways)


def test_long_texts_are_not_tried_for_ever():
    text = " ".join(f"word{n}" for n in range(200))
    assert len(breaks(text, 4)) <= 200
    lengths = [len(line) for line in breaks(text, 4)[0]]
    assert max(lengths) < 1.2 * min(lengths)


@pytest.mark.parametrize(
    ("text", "best"),
    [
        ("Anna & Ben", ("Anna", "& Ben")),
        ("Vincent van Dyk", ("Vincent", "van Dyk")),
        ("Dr. Anna Bergman", ("Dr. Anna", "Bergman")),
        ("Éva Ödön", ("Éva", "Ödön")),
    ],
)
def test_the_best_break_leaves_nothing_hanging(measure, text, best):
    setter = Setter(text, Setting("hand"), FitRule(most_lines=2), measure)
    forms = sorted(setter.broken(2), key=_raggedness)
    assert tuple(line.text for line in forms[0].lines) == best


def test_tracking_is_the_least_that_fits(measure):
    setter = Setter("hamam", Setting("hand"), FitRule(tightest=-0.05), measure)
    plain = setter.plain()
    target = plain.width - 4 * 0.018  # four gaps
    form = setter.tracked(lambda form: form.width <= target)
    assert form.remedy is Remedy.TIGHTER
    assert form.lines[0].setting.tracking == -0.02
    assert setter.tracked(lambda form: form.width <= plain.width - 4 * 0.051) is None
    assert setter.tightest().lines[0].setting.tracking == -0.05
    assert TRACKING_STEP_EM == 0.005


@pytest.mark.parametrize(
    ("text", "rule"),
    [
        ("hamam", FitRule(tightest=-0.05, joined=True)),
        ("hamam", FitRule(tightest=0.0)),
        ("مريم", FitRule(tightest=-0.05)),
        ("मीरा", FitRule(tightest=-0.05)),
        ("m", FitRule(tightest=-0.05)),
    ],
)
def test_where_tracking_would_tear_letters(measure, text, rule):
    setter = Setter(text, Setting("hand"), rule, measure)
    assert setter.tracked(lambda _: True) is None
    assert setter.tightest() is None


def test_width_is_of_the_widest_line(measure):
    form = Form((measure("mm", Setting("hand")), measure("i", Setting("hand"))))
    assert form.width == pytest.approx(1.7)


def test_of_equally_large_forms_the_first_is_taken(measure):
    first = Form((measure("anna", Setting("hand")),))
    second = Form((measure("enne", Setting("hand")),))
    seat = Flat(region_of(rectangle(0, 0, 20, 20)), FitRule(), 0.3, 10.0)
    assert largest([first, second], seat, 3, 12)[0] is first
    assert largest([second, first], seat, 3, 12)[0] is second


def test_what_may_not_be_tracked_is_not_counted_as_narrower(measure):
    rule, plain = FitRule(tightest=-0.05), Setting("hand")
    texts = [Text(t, plain, 0, measure(t, plain)) for t in ("Anna", "مريم")]
    assert _tightened(texts, rule) == pytest.approx([0.15, 0.0])
