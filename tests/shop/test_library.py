"""The shop library: what travels with Monikerf, and what a shop adds."""

from __future__ import annotations

import tomllib

import pytest

from render.model import Blank, Hold, Operation, RotaryKind
from render.resources import folder
from render.shop.library import Library
from tests.shop.regions import region

LIBRARY = Library.standard()

SIZES = {
    # ISO 216 A4 is 210 x 297, ISO/IEC 7810 plays no part here; all sizes: common practice, no source
    "place-card": (89, 51),
    "tent-card": (89, 102),
    "hanging-tag": (50, 90),
    "key-tag": (60, 24),
    "luggage-tag": (100, 60),
    "coaster": (95, 95),
    "pet-tag": (32, 32),
    "straight-tumbler": (228.6, 100),  # 9 inches of 25.4 mm round
    "tapered-tumbler": (250, 150),
    "tumbler-all-round": (250, 150),
    "mug": (258, 95),
    "wine-glass": (220.9986, 75.3147),
    "pen": (60, 32),
    "ring-outside": (62.8319, 6),
    "ring-inside": (53.4071, 6),
    "bat": (240.1071, 200.9943),
    "flat-bottle": (64, 96),
    "bowl": (110, 110),
    "spoon": (42, 60),
    "cup-sleeve": (250, 80),
    "desk-plate": (200, 50),
    "cake-topper": (180, 160),
    "table-number": (104, 240),
    "door-hanger": (90, 230),
    "standing-name": (250, 90),
    "name-key-ring": (100, 40),
    "stencil": (210, 99),  # a third of ISO 216 A4
    "hair-clip": (90, 36),
    "layered-sign-front": (240, 110),
    "layered-sign-back": (240, 110),
    "clock-ring": (280, 280),
    "wallet-patch": (70, 44),
    "porch-sign": (1400, 180),
    "bracelet-bar": (46, 9),
    "name-stamp": (60, 25),
    "slate-coaster": (100, 100),
    "plank": (800, 200),
    "edge-lit-panel": (160, 200),
    "cutlery-handle": (70, 16),
    "slotted-name": (200, 90),
    "slotted-base": (150, 70),
    "inlaid-tag": (90, 38),
    "inlaid-tag-insert": (90, 38),
    "halo-backing": (240, 110),
}


BLANKS = LIBRARY.blanks()
by_id = pytest.mark.parametrize("blank", BLANKS, ids=lambda blank: blank.id)


def test_every_blank_has_its_size() -> None:
    assert {b.id for b in BLANKS} == set(SIZES)
    for blank in BLANKS:
        box = blank.outline.bounds()
        assert (box.x0, box.y0, box.x1, box.y1) == pytest.approx((0, 0, *SIZES[blank.id]), abs=1e-3), blank.id


@by_id
def test_the_shapes_of_a_blank_agree(blank: Blank) -> None:
    outline, markable = region(blank.outline), region(blank.markable)
    assert outline.is_valid
    assert markable.is_valid
    assert outline.buffer(0.01).contains(markable)
    for hole in blank.holes:
        assert outline.contains(region(hole))
        # enough is left between a hole and both the rim and the marking (common practice, no source)
        assert region(hole).distance(outline.exterior) > 2
        assert region(hole).distance(markable) > 1.4
    if blank.hold is not Hold.ROTARY and blank.id != "name-stamp":  # its ground goes to the rim
        assert markable.distance(outline.exterior) > 1.9


