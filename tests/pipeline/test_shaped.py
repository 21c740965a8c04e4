"""Monograms, envelopes, stamps and mirrored work, from template to artwork."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

import numpy as np
import pytest
import shapely

from render.geometry import Path
from render.geometry.bending import curves_of, on_curves
from render.geometry.shapes import circle, rectangle
from render.geometry.turning import backward, signed_area
from render.model import Artwork, Operation, Order, Piece
from render.pipeline.artworks import Lettered, letter_order
from render.pipeline.stamps import line_places
from render.pipeline.workshop import Workshop

HEAD = (
    '<svg xmlns="http://www.w3.org/2000/svg" xmlns:mk="urn:monikerf:template:1" width="95mm" height="95mm" '
    'viewBox="0 0 95 95" mk:title="Trial" mk:blank="coaster" {head}>'
    '<circle mk:area="a" cx="47.5" cy="47.5" r="40"/>'
    '<rect mk:area="box" x="17.5" y="27.5" width="60" height="40"/>{body}</svg>'
)

Make = Callable[..., Lettered]


@pytest.fixture
def make(tmp_path) -> Make:
    def lettered(body: str, rows: list[dict[str, str]], head: str = "") -> Lettered:
        (tmp_path / "templates").mkdir(exist_ok=True)
        (tmp_path / "templates" / "trial.svg").write_text(HEAD.format(body=body, head=head), "utf-8")
        workshop = Workshop.open(tmp_path)
        pieces = tuple(Piece(f"p{k}", k, row) for k, row in enumerate(rows, 2))
        job = workshop.job("trial")
        return letter_order(Order("o", pieces), job, workshop.letterer(), workshop, 1, lambda *_: None)

    return lettered


def text(attributes: str, words: str = "{{ name }}") -> str:
    return (
        f'<text id="t" text-anchor="middle" font-family="Montserrat" font-size="30" mk:operation="engrave" '
        f'mk:fit-in="#box" mk:smallest="4" {attributes}>{words}</text>'
    )


def region(path: Path) -> shapely.Geometry:
    whole = shapely.Polygon()
    for contour in path.contours():
        c = curves_of(contour).controls
        at = on_curves(c, np.broadcast_to(np.arange(16) / 16, (len(c), 16))).reshape(-1)
        whole = whole.symmetric_difference(shapely.Polygon(np.stack((at.real, at.imag), 1)).buffer(0))
    return whole


def engraved(artwork: Artwork) -> Path:
    return artwork.burned(Operation.ENGRAVE)


def test_a_monogram_keeps_one_size_and_its_area(make: Make) -> None:
    done = make(text('mk:monogram="three"'), [{"name": "Mira Ida Tallis"}, {"name": "Wim Otto Moss"}])
    assert not done.problems
    boxes = [engraved(a).bounds() for a in done.artworks]
    for box in boxes:
        assert 17.49 < box.x0 < box.x1 < 77.51
        assert box.centre.x == pytest.approx(47.5, abs=1e-6)
    assert boxes[0].height == pytest.approx(boxes[1].height, rel=0.05)


def test_letters_come_from_columns_or_outright(make: Make) -> None:
    rows = [
        {"name": "Ana de Sousa", "given": "Ana", "surname": "de Sousa"},
        {"name": "Ana de Sousa", "monogram": "AD"},
        {"name": "whatever", "initials": "a.d."},
    ]
    done = make(text('mk:monogram="bullet"'), rows)
    assert list(done.problems) == []
    first, second, third = (engraved(a) for a in done.artworks)
    assert first == second
    assert first != third


def test_too_few_letters_hold_a_piece_back(make: Make) -> None:
    done = make(text('mk:monogram="surname-middle"'), [{"name": "Ida Vale"}, {"name": "Mira Ida Tallis"}])
    assert [(p.code, p.row, p.piece) for p in done.problems] == [("monogram", 2, "p2")]
    assert [a.piece for a in done.artworks] == ["p3"]


def test_an_envelope_stays_in_its_area(make: Make) -> None:
    for kind in ("arch", "flag", "bulge", "bridge"):
        done = make(text(f'mk:envelope="{kind}" mk:bend="0.5"'), [{"name": "Harbour"}, {"name": "Quigley"}])
        for artwork in done.artworks:
            box = engraved(artwork).bounds()
            assert 17.49 < box.x0 < box.x1 < 77.51
            assert 27.49 < box.y0 < box.y1 < 67.51
            assert box.height > 18


def test_raised_letters_are_left_standing(make: Make) -> None:
    rows = [{"name": "Boog"}]
    plain = region(engraved(make(text(""), rows).artworks[0]))
    ground = region(circle(47.5 + 47.5j, 40))
    stamp = engraved(make(text('mk:raised-from="#a"'), rows).artworks[0])
    assert region(stamp).symmetric_difference(ground.difference(plain)).area < 0.01 * plain.area
    assert abs(signed_area(stamp)) == pytest.approx(
        ground.area - plain.area, rel=1e-3
    )  # the non-zero rule agrees


def test_mirrored_work_is_the_mirror_image_and_says_so(make: Make) -> None:
    rows = [{"name": "Rolf"}]
    plain, mirrored = make(text(""), rows), make(text(""), rows, 'mk:mirror="yes"')
    assert [p.code for p in mirrored.problems] == ["mirrored"]
    there = engraved(mirrored.artworks[0]).points
    assert np.allclose(there, 95 - np.conjugate(engraved(plain.artworks[0]).points))


def test_backward_changes_the_direction_only() -> None:
    path = Path.joined((rectangle(0, 0, 3, 2), circle(9 + 0j, 1)))
    assert signed_area(path) == pytest.approx(6 + np.pi, abs=1e-4)
    assert signed_area(backward(path)) == pytest.approx(-6 - np.pi, abs=1e-4)
    assert backward(backward(path)).bounds() == path.bounds()


@pytest.mark.parametrize(
    ("attributes", "words"),
    [
        ('mk:monogram="heart"', "mk:monogram"),
        ('mk:frame="ring"', "no meaning without mk:monogram"),
        ('mk:bend="0.2"', "no meaning without mk:envelope"),
        ('mk:envelope="arch" mk:monogram="single"', "Keep one|follows a path"),
        ('mk:hangs="tops"', "no meaning without a path"),
        ('mk:raised-from="#nowhere"', "no area"),
        ('mk:shoulder="0.4"', "no meaning without mk:raised-from"),
        ('mk:raised-from="#a" mk:shoulder="9"', "mk:shoulder"),
        ('mk:thicken="to the moon"', "mk:thicken is"),
        ('mk:thicken="to 40"', "mk:thicken is"),
        ('mk:thicken="0.3"', "no meaning without mk:side"),
        ('mk:thicken="to 0.3" mk:monogram="single"', "no meaning on a monogram"),
    ],
)
def test_what_makes_no_sense_is_refused(make: Make, attributes: str, words: str) -> None:
    from render.errors import TemplateError

    with pytest.raises(TemplateError, match=words):
        make(text(attributes), [{"name": "Ida"}])


def stood(make: Make, head: str = "", attributes: str = "") -> Artwork:
    return make(text(f'mk:raised-from="#a" {attributes}'), [{"name": "Hob"}], head).artworks[0]


def test_a_shoulder_is_scored_and_left_out_of_the_ground(make: Make) -> None:
    """By GEOS: the ground keeps the shoulder's width from letters and from its own edge."""
    plain, stamp = region(engraved(stood(make))), stood(make, attributes='mk:shoulder="0.5"')
    ground, lines = region(engraved(stamp)), stamp.burned(Operation.SCORE)
    assert ground.symmetric_difference(plain.buffer(-0.5)).area < 0.002 * plain.area
    edge = plain.boundary
    spot = Workshop.open().job("coaster").machine.spot
    away = [edge.distance(shapely.Point(p.real, p.imag)) for c in lines.contours() for p in c.points[:1]]
    assert min(away) == pytest.approx(spot / 2, abs=0.01)
    assert max(away) == pytest.approx(0.5 - spot / 2, abs=0.01)
    places = sorted({round(a, 2) for a in away})
    assert max(np.diff(places)) <= spot + 0.011, "no ridge is left between two lines"


