"""Each way in which a template can be broken or hostile: one clear error, with a hint and the place."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from render.design import load_template
from render.errors import TemplateError

HEAD = (
    '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
    'xmlns:mk="urn:monikerf:template:1" width="80mm" height="40mm" viewBox="0 0 80 40" '
    'mk:title="T" mk:blank="place-card" mk:operation="engrave">\n'
)
AREA = '<rect mk:area="name" x="5" y="5" width="70" height="30"/>\n'
TEXT = '<text font-family="Lobster" font-size="9" mk:fit-in="#name">{{ name }}</text>\n'


def body(inside: str) -> str:
    return f"{HEAD}{AREA}{inside}\n{TEXT}</svg>"


def text(attributes: str, inside: str = "{{ name }}") -> str:
    return f"{HEAD}{AREA}<text {attributes}>{inside}</text></svg>"


def head(old: str, new: str) -> str:
    assert old in HEAD
    return HEAD.replace(old, new) + AREA + TEXT + "</svg>"


FIT = 'font-family="Lobster" font-size="9" mk:fit-in="#name"'
NESTED_USE = "".join(
    f'<g id="u{i}">' + f'<use href="#u{i - 1}"/>' * 10 + "</g>" for i in range(1, 8)
)  # ten million rectangles, if it were followed
LAUGHS = (
    '<!DOCTYPE svg [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">'
    + "".join(f'<!ENTITY {n} "{f"&{p};" * 10}">' for p, n in zip("bcdefghi", "cdefghij", strict=True))
    + "]>"
)

BROKEN = {
    "not xml": ("name,table\nIda,4\n", "not an SVG file"),
    "empty": ("", "not an SVG file"),
    "cut short": (HEAD + AREA, "not an SVG file"),
    "unknown encoding": ('<?xml version="1.0" encoding="klingon"?>' + body(""), "not an SVG file"),
    "not svg": ("<html><body/></html>", "not an SVG drawing"),
    "svg without namespace": ('<svg width="1mm" height="1mm" viewBox="0 0 1 1"/>', "not an SVG drawing"),
    "entities": (LAUGHS + body("<desc>&j;</desc>"), "entities"),
    "external entity": ('<!DOCTYPE svg [<!ENTITY x SYSTEM "/etc/passwd">]>' + body("&x;"), "entities"),
    "defaults": ('<!DOCTYPE svg [<!ATTLIST rect onload CDATA "x()">]>' + body(""), "defaults in a DOCTYPE"),
    "unknown entity": ('<!DOCTYPE svg SYSTEM "http://x.invalid/svg.dtd">' + body("&nbsp;"), "entity"),
    "too large": (body(f"<desc>{'x' * 1_000_001}</desc>"), "larger than 1 MB"),
    "too deep": (body("<g>" * 3000 + "</g>" * 3000), "nested more than"),
    "too many": (body('<path d="M0 0h1v1z"/>' * 5001), "more than 5,000 elements"),
    "too many points": (body(f'<path d="M0 0{"h1v1h-1v-1" * 8000}z"/>' * 4), "more than 100,000 points"),
    "long path": (body(f'<path d="M0 0{"h1" * 100_001}z"/>'), "longer than 200,000 characters"),
    "script": (body("<script>alert(1)</script>"), "scripts are not allowed"),
    "event": (body('<rect width="5" height="5" onclick="x()"/>'), "onclick would run a script"),
    "foreign content": (body("<foreignObject/>"), "foreign content"),
    "picture": (body('<image href="data:image/png;base64,AAAA"/>'), "pictures are not allowed"),
    "nested use": (body('<g id="u0"><rect width="1" height="1"/></g>' + NESTED_USE), "clones (<use>)"),
    "symbol": (body("<symbol/>"), "symbols are not allowed"),
    "style sheet": (body("<style>@import url(http://x.invalid/a.css);</style>"), "style sheets"),
    "link": (body('<a href="http://x.invalid"/>'), "links are not allowed"),
    "alternatives": (body("<switch/>"), "alternatives"),
    "unknown element": (body("<linearGradient/>"), "<linearGradient> is not something"),
    "misspelt element": (body("<rectt/>"), "<rectt> is not something"),
    "inner svg": (body("<svg/>"), "a drawing lies within the drawing"),
    "reference": (body('<rect width="5" height="5" xlink:href="file:///etc/passwd"/>'), "it refers to"),
    "reference from a text path": (text(FIT, '<textPath href="other.svg#a">x</textPath>'), "it refers to"),
    "base": (body('<g xml:base="http://x.invalid/"/>'), "xml:base"),
    "url in style": (body('<rect width="5" height="5" style="fill:url(#g)"/>'), "style is 'fill:url(#g)'"),
    "url in attribute": (body('<rect width="5" height="5" fill="url(http://x.invalid/)"/>'), "fill is"),
    "clip": (body('<rect width="5" height="5" style="clip-path:circle()"/>'), "is clipped"),
    "filter": (body('<rect width="5" height="5" filter="blur(2)"/>'), "has a filter"),
    "dashes": (body('<rect width="5" height="5" stroke-dasharray="1 2"/>'), "is dashed"),
    "markers": (body('<rect width="5" height="5" marker-end="x"/>'), "has markers"),
    "no width": (head('width="80mm" ', ""), "has no width"),
    "no height": (head('height="40mm" ', ""), "has no height"),
    "no viewBox": (head('viewBox="0 0 80 40" ', ""), "has no viewBox"),
    "no unit": (head('width="80mm"', 'width="80"'), "without a unit of length"),
    "percent": (head('width="80mm"', 'width="100%"'), "without a unit of length"),
    "not a length": (head('width="80mm"', 'width="wide"'), "not a length"),
    "infinite size": (head('width="80mm"', 'width="1e999mm"'), "width is '1e999mm'"),
    "no size": (head('width="80mm"', 'width="0mm"'), "width is '0mm'"),
    "viewBox disagrees": (head("0 0 80 40", "0 0 302 151"), "but the drawing is 80 by 40 mm"),
    "viewBox moved": (head("0 0 80 40", "-5 0 80 40"), "but the drawing is 80 by 40 mm"),
    "viewBox garbage": (head("0 0 80 40", "0 0 nan 40"), "not four numbers"),
    "no title": (head('mk:title="T" ', ""), "no mk:title"),
    "no blank": (head('mk:blank="place-card" ', ""), "no mk:blank"),
    "blank is a path": (head('"place-card"', '"../../etc"'), "mk:blank is"),
    "apostrophe": (head('mk:title', 'mk:apostrophe="curly" mk:title'), "mk:apostrophe is 'curly'"),
    "sample without field": (head("mk:title", 'mk:sample="table: 4" mk:title'), "does not fill the template"),
    "sample garbage": (head("mk:title", 'mk:sample="Ida" mk:title'), "mk:sample holds 'Ida'"),
    "later version": (body('<g xmlns:n="urn:monikerf:template:2" n:when="x"/>'), "urn:monikerf:template:2"),
    "unknown attribute": (body('<g mk:oparation="cut"/>'), "no attribute mk:oparation"),
    "misplaced attribute": (body('<rect width="5" height="5" mk:fit-in="#name"/>'), "no meaning on <rect>"),
    "unknown operation": (body('<g mk:operation="engraving"/>'), "mk:operation is 'engraving'"),
    "no operation": (head(' mk:operation="engrave"', ""), "nothing says what the beam does"),
    "open engraving": (body('<line x2="9" y2="9"/>'), "is open"),
    "unfilled engraving": (body('<circle cx="9" cy="9" r="3" fill="none"/>'), "without a fill"),
    "crossing even-odd": (body('<path fill-rule="evenodd" d="M1 1h6v6h-6zM4 4h6v6h-6z"/>'), "contours cross"),
    "beyond the edge": (body('<rect x="70" width="20" height="5"/>'), "beyond the edge"),
    "number": (body('<rect width="five" height="5"/>'), "width is 'five', which is not a number"),
    "nan": (body('<rect x="nan" width="5" height="5"/>'), "which is not a number"),
    "infinite": (body('<rect x="1e400" width="5" height="5"/>'), "no thing is large enough"),
    "absurd": (body('<rect x="20000" width="5" height="5"/>'), "no thing is large enough"),
    "absurd by transform": (body('<g transform="translate(9999)"><g transform="translate(9999)">'
                                 '<rect width="5" height="5"/></g></g>'), "more than ten metres away"),
    "unit inside": (body('<rect width="5mm" height="5"/>'), "with a unit"),
    "missing size": (body('<rect width="5"/>'), "its height is missing"),
    "negative size": (body('<rect width="-5" height="5"/>'), "not larger than 0"),
    "no path data": (body("<path/>"), "path is empty"),
    "path garbage": (body('<path d="M 1 1 walk 5 north"/>'), "not path data"),
    "path nan": (body('<path d="M nan 1 L 2 2 Z"/>'), "not path data"),
    "path infinite": (body('<path d="M 1e999 1 L 2 2 Z"/>'), "not path data"),
    "points": (body('<polygon points="1,1 2"/>'), "two pairs of numbers"),
    "transform": (body('<g transform="spin(3)"/>'), "transform has no spin()"),
    "transform numbers": (body('<g transform="matrix(1 2)"/>'), "matrix() has 2 numbers"),
    "transform garbage": (body('<g transform="rotate 30"/>'), "transform is 'rotate 30'"),
    "flat transform": (body('<g transform="scale(0)"/>'), "flattens"),
    "two ids": (body('<rect id="a" width="5" height="5"/>' * 2), "two shapes have the id 'a'"),
    "two areas": (body(AREA), "two areas are called 'name'"),
    "open area": (body('<path mk:area="b" d="M1 1h5v5"/>'), "is not closed"),
    "flat area": (body('<path mk:area="b" d="M1 1h5z"/>'), "too small for anything"),
    "path without length": (HEAD + AREA + '<defs><path id="p" d="M1 1h0"/></defs>'
                            + f'<text {FIT}><textPath href="#p">a</textPath></text></svg>', "has no length"),
    "nameless area": (body('<rect mk:area="" width="5" height="5"/>'), "mk:area is empty"),
    "burned area": (body('<rect mk:area="b" mk:operation="cut" width="5" height="5"/>'), "never burned"),
    "no area": (text(FIT.replace("#name", "#nome")), "there is no area 'nome'"),
    "no fit": (text('font-family="Lobster" font-size="9"'), "nothing says where this text fits"),
    "no font": (text('font-size="9" mk:fit-in="#name"'), "no font-family"),
    "no size of text": (text('font-family="Lobster" mk:fit-in="#name"'), "no font-size"),
    "size of text": (text(FIT.replace('"9"', '"9000"')), "font-size is '9000'"),
    "size in points": (text(FIT.replace('"9"', '"9pt"')), "with a unit"),
    "empty text": (text(FIT, " "), "the text is empty"),
    "text in parts": (text(FIT, "<tspan>a</tspan><tspan>b</tspan>"), "in several parts"),
    "text beside": (text(FIT, "a <tspan>b</tspan>"), "in several parts"),
    "stray words": (body("<tspan>a</tspan>"), "outside a text"),
    "moved letters": (text(FIT + ' dx="1 2 3"'), "moves or squeezes letters"),
    "turned text": (text(FIT + ' transform="rotate(90)"'), "turned, skewed or mirrored"),
    "sideways": (text(FIT + ' writing-mode="sideways-rl"'), "writing-mode is"),
    "column of lines": (text(FIT + ' writing-mode="tb" mk:lines="2"'), "on several lines"),
    "column bent": (text(FIT + ' writing-mode="tb" mk:envelope="arch"'), "has mk:envelope"),
    "column in one piece": (text(FIT + ' writing-mode="tb" mk:side="solid"'), "to be one piece"),
    "column backward": (text(FIT + ' writing-mode="tb" direction="rtl"'), "from right to left"),
    "direction": (text(FIT + ' direction="right"'), "direction is 'right'"),
    "overridden": (text(FIT + ' unicode-bidi="bidi-override"'), "unicode-bidi is 'bidi-override'"),
    "turned": (text(FIT + ' writing-mode="tb" text-orientation="sideways"'), "text-orientation is"),
    "two texts": (body(f'<text id="t" {FIT}>a</text>' * 2), "two texts are called 't'"),
    "sizing": (text(FIT + ' mk:sizing="same"'), "mk:sizing is 'same'"),
    "stands": (text(FIT + ' mk:stands="foot"'), "mk:stands is 'foot'"),
    "smallest above largest": (text(FIT + ' mk:smallest="12"'), "mk:smallest is 12"),
    "lines": (text(FIT + ' mk:lines="1.5"'), "mk:lines is '1.5', not a whole number"),
    "many lines": (text(FIT + ' mk:lines="99"'), "mk:lines is '99'"),
    "leading": (text(FIT + ' mk:leading="0"'), "mk:leading is '0', which is out of range"),
    "tightest": (text(FIT + ' mk:tightest="-1"'), "mk:tightest is '-1'"),
    "anchor": (text(FIT + ' text-anchor="centre"'), "text-anchor is 'centre'"),
    "letter-spacing": (text(FIT + ' letter-spacing="9em"'), "letter-spacing is '9'"),
    "features": (text(FIT + ' font-feature-settings="swash"'), "font-feature-settings is 'swash'"),
    "language": (text(FIT + ' xml:lang="in English"'), "xml:lang is"),
    "no path for text": (text(FIT, '<textPath href="#nowhere">a</textPath>'), "no path 'nowhere'"),
    "path in parts": (HEAD + AREA + '<defs><path id="p" d="M1 1h5M1 9h5"/></defs>'
                      + f'<text {FIT}><textPath href="#p">a</textPath></text></svg>', "in several parts"),
    "offset": (HEAD + AREA + '<defs><path id="p" d="M1 1h5"/></defs>'
               + f'<text {FIT}><textPath href="#p" startOffset="3">a</textPath></text></svg>', "startOffset"),
    "many texts": (HEAD + AREA + f"<text {FIT}>a</text>" * 51 + "</svg>", "more than 50 texts"),
    "nothing": (HEAD + AREA + "</svg>", "the template is empty"),
    "condition": (body('<g mk:when="{{ table }}"/>'), "cannot be understood"),
    "two conditions": (body('<g mk:when="a) }}{{ (b"/>'), "not one expression"),
    "unclosed expression": (text(FIT, "{{ name"), "cannot be understood"),
    "unknown filter": (text(FIT, "{{ name|uper }}"), "no filter 'uper'"),
}  # fmt: skip


@pytest.mark.parametrize(("source", "message"), BROKEN.values(), ids=BROKEN)
def test_each_broken_template_is_told_clearly(source: str, message: str, tmp_path: Path) -> None:
    file = tmp_path / "bad.svg"
    file.write_text(source, encoding="utf-8")
    begun = time.process_time()
    with pytest.raises(TemplateError) as caught:
        load_template(file)
    assert time.process_time() - begun < 3
    assert message in caught.value.message
    assert caught.value.hint
    assert "bad.svg" in caught.value.place


def test_the_sound_frame_of_these_tests_loads(tmp_path: Path) -> None:
    file = tmp_path / "good.svg"
    file.write_text(body('<path d="M1 1h5v5z"/>'), encoding="utf-8")
    assert load_template(file).fields == ("name",)


def test_place_names_line_and_element(tmp_path: Path) -> None:
    file = tmp_path / "bad.svg"
    file.write_text(body('\n<g>\n<rect id="box" width="x"/></g>'), encoding="utf-8")
    with pytest.raises(TemplateError) as caught:
        load_template(file)
    assert caught.value.place == "bad.svg, line 5, <rect id='box'>"


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    for path, message in ((tmp_path, "a folder"), (tmp_path / "none.svg", "no such template")):
        with pytest.raises(TemplateError, match=message) as caught:
            load_template(path)
        assert caught.value.hint
    with pytest.raises(TemplateError, match="cannot be read"):
        load_template(Path("nul\0.svg"))


def test_bytes_that_are_not_text(tmp_path: Path) -> None:
    file = tmp_path / "bad.svg"
    for data in (b"\xff\xfe\x00", bytes(range(256)), b"\x00" * 4096, "<svg".encode("utf-16")):
        file.write_bytes(data)
        with pytest.raises(TemplateError, match="not an SVG file"):
            load_template(file)


def test_entities_hidden_in_utf16_are_found(tmp_path: Path) -> None:
    file = tmp_path / "bad.svg"
    file.write_bytes(('<?xml version="1.0" encoding="utf-16"?>' + LAUGHS + body("")).encode("utf-16"))
    with pytest.raises(TemplateError, match="entities"):
        load_template(file)


def test_a_plain_doctype_and_a_utf16_file_are_fine(tmp_path: Path) -> None:
    file = tmp_path / "good.svg"
    doctype = '<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://x.invalid/svg11.dtd">'
    file.write_bytes(('<?xml version="1.0" encoding="utf-16"?>' + doctype + body("")).encode("utf-16"))
    assert load_template(file).slots


def test_nothing_beside_the_file_is_opened(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    import builtins
    import io

    file = tmp_path / "good.svg"
    file.write_text(body(""), encoding="utf-8")
    load_template(file)  # whatever is imported late is now imported
    opened: list[str] = []
    true_open = io.open

    def watched(path: object, *args: object, **kwargs: object) -> object:
        opened.append(str(path))
        return true_open(path, *args, **kwargs)  # type: ignore[call-overload]

    monkeypatch.setattr(builtins, "open", watched)
    monkeypatch.setattr(io, "open", watched)
    load_template(file)
    assert opened == [str(file)]
