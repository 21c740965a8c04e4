"""Whether a text's thin strokes are thickened, and to what."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Final

from render.design.refusal import Refusal, short
from render.design.rules import ours
from render.model import Operation

_TO: Final = re.compile(r"to\s+(material|(\d{1,2}(?:\.\d{1,3})?)\s*(?:mm)?)")
_MOST_MM: Final = 5.0


def asks_for_stroke(attributes: Mapping[str, str]) -> bool:
    """Whether ``mk:thicken`` names a least stroke (``to …``), not how far cut outlines may be moved."""
    return ours(attributes, "thicken").startswith("to")


def least_stroke(attributes: Mapping[str, str], operation: Operation) -> float | None:
    """The least stroke in mm that thin strokes are thickened to; 0 for what material and beam ask for.

    None where the text does not say, or says it as cut lettering does.

    Raises:
        Refusal: it is not understood, or has no meaning for this text.
    """
    if not asks_for_stroke(attributes):
        return None
    text = ours(attributes, "thicken")
    match = _TO.fullmatch(text)
    if match is None or (match[2] and not 0.01 <= float(match[2]) <= _MOST_MM):
        hint = f"Write “to material”, or the least stroke in mm, up to {_MOST_MM:g}, such as “to 0.3”."
        raise Refusal(f"mk:thicken is {short(text)}", hint)
    if operation is not Operation.ENGRAVE or ours(attributes, "monogram"):
        what = "a monogram" if ours(attributes, "monogram") else "lettering that is not engraved"
        hint = 'Thin strokes of cut lettering are thickened by mk:side with mk:thicken="0.3".'
        raise Refusal(f"mk:thicken to a stroke has no meaning on {what}", hint)
    return float(match[2]) if match[2] else 0.0
