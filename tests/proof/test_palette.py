"""Colours, and whether they can be read."""

import pytest

from render.proof.palette import (
    LEAST_CONTRAST,
    PAPER,
    TEXT_COLOURS,
    channels,
    contrast,
    edge_of,
    luminance,
    mixed,
)


@pytest.mark.parametrize("colour", TEXT_COLOURS)
def test_words_can_be_read_on_the_paper(colour: str) -> None:
    """WCAG 2.2, success criterion 1.4.3: at least 4.5 for text of any size."""
    assert contrast(colour, PAPER) >= LEAST_CONTRAST


def test_contrast() -> None:
    """The ends by WCAG 2.2's definition; #767676 on white by the PyPI package wcag-contrast-ratio."""
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21)
    assert contrast("#FFFFFF", "#FFFFFF") == 1
    assert contrast("#767676", "#ffffff") == pytest.approx(4.542, abs=0.0005)
    assert luminance("#FF0000") == pytest.approx(0.2126)


def test_a_rim_stands_out_from_its_material() -> None:
    for tone in ("#FFFFFF", "#E0C090", "#808080", "#4A4E54", "#26343F", "#000000"):
        assert contrast(edge_of(tone), tone) > 1.5


def test_mixing() -> None:
    assert mixed("#000000", "#FFFFFF", 0.5) == "#808080"
    assert mixed("#102030", "#FFFFFF", 0) == "#102030"
    assert channels("#0a0B10") == (10, 11, 16)


@pytest.mark.parametrize("bad", ["red", "#fff", "123456", "#12345678"])
def test_what_is_not_a_colour(bad: str) -> None:
    with pytest.raises(ValueError, match="is not a colour"):
        channels(bad)
