"""Texts that their own font cannot draw are set whole in the nearest font that can, and told."""

from __future__ import annotations

import pytest

from render.geometry.shapes import rectangle
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
    assert (request.setting, request.text) == (Setting(font), text)
    assert request.rule.joined is letterer.joined(font)
    assert (problem.severity, problem.code, problem.piece) == (Severity.LOOK, "font-stands-in", "p002")
    assert font in problem.message


def test_a_joined_font_is_preferred_for_a_joined_one(letterer) -> None:
    """Sacramento has no ț; of the fonts that have it, another script stands in, not an upright face."""
    line = letterer.line("Ionuț", Setting("sacramento"))
    assert line.missing == ("ț",)
    setting = stand_in(letterer, line)
    assert setting is not None
    assert letterer.joined(setting.font)


def test_what_no_font_has_is_left_and_told(letterer) -> None:
    request = asked("花子")
    settled, (problem,) = with_stand_ins([request], letterer)
    assert settled == [request]
    assert (problem.severity, problem.code) == (Severity.STOP, "missing-glyph")


def test_what_its_font_can_draw_is_left_alone(letterer) -> None:
    request = asked("Đặng")
    assert with_stand_ins([request], letterer) == ([request], [])
