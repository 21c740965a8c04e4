"""The sheet as SVG."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from pathlib import Path as FilePath
from xml.etree import ElementTree

import pytest

from render.geometry import Path
from render.geometry.pathtext import parse_path
from render.model import BURN_ORDER, Artwork, Mark, Operation, Placement, Sheet
from render.units import to_um
from render.writers.svg import sheet_svg, xml_text

SVG = "{http://www.w3.org/2000/svg}"
GOLDEN = FilePath(__file__).parent / "golden" / "two-cards.svg"


def test_the_recorded_file(two_cards: Sheet) -> None:
    """Looked at as a picture when recorded. A change here changes what customers' machines are sent."""
    assert sheet_svg(two_cards) == GOLDEN.read_bytes()


def test_groups_stand_in_the_order_of_burning(two_cards: Sheet) -> None:
    root = ElementTree.fromstring(sheet_svg(two_cards))
    groups = [g.get("id") for g in root.findall(f"{SVG}g")]
    assert groups == ["guide", "engrave", "score", "cut"]
    assert (root.get("width"), root.get("height"), root.get("viewBox")) == ("100mm", "50mm", "0 0 100 50")
    for group in root.findall(f"{SVG}g"):
        assert [g.get("id") for g in group] == [f"p2-{group.get('id')}", f"p3-2-{group.get('id')}"]
        titles = [g.findtext(f"{SVG}title") for g in group]
        assert titles == ["p2: Zoë & Łukasz <3", "p3-2: محمد"]


def test_nothing_but_plain_paths(two_cards: Sheet) -> None:
    root = ElementTree.fromstring(sheet_svg(two_cards))
    assert {e.tag for e in root.iter()} == {f"{SVG}{t}" for t in ("svg", "g", "title", "path")}
    attributes = {name for e in root.iter() for name in e.attrib}
    assert attributes == {
        "version", "width", "height", "viewBox", "id", "d", "fill", "fill-rule", "stroke", "stroke-width",
    }  # fmt: skip


def test_an_engraved_mark_is_one_path_and_a_line_one_a_contour(two_cards: Sheet) -> None:
    root = ElementTree.fromstring(sheet_svg(two_cards))
    counts = {g.get("id"): [len(p.findall(f"{SVG}path")) for p in g] for g in root.findall(f"{SVG}g")}
    assert counts == {"guide": [1, 1], "engrave": [2, 2], "score": [1, 1], "cut": [2, 2]}


def test_what_is_read_back_is_what_was_placed(two_cards: Sheet, read_path: Callable[[str], Path]) -> None:
    """The digest of each piece, moved back, is the digest of its artwork."""
    whole = two_cards
    root = ElementTree.fromstring(sheet_svg(whole))
    for placement in whole.placements:
        marks = []
        for operation in BURN_ORDER:
            group = root.find(f".//{SVG}g[@id='{placement.artwork.piece}-{operation}']")
            assert group is not None
            path = Path.joined(read_path(p.get("d") or "") for p in group.findall(f"{SVG}path"))
            back = path.moved(-placement.x_um / 1000, -placement.y_um / 1000)
            turned = Path(back.commands, back.points * (-1j) ** placement.quarters)
            marks.append(Mark(operation, turned))
        read = Artwork(placement.artwork.piece, "", tuple(marks))
        assert read.digest() == placement.artwork.digest()


def test_coordinates_are_rounded_once_ties_to_even() -> None:
    path = Path.polyline([0.0005 + 0.0015j, 1.0004999 - 0.0004j, 1e-9 + 1e4j])
    one = Sheet(1, "", (10, 10), 1, (Placement(Artwork("p2", "", (Mark(Operation.CUT, path),)), 1, 0, 0),))
    data = ElementTree.fromstring(sheet_svg(one)).findall(f".//{SVG}path")[0].get("d") or ""
    assert to_um(parse_path(data).points).tolist() == [[0, 2], [1000, 0], [0, 10_000_000]]
    assert "e" not in data
    assert "-" not in data


def test_operations_without_marks_have_no_group() -> None:
    assert b"<g" not in sheet_svg(Sheet(1, "bare", (10, 10), 1, ()))


def test_colours_are_the_machines(two_cards: Sheet) -> None:
    mine = dataclasses.replace(two_cards, colours={Operation.CUT: "#123456"})
    root = ElementTree.fromstring(sheet_svg(mine))
    assert root.find(f"{SVG}g[@id='cut']").get("stroke") == "#123456"  # type: ignore[union-attr]
    assert root.find(f"{SVG}g[@id='engrave']").get("fill") == "#0072B2"  # type: ignore[union-attr]
    bad = dataclasses.replace(two_cards, colours={Operation.CUT: 'red" onload="'})
    with pytest.raises(ValueError, match="not of the form"):
        sheet_svg(bad)


def test_a_piece_lies_on_a_sheet_once(two_cards: Sheet) -> None:
    twice = dataclasses.replace(two_cards, placements=two_cards.placements[:1] * 2)
    with pytest.raises(ValueError, match="p2 lies twice"):
        sheet_svg(twice)


def test_titles_hold_whatever_a_customer_typed(two_cards: Sheet) -> None:
    nasty = "a\x00b\x0b\ud800\uffff]]> & <script>\"'\u202e"
    artwork = dataclasses.replace(two_cards.placements[0].artwork, title=nasty)
    one = dataclasses.replace(
        two_cards, title=nasty, settings=nasty, placements=(Placement(artwork, 1, 0, 0),)
    )
    root = ElementTree.fromstring(sheet_svg(one))
    for words in ("title", "desc"):
        assert root.findtext(f"{SVG}{words}") == "a�b���]]> & <script>\"'\u202e"


def test_xml_text_keeps_what_xml_allows() -> None:
    """XML 1.0, fifth edition, production 2: the edges of the allowed ranges."""
    allowed = "\t\n\r \ud7ff\ue000\ufffd\U00010000\U0010ffff"
    assert xml_text(allowed) == allowed
    assert xml_text("\x08\x0c\x1f\ufffe") == "����"


def test_a_coordinate_that_is_not_finite_is_refused() -> None:
    path = Path.polygon([0j, complex("nan"), 1j])
    artwork = Artwork("p2", "", (Mark(Operation.CUT, path),))
    with pytest.raises(ValueError, match="finite"):
        sheet_svg(Sheet(1, "", (10, 10), 1, (Placement(artwork, 1, 0, 0),)))
