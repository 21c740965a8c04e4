"""The designs that are cut out or through, made as whole jobs, and each piece asked whether it holds."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import shapely

from render.fitting import fit_order
from render.fitting.necks import cores
from render.fitting.solids import parts_of, region_of_path
from render.model import Artwork, Operation, Order, Piece, Severity
from render.pipeline.artworks import Lettered, letter_order
from render.pipeline.workshop import Job, Workshop

WORKSHOP = Workshop.open()
LETTERER = WORKSHOP.letterer()

HARD = ("Io", "Zoë Ångström", "Jill & Jürgen", "Đặng Nhi", "Łucja Żółć", "O. J. Üllői")
SOLID = ("cake-topper", "standing-name", "name-key-ring", "hair-clip", "layered-sign-front", "clock-ring")
THROUGH = ("stencil", "door-hanger")
PLAIN = ("bracelet-bar", "wallet-patch")


def made(template: str, *names: str, font: str = "") -> tuple[Lettered, Job]:
    job = WORKSHOP.job(template, font=font or None)
    pieces = tuple(Piece(f"p{n:03}", n, {"name": name}) for n, name in enumerate(names, 2))
    order = Order("test", pieces)
    return letter_order(order, job, LETTERER, WORKSHOP, 1, lambda *_: None), job


def stops(lettered: Lettered) -> list[str]:
    return [f"{p.piece} {p.code}: {p.message}" for p in lettered.problems if p.severity is Severity.STOP]


def assert_one_piece(artwork: Artwork, neck: float) -> None:
    region = region_of_path(artwork.burned(Operation.CUT))
    assert region.geom_type == "Polygon", artwork.title
    assert region.is_valid
    stout = [place for place in cores(region, 0.95 * neck) if place.area > 0.03 * neck * neck]
    assert len(stout) == 1, artwork.title  # smaller places are swellings of a tip


@pytest.mark.parametrize("template", SOLID)
def test_every_hard_name_is_one_piece(template: str) -> None:
    names = HARD if template != "clock-ring" else HARD[:2]
    lettered, job = made(template, *names)
    assert not stops(lettered)
    assert len(lettered.artworks) == len(names)
    for artwork, held in zip(lettered.artworks, lettered.held, strict=True):
        assert_one_piece(artwork, held.values["neck_mm"])
        assert job.blank.outline.bounds().contains(artwork.burned(Operation.CUT).bounds(), 0.01)


@pytest.mark.parametrize(
    "font", ["lobster", "dancing-script", "great-vibes", "montserrat", "roboto-slab", "cinzel"]
)
def test_a_topper_holds_in_other_faces(font: str) -> None:
    lettered, _ = made("cake-topper", "Zoë & Jim", "Hélène", font=font)
    assert not stops(lettered)
    for artwork in lettered.artworks:
        assert_one_piece(artwork, 1.5)


@pytest.mark.parametrize("numbers", [("7",), ("12", "3", "108")])
def test_table_numbers_stand_on_bar_and_stake(numbers: tuple[str, ...]) -> None:
    lettered, _ = made("table-number", *numbers)
    assert not stops(lettered)
    for artwork in lettered.artworks:
        assert_one_piece(artwork, 1.5)
        assert artwork.burned(Operation.CUT).bounds().y1 == pytest.approx(236)


@pytest.mark.parametrize("template", THROUGH)
def test_nothing_falls_out_of_a_plate(template: str) -> None:
    lettered, job = made(template, "Bob & Åse", "Größe 8")
    assert not stops(lettered)
    plate = region_of_path(job.blank.outline)
    for hole in job.blank.holes:
        plate = plate.difference(region_of_path(hole))
    for artwork, held in zip(lettered.artworks, lettered.held, strict=True):
        left = plate.difference(region_of_path(artwork.burned(Operation.CUT)))
        assert len(parts_of(left, 0.01)) == 1, artwork.title
        assert held.values["islands"] >= 3
        assert held.values["bridges"] >= held.values["islands"]


@pytest.mark.parametrize("template", PLAIN)
def test_the_engraved_ones_are_engraved(template: str) -> None:
    lettered, _ = made(template, "Noor", "Jonas Ahlgren")
    assert not stops(lettered)
    assert not lettered.held
    assert all(artwork.burned(Operation.ENGRAVE) for artwork in lettered.artworks)


def test_the_back_of_a_layered_sign_shows_where_its_front_is_glued() -> None:
    (front,) = made("layered-sign-front", "The Alders")[0].artworks
    (back,) = made("layered-sign-back", "The Alders")[0].artworks
    assert back.burned(Operation.SCORE) == front.burned(Operation.CUT)


def test_a_bar_grows_with_its_name_and_an_eye_stays_at_its_beginning() -> None:
    (short,) = made("standing-name", "Io")[0].artworks
    (long,) = made("standing-name", "Maximiliane")[0].artworks
    assert short.burned(Operation.CUT).bounds().width < 0.5 * long.burned(Operation.CUT).bounds().width
    for name in ("Al", "Bartholomäa"):
        (ring,) = made("name-key-ring", name)[0].artworks
        path = ring.burned(Operation.CUT)
        eye = shapely.Point(path.bounds().x0 + 5, 22)
        region = region_of_path(path)
        around = [abs(eye.y - h.centroid.y) for h in map(shapely.Polygon, region.interiors)
                  if abs(h.area - 12.566) < 0.1]  # fmt: skip
        assert len(around) == 1, name


def test_a_free_standing_name_stands() -> None:
    lettered, _ = made("standing-name", "Caroline", "Io", "Zoë J.")
    for held in lettered.held:
        assert held.values["stands"]["sideways_deg"] > 20
        assert held.values["stands"]["over_deg"] > 5


def test_what_does_not_hold_is_held_back_with_place_letters_and_picture(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    from render.fitting import joining
    from render.pipeline.weakness import weak_pages

    monkeypatch.setattr(joining, "ROUNDS", 0)  # nothing is tied
    lettered, job = made("name-key-ring", "Ida Jo")
    (stop,) = stops(lettered)
    assert "pieces" in stop
    assert " at x " in stop
    assert "near “" in stop
    assert not lettered.artworks
    order = Order("test", (Piece("p002", 2, {"name": "Ida Jo"}),))
    (page,) = weak_pages(lettered.held, order, job, LETTERER)
    assert page.count(b"<path") > 4


def test_a_material_without_a_neck_is_asked_about() -> None:
    from dataclasses import replace

    job = WORKSHOP.job("cake-topper")
    bare = replace(job, material=replace(job.material, neck=0.0))
    order = Order("test", (Piece("p002", 2, {"name": "Ida"}),))
    lettered = letter_order(order, bare, LETTERER, WORKSHOP, 1, lambda *_: None)
    assert [p.code for p in lettered.problems if p.severity is Severity.STOP] == ["no-neck"]


def test_a_whole_job_reports_how_it_holds(tmp_path: Path) -> None:
    from render.pipeline.run import run

    job = WORKSHOP.job("cake-topper")
    order = Order("test", tuple(Piece(f"p{n:03}", n, {"name": name}) for n, name in enumerate(HARD[:2], 2)))
    outcome = run(order, job, WORKSHOP, tmp_path, 1, lambda *_: None)
    assert not outcome.held_back
    assert any(line.startswith("Held together: 2 in one piece each") for line in outcome.headlines)
    report = json.loads((tmp_path / "report.json").read_text("utf-8"))
    assert [v["pieces"] for v in report["held_together"]] == [1, 1]
    assert any("food-safe" in caution for caution in report["cautions"])


def test_small_waste_is_told_once() -> None:
    lettered, _ = made("stencil", "iiii", "jjj")
    notes = [p for p in lettered.problems if p.code == "small-waste"]
    assert len(notes) == 1
    assert "can drop into the machine" in notes[0].message


@pytest.mark.slow
def test_several_processes_hold_as_one_does() -> None:
    from render.pipeline.holdworkers import hold_all

    job = WORKSHOP.job("name-key-ring")
    todo = []
    for number, name in enumerate(HARD[:3], 2):
        drawing = job.template.compose({"name": name}, f"p{number:03}")
        fitted = fit_order(drawing.requests, LETTERER.line)
        paths = LETTERER.outlines([f.lines for f in fitted])
        todo.append((f"p{number:03}", drawing, list(zip(fitted, paths, strict=True))))
    alone = list(hold_all(todo, job, LETTERER, WORKSHOP, 1))
    assert list(hold_all(todo, job, LETTERER, WORKSHOP, 2)) == alone
