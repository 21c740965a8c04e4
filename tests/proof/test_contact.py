"""The contact sheet."""

from __future__ import annotations

import dataclasses
import io
from collections.abc import Sequence
from pathlib import Path as FilePath
from typing import TYPE_CHECKING
from xml.etree import ElementTree

import numpy as np
import pytest
from PIL import Image

from render.geometry import Affine, Path
from render.geometry.pathtext import parse_path
from render.geometry.shapes import circle, rectangle
from render.model import Artwork, Blank, Mark, Material, Operation
from render.proof import MOST_ON_A_PAGE, Flag, ProofPiece, contact_sheet
from render.proof.canvas import Canvas
from render.proof.palette import HELD, LOOK, PAPER, channels
from render.proof.roundcells import Cells
from render.proof.shown import Shown
from render.proof.things import Thing
from render.writers.png import render_png

if TYPE_CHECKING:
    from conftest import Blocks

SVG = "{http://www.w3.org/2000/svg}"
GOLDEN = FilePath(__file__).parent / "golden" / "three-tags.svg"


def test_the_recorded_page(three: Sequence[ProofPiece], tag: Blank, wood: Material, blocks: Blocks) -> None:
    """Looked at as a picture when recorded; letters are blocks, so that no font matters."""
    (page,) = contact_sheet(three, tag, wood, blocks, title="Tests")
    assert page == GOLDEN.read_bytes()


def test_a_page_is_plain_shapes(
    three: Sequence[ProofPiece], tag: Blank, wood: Material, blocks: Blocks
) -> None:
    (page,) = contact_sheet(three, tag, wood, blocks, title="<&> Tests")
    root = ElementTree.fromstring(page)
    assert {element.tag for element in root.iter()} == {f"{SVG}svg", f"{SVG}rect", f"{SVG}path"}
    for path in root.iter(f"{SVG}path"):
        box = parse_path(path.get("d") or "").bounds()
        assert box.x0 >= 0
        assert box.y0 >= 0
        assert box.x1 <= 210
        assert box.y1 <= float((root.get("height") or "")[:-2])


def test_every_caption_says_id_text_and_flag(
    three: Sequence[ProofPiece], tag: Blank, wood: Material, blocks: Blocks
) -> None:
    contact_sheet(three, tag, wood, blocks, title="Tests")
    said = {text for text, _ in blocks.texts}
    assert {
        "p2",
        "Anna",
        "p3",
        "Berthold",
        "look: set smaller",
        "p4",
        "Cem",
        "held back: no font has it",
    } <= said
    assert {"Tests", "3 pieces  ·  1 to look at  ·  1 held back"} <= said
    assert "Tag of the tests  ·  Wood of the tests  ·  60 × 24 mm" in said


def test_a_flag_is_a_sign_and_a_word(
    three: Sequence[ProofPiece], tag: Blank, wood: Material, blocks: Blocks
) -> None:
    """Signs differ in shape (WCAG 2.2, success criterion 1.4.1: not by colour alone)."""
    (page,) = contact_sheet(three, tag, wood, blocks, title="Tests")
    signs = {
        colour: [p for p in ElementTree.fromstring(page).iter(f"{SVG}path")
                 if p.get("fill") == colour and p.get("fill-rule") == "evenodd"]
        for colour in (LOOK, HELD)
    }  # fmt: skip
    assert [len(found) for found in signs.values()] == [2, 2]  # beside the piece, and in the legend
    look, held = (parse_path(found[0].get("d") or "") for found in signs.values())
    assert next(look.contours()).points.size in (3, 4)  # a triangle
    assert next(held.contours()).points.size > 8  # a disc


def test_a_reason_that_many_share_is_said_once(tag: Blank, wood: Material, blocks: Blocks) -> None:
    thin, twice = "thin strokes, less than is held", "the same name stands in row 12"
    reasons = [thin] * 5 + [twice] * 3 + ["no name"] * 9 + [""]
    pieces = [ProofPiece(f"p{n}", f"N{n}", None, Flag.HELD, why) for n, why in enumerate(reasons)]
    contact_sheet(pieces, tag, wood, blocks, title="")
    said = {text for text, _ in blocks.texts}
    assert {"held back: note 1", "held back: no name", "held back", "Note 1", thin} <= said
    assert not any("held back: thin" in text or "Note 2" in text for text in said)
    assert any(text.startswith("held back: the same") for text in said)


