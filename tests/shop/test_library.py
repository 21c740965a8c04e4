"""The shop library: what travels with Monikerf, and what a shop adds."""

from __future__ import annotations

import math
import tomllib
from pathlib import Path as File

import numpy as np
import pytest

from render.errors import LibraryError
from render.geometry import Path
from render.model import Blank, Cutting, Hold, Operation, RotaryKind
from render.resources import folder
from render.shop.library import Library
from render.shop.lie import reversed_contour, ring, winding

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


def region(*paths: Path):
    """Closed contours as shapely's region by the even-odd rule (none of ours overlap the same way round)."""
    from shapely import Polygon

    whole = Polygon()
    for path in paths:
        for contour in path.contours():
            corners = ring(contour)
            whole = whole.symmetric_difference(Polygon(np.stack((corners.real, corners.imag), 1)))
    return whole


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
    }
    kinds = {id_: m.rotary.kind for id_, m in machines.items() if m.rotary}
    assert kinds == {"co2": RotaryKind.CHUCK, "diode-roller": RotaryKind.ROLLER}
    lights = {id_: LIBRARY.light(m.light_source).wavelength for id_, m in machines.items()}
    # wavelengths of blue diodes, carbon dioxide and neodymium or ytterbium: common practice, no source
    assert lights == {
        "diode": (445, 455),
        "diode-roller": (445, 455),
        "co2": (10_600, 10_600),
        "infrared": (1064, 1064),
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


# ---------------------------------------------------------------- a shop's own

OWN = """
title = "Oval tag"
source = "measured"
material = "card"
thickness = 1
hold = "stock"
markable = { inset = 3, clear = 2 }
[outline]
shape = "ellipse"
width = 80
height = 40
[stock]
width = 300
height = 200
"""


def shop(top: File, text: str, kind: str = "blanks", id_: str = "oval") -> Library:
    (top / kind).mkdir(parents=True, exist_ok=True)
    (top / kind / f"{id_}.toml").write_text(text, encoding="utf-8")
    return Library.standard(top)


def test_a_shop_adds_and_overrides(tmp_path: File) -> None:
    library = shop(tmp_path, OWN)
    assert set(library.ids("blanks")) == {*SIZES, "oval"}
    assert library.blank("oval").markable.bounds().width == pytest.approx(74, abs=1e-3)
    library = shop(tmp_path, OWN, id_="place-card")
    assert library.blank("place-card").title == "Oval tag"
    assert LIBRARY.blank("place-card").title != "Oval tag"


def test_a_hole_inside_is_taken_out_of_the_markable_region(tmp_path: File) -> None:
    hole = '[[holes]]\nshape = "ellipse"\ncentre = [40, 20]\nwidth = 6\n'
    blank = shop(tmp_path, OWN + hole).blank("oval")
    assert winding(blank.markable, np.array([40 + 20j, 40 + 15.5j, 40 + 14j, 0j])).tolist() == [0, 0, 1, 0]
    assert region(blank.markable).area == pytest.approx(math.pi * (37 * 17 - 25), rel=1e-3)


def test_a_slot_is_as_wide_as_what_goes_into_it_and_its_play(tmp_path: File) -> None:
    hole = '[[holes]]\nshape = "slot"\ncentre = [40, 20]\nlength = 20\nthickness = 3\nplay = 0.1\n'
    (slot,) = shop(tmp_path, OWN + hole).blank("oval").holes
    box = slot.bounds()
    assert (box.width, box.height, box.centre.x, box.centre.y) == pytest.approx((20.1, 3.1, 40, 20))


def test_a_blank_says_how_it_is_cut(tmp_path: File) -> None:
    text = OWN + "[cutting]\ntabs = 3\ntab_width = 0.6\nlead_in = 1\napart = 60\n"
    assert shop(tmp_path, text).blank("oval").cutting == Cutting(3, 0.6, 1.0, 60.0)
    assert LIBRARY.blank("key-tag").cutting == Cutting()


def test_a_reversed_contour_is_the_same_line() -> None:
    outline = LIBRARY.blank("hanging-tag").outline
    back = reversed_contour(outline)
    assert region(back).equals_exact(region(outline).normalize(), 1e-9) or region(back).equals(
        region(outline)
    )
    assert winding(back, np.array([25 + 45j])).tolist() == [-1]
    assert winding(outline, np.array([25 + 45j])).tolist() == [1]


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("width = 80", "width = -80", ("oval.toml", "key outline.width", "greater than 0")),
        ("width = 80", "width = nan", ("key outline.width", "finite")),
        ("width = 80", 'width = "80 mm"', ("key outline.width", "number")),
        ("width = 80", "widht = 80", ("key outline.width", "missing", "keys here: shape, width, [height]")),
        ('shape = "ellipse"', 'shape = "star"', ("key outline", "rectangle", "ellipse", "path")),
        (
            "thickness = 1",
            "thickness = 1\ncolour = 3",
            ("key colour", "not known", "keys here: title, source"),
        ),
        ("thickness = 1", "", ("key thickness", "missing")),
        ('hold = "stock"', 'hold = "glue"', ("key hold", "'stock', 'jig' or 'rotary'")),
        ('hold = "stock"', 'hold = "jig"', ("has no use for [stock]", "oval.toml")),
        (
            "[stock]",
            "[body]",
            ("key body.width", "not known", "keys here: [circumference], [diameter]"),
        ),
        ('hold = "stock"', 'hold = "stock"\njig = "coaster"', ("has no use for jig",)),
        (
            'material = "card"',
            'material = "slat"',
            ("no material 'slat'", "did you mean slate", "key material"),
        ),
        ("inset = 3", "inset = 20", ("leaves nothing to mark",)),
        ("markable = {", "markable = [", ("not TOML", "line 7")),
        (
            "[stock]",
            '[[holes]]\nshape = "ellipse"\ncentre = [4, 20]\nwidth = 4\n[stock]',
            ("across the rim", "shape of its own"),
        ),
        (
            "[stock]",
            '[[holes]]\nshape = "ellipse"\ncentre = [1, 1]\nwidth = 4\n[stock]',
            ("hole must lie within the outline",),
        ),
        ("[stock]", "[[folds]]\nfrom = [0, 20]\nto = [90, 20]\n[stock]", ("fold must lie within",)),
        ("height = 40", "height = 40\nat = [5, 0]", ("must begin at 0, 0",)),
        (
            "markable = { inset = 3, clear = 2 }",
            'markable = { shape = "rectangle", width = 80, height = 40 }',
            ("markable: it must lie within the outline",),
        ),
        (
            "markable = { inset = 3, clear = 2 }",
            'markable = { shape = "path", d = "M20 20H40V30" }',
            ("closed contours",),
        ),
        (
            "markable = { inset = 3, clear = 2 }",
            'markable = { shape = "path", d = "hello" }',
            ("key markable", "not SVG path data"),
        ),
    ],
)
def test_what_is_wrong_is_told_with_file_key_and_what_is_allowed(
    tmp_path: File, old: str, new: str, told: tuple[str, ...]
) -> None:
    assert old in OWN
    with pytest.raises(LibraryError) as caught:
        shop(tmp_path, OWN.replace(old, new, 1)).blank("oval")
    for words in told:
        assert words in str(caught.value)


