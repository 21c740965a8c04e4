"""Fitting whole orders with a hand-made font: sizes, places, remedies, and what is said about them."""

from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.errors import TemplateError
from render.fitting import fit_order
from render.geometry import Path
from render.geometry.shapes import ellipse, rectangle
from render.model import Align, Anchor, Remedy, Severity, SizePolicy

NAMES = ["Anna", "Ben", "Clara", "Doro", "Emil", "Fritz", "Greta", "Hugo", "Ida", "Jonas", "Kai", "Lena"]
LONG = "Hamamemamamem"
OVAL = ellipse(30 + 10j, 30, 10)

words = st.text("aceimnoghlpWÄ", min_size=1, max_size=9)
texts = st.lists(st.lists(words, min_size=1, max_size=3).map(" ".join), min_size=1, max_size=25)


def ink_boxes(fitted):
    """Ink of each line in mm."""
    for placed in fitted.lines:
        yield placed.line.ink.scaled(placed.size).moved(placed.origin.real, placed.origin.imag)


def codes(fitted) -> list[str]:
    return [problem.code for problem in fitted.problems]


def only(fitted):
    (line,) = fitted.lines
    return line


# ---------------------------------------------------------------- sizes and places


def test_one_name_fills_its_area(measure, ask):
    (fitted,) = fit_order(ask(["Clara"], rectangle(0, 0, 30, 40)), measure)
    assert only(fitted).size == 11.53  # 0.6 + 0.3 + 3 × 0.6 em less two bearings: 30 / 2.6, rounded down
    assert fitted.remedy is Remedy.NONE
    assert fitted.problems == ()


def test_the_set_has_one_size_and_one_baseline(measure, ask):
    fitted = fit_order(ask(NAMES), measure)
    assert {only(f).size for f in fitted} == {12.0}
    assert len({only(f).origin.imag for f in fitted}) == 1


def test_the_baseline_puts_the_optical_middle_in_the_centre(measure, ask):
    baseline = only(fit_order(ask(["Anna"]), measure)[0]).origin.imag
    assert baseline == pytest.approx(10 + 12 * (0.5 + 0.7) / 4)
    baseline = only(fit_order(ask(["ANNA"]), measure)[0]).origin.imag
    assert baseline == pytest.approx(10 + 12 * 0.7 / 2)


def test_the_baseline_gives_way_to_the_extremes_of_the_set(measure, ask):
    room = rectangle(0, 0, 60, 12)
    fitted = fit_order(ask(["Anna", "Ägypp"], room, largest=10.0), measure)
    tops = [box.y0 for f in fitted for box in ink_boxes(f)]
    assert {only(f).size for f in fitted} == {10.0}
    assert min(tops) == pytest.approx(0)  # 0.95 em above the baseline: moved down to the rim
    assert only(fitted[0]).origin.imag == pytest.approx(9.5)


def test_ink_anchor_centres_each(measure, ask):
    for fitted in fit_order(ask(["Anna", "gypp", "moon"], anchor=Anchor.INK), measure):
        (box,) = ink_boxes(fitted)
        assert (box.y0 + box.y1) / 2 == pytest.approx(10)


@pytest.mark.parametrize(("align", "x"), [(Align.START, 0.0), (Align.MIDDLE, 30.0), (Align.END, 60.0)])
def test_alignment_goes_by_ink(measure, ask, align, x):
    for fitted in fit_order(ask(["fa", "Anna"], align=align), measure):
        (box,) = ink_boxes(fitted)
        assert {Align.START: box.x0, Align.MIDDLE: box.centre.x, Align.END: box.x1}[align] == pytest.approx(x)


def test_one_endless_name_does_not_make_the_others_small(measure, ask):
    fitted = fit_order(ask([*NAMES, LONG * 2]), measure)
    assert {only(f).size for f in fitted[:-1]} == {12.0}
    assert fitted[-1].remedy is Remedy.SMALLER


def test_a_pair_is_made_as_a_pair(measure, ask):
    first, second = fit_order(ask(["Anna", LONG]), measure)
    assert only(first).size == only(second).size < 12
    assert first.remedy is second.remedy is Remedy.NONE


def test_repeats_count_once(measure, ask):
    once = fit_order(ask([*NAMES, LONG]), measure)
    often = fit_order(ask([*NAMES, *[LONG] * 50]), measure)
    assert only(once[0]).size == only(often[0]).size


