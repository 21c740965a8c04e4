"""A shop's own blanks, machines and materials: what it may say, and what is told where it is wrong."""

from __future__ import annotations

import math
from pathlib import Path as File

import numpy as np
import pytest

from render.errors import LibraryError
from render.model import Cutting
from render.resources import folder
from render.shop.library import Library
from render.shop.lie import reversed_contour, winding
from tests.shop.regions import region

LIBRARY = Library.standard()


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
    assert set(library.ids("blanks")) == {*LIBRARY.ids("blanks"), "oval"}
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


@pytest.mark.parametrize(
    ("kind", "id_", "hint"),
    [
        ("blank", "tumbler", "did you mean tapered-tumbler, straight-tumbler or tumbler-all-round?"
         " monikerf show blanks lists them"),
        ("blank", "qqqq", "monikerf show blanks lists them"),
        ("machine", "diod", "did you mean diode or diode-roller? Known: co2, diode, diode-roller, infrared, "
         "infrared-chuck"),
        ("colours", "neon", "known: okabe-ito"),
    ],
)  # fmt: skip
def test_an_unknown_id_is_met_by_the_nearest_and_not_by_a_long_list(kind: str, id_: str, hint: str) -> None:
    with pytest.raises(LibraryError) as caught:
        getattr(LIBRARY, kind)(id_)
    assert caught.value.hint == hint
