"""Inserts go into their pockets, tongues into their slots, and backings show all round."""

from __future__ import annotations

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from render.geometry import Path
from render.geometry.inside import flattened
from render.geometry.offset import TOLERANCE_MM, region
from render.geometry.shapes import rectangle
from render.geometry.turning import signed_area
from render.model import Artwork, Mark, Operation, Order, Piece, Severity
from render.pipeline.artworks import letter_order
from render.pipeline.cutting import CutOptions, cut_ready, with_room
from render.pipeline.inlays import backing, wider
from render.pipeline.laying import lay_out, wrap_all
from render.pipeline.workshop import Job, Workshop
from render.sheets.burn import finished
from render.sheets.cuts import CutPlan, cut_lines

WORKSHOP = Workshop.open()
HEART = Path.polygon((10 + 10j, 22 + 10j, 22 + 16j, 18 + 16j, 18 + 20j, 10 + 20j))
PLATE = rectangle(0, 0, 40, 30, 3)


def made(template: str, *names: str) -> tuple[tuple[Artwork, ...], Job]:
    job = WORKSHOP.job(template)
    pieces = tuple(Piece(f"p{n:03}", n, {"name": name}) for n, name in enumerate(names, 2))
    order = Order("test", pieces)
    return letter_order(order, job, WORKSHOP.letterer(), WORKSHOP, 1, lambda *_: None).artworks, job


def shape(path: Path) -> shapely.Geometry:
    contours = tuple(path.contours())
    return region(contours, [flattened(c, 1e-5) for c in contours])


def out_of_the_beam(path: Path, kerf: float) -> shapely.Geometry:
    """What is left of a part: the beam takes half a kerf on each side of the line that it follows."""
    lines = cut_lines(path, CutPlan(kerf)).lines
    return shape(Path.joined(lines)).buffer(-kerf / 2, quad_segs=64)


@given(st.floats(0.05, 0.3), st.floats(0.0, 0.3))
@settings(max_examples=15, deadline=None)
def test_an_insert_goes_into_a_pocket_cut_through_with_the_play_stated(kerf: float, more: float) -> None:
    play = kerf / 2 + more
    insert = out_of_the_beam(HEART, kerf)
    plate = out_of_the_beam(Path.joined((PLATE, wider(HEART, play))), kerf)
    assert insert.intersection(plate).area == 0
    assert plate.distance(insert) == pytest.approx(play, abs=3 * TOLERANCE_MM)
    side = insert.bounds[2] - insert.bounds[0]
    hole = shapely.Polygon(plate.interiors[0]).bounds
    assert hole[2] - hole[0] == pytest.approx(side + 2 * play, abs=4 * TOLERANCE_MM)


@pytest.mark.parametrize("name", ["Io", "Zoë", "Margarethe Alexandra"])
def test_the_inlaid_tag_s_pocket_is_its_insert_made_wider(name: str) -> None:
    """Counters stand in the pocket as islands, narrower by the play; both templates letter alike."""
    (tag,), _ = made("inlaid-tag", name)
    (insert,), _ = made("inlaid-tag-insert", name)
    inner, outer = shape(insert.burned(Operation.CUT)), shape(tag.burned(Operation.ENGRAVE))
    assert inner.geom_type == outer.geom_type == "Polygon"
    assert outer.contains(inner)
    assert outer.boundary.distance(inner) == pytest.approx(0.1, abs=2 * TOLERANCE_MM)
    wanted = inner.buffer(0.1, quad_segs=64)
    assert outer.symmetric_difference(wanted).area < TOLERANCE_MM * wanted.length


def test_a_bight_that_closes_is_a_hole() -> None:
    """With the non-zero rule, by which it is engraved: it must run against its outline."""
    bight = Path.polygon(
        (0, 20, 20 + 20j, 0.2 + 11 + 20j, 11.1 + 10j, 16 + 5j, 4 + 5j, 10.9 + 10j, 11 + 20j, 20j)
    )
    grown = wider(bight, 0.2)
    areas = [signed_area(contour) for contour in grown.contours()]
    assert len(areas) == 2
    assert areas[0] * areas[1] < 0


def test_a_tongue_goes_into_its_slot() -> None:
    """The slot comes out of the beam as wide as the sheet and its play, and as long as the tongue and it."""
    (name,), job = made("slotted-name", "Io")
    _, base_job = made("slotted-base", "Io")
    tongue = shape(name.burned(Operation.CUT))
    foot = tongue.bounds[3]
    low = tongue.intersection(shapely.box(0, foot - 0.5, 300, foot))
    (base,) = finished([Artwork("p002", "", ())], base_job.blank)
    slot, _ = base.burned(Operation.CUT).contours()
    kerf = 0.2
    narrow, _ = cut_lines(base.burned(Operation.CUT), CutPlan(kerf)).lines
    box = narrow.bounds()
    assert (box.width + kerf, box.height + kerf) == pytest.approx(
        (low.bounds[2] - low.bounds[0] + 0.1, job.blank.thickness + 0.1), abs=3 * TOLERANCE_MM
    )
    assert slot.bounds().height == pytest.approx(job.blank.thickness + 0.1)
    shoulders = tongue.intersection(shapely.box(0, foot - 4.5, 300, foot - 4.1)).bounds
    assert shoulders[2] - shoulders[0] > low.bounds[2] - low.bounds[0] + 10


def test_letters_do_not_hang_below_the_shoulders() -> None:
    """The tail of a Q would keep the name from standing on its base."""
    for art in made("slotted-name", "Quinn", "Çağlar")[0]:
        whole = shape(art.burned(Operation.CUT))
        foot = whole.bounds[3]
        left, _, right, _ = whole.intersection(shapely.box(0, foot - 3.9, 300, foot)).bounds
        assert right - left == pytest.approx(80, abs=0.01)


def test_a_backing_shows_all_round_and_has_no_holes() -> None:
    (back,), job = made("halo-backing", "Oda & Bo")
    name, rim = shape(back.burned(Operation.SCORE)), shape(back.burned(Operation.CUT))
    assert rim.geom_type == "Polygon"
    assert not rim.interiors
    assert rim.boundary.distance(name) == pytest.approx(6, abs=0.02)
    assert job.blank.outline.bounds().contains(back.burned(Operation.CUT).bounds())
    ring = Path.joined((rectangle(0, 0, 60, 60), rectangle(15, 15, 30, 30)))
    assert len(list(backing(ring, 2).contours())) == 1


def test_no_play_changes_nothing() -> None:
    assert wider(HEART, 0) is HEART
    assert Mark(Operation.CUT, wider(HEART, 0.1)).path.bounds().width == pytest.approx(12.2, abs=0.01)


@pytest.mark.parametrize(
    ("kerf", "need"), [(None, None), (0.0, None), (0.2, None), (0.21, "0.11"), (0.3, "0.15"), (0.5, "0.25")]
)
def test_a_pocket_with_less_play_than_half_the_kerf_is_told(kerf: float | None, need: str | None) -> None:
    """The inlaid tag's own play is 0.1 mm."""
    artworks, job = made("inlaid-tag", "Io")
    options = CutOptions(kerf=kerf)
    laid = lay_out(wrap_all(artworks, job.blank, job), frozenset(), with_room(job, options), cutting=options)
    told = [p for p in cut_ready(laid, job, options).problems if p.code == "tight-pocket"]
    assert len(told) == (need is not None)
    for problem in told:
        assert problem.severity is Severity.LOOK
        assert "0.1 mm wider all round than its insert" in problem.message
        assert f'mk:play="{need}"' in problem.hint
