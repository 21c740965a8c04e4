"""Names of two scripts and text that runs down a column, from template to artwork."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from render.geometry import Box
from render.lettering import Letterer
from render.model import Order, Piece, Setting, Severity
from render.pipeline.artworks import Lettered, letter_order
from render.pipeline.workshop import Workshop

HEAD = (
    '<svg xmlns="http://www.w3.org/2000/svg" xmlns:mk="urn:monikerf:template:1" width="95mm" height="95mm" '
    'viewBox="0 0 95 95" mk:title="Trial" mk:blank="coaster">'
    '<rect mk:area="box" x="17.5" y="17.5" width="60" height="60"/>'
    '<circle id="ring" cx="47.5" cy="47.5" r="18" fill="none" mk:operation="guide"/>'
    '<text id="name" font-size="14" mk:operation="engrave" mk:fit-in="#box" mk:smallest="4" {style}>{body}'
    "</text></svg>"
)

Make = Callable[..., Lettered]


@pytest.fixture
def make(tmp_path) -> Make:
    (tmp_path / "templates").mkdir()

    def lettered(style: str, names: list[str], body: str = "{{ name }}", workers: int = 1) -> Lettered:
        (tmp_path / "templates" / "trial.svg").write_text(HEAD.format(style=style, body=body), "utf-8")
        workshop = Workshop.open(tmp_path)
        pieces = tuple(Piece(f"p{k}", k, {"name": name}) for k, name in enumerate(names, 2))
        job = workshop.job("trial")
        return letter_order(Order("o", pieces), job, workshop.letterer(), workshop, workers, lambda *_: None)

    return lettered


def boxes(lettered: Lettered) -> list[Box]:
    return [artwork.marks[-1].path.bounds() for artwork in lettered.artworks]


MIXED = ["Ida דוד", "Otto Ἀλέξης", "Lotte", "Nour نور"]


def test_names_of_two_scripts_share_the_size_of_their_set(make: Make) -> None:
    found = make('font-family="Great Vibes"', MIXED)
    assert len(found.artworks) == 4
    assert len({line.size for each in found.fitted for line in each.lines}) == 1
    told = {p.piece: p for p in found.problems if p.code == "font-stands-in"}
    assert set(told) == {"p2", "p3", "p5"}
    assert all(problem.severity is Severity.LOOK for problem in told.values())


def first_advances(lettered: Lettered, letterer: Letterer, sign: str) -> list[bool]:
    """For each line of the first piece, whether the sign stands at its left end."""
    lines = lettered.fitted[0].lines
    return [
        line.line.clusters[0][1]
        == pytest.approx(letterer.line(sign, Setting(line.line.setting.font)).advance)
        for line in lines
    ]


@pytest.mark.parametrize(
    ("style", "name", "left"),
    [
        ("", "דוד בן־גוריון Anna Vale!", [False, True]),
        ('direction="ltr"', "דוד בן־גוריון Anna Vale!", [False, False]),
        ('direction="rtl"', "Anna Vale Montezuma!", [False, True]),
        ("", "Anna Montezuma דוד בן־גוריון!", [False, False]),
        ('direction="rtl"', "Anna Montezuma דוד בן־גוריון!", [False, True]),
    ],
)
def test_lines_of_a_name_run_as_the_whole_name_does(
    make: Make, style: str, name: str, left: list[bool]
) -> None:
    """Unicode Standard Annex #9, P2 and P3, or SVG's direction: where the last sign stands."""
    found = make(f'font-family="Frank Ruhl Libre" mk:lines="2" mk:sizing="each" {style}', [name])
    assert " ".join(line.line.text for line in found.fitted[0].lines) == name
    assert first_advances(found, Workshop.open().letterer(), "!") == left


@pytest.mark.parametrize(("direction", "edge"), [("ltr", 17.5), ("rtl", 77.5)])
def test_what_runs_from_right_to_left_starts_at_the_right(make: Make, direction: str, edge: float) -> None:
    """SVG 2: text-anchor is start unless it is said, and that is the right end with direction rtl."""
    found = make(f'font-family="Frank Ruhl Libre" direction="{direction}"', ["דוד"])
    box = boxes(found)[0]
    assert (box.x0 if direction == "ltr" else box.x1) == pytest.approx(edge, abs=0.01)


def test_they_come_out_the_same_by_several_processes(make: Make) -> None:
    names = [f"{name} {k}" for k in range(9) for name in MIXED]
    one, two = (make('font-family="Great Vibes"', names, workers=workers) for workers in (1, 2))
    assert [a.digest() for a in one.artworks] == [a.digest() for a in two.artworks]


def test_names_of_two_scripts_along_a_ring(make: Make) -> None:
    """Every letter's ink lies between the ring's baseline and the height of an em about it."""
    path = '<textPath href="#ring">{{ name }}</textPath>'
    found = make('font-family="Great Vibes" mk:closes="yes"', ["Nour نور Ἀλέξης"], path)
    assert len(found.artworks) == 1
    (each,) = found.fitted
    (line,) = each.lines
    assert len(line.turns) == len(line.line.clusters)
    distances = abs(found.artworks[0].marks[-1].path.points - (47.5 + 47.5j))
    assert 18 - line.size < distances.min() < distances.max() < 18 + line.size


@pytest.mark.parametrize("stand", ["mixed", "upright"])
def test_a_column_stands_in_the_middle_of_its_area(make: Make, stand: str) -> None:
    style = f'font-family="Roboto Slab" writing-mode="vertical-rl" text-orientation="{stand}"'
    found = make(style, ["WELCOME", "OTTO"])
    assert len(found.artworks) == 2
    for box in boxes(found):
        assert box.height > 2 * box.width
        assert (box.centre.x, box.centre.y) == pytest.approx((47.5, 47.5), abs=0.01)
        assert Box(17.5, 17.5, 77.5, 77.5).contains(box, 0.01)


def test_single_stroke_hands_run_in_lines_only(make: Make) -> None:
    found = make('font-family="plain-hand" writing-mode="tb"', ["Otto"])
    assert "single-stroke-column" in {problem.code for problem in found.problems}
    assert found.artworks == ()