def test_an_unknown_id_is_answered_with_a_near_one() -> None:
    with pytest.raises(LibraryError, match=r"there is no blank 'Placecard' \(did you mean place-card\?"):
        LIBRARY.blank("Placecard")
    with pytest.raises(LibraryError, match="known: co2, diode, diode-roller, infrared"):
        LIBRARY.machine("zzz")


@pytest.mark.parametrize("id_", ["../blanks/place-card", "/etc/passwd", "", "place-card.toml"])
def test_an_id_is_never_a_path(id_: str) -> None:
    with pytest.raises(LibraryError, match="there is no blank"):
        LIBRARY.blank(id_)


def test_a_file_that_is_no_text(tmp_path: File) -> None:
    library = shop(tmp_path, OWN)
    (tmp_path / "blanks" / "oval.toml").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(LibraryError, match="UTF-8"):
        library.blank("oval")


MACHINE = """
title = "Mine"
source = "measured"
bed = [300, 200]
light = "blue"
spot = 0.1
cautions = ["Mind your eyes."]
"""


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ('colours = "rainbow"', "no colour set 'rainbow'"),
        ('[rotary]\nkind = "chuck"', "belongs to a chuck"),
        ('[rotary]\nkind = "roller"\nturn = 100', "belongs to a chuck"),
        ('[rotary]\nkind = "chuck"\nturn = 100\naxis = "z"', "'x' or 'y'"),
        ("power = 20", "not known here"),
    ],
)
def test_a_machine_that_is_wrong(tmp_path: File, more: str, told: str) -> None:
    assert shop(tmp_path, MACHINE, "machines", "mine").machine("mine").bed == (300, 200)
    with pytest.raises(LibraryError, match=told):
        shop(tmp_path, MACHINE + more, "machines", "mine").machine("mine")
    with pytest.raises(LibraryError, match="cautions"):
        shop(tmp_path, MACHINE.replace('["Mind your eyes."]', "[]"), "machines", "mine").machine("mine")


