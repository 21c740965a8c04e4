"""Names in many scripts cut out in one piece: apart where they must be, and whole jobs that hold."""

from __future__ import annotations

from itertools import pairwise

import pytest
import shapely

from render.fitting.habits import LEAST_GAP_EM
from render.fitting.necks import cores
from render.fitting.solids import parts_of, region_of_path
from render.model import Fitted, Operation, Order, Piece, Severity
from render.pipeline.artworks import Lettered, letter_order
from render.pipeline.cutletters import CutTerms, cut_letters, plain_letters
from render.pipeline.holding import joined_lettering
from render.pipeline.workshop import Job, Workshop

WORKSHOP = Workshop.open()
LETTERER = WORKSHOP.letterer()

HEBREW = ("שרה", "יוסף", "אַבְרָהָם", "דוד לוי")
NAMES = (*HEBREW, "محمد", "فاطمة", "وردة", "Ζωή", "Շուշան", "ნინო", "प्रिया", "রহিম", "สมชาย", "Anna דוד")
WITHOUT_BAR = ("cake-topper", "name-key-ring", "layered-sign-front")
WITH_BAR = ("standing-name", "hair-clip", "slotted-name")


def made(template: str, *names: str) -> tuple[Lettered, Job]:
    job = WORKSHOP.job(template)
    pieces = tuple(Piece(f"p{n:03}", n, {"name": name}) for n, name in enumerate(names, 2))
    return letter_order(Order("test", pieces), job, LETTERER, WORKSHOP, 1, lambda *_: None), job


def letters_of(fitted: Fitted, job: Job) -> list[shapely.Geometry]:
    """The letters as they are cut, before they are held together; bars left out."""
    rule = fitted.request.cut
    assert rule is not None
    (path,) = LETTERER.outlines([fitted.lines])
    terms = CutTerms(rule.neck or job.material.neck, job.material.smallest_gap)
    found = cut_letters(fitted, path, plain_letters(fitted, LETTERER), terms, LETTERER)
    return [region_of_path(letter) for letter in found.drawn[: len(found.plain)]]


@pytest.mark.parametrize("template", [*WITHOUT_BAR, *WITH_BAR])
def test_names_of_every_script_are_one_piece(template: str) -> None:
    lettered, job = made(template, *NAMES)
    stopped = {p.code for p in lettered.problems if p.severity is Severity.STOP}
    assert stopped <= ({"marks-hidden"} if template in WITH_BAR else set())
    neck = max((f.request.cut.neck for f in lettered.fitted if f.request.cut), default=0) or job.material.neck
    for artwork in lettered.artworks:
        region = region_of_path(artwork.burned(Operation.CUT))
        assert region.geom_type == "Polygon", artwork.title
        assert region.is_valid
        assert len(cores(region, 0.95 * neck)) == 1, artwork.title


@pytest.mark.parametrize("template", [*WITHOUT_BAR, *WITH_BAR])
def test_hebrew_letters_keep_their_gap(template: str) -> None:
    """At least 0.05 em from letter to letter: 0.07 along the line, where there is room for it."""
    lettered, job = made(template, "שרה", "רוח", "דוד")
    for fitted in lettered.fitted:
        letters = letters_of(fitted, job)
        size = fitted.lines[0].size
        gaps = [one.distance(other) / size for one, other in pairwise(letters)]
        assert min(gaps) > 0.05, (fitted.request.text, gaps)
        assert LEAST_GAP_EM == 0.07


def test_letters_on_a_bar_stay_open_at_their_feet_only_below() -> None:
    """Of two letters and their bar only the bar joins the two: cut above the baseline, they come apart."""
    lettered, _ = made("layered-sign-front", "רוח")
    (fitted,) = lettered.fitted
    line = fitted.lines[0]
    region = region_of_path(lettered.artworks[0].burned(Operation.CUT))
    x0, y0, x1, _ = region.bounds
    above = region.intersection(shapely.box(x0, y0, x1, line.origin.imag - 0.06 * line.size))
    assert len(parts_of(above, 0.01)) == 3


def test_a_yod_is_tied_near_its_top() -> None:
    lettered, _ = made("layered-sign-front", "יוסף")
    (fitted,) = lettered.fitted
    line = fitted.lines[0]
    region = region_of_path(lettered.artworks[0].burned(Operation.CUT))
    x0, y0, x1, _ = region.bounds
    half = region.intersection(shapely.box(x0, y0 + 0.3 * line.size, x1, line.origin.imag - 0.06 * line.size))
    whole = region.intersection(shapely.box(x0, y0, x1, line.origin.imag - 0.06 * line.size))
    assert len(parts_of(whole, 0.01)) == 3  # yod with vav, samekh, pe
    assert len(parts_of(half, 0.01)) > 3


@pytest.mark.parametrize("name", ["دار", "داود", "فاطمة"])
def test_arabic_letters_that_do_not_join_are_not_joined_on_the_line(name: str) -> None:
    """Ties between them keep above the baseline, where alef before another letter would be read as lam."""
    lettered, job = made("layered-sign-front", name)
    (fitted,) = lettered.fitted
    line = fitted.lines[0]
    (path,) = LETTERER.outlines([fitted.lines])
    joined = joined_lettering(fitted, path, 1.5, job.material.smallest_gap, LETTERER)
    assert joined.ties
    assert all(at.imag < line.origin.imag - 0.05 * line.size for at, _ in joined.ties)


def test_points_within_a_foot_hold_a_name_back() -> None:
    lettered, _ = made("standing-name", "אַבְרָהָם", "Đặng", "שרה")
    told = {p.piece: p for p in lettered.problems if p.code == "marks-hidden"}
    assert {piece: p.severity for piece, p in told.items()} == {"p002": Severity.STOP, "p003": Severity.LOOK}
    assert "4 letters" in told["p002"].message
    assert told["p002"].hint
    assert "p002" not in {artwork.piece for artwork in lettered.artworks}


def test_a_back_shows_where_a_front_with_a_bar_is_glued() -> None:
    front, back = (made(f"layered-sign-{side}", "שרה")[0].artworks[0] for side in ("front", "back"))
    assert back.burned(Operation.SCORE).bounds().width == pytest.approx(
        front.burned(Operation.CUT).bounds().width, abs=0.01
    )