def test_slots_are_sets_of_their_own(measure, ask):
    fitted = fit_order([*ask([LONG], slot="a"), *ask(["Ida"], slot="b")], measure)
    assert only(fitted[0]).size < only(fitted[1]).size == 12


@given(texts, st.integers(), st.sampled_from([rectangle(0, 0, 60, 20), OVAL]))
def test_rows_in_any_order_give_the_same(measure, ask, names, seed, area):
    requests = ask(names, area, most_lines=2, tightest=-0.05, narrower=("narrow",))
    order = Random(seed).sample(range(len(requests)), len(requests))
    straight = fit_order(requests, measure)
    shuffled = fit_order([requests[i] for i in order], measure)
    assert [straight[i] for i in order] == list(shuffled)


@given(
    texts,
    st.sampled_from([rectangle(0, 0, 40, 15), ellipse(20 + 8j, 20, 8), rectangle(0, 0, 40, 16, 6)]),
    st.sampled_from(Align),
    st.sampled_from(Anchor),
    st.sampled_from([SizePolicy.SET, SizePolicy.EACH]),
)
def test_ink_stays_in_its_area(measure, ask, names, area, align, anchor, policy):
    from shapely import Polygon, box

    from render.fitting.edges import chords

    rule = {"align": align, "anchor": anchor, "policy": policy, "most_lines": 2, "tightest": -0.04}
    room = Polygon([(p.real, p.imag) for p in chords(area)[0]]).buffer(1e-3)
    for fitted in fit_order(ask(names, area, narrower=("narrow",), **rule), measure):
        assert (fitted.remedy is Remedy.HELD) == (not fitted.lines)
        for ink in ink_boxes(fitted):
            assert room.contains(box(ink.x0, ink.y0, ink.x1, ink.y1))
        assert all(3 <= placed.size <= 12 for placed in fitted.lines)


def test_two_lines_in_an_oval_each_have_their_own_room(measure, ask):
    area = ellipse(30 + 20j, 30, 20)
    requests = ask(["Hamam Mamamam"], area, most_lines=2, policy=SizePolicy.EACH)
    (fitted,) = fit_order(requests, measure)
    upper, lower = ink_boxes(fitted)
    assert fitted.remedy is Remedy.BROKEN
    for ink in (upper, lower):
        for y in (ink.y0, ink.y1):
            assert ((ink.width / 2) / 30) ** 2 + ((y - 20) / 20) ** 2 <= 1 + 1e-9
    corner = (lower.width / 2 / 30) ** 2 + ((upper.y0 - 20) / 20) ** 2
    assert corner > 1  # one box round both lines would not have fitted


def test_a_hole_moves_the_lettering_aside(measure, ask):
    hole = rectangle(4, 6, 8, 8)
    tag = Path.joined((rectangle(0, 0, 60, 20, 3), Path(hole.commands, hole.points[::-1])))
    for fitted in fit_order(ask(["Anna", "Greta"], tag), measure):
        (box,) = ink_boxes(fitted)
        assert box.x0 >= 12
        assert box.centre.x == pytest.approx(36, abs=0.01)


# ---------------------------------------------------------------- remedies


