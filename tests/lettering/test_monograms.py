"""Monograms: order of letters, room, evenness of strokes, clean cuts."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from render.geometry.shapes import circle, rectangle
from render.lettering import Letterer, Shelf
from render.lettering.cells import SHAPES
from render.lettering.clip import UNIT, parted, region
from render.lettering.contours import area
from render.lettering.emblems import Emblems, MonogramError, letters_of
from render.lettering.frames import FRAMES, round_frame
from render.lettering.letters import Letters, chords
from render.lettering.monograms import FORMS, SPLIT, STROKE, WEAVE_GAP
from render.lettering.placed import contours_of
from render.lettering.union import oriented
from render.model import Operation, Setting, Shaping
from render.resources import folder

SANS = Setting("montserrat")
AWKWARD = "WIQJØ"


@pytest.fixture(scope="module")
def letterer() -> Letterer:
    return Letterer(Shelf((folder("fonts_open"),)))


@pytest.fixture(scope="module")
def write(letterer: Letterer) -> Letters:
    return Letters(letterer, SANS)


@pytest.mark.parametrize(
    ("form", "name", "wanted"),
    [
        ("single", "Mira Helene Tallis", "M"),
        ("single", "Ida & Otto Vale", "V"),
        ("ampersand", "Ida & Otto Vale", "IO"),
        ("bullet", "Mira Helene Tallis", "MT"),
        ("divider", "Mira van der Tallis", "MV"),
        ("three", "Mira Helene Tallis", "MHT"),
        ("surname-middle", "Mira Helene Tallis", "MTH"),
        ("couple", "Ida & Otto Vale", "IVO"),
        ("square", "Ida & Otto Vale", "IVOV"),
        ("square", "Ida Lou van Tallis", "ILVT"),
        ("stacked", "Mira Tallis", "MT"),
        ("circle", "Mira Helene Tallis", "MTH"),
        ("diamond", "Mira Tallis", "MT"),
        ("shield", "Ida & Otto Vale", "IVO"),
        ("oval", "Mira", "M"),
        ("split", "Mira Helene Tallis", "T"),
        ("interlaced", "Mira Helene Tallis", "MT"),
    ],
)
def test_order_of_letters(form: str, name: str, wanted: str) -> None:
    assert "".join(letters_of(name, SANS, Shaping(form))) == wanted


def test_letters_given_outright_stand_as_given() -> None:
    assert letters_of("Mira Tallis", SANS, Shaping("surname-middle", letters="x.Y.Z")) == ("x", "Y", "Z")


@pytest.mark.parametrize("form", FORMS)
def test_every_form_says_its_rule_and_source(form: str) -> None:
    said = f"{FORMS[form].draw.__doc__} {FORMS[form].rule.__doc__}"
    assert "Rule:" in said
    assert "ommon practice" in said or "CLDR" in said


@pytest.mark.parametrize("form", FORMS)
def test_every_form_is_closed_and_without_overlaps(form: str, write: Letters) -> None:
    for count in FORMS[form].counts:
        for shift in range(len(AWKWARD)):
            letters = [AWKWARD[(shift + k) % len(AWKWARD)] for k in range(count)]
            path = FORMS[form].draw(write, letters)
            assert path.is_closed()
            rings = oriented(contours_of(path, 0j, UNIT))
            once = sum(area([ring]) for ring in rings) * UNIT**2  # what lay twice would count twice
            assert once == pytest.approx(region(path).area, rel=5e-3), letters


def test_letters_stand_in_order_from_left_to_right(write: Letters) -> None:
    for form in ("three", "surname-middle", "circle", "oval"):
        path = FORMS[form].draw(write, list("LIE"))
        alone = [FORMS[form].draw(write, list(s)) for s in ("LIE", "EIL")]
        assert path == alone[0]
        lefts = sorted(c.bounds().x0 for c in path.contours())
        assert len(lefts) == 3
        assert alone[0] != alone[1]


@pytest.mark.parametrize("font", ["montserrat", "roboto-slab", "cinzel"])
@pytest.mark.parametrize("shape", SHAPES)
def test_strokes_stay_even(shape: str, font: str, letterer: Letterer) -> None:
    """Upright strokes of T and I come out STROKE thick across, wherever they stand."""
    path = FORMS[shape].draw(Letters(letterer, Setting(font)), list("TIT"))
    begins, ends = chords(path, 32)
    widths = []
    for y in (0.02, 0.12):
        crossing = (begins.imag <= y) != (ends.imag <= y)
        b, e = begins[crossing], ends[crossing]
        x = np.sort(b.real + (e.real - b.real) * (y - b.imag) / (e.imag - b.imag))
        widths += (x[1::2] - x[::2]).tolist()
    assert len(widths) == 6
    assert np.abs(np.array(widths) / STROKE - 1).max() < 0.12


@pytest.mark.parametrize("shape", SHAPES)
def test_letters_fill_their_shape_and_stay_in_it(shape: str, write: Letters) -> None:
    for letters in ("MTH", "SEB", "AB"):
        path = FORMS[shape].draw(write, list(letters))
        rim = shapely.Polygon([(z.real, z.imag) for z in chords(SHAPES[shape].outline(0.06))[0]])
        drawn = region(path)
        assert drawn.difference(rim).area < (0.05 if shape == "diamond" else 0.01) * drawn.area
        box = path.bounds()
        assert box.height > 1.8
        assert box.width > 1.55 * SHAPES[shape].half


def test_the_halves_of_a_split_letter_are_the_letter(write: Letters) -> None:
    for letter in AWKWARD + "BG":
        whole = write.letter(letter)
        halves = FORMS["split"].draw(write, [letter])
        assert region(halves).area == pytest.approx(region(whole).area, rel=1e-3)
        gap = shapely.box(-9, -SPLIT / 2 + 1e-3, 9, SPLIT / 2 - 1e-3)
        assert region(halves).intersection(gap).area == 0


def test_cutting_keeps_the_area() -> None:
    inside, outside = parted(circle(0j, 1), rectangle(-2, -2, 4, 2))
    assert region(inside).area == pytest.approx(np.pi / 2, rel=1e-3)
    assert region(outside).area == pytest.approx(np.pi / 2, rel=1e-3)
    assert inside.bounds().y1 == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize("letters", ["MT", "AK", "BB", "ØA", "SE", "OO"])
def test_woven_letters_pass_over_and_under(letters: str, write: Letters) -> None:
    """Where one letter is cut, the other passes whole, and free room lies between them."""
    both = FORMS["interlaced"].draw(write, list(letters))
    parts = list(shapely.get_parts(region(both)))
    whole = sum(region(write.letter(letter)).area for letter in letters) * 0.64
    assert region(both).area < 0.98 * whole  # something was cut
    near = min(a.distance(b) for k, a in enumerate(parts) for b in parts[:k])
    assert near > 0.5 * WEAVE_GAP * 0.8


@pytest.mark.parametrize("frame", FRAMES)
def test_frames_leave_their_room_free(frame: str) -> None:
    made = round_frame(frame)
    room = shapely.Point(0, 0).buffer(made.room, quad_segs=64)
    assert region(made.filled).intersection(room).area == 0
    assert made.filled.bounds().width == pytest.approx(2, abs=0.12)
    assert made.filled.is_closed()
    assert made.lines.is_closed()


def test_a_ring_round_a_shape_follows_it(letterer: Letterer) -> None:
    emblems = Emblems(letterer)
    plain = emblems.make("Mira Tallis", SANS, Shaping("diamond"), Operation.ENGRAVE)
    ringed = emblems.make("Mira Tallis", SANS, Shaping("diamond", "ring"), Operation.ENGRAVE)
    assert ringed.frame is None
    assert sum(1 for _ in ringed.path.contours()) == sum(1 for _ in plain.path.contours()) + 2


def test_what_cannot_be_made_says_what_would_mend_it(letterer: Letterer) -> None:
    emblems = Emblems(letterer)
    with pytest.raises(MonogramError, match=r"takes 3 letters, but 'Mira Tallis' gives M T") as few:
        emblems.make("Mira Tallis", SANS, Shaping("surname-middle"), Operation.ENGRAVE)
    assert "monogram" in few.value.hint
    with pytest.raises(MonogramError) as lacking:
        emblems.make("שרה כהן", SANS, Shaping("ampersand"), Operation.ENGRAVE)
    assert lacking.value.missing
    with pytest.raises(MonogramError, match="no form of monogram 'heart'"):
        emblems.make("Mira Tallis", SANS, Shaping("heart"), Operation.ENGRAVE)