def test_without_artwork_a_piece_is_held_back(tag: Blank, wood: Material, blocks: Blocks) -> None:
    contact_sheet([ProofPiece("p2", "Anna", None)], tag, wood, blocks, title="")
    said = {text for text, _ in blocks.texts}
    assert {"held back", "1 piece  ·  1 held back"} <= said
    assert "engraved" not in said


def test_no_pieces_no_sheet(tag: Blank, wood: Material, blocks: Blocks) -> None:
    with pytest.raises(ValueError, match="no pieces"):
        contact_sheet([], tag, wood, blocks, title="")


def test_many_pieces_go_on_several_pages(tag: Blank, wood: Material, blocks: Blocks) -> None:
    count = 2 * MOST_ON_A_PAGE + 1
    pieces = [ProofPiece(f"p{n}", f"Name {n}", None) for n in range(count)]
    pages = contact_sheet(pieces, tag, wood, blocks, title="Many")
    assert len(pages) == 3
    said = [text for text, _ in blocks.texts]
    assert {"page 1 of 3", "page 2 of 3", "page 3 of 3"} <= set(said)
    assert {f"Name {n}" for n in range(count)} <= set(said)
    assert f"{count} pieces  ·  {count} held back" in said


# ---------------------------------------------------------------- as a picture


def _drawn(thing: Thing, artwork: Artwork | None, width: float, height: float) -> np.ndarray:
    """A thing at true size, 10 pixels a mm, 5 mm of paper round it."""
    canvas = Canvas()
    thing.draw(canvas, Affine.translation(5, 5), artwork)
    png = render_png(canvas.svg(width + 10, height + 10, PAPER), width_px=round(width + 10) * 10).png
    return np.asarray(Image.open(io.BytesIO(png)).convert("RGB"), int)


def _at(picture: np.ndarray, x: float, y: float) -> tuple[int, ...]:
    """The colour at a place of the thing, in mm."""
    return tuple(picture[round((y + 5) * 10), round((x + 5) * 10)].tolist())


def test_a_piece_looks_like_the_thing(three: Sequence[ProofPiece], tag: Blank, wood: Material) -> None:
    picture = _drawn(Thing.of(tag, wood, 1.0), three[0].artwork, 60, 24)
    assert _at(picture, 20, 12) == channels(wood.tone)
    assert _at(picture, 45, 12) == channels(wood.mark_tone)
    assert _at(picture, 6, 12) == channels(PAPER)  # through the hole
    assert _at(picture, -3, -3) == channels(PAPER)
    fold = picture[55:285, 350]  # dashed: some of it dark, some of it bare
    bare = (np.abs(fold - channels(wood.tone)).sum(axis=1) < 20).mean()
    assert 0.2 < bare < 0.8
    below = picture[50 + 240 + 6, 200:400].mean(axis=0)
    assert (below < np.array(channels(PAPER)) - 5).all()  # the shadow falls down


def test_the_paper_covers_the_whole_picture(
    three: Sequence[ProofPiece], tag: Blank, wood: Material, blocks: Blocks
) -> None:
    (page,) = contact_sheet(three, tag, wood, blocks, title="")
    for width in (333, 500):
        image = Image.open(io.BytesIO(render_png(page, width_px=width).png))
        assert image.mode == "RGB"
        corners = [(0, 0), (width - 1, 0), (0, image.height - 1), (width - 1, image.height - 1)]
        assert {image.getpixel(corner) for corner in corners} == {channels(PAPER)}


def test_a_piece_held_back_is_empty_and_hatched(tag: Blank, wood: Material) -> None:
    picture = _drawn(Thing.of(tag, wood, 1.0), None, 60, 24)
    inside = picture[60:280, 260:340].reshape(-1, 3)
    paper = (inside == channels(PAPER)).all(axis=1).mean()
    assert 0.6 < paper < 0.95
    assert not (inside == channels(wood.tone)).all(axis=1).any()
    assert _at(picture, 6, 12) == channels(PAPER)


