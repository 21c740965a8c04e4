"""The templates that travel with Monikerf, each against the blank it is made for."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from render.design import Template, list_templates, load_template
from render.design.shapes import flattened
from render.geometry import Path as Outline
from render.lettering.single_stroke import HANDS
from render.model import Operation
from render.resources import folder
from render.shop.library import Library

FILES = list_templates([folder("templates")])
SMALLEST_GAP_MM = 1.0


def region(path: Outline) -> BaseGeometry:
    """What the contours enclose, holes left out of account."""
    return unary_union([Polygon([(p.real, p.imag) for p in flattened(c)]) for c in path.contours()])


def lines(path: Outline) -> BaseGeometry:
    contours = ((c, flattened(c)) for c in path.contours())
    closed = [np.append(p, p[0]) if c.is_closed() else p for c, p in contours]
    return unary_union([LineString([(z.real, z.imag) for z in points]) for points in closed])


@pytest.fixture(scope="module", params=FILES)
def template(request: pytest.FixtureRequest) -> Template:
    return load_template(FILES[request.param])


def test_there_are_at_least_nine() -> None:
    cards = {"place-card", "tent-card"}
    tags = {"hanging-tag", "key-tag", "luggage-tag", "pet-tag"}
    assert set(FILES) >= cards | tags | {"coaster", "desk-plate", "tumbler-band"}


def test_it_says_what_it_is(template: Template) -> None:
    assert template.title
    assert 20 < len(template.description) < 200
    assert template.fields == ("name",)
    assert template.sample
    drawing = template.compose(template.sample, "p")
    assert drawing.requests
    assert not drawing.problems


def test_it_has_the_size_of_its_blank(template: Template) -> None:
    blank = Library.standard().blank(template.blank)
    box = blank.outline.bounds()
    assert template.size == pytest.approx((box.width, box.height), abs=0.01)


def test_all_that_is_burned_lies_where_the_blank_may_be_marked(template: Template) -> None:
    blank = Library.standard().blank(template.blank)
    markable = region(blank.markable).buffer(0.005)
    for hole in blank.holes:
        markable = markable.difference(region(hole))
    for area in template.areas.values():
        assert markable.contains(region(area))
    for extra in (None, *template.extras):
        for mark in template.marks if extra is None else (extra.mark,):
            if mark.operation is not Operation.GUIDE:
                assert markable.contains(lines(mark.path))


@pytest.mark.parametrize("bare", [False, True], ids=["full", "bare"])
def test_lettering_keeps_clear_of_ornaments_and_of_other_lettering(template: Template, bare: bool) -> None:
    fields = {"name": "Ida"} if bare else template.sample
    drawing = template.compose(fields, "p")
    assert not drawing.problems
    areas = [region(request.area) for request in drawing.requests]
    marks = [lines(m.path) for m in drawing.marks if m.operation is not Operation.GUIDE]
    for index, area in enumerate(areas):
        for other in (*areas[:index], *marks):
            assert area.distance(other) > SMALLEST_GAP_MM or area.boundary.distance(other) > 0.5


def test_its_fonts_are_on_the_shelf(template: Template) -> None:
    for font in template.fonts:
        assert font in HANDS or list((folder("fonts_open") / font).glob("*.ttf")), font


def test_any_vector_program_can_draw_it(template: Template) -> None:
    """A renderer that knows nothing of ours (resvg), given our fonts, draws the file at true size."""
    import io

    import resvg_py
    from PIL import Image

    source = Path(FILES[template.id]).read_text(encoding="utf-8")
    png = resvg_py.svg_to_bytes(
        svg_string=source,
        dpi=96,
        skip_system_fonts=True,
        font_dirs=[str(folder("fonts_open"))],
        serif_family="Noto Sans",
    )
    picture = Image.open(io.BytesIO(bytes(png)))
    width, height = (round(mm * 96 / 25.4) for mm in template.size)
    assert abs(picture.width - width) <= 1
    assert abs(picture.height - height) <= 1
    assert picture.getextrema()[3][1] > 200  # on the smallest things no pixel is wholly covered


def test_the_readme_lists_every_template_and_attribute() -> None:
    from render.design.filters import FILTER_VALUES
    from render.design.grammar import OUR_ATTRIBUTES

    text = (folder("templates") / "README.md").read_text(encoding="utf-8")
    for name in (*FILES, *(f"mk:{name}" for name in OUR_ATTRIBUTES)):
        assert f"| `{name}` |" in text, name
    for name in FILTER_VALUES:
        assert f"\\|{name}" in text, name