@pytest.mark.parametrize(
    ("rule", "remedy", "code", "severity"),
    [
        ({"tightest": -0.1}, Remedy.TIGHTER, "set-tighter", Severity.NOTE),
        ({"tightest": -0.1, "joined": True}, Remedy.SMALLER, "set-smaller", Severity.LOOK),
        ({"most_lines": 2}, Remedy.BROKEN, "set-on-lines", Severity.LOOK),
        ({"narrower": ("narrow",)}, Remedy.NARROWER, "set-narrower", Severity.LOOK),
        ({}, Remedy.SMALLER, "set-smaller", Severity.LOOK),
        ({"most_lines": 2, "narrower": ("narrow",)}, Remedy.BROKEN, "set-on-lines", Severity.LOOK),
        (
            {"tightest": -0.1, "most_lines": 2, "narrower": ("narrow",)},
            Remedy.TIGHTER,
            "set-tighter",
            Severity.NOTE,
        ),
        ({"smallest": 11.9}, Remedy.HELD, "does-not-fit", Severity.STOP),
    ],
)
def test_each_remedy_in_its_turn(measure, ask, rule, remedy, code, severity):
    name = "Anna-Marnit"  # 5.95 em wide: 71.4 mm at 12 mm
    area = rectangle(0, 0, 60, 40)
    fitted = fit_order(ask([*NAMES, name], area, **{"largest": 12.0, "smallest": 3.0} | rule), measure)
    assert fitted[-1].remedy is remedy
    assert [(p.code, p.severity) for p in fitted[-1].problems] == [(code, severity)]
    problem = fitted[-1].problems[0]
    assert (problem.piece, problem.value) == ("p14", name)
    if remedy in (Remedy.TIGHTER, Remedy.BROKEN, Remedy.NARROWER):
        assert all(line.size == 12 for line in fitted[-1].lines)
        assert "12 mm, x-height 6 mm, 100 % of the set's size" in problem.message
        assert "1 of 13 in this order" in problem.message
    assert all(f.remedy is Remedy.NONE and only(f).size == 12 for f in fitted[:-1])


def test_a_smaller_name_keeps_the_common_baseline(measure, ask):
    fitted = fit_order(ask([*NAMES, LONG]), measure)
    assert fitted[-1].remedy is Remedy.SMALLER
    assert only(fitted[-1]).origin.imag == only(fitted[0]).origin.imag
    share = only(fitted[-1]).size / 12
    assert f"{share:.0%}".replace("%", " %") in fitted[-1].problems[0].message


def test_smaller_takes_the_form_that_stays_largest(measure, ask):
    name = f"{LONG} {LONG}"
    fitted = fit_order(ask([*NAMES, name], rectangle(0, 0, 60, 30), most_lines=2), measure)[-1]
    assert fitted.remedy is Remedy.SMALLER
    assert [placed.line.text for placed in fitted.lines] == [LONG, LONG]
    assert "so set smaller, on 2 lines (" in fitted.problems[0].message


def test_what_is_smaller_by_a_hair_takes_the_set_along(measure, ask):
    area = rectangle(0, 0, 60, 20.8)  # two lines of 0.7 + 1.1 em at 12 mm would take 21.6 mm
    fitted = fit_order(ask([*NAMES, "Anna-Marnit"], area, most_lines=2), measure)
    assert fitted[-1].remedy is Remedy.BROKEN
    assert {placed.size for f in fitted for placed in f.lines} == {11.55}  # 20.8 / 1.8, rounded down
    assert len({only(f).origin.imag for f in fitted[:-1]}) == 1
    assert only(fitted[0]).origin.imag == pytest.approx(10.4 + 11.55 * 0.3)


def test_broken_lines_are_a_leading_apart_and_centred(measure, ask):
    names = [*NAMES, "Anna-Marnit"]
    fitted = fit_order(ask(names, rectangle(0, 0, 60, 40), most_lines=2, leading=1.25), measure)[-1]
    first, second = (placed.origin.imag for placed in fitted.lines)
    assert second - first == pytest.approx(15)
    assert (first + second) / 2 - 12 * 0.3 == pytest.approx(20)


def test_a_set_of_long_texts_is_broken_when_it_would_be_illegible(measure, ask):
    names = [f"{LONG} {LONG[:-1]}{letter}" for letter in "aeinor"]
    fitted = fit_order(ask(names, rectangle(0, 0, 60, 30), most_lines=2, smallest=4.0), measure)
    assert {f.remedy for f in fitted} == {Remedy.BROKEN}
    assert len({placed.size for f in fitted for placed in f.lines}) == 1


def test_held_texts_say_what_would_help(measure, ask):
    (fitted,) = fit_order(ask([LONG * 9], smallest=5.0), measure)
    assert (fitted.remedy, fitted.lines) == (Remedy.HELD, ())
    (problem,) = fitted.problems
    assert "5 mm" in problem.message
    assert "60 × 20 mm" in problem.message
    assert "Shorten" in problem.hint


def test_held_texts_without_spaces_say_where_one_would_help(measure, ask):
    thai = "มาลีและสมชาย" * 6
    ((problem,), (alone,), (latin,)) = (
        fit_order(ask([text], smallest=8.0, most_lines=lines), measure)[0].problems
        for text, lines in ((thai, 3), (thai, 1), ("Ana" * 30, 3))
    )
    assert "Thai goes to a new line only at a space" in problem.hint
    assert "Thai" not in alone.hint
    assert "Thai" not in latin.hint