def test_the_rim_is_not_drawn_twice_but_another_cut_is(tag: Blank, wood: Material) -> None:
    thing = Thing.of(tag, wood, 1.0)
    rim = Artwork("p2", "", (Mark(Operation.CUT, Path.joined((tag.outline, *tag.holes))),))
    slot = Artwork("p2", "", (*rim.marks, Mark(Operation.CUT, circle(45 + 12j, 5))))
    guide = Artwork("p2", "", (Mark(Operation.GUIDE, circle(45 + 12j, 5)),))
    plain = _drawn(thing, Artwork("p2", "", ()), 60, 24)
    assert (_drawn(thing, rim, 60, 24) == plain).all()
    assert (_drawn(thing, guide, 60, 24) == plain).all()  # never burned, so never seen
    changed = (_drawn(thing, slot, 60, 24) != plain).any(axis=2)
    assert changed[170, 549:552].any()
    assert changed[170, 460:540].all()  # what is cut out is gone
    assert not changed[170, 200:300].any()


def test_overlapping_marks_stay_filled(tag: Blank, wood: Material) -> None:
    """Two marks that turn opposite ways, one over the other, must not wipe each other out."""
    one = rectangle(40, 8, 10, 8)
    other = Path(one.commands, one.points[::-1].copy())
    marks = (Mark(Operation.ENGRAVE, one), Mark(Operation.ENGRAVE, other))
    picture = _drawn(Thing.of(tag, wood, 1.0), Artwork("p2", "", marks), 60, 24)
    assert _at(picture, 45, 12) == channels(wood.mark_tone)


def test_a_round_thing_shows_its_front_and_its_seam(tumbler: Blank, wood: Material, blocks: Blocks) -> None:
    """Half of the turn is seen from the front, the middle half of the unrolled surface."""
    artwork = Artwork("p2", "", ())
    picture = _drawn(Thing.of(tumbler, wood, 1.0), artwork, 200, 80)
    assert _at(picture, 55, 40) == _at(picture, 100, 40) == _at(picture, 145, 40) == channels(wood.tone)
    for x in (30, 45, 155, 170):
        assert sum(_at(picture, x, 40)) < sum(channels(wood.tone)) - 30
    seam, beside = picture[100:700, 52:98], picture[100:700, 110:156]  # 5 mm at either end
    assert seam.std(axis=(0, 1)).max() > 10
    assert beside.std(axis=(0, 1)).max() < 1
    contact_sheet([ProofPiece("p2", "", artwork)], tumbler, wood, blocks, title="")
    said = {text for text, _ in blocks.texts}
    assert {"between the dashed lines: seen from the front", "seam, kept free"} <= said


@pytest.mark.parametrize("lying", [False, True])
def test_round_things_stand_on_the_sheet(turning: Shown, blocks: Blocks, lying: bool) -> None:
    assert turning.blank.body is not None
    assert turning.profile is not None
    body = dataclasses.replace(turning.blank.body, lying=lying)
    blank = dataclasses.replace(turning.blank, title="Tumbler, unrolled", body=body)
    laid = {p.id: p.surface for p in turning.pieces if p.surface is not None}
    cells = Cells.of(blank, turning.material, turning.profile, laid)
    wide, high = cells.size
    across = 2 * 200 / np.pi  # two sides, each a diameter wide, and a little between them
    assert (high if lying else wide) == pytest.approx(across * 1.1, rel=0.04)
    pieces = [ProofPiece(p.id, p.title, p.artwork) for p in turning.pieces]
    (page,) = contact_sheet(pieces, blank, turning.material, blocks, title="T", round_=cells)
    said = {text for text, _ in blocks.texts}
    assert not {"between the dashed lines: seen from the front", "seam, kept free"} & said
    assert "Tumbler  ·  Wood of the tests  ·  200 mm round, 80 mm high" in said
    marks = [e for e in ElementTree.fromstring(page).iter() if e.get("fill") == turning.material.mark_tone]
    assert len([m for m in marks if m.tag.endswith("path")]) >= len(laid)  # each is seen from one side


def test_scores_of_the_fold_alone_are_no_scored_lines(
    three: Sequence[ProofPiece], tag: Blank, wood: Material, blocks: Blocks
) -> None:
    contact_sheet(three, tag, wood, blocks, title="")
    assert "scored line" not in {text for text, _ in blocks.texts}
    assert "fold" in {text for text, _ in blocks.texts}
    artwork = three[0].artwork
    assert artwork is not None
    more = dataclasses.replace(artwork, marks=(*artwork.marks, Mark(Operation.SCORE, circle(45 + 12j, 5))))
    contact_sheet([ProofPiece("p2", "", more, Flag.NONE)], tag, wood, blocks, title="")
    assert "scored line" in {text for text, _ in blocks.texts}