@by_id
def test_a_blank_names_only_what_there_is_and_lies_where_it_fits(blank: Blank) -> None:
    box = blank.outline.bounds()
    LIBRARY.material(blank.material)
    if blank.hold is Hold.JIG:
        jig = LIBRARY.jig(blank.jig)
        assert jig.columns == 1 or jig.pitch[0] >= box.width + 1
        assert jig.rows == 1 or jig.pitch[1] >= box.height + 1
        right = jig.origin[0] + (jig.columns - 1) * jig.pitch[0] + box.width
        foot = jig.origin[1] + (jig.rows - 1) * jig.pitch[1] + box.height
        beds = [
            machine.id for machine in LIBRARY.machines() if machine.bed[0] >= right and machine.bed[1] >= foot
        ]
        assert {"diode", "co2"} <= set(beds)
        assert ("infrared" in beds) == (blank.id in ("pet-tag", "bracelet-bar", "cutlery-handle"))
    elif blank.hold is Hold.STOCK:
        assert blank.stock is not None
        assert blank.stock.width - 2 * blank.stock.margin >= box.width
        assert blank.stock.height - 2 * blank.stock.margin >= box.height
        assert any(
            (m.bed[0] >= blank.stock.width and m.bed[1] >= blank.stock.height)
            or (m.passes_through == "y" and m.bed[0] >= blank.stock.height)  # moved on, section by section
            for m in LIBRARY.machines()
        )
    else:
        assert blank.body is not None
        if not blank.body.keep_outs:
            assert blank.markable.bounds().width == pytest.approx(blank.body.circumference - blank.body.seam)


def test_the_tent_card_is_folded_in_the_middle() -> None:
    (fold,) = LIBRARY.blank("tent-card").folds
    assert fold.points.tolist() == [51j, 89 + 51j]


def test_the_pet_tag_is_a_disc_less_the_surroundings_of_its_hole() -> None:
    from shapely import Point

    exact = Point(16, 16).buffer(14, 256).difference(Point(16, 4).buffer(3, 256))
    # chords leave the curve by at most 0.005 mm along some 90 mm
    assert region(LIBRARY.blank("pet-tag").markable).symmetric_difference(exact).area < 0.3


def test_machines_and_their_light() -> None:
    machines = {machine.id: machine for machine in LIBRARY.machines()}
    assert {id_: m.bed for id_, m in machines.items()} == {
        "diode": (400, 400),
        "diode-roller": (400, 400),
        "co2": (600, 400),
        "infrared": (110, 110),
        "infrared-chuck": (110, 110),
    }
    kinds = {id_: m.rotary.kind for id_, m in machines.items() if m.rotary}
    chucks = dict.fromkeys(("co2", "infrared-chuck"), RotaryKind.CHUCK)
    assert kinds == {**chucks, "diode-roller": RotaryKind.ROLLER}
    lights = {id_: LIBRARY.light(m.light_source).wavelength for id_, m in machines.items()}
    # wavelengths of blue diodes, carbon dioxide and neodymium or ytterbium: common practice, no source
    assert lights == {
        "diode": (445, 455),
        "diode-roller": (445, 455),
        "co2": (10_600, 10_600),
        "infrared": (1064, 1064),
        "infrared-chuck": (1064, 1064),
    }
    assert all(machine.motion for machine in machines.values())


def test_colours_are_of_okabe_and_ito() -> None:
    # M. Okabe and K. Ito, Color Universal Design (2008): blue, bluish green, vermilion, reddish purple
    expected = {"engrave": "#0072B2", "score": "#009E73", "cut": "#D55E00", "guide": "#CC79A7"}
    for machine in LIBRARY.machines():
        assert machine.colours == {Operation(name): colour for name, colour in expected.items()}


def test_materials_warn_of_their_own_hazard() -> None:
    told = {material.id: " ".join(material.cautions) for material in LIBRARY.materials()}
    for id_, words in {
        "card": ("fire",),
        "plywood": ("fire", "glue"),
        "bamboo": ("fire", "food"),
        "leather-veg-tanned": ("chrome-tanned", "PVC"),
        "slate": ("Splinters", "food"),
        "anodised-aluminium": ("throws the beam back",),
        "coated-steel": ("throws the beam back",),
        "acrylic-cast": ("flame", "PVC", "polycarbonate"),
    }.items():
        assert all(word in told[id_] for word in words), id_


def test_every_file_says_where_its_figures_come_from() -> None:
    # the example of prices is invented throughout and says so in its first line
    files = sorted(f for f in folder("shared").rglob("*.toml") if f.parent.name != "prices")
    assert len(files) > 20
    for file in files:
        raw = tomllib.loads(file.read_text("utf-8"))
        assert len(raw["source"]) > 10, file
        assert not {"power", "speed"} & set(raw), file