def test_missing_glyphs_are_held_without_a_word_and_do_not_count(measure, ask):
    fitted = fit_order(ask([*NAMES, "☃" * 40]), measure)
    assert (fitted[-1].remedy, fitted[-1].lines, fitted[-1].problems) == (Remedy.HELD, (), ())
    assert only(fitted[0]).size == 12


@pytest.mark.parametrize("text", ["", "  "])
def test_nothing_is_fitted_as_nothing(measure, ask, text):
    for fitted in (fit_order(ask([text]), measure)[0], fit_order(ask([*NAMES, text]), measure)[-1]):
        assert (fitted.remedy, fitted.lines, fitted.problems) == (Remedy.NONE, (), ())
    assert fit_order([], measure) == ()


# ---------------------------------------------------------------- the other policies


def test_each_as_large_as_its_area_allows(measure, ask):
    wide, slim = fit_order(ask([LONG, "Ida"], policy=SizePolicy.EACH), measure)
    assert only(slim).size == 12
    assert wide.lines[0].size == pytest.approx(60 / measure(LONG, wide.request.setting).ink.width, abs=0.01)
    assert wide.remedy is Remedy.NONE


def test_fixed_is_exact_or_held(measure, ask):
    long, short = fit_order(ask([LONG, "Ida"], policy=SizePolicy.FIXED, largest=9.37), measure)
    assert only(short).size == 9.37
    assert (long.remedy, codes(long)) == (Remedy.HELD, ["does-not-fit"])
    assert "fixed size of 9.37 mm" in long.problems[0].message


# ---------------------------------------------------------------- limits and bad templates


def test_an_open_area_is_a_fault_of_the_template(measure, ask):
    with pytest.raises(TemplateError, match="text name"):
        fit_order(ask(["Anna"], Path.polyline((0, 10, 10j))), measure)


def test_a_hole_above_moves_the_common_baseline_down(measure, ask):
    hole = rectangle(20, 3, 20, 12)
    tag = Path.joined((rectangle(0, 0, 60, 40, 3), Path(hole.commands, hole.points[::-1])))
    plain = only(fit_order(ask(["Anna"], rectangle(0, 0, 60, 40, 3)), measure)[0])
    moved = only(fit_order(ask(["Anna"], tag), measure)[0])
    assert moved.size == plain.size == 12
    assert moved.origin.imag - 0.7 * 12 > 15
    assert plain.origin.imag - 0.7 * 12 > 15  # here the middle has room, and is kept
    assert moved.origin.imag == plain.origin.imag
    low = rectangle(20, 3, 20, 22)
    tag = Path.joined((rectangle(0, 0, 60, 40, 3), Path(low.commands, low.points[::-1])))
    moved = only(fit_order(ask(["Anna"], tag), measure)[0])
    assert moved.size == 12
    assert moved.origin.imag - 0.7 * 12 > 25
    optical = moved.origin.imag - 0.3 * 12
    assert optical == pytest.approx((25 + 40) / 2, abs=0.7)  # in the middle of what is left


def test_the_break_chosen_leaves_nothing_hanging(measure, ask):
    fitted = fit_order(ask([*NAMES, "Marn & Benm"], rectangle(0, 0, 50, 40), most_lines=2), measure)[-1]
    assert [placed.line.text for placed in fitted.lines] == ["Marn", "& Benm"]
    assert fitted.remedy is Remedy.BROKEN


def test_one_tall_accent_does_not_make_the_others_small(measure, ask):
    names = ["Anna", "Benno", "Clara", "Hugo", "Greta", "Äpp"]  # 0.7 em up and 0.2 down, but for the accent
    fitted = fit_order(ask(names, rectangle(0, 0, 60, 9)), measure)
    assert {only(f).size for f in fitted[:-1]} == {10}
    assert [f.remedy for f in fitted] == [Remedy.NONE] * 5 + [Remedy.SMALLER]
    assert [only(f).origin.imag for f in fitted] == pytest.approx([7.0] * 6)
    assert only(fitted[-1]).size == 7.36  # 7 mm above the baseline for 0.95 em, rounded down
