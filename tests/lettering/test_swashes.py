"""Swashes: from the font, at one letter, clear of the others."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from render.lettering import Shelf
from render.lettering.outlines import GlyphReader
from render.lettering.shaping import shape
from render.lettering.swashes import APART, Swashes
from render.model import Setting
from render.resources import folder

SHELF = Shelf((folder("fonts_open"),))
SWASHES = Swashes(SHELF)


def found(text: str, font: str, *, start: bool) -> list[str]:
    return [each.setting.features[-1] for each in SWASHES.of(text, Setting(font), start=start)]


@pytest.mark.parametrize(
    ("text", "font", "start", "feature"),
    [
        ("Anna", "allura", False, "fina[3]=1"),
        ("Jay", "allura", False, "ss02[2]=1"),
        ("Anna", "allura", True, "ss02[0]=1"),
        ("Marguerite", "great-vibes", False, "fina[9]=1"),
        ("Hannah", "great-vibes", False, "ss02[5]=1"),
        ("ZARA", "cinzel", False, "ss01[3]=1"),
        ("Quill", "eb-garamond", True, "swsh[0]=1"),
    ],
)
def test_letters_that_have_one(text: str, font: str, start: bool, feature: str) -> None:
    assert feature in found(text, font, start=start)


@pytest.mark.parametrize(
    ("text", "font", "start"),
    [
        ("Tom", "great-vibes", False),  # m has none
        ("Ana 7", "allura", False),  # a figure
        ("AND", "cinzel", False),  # the swash of D would strike the N
        ("Ana", "caveat", False),
        ("Ana", "source-sans-3", True),
        ("Ana", "plain-hand", False),
        ("", "allura", False),
        ("רות", "allura", False),
    ],
)
def test_letters_that_have_none_or_no_room(text: str, font: str, start: bool) -> None:
    assert not found(text, font, start=start)


def test_what_a_piece_decides_stands() -> None:
    plain = Setting("allura", features=("fina=0", "ss02=0"))
    assert not list(SWASHES.of("Anna", plain, start=False))


def test_ornaments_are_no_swashes(tmp_path: Path) -> None:
    """Allura's swsh keeps nothing of the letter: also where nobody has listed what its features hold."""
    (tmp_path / "other.ttf").write_bytes(SHELF.entry("allura").path.read_bytes())
    swashes = Swashes(Shelf((tmp_path,)))
    assert "swsh" in swashes.features("other", start=False)
    for letter in "abdeghijklmnopqrstuvwyz":
        tags = [s.setting.features[-1][:4] for s in swashes.of(f"An{letter}", Setting("other"), start=False)]
        assert "swsh" not in tags


@settings(max_examples=40, deadline=None)
@given(
    st.from_regex(r"[A-Z][a-z]{2,6}", fullmatch=True),
    st.sampled_from(("allura", "great-vibes")),
    st.booleans(),
)
def test_only_one_letter_changes_and_it_strikes_none_but_its_neighbour(
    text: str, name: str, start: bool
) -> None:
    """Distances by shapely on outlines drawn anew."""
    import shapely

    font = SHELF.find(name)
    reader = GlyphReader(font.data)
    plain = shape(font, text, font_key="").run
    for each in SWASHES.of(text, Setting(name), start=start):
        run = shape(font, text, font_key="", features=each.setting.features).run
        changed = [k for k, (a, b) in enumerate(zip(plain.gids, run.gids, strict=True)) if a != b]
        at = 0 if start else len(run.gids) - 1
        assert at in changed
        assert len(changed) <= 2  # a neighbour may change with it by the font's own context
        lines = [
            shapely.MultiLineString(
                [
                    [(p.real + x, p.imag + y) for p in contour.points]
                    for contour in reader.contours(gid)
                    if contour.points.size > 1
                ]
            )
            for gid, x, y in zip(run.gids, run.xs, run.ys, strict=True)
        ]
        far = [line for k, line in enumerate(lines) if abs(k - at) > 1 and not line.is_empty]
        assert all(lines[at].distance(line) > 0.5 * APART * font.upem for line in far)