def test_a_ground_that_reaches_the_rim_has_no_shoulder_there(make: Make) -> None:
    body = '<circle mk:area="rim" cx="47.5" cy="47.5" r="47.5"/>' + text(
        'mk:raised-from="#rim" mk:shoulder="0.5"'
    )
    stamp = make(body, [{"name": "Hob"}]).artworks[0]
    assert engraved(stamp).bounds().width == pytest.approx(95, abs=0.01)
    assert stamp.burned(Operation.SCORE).bounds().width < 70


def test_a_shoulder_is_told_with_what_to_set(make: Make) -> None:
    done = make(text('mk:raised-from="#a" mk:shoulder="0.4"'), [{"name": "Hob"}, {"name": "Una"}])
    told = [p for p in done.problems if p.code == "shoulder"]
    assert len(told) == 1
    assert "0.4 mm" in told[0].message
    assert "offcut" in told[0].hint


def test_score_lines_leave_no_gap() -> None:
    assert line_places(0.1, 0.15) == (0.05,)
    for width, spot in ((0.4, 0.15), (0.5, 0.1), (1.0, 0.0), (0.3, 0.3)):
        places = line_places(width, spot)
        spot = max(spot, 0.05)
        assert places[0] == pytest.approx(spot / 2)
        assert places[-1] == pytest.approx(width - spot / 2)
        assert all(b - a <= spot + 1e-9 for a, b in pairwise(places))


def test_thin_strokes_are_thickened_where_the_template_asks(make: Make) -> None:
    rows = [{"name": "Ida"}]
    look = 'font-size="7" mk:sizing="fixed"'
    thin = text(look).replace("Montserrat", "Playfair Display").replace('font-size="30"', "")
    stout = thin.replace("mk:smallest", 'mk:thicken="to 0.4" mk:smallest')
    before, after = make(thin, rows), make(stout, rows)
    assert before.details["t"].stroke < 0.2
    assert after.details["t"].stroke >= 0.97 * 0.4
    assert "thickened" in {p.code for p in after.problems}
    grown = region(engraved(after.artworks[0])).area / region(engraved(before.artworks[0])).area
    assert 1.02 < grown < 1.5


def test_what_is_too_fine_is_told_with_figures_and_letters(make: Make) -> None:
    """Playfair at 4 mm on cork: its hairlines and the gaps of its e are finer than cork holds."""
    look = text("mk:sizing='fixed'").replace("Montserrat", "Playfair Display").replace('"30"', '"4"')
    done = make(look, [{"name": "ege"}])
    by_code = {p.code: p for p in done.problems}
    assert {"stroke-too-thin", "gap-too-narrow"} <= set(by_code)
    assert "“g”" in by_code["gap-too-narrow"].message
    assert done.details["t"].gap_in == "“g” in “ege”"
