"""Single-stroke hands: coverage, accents in place, letters that join, lines that stay open."""

from __future__ import annotations

import unicodedata

import numpy as np
import pytest

from render.geometry import CLOSE, MOVE, Affine, Path
from render.geometry.bending import curves_of, on_curves
from render.lettering import Letterer, Shelf
from render.lettering.single_stroke import CAP_EM, HANDS, hand
from render.model import FitRule, LetterRequest, Operation, SetLine, Setting
from render.pipeline.strokes import stroke_problems
from render.resources import folder

LATIN = [
    chr(c) for c in (*range(0x41, 0x5B), *range(0x61, 0x7B), *range(0xC0, 0x180)) if c not in (0xD7, 0xF7)
]
"""The letters of Basic Latin, Latin-1 Supplement and Latin Extended-A (Unicode charts)."""


@pytest.fixture(scope="module")
def letterer() -> Letterer:
    return Letterer(Shelf((folder("fonts_open"),)))


@pytest.mark.parametrize("name", HANDS)
def test_every_letter_of_latin_1_and_extended_a_is_drawn(name: str) -> None:
    mine = hand(name)
    assert [c for c in LATIN if mine.drawn(c) is None] == []
    assert [c for c in "0123456789 .,-&'!?()/’–" if mine.drawn(c) is None] == []


@pytest.mark.parametrize("name", HANDS)
def test_marks_stand_over_and_under_their_letters(name: str) -> None:
    """Decomposition by Unicode (NFD, Python's unicodedata): what is above lies above, and near the middle."""
    mine = hand(name)
    for c in LATIN:
        base, *marks = unicodedata.normalize("NFD", c)
        if not marks or marks[0] not in "\u0301\u0302\u0308\u030c\u0304" or c in "ďťľĽģ":
            continue
        plain, marked = mine.drawn(base), mine.drawn(c)
        assert plain is not None
        assert marked is not None
        left, _, right, top = plain.box()
        if base not in "ij":
            assert marked.box()[3] > top + 0.02, c
        x0, _, x1, _ = marked.box()
        assert left - 0.25 < x0 <= x1 < right + 0.3, c


@pytest.mark.parametrize("name", HANDS)
def test_lines_are_open_and_as_large_as_the_em_says(name: str, letterer: Letterer) -> None:
    line = letterer.line("HÅkon Žiga", Setting(name))
    assert not line.missing
    assert line.cap_height == CAP_EM
    (path,) = letterer.outlines([(SetLine(line, 10.0, 5 + 20j),)])
    assert not (path.commands == CLOSE).any()
    assert line.ink is not None
    box, ink = path.bounds(), line.ink
    assert (box.x0, box.y1) == pytest.approx((5 + 10 * ink.x0, 20 + 10 * ink.y1))
    tall = letterer.line("H", Setting(name)).ink
    assert tall is not None
    assert -tall.y0 == pytest.approx(CAP_EM, rel=0.05)


def strokes(path: Path) -> int:
    return int((path.commands == MOVE).sum())


def test_joined_letters_are_one_line(letterer: Letterer) -> None:
    (own, theirs) = (
        letterer.outlines([(SetLine(letterer.line("summer", Setting(name)), 10.0, 0j),)])[0]
        for name in ("joined-hand", "line-script")
    )
    assert strokes(own) == 1
    assert strokes(theirs) == sum(len(hand("line-script").letters[c].strokes) for c in "summer") - 4
    apart = letterer.outlines([(SetLine(letterer.line("summer", Setting("plain-hand")), 10.0, 0j),)])[0]
    assert strokes(apart) >= 6
    with pytest.raises(ValueError, match="cannot be set with space"):
        letterer.line("summer", Setting("joined-hand", tracking=0.1))


def test_the_generated_hand_is_smooth_where_letters_join(letterer: Letterer) -> None:
    (path,) = letterer.outlines([(SetLine(letterer.line("nunune", Setting("joined-hand")), 10.0, 0j),)])
    c = curves_of(path).controls
    out, into = c[1:, 1] - c[1:, 0], c[:-1, 3] - c[:-1, 2]
    turn = np.abs(np.angle(out * into.conj()))
    corners = turn > 0.05
    assert corners.sum() < 0.4 * turn.size  # the tips of n and u, where the pen turns back
    at = c[1:, 0]
    x_height = hand("joined-hand").x_height * 10
    assert all(z.imag > -0.1 * x_height or z.imag < -0.85 * x_height for z in at[corners])


def test_circles_of_polygons_become_round() -> None:
    o = hand("plain-hand").line("o", Setting("plain-hand"))[1].whole
    c = curves_of(o).controls
    at = on_curves(c, np.broadcast_to(np.linspace(0, 1, 9), (len(c), 9))).reshape(-1)
    way = np.diff(at)
    way = way[np.abs(way) > 1e-9]
    assert np.abs(np.angle(way[1:] * way[:-1].conj())).max() < 0.35


def test_along_a_path_each_letter_is_turned(letterer: Letterer) -> None:
    line = letterer.line("ab", Setting("plain-hand"))
    turns = (Affine.scale(10), Affine.scale(10).then(Affine.rotation(90)).then(Affine.translation(50, 0)))
    (path,) = letterer.outlines([(SetLine(line, 10.0, 0j, turns),)])
    assert path.bounds().x1 > 40
    assert not (path.commands == CLOSE).any()


@pytest.mark.parametrize("operation", list(Operation))
def test_never_cut_and_never_filled(operation: Operation, letterer: Letterer) -> None:
    request = LetterRequest("p", "n", "Ida", Setting("plain-hand"), operation, FitRule(), Path.empty())
    found = list(stroke_problems([request], letterer))
    assert [p.code for p in found] == ([] if operation is Operation.SCORE else ["single-stroke"])


def test_what_a_hand_lacks_is_told(letterer: Letterer) -> None:
    assert letterer.line("Ida שרה", Setting("joined-hand")).missing == ("ש", "ר", "ה")
