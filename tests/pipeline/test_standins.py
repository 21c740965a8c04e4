"""Texts that their own font cannot draw are set in the nearest fonts that can, script by script, and told."""

from __future__ import annotations

from dataclasses import replace

import pytest

from render.geometry.shapes import circle, rectangle
from render.lettering.standins import stand_in
from render.model import FitRule, LetterRequest, Operation, Setting, Severity
from render.pipeline import Workshop
from render.pipeline.standins import with_stand_ins


@pytest.fixture(scope="module")
def letterer():
    return Workshop.open().letterer()


def asked(text: str, font: str = "great-vibes") -> LetterRequest:
    setting = Setting(font, features=("swsh=1",))
    area = rectangle(0, 0, 80, 20)
    return LetterRequest("p002", "name", text, setting, Operation.ENGRAVE, FitRule(joined=True), area)


@pytest.mark.parametrize(
    ("text", "font"),
    [
        ("שירה", "frank-ruhl-libre"),
        ("نور", "noto-naskh-arabic"),
        ("นภา", "noto-sans-thai"),
        ("Νίκη", "eb-garamond"),
    ],
)
def test_the_nearest_font_with_all_letters_stands_in(letterer, text, font) -> None:
    (request,), (problem,) = with_stand_ins([asked(text)], letterer)
    assert letterer.fonts_of(letterer.line(request.text, request.setting)) == ((font, text),)
    assert (request.text, request.rule) == (text, asked(text).rule)  # it stays in its set
    assert (problem.severity, problem.code, problem.piece) == (Severity.LOOK, "font-stands-in", "p002")
    assert font in problem.message


def test_a_joined_font_is_preferred_for_a_joined_one(letterer) -> None:
    """Sacramento has no ț; of the fonts that have it, another script stands in, not an upright face."""
    line = letterer.line("Ionuț", Setting("sacramento"))
    assert line.missing == ("ț",)
    setting = stand_in(letterer, line)
    assert setting is not None
    ((font, words),) = letterer.fonts_of(letterer.line("Ionuț", setting))
    assert letterer.joined(font)
    assert words == "Ionuț"


@pytest.mark.parametrize(
    ("text", "font", "fonts"),
    [
        ("Anna Ἀλέξης", "great-vibes", (("great-vibes", "Anna"), ("eb-garamond", "Ἀλέξης"))),
        ("Мария Smith", "pinyon-script", (("great-vibes", "Мария"), ("pinyon-script", "Smith"))),
        ("David & דוד", "great-vibes", (("great-vibes", "David &"), ("frank-ruhl-libre", "דוד"))),
        ("דוד & David", "great-vibes", (("frank-ruhl-libre", "דוד"), ("great-vibes", "& David"))),
        ("Łucja דוד Nowak", "pacifico", (("lobster", "Łucja Nowak"), ("frank-ruhl-libre", "דוד"))),
        ("Anna Łucja", "pacifico", (("lobster", "Anna Łucja"),)),
        ("Ida प्रिया नईम", "caveat", (("caveat", "Ida"), ("noto-sans", "प्रिया नईम"))),
    ],
)
def test_each_script_in_one_font(letterer, text, font, fonts) -> None:
    """A script that lacks one letter goes to another font with all its words; the others stay."""
    (request,), (problem,) = with_stand_ins([asked(text, font)], letterer)
    assert letterer.fonts_of(letterer.line(text, request.setting)) == fonts
    assert request.setting.font == font
    assert (problem.severity, problem.code) == (Severity.LOOK, "font-stands-in")
    assert all(name in problem.message for name, _ in fonts)


def test_letters_that_join_get_no_space_between_them(letterer) -> None:
    """Neither tracking nor, along a closed path, the space that is left over."""
    setting = Setting("montserrat", tracking=0.1)
    request = replace(asked("Nour نور"), setting=setting, rule=FitRule(), along=circle(0j, 20))
    (set_in,), _ = with_stand_ins([request], letterer)
    assert set_in.setting.tracking == 0
    assert set_in.rule.joined
    (greek,), _ = with_stand_ins([replace(request, text="Ida Ἀννα")], letterer)
    assert greek.setting.tracking == 0.1
    assert not greek.rule.joined


@pytest.mark.parametrize("text", ["Anna 李明", "Ida 🎂", "Ida דוד 🎂"])
def test_what_is_undrawn_in_part_holds_the_whole_back(letterer, text) -> None:
    settled, (problem,) = with_stand_ins([asked(text)], letterer)
    assert settled == [asked(text)]
    assert (problem.severity, problem.code) == (Severity.STOP, "missing-glyph")


def test_what_no_font_has_is_left_and_told(letterer) -> None:
    request = asked("花子")
    settled, (problem,) = with_stand_ins([request], letterer)
    assert settled == [request]
    assert (problem.severity, problem.code) == (Severity.STOP, "missing-glyph")


def test_what_its_font_can_draw_is_left_alone(letterer) -> None:
    request = asked("Đặng")
    assert with_stand_ins([request], letterer) == ([request], [])
