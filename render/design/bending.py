"""How a text is made other than as plain lines: monograms, envelopes, and its way along a path."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Final

from render.design.numbers import number_between
from render.design.refusal import Refusal, short, suggest
from render.design.rules import YesNo, choice, font_id, ours
from render.geometry import Path
from render.model import FitRule, Hang, Shaping

MONOGRAMS: Final = (
    *("single", "ampersand", "bullet", "divider", "three", "surname-middle", "couple", "square", "stacked"),
    *("circle", "diamond", "shield", "oval", "split", "interlaced"),
)
"""The forms of monogram that lettering can draw."""

FRAMES: Final = ("ring", "double-ring", "wreath", "dots")
ENVELOPES: Final = ("arch", "valley", "bridge", "bulge", "pinch", "flag", "taper", "fan")

_OF_A_MONOGRAM: Final = ("frame", "name-font")


def shaping(attributes: Mapping[str, str], ground: Path | None, *, follows_path: bool) -> Shaping | None:
    """What a text's attributes say of monogram and envelope; None where they say nothing.

    Raises:
        Refusal: a value is unknown, or one has no meaning without another.
    """
    form, envelope = ours(attributes, "monogram"), ours(attributes, "envelope")
    if not form:
        for name in _OF_A_MONOGRAM:
            if ours(attributes, name):
                raise Refusal(f"mk:{name} has no meaning without mk:monogram", "Give the text mk:monogram.")
    if not envelope and ours(attributes, "bend"):
        raise Refusal("mk:bend has no meaning without mk:envelope", "Give the text mk:envelope.")
    if ground is None and ours(attributes, "shoulder"):
        raise Refusal("mk:shoulder has no meaning without mk:raised-from", "Give the text mk:raised-from.")
    if not form and not envelope and ground is None:
        return None
    if (follows_path and (form or envelope)) or (form and envelope):
        raise Refusal(
            "a text is a monogram, or bent into an envelope, or follows a path", "Keep one of them."
        )
    frame = ours(attributes, "frame")
    for value, known, what in (
        (form, MONOGRAMS, "mk:monogram"), (frame, FRAMES, "mk:frame"), (envelope, ENVELOPES, "mk:envelope")
    ):  # fmt: skip
        if value and value not in known:
            raise Refusal(f"{what} is {short(value)}, which it does not know", suggest(value, known))
    font = ours(attributes, "name-font")
    return Shaping(
        monogram=form,
        frame=frame,
        name_font=font_id(font) if font else "",
        envelope=envelope,
        bend=number_between(ours(attributes, "bend", "0.35"), "mk:bend", 0, 0.9),
        ground=ground,
        shoulder=number_between(ours(attributes, "shoulder", "0"), "mk:shoulder", 0, 3),
    )


def on_a_path(rule: FitRule, attributes: Mapping[str, str], *, follows_path: bool) -> FitRule:
    """The rule with what a text's attributes say of its way along a path.

    Raises:
        Refusal: a value is unknown, or the text follows no path.
    """
    if not follows_path:
        for name in ("hangs", "closes", "curve-spacing"):
            if ours(attributes, name):
                raise Refusal(f"mk:{name} has no meaning without a path", "Put the words into a textPath.")
        return rule
    if ours(attributes, "balance"):
        raise Refusal("mk:balance has no meaning on a path", "Remove it: along a path ink decides.")
    optical = ours(attributes, "curve-spacing", "optical")
    if optical not in ("optical", "plain"):
        raise Refusal(f"mk:curve-spacing is {short(optical)}", "Write optical or plain.")
    return replace(
        rule,
        hangs=choice(ours(attributes, "hangs", "baseline"), Hang, "mk:hangs"),
        closes=choice(ours(attributes, "closes", "no"), YesNo, "mk:closes") is YesNo.YES,
        optical=0.5 if optical == "optical" else 0.0,
    )
