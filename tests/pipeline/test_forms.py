"""Forms of letters on the whole road: what fonts lack, optical size, and swashes where there is room."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from render.design import Drawing
from render.fitting import Limits, fit_order
from render.geometry import LINE, MOVE, Path
from render.geometry.shapes import rectangle
from render.lettering import Letterer
from render.model import (
    FitRule,
    Fitted,
    LetterRequest,
    Mark,
    Operation,
    SetLine,
    Setting,
    Severity,
    Shaping,
    SizePolicy,
    Swash,
)
from render.pipeline import Workshop
from render.pipeline.forms import fit_for_size, form_problems
from render.pipeline.swashing import _region, with_swashes

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


def arc(radius: float, *, up: bool, half: float = 48.0) -> Path:
    """An arc over 120 mm, `half` mm long to either side of its middle."""
    turn = np.linspace(-half / radius, half / radius, 241)
    drop = radius - radius * np.cos(turn)
    points = 60 + radius * np.sin(turn) + 1j * (40 + (drop if up else -drop))
    return Path(np.array([MOVE] + [LINE] * (turn.size - 1), np.uint8), points)


def on_arc(text: str, font: str, along: Path, **rule: object) -> LetterRequest:
    asks = replace(BOTH, **rule)
    return replace(asked(text, Setting(font), asks), area=rectangle(2, 2, 116, 96), along=along)


@pytest.mark.parametrize("up", [True, False])
@pytest.mark.parametrize(("font", "text"), [("great-vibes", "Anna Vale"), ("allura", "Margaret")])
def test_a_name_on_an_arc_takes_them_too(font: str, text: str, up: bool, letterer: Letterer) -> None:
    """The letters stay as they are turned; the one with a swash covers where the plain one is."""
    import shapely

    before, after, told = swashed(on_arc(text, font, arc(60.0, up=up), swash=Swash.END), letterer)
    (old,), (new,) = before.lines, after.lines
    assert new.line.setting.features == (f"fina[{len(text) - 1}]=1",)
    assert told == ["swashes"]
    assert new.turns == old.turns
    plain, swash = (_region(letterer.outlines([[line]])[0]) for line in (old, new))
    assert swash.area > plain.area + 0.3
    assert plain.difference(swash.buffer(0.25)).area < 0.03 * plain.area
    assert shapely.box(2, 2, 118, 98).covers(swash)
    start = swashed(on_arc(text, font, arc(60.0, up=up), swash=Swash.START), letterer)
    (first,) = start[1].lines
    if first.line.setting.features:  # the letter ends where it ended
        ends = [
            line.turns[0].apply(np.array([complex(line.line.clusters[0][1], 0)]))
            for line in (start[0].lines[0], first)
        ]
        np.testing.assert_allclose(ends[0], ends[1], atol=1e-9)
        assert first.turns[1:] == old.turns[1:]


def test_a_swash_leaves_neither_its_path_nor_its_area_nor_strikes_a_mark(letterer: Letterer) -> None:
    wide = on_arc("Margaret", "allura", arc(60.0, up=True), swash=Swash.END)
    (line,) = swashed(wide, letterer)[1].lines
    assert line.line.setting.features
    reach = letterer.outlines([[line]])[0].bounds().x1
    (plain,) = swashed(replace(wide, rule=replace(wide.rule, swash=Swash.NONE)), letterer)[1].lines
    ends = letterer.outlines([[plain]])[0].bounds().x1
    assert reach > ends + 1
    tight = replace(wide, area=rectangle(2, 2, (ends + reach) / 2 - 2, 96))
    assert not swashed(tight, letterer)[1].lines[0].line.setting.features
    mark = Mark(Operation.ENGRAVE, rectangle(reach + 0.2, 30, 1, 60))
    assert not swashed(wide, letterer, mark)[1].lines[0].line.setting.features
    short = replace(wide, along=arc(60.0, up=True, half=plain_length(plain) / 2 + 0.8))
    assert swashed(short, letterer)[0].lines
    assert not swashed(short, letterer)[1].lines[0].line.setting.features
    bent = on_arc("Ana", "allura", arc(12.0, up=True, half=30), swash=Swash.END, largest=8.0, smallest=8.0)
    straight = replace(bent, along=arc(400.0, up=True))
    assert swashed(straight, letterer)[1].lines[0].line.setting.features
    assert not swashed(bent, letterer)[1].lines[0].line.setting.features


def plain_length(line: SetLine) -> float:
    """How long its ink is along its path, mm."""
    ink = line.line.ink
    assert ink is not None
    return ink.width * line.size


@pytest.mark.parametrize(
    ("shaping", "vertical", "words"),
    [(Shaping(envelope="arch"), "", "is bent into a shape"), (None, "upright", "runs down a column")],
)
def test_where_none_are_taken_it_is_told(
    shaping: Shaping | None, vertical: str, words: str, letterer: Letterer
) -> None:
    request = replace(asked("Anna", Setting("allura", vertical=vertical)), shaping=shaping)
    (before,) = fit([replace(request, shaping=None)], letterer)
    before = replace(before, request=request)
    (after,), (problem,) = with_swashes([before], {"p1": Drawing((), ())}, letterer, Limits())
    assert after == before
    assert (problem.code, problem.severity) == ("swashes-not-here", Severity.NOTE)
    assert words in problem.message
