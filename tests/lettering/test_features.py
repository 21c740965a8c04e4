"""What fonts offer, what is told where they do not, and the sheet of their alternates."""

from __future__ import annotations

import pytest

from render.lettering import Letterer, Shelf
from render.lettering.alternates import alternates, letters_changed, named, not_shown
from render.lettering.features import choices, incomplete, lacking, title_of, unfulfilled
from render.lettering.font import Font
from render.lettering.shaping import shape
from render.model import Setting, Severity
from render.resources import folder


@pytest.fixture(scope="module")
def shelf() -> Shelf:
    return Shelf((folder("fonts_open"),))


def gids(font: Font, text: str, *features: str) -> tuple[int, ...]:
    return shape(font, text, font_key="", features=features).run.gids


def test_lacking_knows_both_tables_and_switches(shelf: Shelf) -> None:
    garamond = shelf.find("eb-garamond")
    assert lacking(garamond, ("smcp=1", "kern=1", "-fwid", "ss19=0")) == ()  # kern places, it is in GPOS
    assert lacking(garamond, ("fina", "fina=1", "ss19=2")) == ("fina", "ss19")


def test_what_a_font_lacks_is_told_with_what_it_has(shelf: Shelf) -> None:
    (problem,) = unfulfilled(shelf, Setting("caveat", features=("swsh=1", "liga=0")))
    assert (problem.severity, problem.code) == (Severity.LOOK, "no-such-feature")
    assert "swsh" in problem.message
    assert all(tag in problem.hint for tag in choices(shelf.find("caveat")))
    assert unfulfilled(shelf, Setting("allura", features=("fina=1",))) == []
    (problem,) = unfulfilled(shelf, Setting("plain-hand", features=("swsh=1",)))
    assert "no forms" in problem.hint


def test_small_capitals_are_true_or_told(shelf: Shelf) -> None:
    (problem,) = unfulfilled(shelf, Setting("great-vibes", features=("smcp=1",)))
    assert problem.code == "no-small-capitals"
    assert "eb-garamond" in problem.hint
    assert "caveat" not in problem.hint
    assert "patrick-hand" not in problem.hint  # its smcp leaves the small letters as they are
    partly = incomplete(shelf, "Ana", Setting("patrick-hand", features=("smcp=1",)))
    assert partly is not None
    assert "n, a" in partly.message


def test_a_letter_without_small_capital_is_told(shelf: Shelf) -> None:
    setting = Setting("barlow-condensed", features=("smcp=1",))
    font = shelf.find("barlow-condensed")
    without = [c for c in "abcdeéßøłąžșğ" if gids(font, c) == gids(font, c, "smcp")]
    with_ = [c for c in "abcde" if c not in without]
    assert incomplete(shelf, "".join(with_), setting) is None
    assert incomplete(shelf, "abc", Setting("barlow-condensed")) is None
    for letter in without:
        problem = incomplete(shelf, f"Ab{letter}", setting)
        assert problem is not None
        assert letter in problem.message


def test_ornaments_in_place_of_letters_are_told(shelf: Shelf) -> None:
    """Allura's swsh draws flourishes where the letters were, as a look at its glyphs shows."""
    (problem,) = unfulfilled(shelf, Setting("allura", features=("swsh=1",)))
    assert (problem.severity, problem.code) == (Severity.LOOK, "ornaments")


def test_alternates_are_all_different_and_all_there_is(shelf: Shelf) -> None:
    font = shelf.find("allura")
    shown = alternates(font, "Ana")
    assert [a.codes for a in shown] == [(), ("fina",), ("salt", "ss01"), ("ss02",), ("swsh",)]
    looks = [gids(font, "Ana", *a.features) for a in shown]
    assert len(set(looks)) == len(looks)
    for tag in not_shown(font, shown):
        assert gids(font, "Ana", f"{tag}=1") == looks[0] or tag in ("frac", "ordn", "sups", "subs")


def test_alternates_by_number_and_what_is_switched_off() -> None:
    shelf = Shelf((folder("fonts_open"),))
    pacifico = shelf.find("pacifico")
    codes = [code for a in alternates(pacifico, "Ana fi") for code in a.codes]
    assert "-calt" in codes


def test_the_fonts_own_names_are_told(shelf: Shelf) -> None:
    assert named(shelf.find("great-vibes"), "ss01") == "stylistic set 1: Swash Forms"
    assert named(shelf.find("allura"), "ss01") == "stylistic set 1" == title_of("ss01")
    assert named(shelf.find("cinzel-decorative"), "swsh") == "swashes"


def test_without_a_sample_letters_stand_for_each_feature(shelf: Shelf) -> None:
    font = shelf.find("eb-garamond")
    by_code = {code: a.text for a in letters_changed(font) for code in a.codes}
    assert by_code["swsh"] == by_code["ss06"] == "Q"
    assert "Th" in by_code["dlig"].split()


def test_a_feature_for_words_on_a_text_without_words(shelf: Shelf) -> None:
    assert gids(shelf.find("allura"), "7", "fina") == gids(shelf.find("allura"), "7")


def test_word_space_in_single_strokes(shelf: Shelf) -> None:
    letterer = Letterer(shelf)
    plain, wide = (letterer.line("Ida & Tom", Setting("plain-hand", word_space=w)) for w in (0.0, 0.25))
    assert wide.advance == pytest.approx(plain.advance + 0.5)


def test_word_space_is_added_at_spaces_alone(shelf: Shelf) -> None:
    font = shelf.find("montserrat")
    plain = shape(font, "Ida & Tom", font_key="")
    wide = shape(font, "Ida & Tom", font_key="", word_space=100)
    moved = [b - a for a, b in zip(plain.run.xs, wide.run.xs, strict=True)]
    assert moved == [0, 0, 0, 0, 100, 100, 200, 200, 200]
    assert wide.advance == plain.advance + 200
