"""Forms of letters on the whole road: what fonts lack, optical size, and swashes where there is room."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from render.design import Drawing
from render.fitting import Limits, fit_order
from render.geometry.shapes import rectangle
from render.lettering import Letterer
from render.model import FitRule, Fitted, LetterRequest, Mark, Operation, Setting, SizePolicy, Swash
from render.pipeline import Workshop
from render.pipeline.forms import fit_for_size, form_problems
from render.pipeline.swashing import with_swashes

BOTH = FitRule(SizePolicy.FIXED, largest=12.0, smallest=12.0, joined=True, swash=Swash.BOTH)


@pytest.fixture(scope="module")
def letterer() -> Letterer:
    return Workshop.open().letterer()


def asked(
    text: str, setting: Setting, rule: FitRule = BOTH, piece: str = "p1", height: float = 30.0
) -> LetterRequest:
    return LetterRequest(piece, "name", text, setting, Operation.ENGRAVE, rule, rectangle(0, 0, 80, height))


def fit(requests: list[LetterRequest], letterer: Letterer) -> tuple[Fitted, ...]:
    return fit_order(requests, letterer.line, letterer.skyline)


def swashed(request: LetterRequest, letterer: Letterer, *marks: Mark) -> tuple[Fitted, Fitted, list[str]]:
    """Before, after, and the codes of what is told."""
    (before,) = fit([request], letterer)
    drawings = {request.piece: Drawing(marks, ())}
    (after,), told = with_swashes([before], drawings, letterer, Limits())
    return before, after, [problem.code for problem in told]


def test_a_name_with_room_takes_one_at_each_end(letterer: Letterer) -> None:
    before, after, told = swashed(asked("Anna Vale", Setting("allura")), letterer)
    (old,), (new,) = before.lines, after.lines
    assert new.line.setting.features == ("fina[8]=1", "ss02[0]=1")
    assert (new.size, new.line.text) == (old.size, old.line.text)
    assert told == ["swashes"]
    pens = [
        each.origin.real + each.size * np.array([pen for pen, _ in each.line.clusters]) for each in (old, new)
    ]
    np.testing.assert_allclose(pens[0][1:], pens[1][1:], atol=1e-9)  # the other letters have not moved
    assert new.origin.imag == old.origin.imag


def test_only_where_the_template_says(letterer: Letterer) -> None:
    for swash, features in ((Swash.END, ("fina[8]=1",)), (Swash.START, ("ss02[0]=1",)), (Swash.NONE, ())):
        request = asked("Anna Vale", Setting("allura"), replace(BOTH, swash=swash))
        assert swashed(request, letterer)[1].lines[0].line.setting.features == features


def test_it_stays_in_the_area(letterer: Letterer) -> None:
    wide = asked("Anna Vale", Setting("allura"), replace(BOTH, swash=Swash.START))
    (plain,) = fit([wide], letterer)
    ink, line = plain.lines[0].line.ink, plain.lines[0]
    assert ink is not None
    height = ink.height * line.size + 0.5
    tight = replace(wide, area=rectangle(0, 0, 80, height))
    before, after, _ = swashed(tight, letterer)
    assert before.lines
    assert after == before  # the A with its loop is higher and deeper than that


def test_it_strikes_no_mark_and_no_other_text(letterer: Letterer) -> None:
    request = asked("Anna Vale", Setting("allura"), replace(BOTH, swash=Swash.END))
    before, after, _ = swashed(request, letterer)
    box = letterer.outlines([after.lines])[0].bounds()
    inside = letterer.outlines([before.lines])[0].bounds()
    assert box.x1 > inside.x1 + 0.3
    bar = rectangle(inside.x1 + 0.8, 0, 1, 30)
    assert swashed(request, letterer, Mark(Operation.SCORE, bar))[1] == before
    assert swashed(request, letterer, Mark(Operation.GUIDE, bar))[1] == after
    far = rectangle(box.x1 + 2, 0, 1, 30)
    assert swashed(request, letterer, Mark(Operation.SCORE, far))[1] == after
    other = asked("Ida", Setting("allura"), replace(BOTH, swash=Swash.NONE))
    beside = Fitted(other, (replace(before.lines[0], origin=before.lines[0].origin + 5j),))
    both, _ = with_swashes([before, beside], {"p1": Drawing((), ())}, letterer, Limits())
    assert both == (before, beside)


def test_it_is_as_stout_as_the_material_wants(letterer: Letterer) -> None:
    request = asked("Greg", Setting("allura"), replace(BOTH, swash=Swash.START))
    (before,) = fit([request], letterer)
    drawings = {"p1": Drawing((), ())}
    strict = Limits(smallest_stroke=before.lines[0].line.thinnest * 12.0)
    assert with_swashes([before], drawings, letterer, Limits())[0] != (before,)
    assert with_swashes([before], drawings, letterer, strict)[0] == (before,)


def test_a_font_without_swashes_is_told_once(letterer: Letterer) -> None:
    rule = replace(BOTH, joined=False)
    requests = [asked(text, Setting("caveat"), rule, f"p{k}") for k, text in enumerate(("Ana", "Ida", "Tom"))]
    fitted = fit(requests, letterer)
    drawings = {request.piece: Drawing((), ()) for request in requests}
    after, told = with_swashes(fitted, drawings, letterer, Limits())
    assert after == fitted
    assert [problem.code for problem in told] == ["no-swashes"]
    assert "allura" in told[0].hint


def test_the_optical_size_follows_the_size_of_the_set(letterer: Letterer) -> None:
    rule = FitRule(largest=40.0, smallest=2.0)
    setting = Setting("source-serif:wght=600")
    requests = [
        asked(text, setting, rule, f"p{k}", 8.0) for k, text in enumerate(("Ana Vale", "Ida", "Tomás"))
    ]
    fitted = fit_for_size(requests, letterer, lambda some: fit_order(some, letterer.line))
    fonts = {line.line.setting.font for each in fitted for line in each.lines}
    size = fitted[0].lines[0].size * 72 / 25.4
    (font,) = fonts
    drawn = float(font.partition("opsz=")[2].partition(",")[0])
    assert drawn == pytest.approx(size, rel=0.12)
    assert font.endswith("wght=600")
    chosen = [replace(r, setting=Setting("source-serif:opsz=8")) for r in requests]
    kept = fit_for_size(chosen, letterer, lambda some: fit_order(some, letterer.line))
    assert {line.line.setting.font for each in kept for line in each.lines} == {"source-serif:opsz=8"}


def test_what_all_lack_is_told_once_what_some_lack_for_each(letterer: Letterer) -> None:
    wanting = Setting("caveat", features=("swsh=1",))
    all_of_them = [asked(text, wanting, piece=f"p{k}") for k, text in enumerate(("Ana", "Ida", "Tom"))]
    told = list(form_problems(all_of_them, letterer))
    assert [(p.code, p.piece) for p in told] == [("no-such-feature", "")]
    some = [*all_of_them[:2], asked("Tom", Setting("caveat"), piece="p2")]
    told = list(form_problems(some, letterer))
    assert [(p.code, p.piece, p.value) for p in told] == [
        ("no-such-feature", "p0", "Ana"),
        ("no-such-feature", "p1", "Ida"),
    ]