def test_two_operations_may_not_share_a_colour(tmp_path: File) -> None:
    text = 'title="t"\nsource="s"\nengrave="#000000"\nscore="#111111"\ncut="#00000A"\nguide="#00000a"\n'
    with pytest.raises(LibraryError, match="colour of its own"):
        shop(tmp_path, text, "colours", "mine").colours("mine")


def test_the_blank_of_the_readme_is_one(tmp_path: File) -> None:
    readme = (folder("shared") / "README.md").read_text("utf-8")
    text = readme.split("```toml\n")[1].split("```")[0]
    blank = shop(tmp_path, text).blank("oval")
    assert winding(blank.markable, np.array([40 + 20j, 10 + 20j, 10 + 16.5j, 10 + 15.5j])).tolist() == [
        1,
        0,
        0,
        1,
    ]


def test_the_round_blank_of_the_readme_is_one(tmp_path: File) -> None:
    text = (folder("shared") / "README.md").read_text("utf-8").split("```toml\n")[3].split("```")[0]
    blank = shop(tmp_path, text, id_="cup").blank("cup")
    box = blank.markable.bounds()
    # 250 mm round half way down, the handle 30 degrees to either side, 8 mm of lip
    assert (box.x0, box.y0, box.x1, box.y1) == pytest.approx((250 / 12, 8, 250 - 250 / 12, 150))


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("slant = 150", "slant = 150\nheight = 149", "say how high it is once"),
        ("slant = 150", "slant = 5", "too short for the difference"),
        ("top_circumference = 276", "top_diameter = 88", "in one way"),
        ("slant = 150", 'slant = 150\nsurface = "sleeve"', "does not go with hold"),
        ("slant = 150", "slant = 150\nsagitta = 5", "belongs to a cap"),
        ("bottom = 8", "bottom = 150", "leaves nothing to mark"),
        ("from = -30, to = 30", "from = 30, to = -30", "from must come before to"),
        (
            "at = 90",
            "att = 90",
            "key body.places.0.at: this key is missing (keys here: name, at, [width], [lay])",
        ),
    ],
)
def test_round_things_that_cannot_be(tmp_path: File, old: str, new: str, told: str) -> None:
    text = (folder("shared") / "README.md").read_text("utf-8").split("```toml\n")[3].split("```")[0]
    assert old in text
    with pytest.raises(LibraryError) as caught:
        shop(tmp_path, text.replace(old, new, 1), id_="cup").blank("cup")
    assert told in str(caught.value)
