"""How a template's text is to be set and fitted: SVG's text properties and our own attributes, read."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from enum import StrEnum
from typing import Final, TypeVar

from render.design import forms
from render.design.grammar import OURS
from render.design.numbers import number, number_between
from render.design.refusal import Refusal, short, suggest
from render.geometry import Box
from render.model import Align, Anchor, Balance, CutRule, FitRule, Paragraph, Setting, Side, SizePolicy, Swash

_Choice = TypeVar("_Choice", bound=StrEnum)

_OF_A_SIDE: Final = (
    "neck",
    "closer",
    "thicken",
    "bridges",
    "stakes",
    "stakes-in",
    "stake-width",
    "free-standing",
    "play",
    "halo",
)

_OTHER_END: Final = {Align.START: Align.END, Align.END: Align.START}

_LINES: Final = ("", "horizontal-tb", "lr", "lr-tb", "rl", "rl-tb")
_COLUMNS: Final = ("vertical-rl", "vertical-lr", "tb", "tb-rl")
"""Values of ``writing-mode`` (CSS Writing Modes Level 4; the shorter ones are SVG 1.1's)."""

_BIDI: Final = ("", "normal", "embed", "isolate", "plaintext")
"""Values of ``unicode-bidi`` that leave letters in their order (CSS Writing Modes Level 3)."""

_LANGUAGE: Final = re.compile(r"[A-Za-z]{2,8}(-[A-Za-z0-9]{1,8})*")
_SLUG: Final = re.compile(r"[^a-z0-9]+")
_MOST_SIZE_MM: Final = 1_000.0


class YesNo(StrEnum):
    """An answer."""

    YES = "yes"
    NO = "no"


def ours(attributes: Mapping[str, str], name: str, otherwise: str = "") -> str:
    """The value of one of our attributes, trimmed."""
    return attributes.get(f"{{{OURS}}}{name}", otherwise).strip()


def choice(text: str, kinds: type[_Choice], what: str) -> _Choice:
    """One of a set of words.

    Raises:
        Refusal: another word.
    """
    try:
        return kinds(text)
    except ValueError as error:
        words = [kind.value for kind in kinds]
        raise Refusal(f"{what} is {short(text)}, a word it does not know", suggest(text, words)) from error


def font_id(family: str) -> str:
    """The id that a font has on the shelf, from its family or id as written.

    >>> font_id("'Great Vibes', cursive")
    'great-vibes'

    Raises:
        Refusal: nothing is left of it.
    """
    first = family.split(",")[0]
    slug = _SLUG.sub("-", first.lower()).strip("-")
    if not slug:
        hint = "`monikerf show fonts` lists the fonts."
        raise Refusal("a text has no font-family" if not family else f"{short(family)} names no font", hint)
    return slug


def setting(look: Mapping[str, str], language: str) -> Setting:
    """How a text with these style properties is set.

    Raises:
        Refusal: a property is missing or not understood.
    """
    if language and not _LANGUAGE.fullmatch(language):
        raise Refusal(f"xml:lang is {short(language)}", "Write a language tag such as en or pt-BR.")
    font, axes = font_id(look.get("font-family", "")), forms.axes(look)
    size = look.get("font-size", "")
    return Setting(
        font=f"{font}:{','.join(f'{tag}={axes[tag]}' for tag in sorted(axes))}" if axes else font,
        language=language,
        features=forms.features(look),
        tracking=forms.spacing(look.get("letter-spacing", "normal"), size, "letter-spacing", -0.5),
        word_space=forms.spacing(look.get("word-spacing", "normal"), size, "word-spacing", -0.5),
        vertical=_vertical(look),
        paragraph=_paragraph(look),
    )


def _paragraph(look: Mapping[str, str]) -> Paragraph | None:
    """The direction that SVG's ``direction`` gives a text; None where its own letters decide.

    CSS Writing Modes Level 3, sections 2.1 and 2.2 (numbers from memory). Where a template says
    nothing, each text is taken as ``unicode-bidi: plaintext`` has it, since nobody knows beforehand in which
    script a name comes.

    Raises:
        Refusal: a word is not known, or it turns letters out of their order.
    """
    direction, how = look.get("direction", ""), look.get("unicode-bidi", "normal")
    if direction not in ("", "ltr", "rtl"):
        raise Refusal(f"direction is {short(direction)}", "Write ltr or rtl.")
    if how not in _BIDI:
        hint = "It would turn letters out of their order. Write normal, embed, isolate or plaintext."
        raise Refusal(f"unicode-bidi is {short(how)}", hint)
    return Paragraph(direction) if direction and how != "plaintext" else None


def _vertical(look: Mapping[str, str]) -> str:
    """How letters stand in a column, as CSS's ``text-orientation`` says; empty for lines."""
    mode, stand = look.get("writing-mode", ""), look.get("text-orientation", "mixed")
    if mode in _LINES:
        return ""
    if mode not in _COLUMNS:
        raise Refusal(f"writing-mode is {short(mode)}", suggest(mode, _COLUMNS))
    if stand not in ("mixed", "upright"):
        raise Refusal(f"text-orientation is {short(stand)}", "Write mixed or upright.")
    return stand


def in_a_column(
    rule: FitRule, look: Mapping[str, str], attributes: Mapping[str, str], *, follows_path: bool
) -> FitRule:
    """The rule, for a text that runs downwards: one column, in the middle of its area by its ink.

    Raises:
        Refusal: it is on a path, on several lines, bent, a monogram, or to be joined into one piece.
    """
    if not _vertical(look):
        return rule
    if follows_path:
        raise Refusal("it runs downwards, but along a path", "Leave out writing-mode, or the textPath.")
    if rule.most_lines > 1:
        raise Refusal("it runs downwards, but on several lines", "Leave out mk:lines: it is one column.")
    if look.get("direction") == "rtl":
        raise Refusal("it runs downwards, but from right to left", "Leave out direction, or writing-mode.")
    for name in ("envelope", "monogram"):
        if ours(attributes, name):
            raise Refusal(f"it runs downwards, but has mk:{name}", "Keep one of them.")
    if ours(attributes, "side") == Side.SOLID:
        hint = 'Letters one under another are not joined; cut them out with mk:side="hole".'
        raise Refusal("it runs downwards, but is to be one piece", hint)
    return replace(rule, align=Align.MIDDLE, anchor=Anchor.INK)


def fit_rule(look: Mapping[str, str], attributes: Mapping[str, str], scale: float) -> FitRule:
    """How a text is fitted; `scale` is the scale of the groups it lies in.

    Raises:
        Refusal: a value is missing, unknown or beyond its limits.
    """
    size = _font_size(look) * scale
    smallest = ours(attributes, "smallest")
    if smallest:
        least = number_between(smallest, "mk:smallest", 0.1, _MOST_SIZE_MM)
    else:
        least = min(FitRule().smallest, size)
    if least > size:
        raise Refusal(f"mk:smallest is {least:g} and font-size {size:g}", "font-size is the largest size.")
    return FitRule(
        policy=choice(ours(attributes, "sizing", "set"), SizePolicy, "mk:sizing"),
        align=_align(look),
        anchor=choice(ours(attributes, "stands", "baseline"), Anchor, "mk:stands"),
        balance=choice(ours(attributes, "balance", "box"), Balance, "mk:balance"),
        largest=size,
        smallest=least,
        leading=number_between(ours(attributes, "leading", "1.1"), "mk:leading", 0.5, 4),
        most_lines=_whole(ours(attributes, "lines", "1"), "mk:lines", 9),
        tightest=number_between(ours(attributes, "tightest", "0"), "mk:tightest", -0.2, 0),
        narrower=tuple(font_id(f) for f in ours(attributes, "narrower").split(",") if f.strip()),
        swash=choice(ours(attributes, "swash", "none"), Swash, "mk:swash"),
    )


def _align(look: Mapping[str, str]) -> Align:
    """Where a text stands, counted from the left.

    What runs from right to left starts at its right end (SVG 2, 11.10.1; the number is from memory).
    """
    align = choice(look.get("text-anchor", "start"), Align, "text-anchor")
    return _OTHER_END.get(align, align) if look.get("direction") == "rtl" else align


def cut_rule(attributes: Mapping[str, str], drawn_at: complex, stakes_in: Box | None) -> CutRule | None:
    """How a text that is cut through is kept together; None where it does not say on which side it is.

    Raises:
        Refusal: a value is unknown or beyond its limits, or says something about a text without a side.
    """
    side = ours(attributes, "side")
    if not side:
        for name in _OF_A_SIDE:
            if ours(attributes, name) and not (name == "thicken" and ours(attributes, name).startswith("to")):
                hint = 'Give the text mk:side="solid" (one with the piece) or mk:side="hole" (cut out of it).'
                raise Refusal(f"mk:{name} has no meaning without mk:side", hint)
        return None
    plain = CutRule(choice(side, Side, "mk:side"))
    for name in ("play", "halo"):
        if ours(attributes, name) and plain.side is not Side.SOLID:
            raise Refusal(f"mk:{name} has no meaning on a hole", 'It goes with mk:side="solid".')
    stakes = _whole(ours(attributes, "stakes", "0"), "mk:stakes", 9, least=0)
    if stakes and stakes_in is None:
        raise Refusal(
            "nothing says where the stakes end", 'Draw an area for them; name it in mk:stakes-in="#…".'
        )
    return CutRule(
        plain.side,
        neck=number_between(ours(attributes, "neck", "0"), "mk:neck", 0, 50),
        closer=number_between(ours(attributes, "closer", "0"), "mk:closer", 0, 0.5),
        thicken=number_between(ours(attributes, "thicken", "0"), "mk:thicken", 0, 20),
        bridges=_whole(ours(attributes, "bridges", "2"), "mk:bridges", 4),
        stakes=stakes,
        stake_width=number_between(ours(attributes, "stake-width", "4"), "mk:stake-width", 0.5, 50),
        stakes_in=stakes_in,
        drawn_at=drawn_at,
        free_standing=choice(ours(attributes, "free-standing", "no"), YesNo, "mk:free-standing") is YesNo.YES,
        play=number_between(ours(attributes, "play", "0"), "mk:play", 0, 5),
        halo=number_between(ours(attributes, "halo", "0"), "mk:halo", 0, 50),
    )


def start_offset(text: str) -> float:
    """Where along its path a text is anchored, 0 to 1.

    Raises:
        Refusal: it is not a percentage of the path.
    """
    text = text.strip()
    if text in ("", "0"):
        return 0.0
    if not text.endswith("%"):
        raise Refusal(f"startOffset is {short(text)}", "Write it as a part of the path, such as 50%.")
    return number_between(text[:-1], "startOffset", 0, 100) / 100


def _whole(text: str, what: str, most: int, least: int = 1) -> int:
    value = number_between(text, what, least, most)
    if value != int(value):
        raise Refusal(f"{what} is {short(text)}, not a whole number", "Write 1, 2, 3 or so.")
    return int(value)


def _font_size(look: Mapping[str, str]) -> float:
    if "font-size" not in look:
        raise Refusal("a text has no font-size", 'Give the largest size in mm, such as font-size="14".')
    size = number(look["font-size"], "font-size")
    if not 0.1 <= size <= _MOST_SIZE_MM:
        raise Refusal(f"font-size is {short(look['font-size'])}", f"From 0.1 to {_MOST_SIZE_MM:g} mm.")
    return size
