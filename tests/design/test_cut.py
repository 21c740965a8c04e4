"""What templates may say of lettering that is cut out or through."""

from __future__ import annotations

from pathlib import Path

import pytest

from render.design import Template, load_template
from render.errors import TemplateError
from render.model import Side

HEAD = (
    '<svg xmlns="http://www.w3.org/2000/svg" xmlns:mk="urn:monikerf:template:1" width="80mm" height="40mm" '
    'viewBox="0 0 80 40" mk:title="T" mk:blank="tag">'
    '<rect mk:area="a" x="5" y="5" width="70" height="20"/>'
    '<rect mk:area="s" x="5" y="26" width="70" height="12"/>'
)
TEXT = (
    '<text id="n" x="40" y="20" font-family="Pacifico" font-size="9" mk:fit-in="#a" mk:operation="cut" {}>'
    "{{{{ name }}}}</text>"
)


def load(tmp_path: Path, body: str) -> Template:
    file = tmp_path / "tag.svg"
    file.write_text(f"{HEAD}{body}</svg>", encoding="utf-8")
    return load_template(file)


def test_a_text_says_how_it_is_kept_together(tmp_path: Path) -> None:
    said = (
        'mk:side="solid" mk:neck="2" mk:closer="0.1" mk:thicken="0.4" '
        'mk:stakes="2" mk:stakes-in="#s" mk:stake-width="5"'
    )
    (request,) = load(tmp_path, TEXT.format(said)).compose({"name": "Ida"}, "p").requests
    rule = request.cut
    assert rule is not None
    assert (rule.side, rule.neck, rule.closer, rule.thicken) == (Side.SOLID, 2, 0.1, 0.4)
    assert (rule.stakes, rule.stake_width) == (2, 5)
    assert rule.stakes_in is not None
    assert rule.stakes_in.y1 == 38
    assert rule.drawn_at == 40 + 20j


def test_without_a_side_nothing_is_kept_together(tmp_path: Path) -> None:
    (request,) = load(tmp_path, TEXT.format("")).compose({"name": "Ida"}, "p").requests
    assert request.cut is None


def test_shapes_are_parts_that_may_depend_on_a_field(tmp_path: Path) -> None:
    parts = (
        '<circle mk:side="solid" mk:operation="cut" mk:follows="#n" cx="8" cy="20" r="4"/>'
        '<circle mk:side="hole" mk:operation="cut" cx="8" cy="20" r="2" mk:when="ring"/>'
    )
    template = load(tmp_path, parts + TEXT.format('mk:side="solid"'))
    bare = template.compose({"name": "Ida"}, "p")
    assert [(p.side, p.follows) for p in bare.parts] == [(Side.SOLID, "n")]
    full = template.compose({"name": "Ida", "ring": "yes"}, "p")
    assert [p.side for p in full.parts] == [Side.SOLID, Side.HOLE]
    assert not bare.marks


REFUSED = {
    'mk:neck="2"': "without mk:side",
    'mk:side="outside"': "does not know",
    'mk:side="solid" mk:neck="-1"': "mk:neck",
    'mk:side="solid" mk:closer="2"': "mk:closer",
    'mk:side="hole" mk:bridges="9"': "mk:bridges",
    'mk:side="solid" mk:stakes="2"': "where the stakes end",
    'mk:side="solid" mk:stakes="1.5" mk:stakes-in="#s"': "whole number",
    'mk:side="solid" mk:stakes="1" mk:stakes-in="#t"': "no area",
    'mk:side="solid" mk:free-standing="maybe"': "does not know",
}


@pytest.mark.parametrize("said", REFUSED)
def test_what_makes_no_sense_is_refused(tmp_path: Path, said: str) -> None:
    with pytest.raises(TemplateError, match=REFUSED[said]):
        load(tmp_path, TEXT.format(said))


SHAPES_REFUSED = {
    '<circle mk:side="solid" mk:operation="engrave" cx="8" cy="20" r="4"/>': "not cut",
    '<path mk:side="solid" mk:operation="cut" d="M1 1 L9 9 L9 1"/>': "open",
    '<circle mk:side="solid" mk:operation="cut" mk:follows="#m" cx="8" cy="20" r="4"/>': "no cut text",
    '<circle mk:operation="cut" mk:follows="#n" cx="8" cy="20" r="4"/>': "without mk:side",
    '<circle mk:side="solid" mk:operation="cut" cx="-8" cy="20" r="4"/>': "edge of the drawing",
}


@pytest.mark.parametrize("shape", SHAPES_REFUSED)
def test_shapes_that_make_no_sense_are_refused(tmp_path: Path, shape: str) -> None:
    with pytest.raises(TemplateError, match=SHAPES_REFUSED[shape]):
        load(tmp_path, shape + TEXT.format('mk:side="solid"'))


def test_an_engraved_text_has_no_side(tmp_path: Path) -> None:
    text = TEXT.format('mk:side="solid"').replace('operation="cut"', 'operation="engrave"')
    with pytest.raises(TemplateError, match="not cut"):
        load(tmp_path, text)
