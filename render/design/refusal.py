"""What is wrong with a part of a template, before it is known where the part stands."""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches


class Refusal(Exception):  # noqa: N818  -- a finding about the drawing, turned into a TemplateError by the walk
    """A template asks for what cannot be; the walk through the drawing adds the place.

    Attributes:
        message: what is wrong, one sentence.
        hint: what would mend it.
    """

    def __init__(self, message: str, hint: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.hint = hint


def suggest(word: str, known: Iterable[str]) -> str:
    """A hint: the nearest known word, or all of them."""
    every = list(known)
    near = get_close_matches(word, every, 1, 0.6)
    return f"Did you mean {near[0]}?" if near else f"Known: {', '.join(every)}."


def short(text: str, most: int = 40) -> str:
    """A value as it is quoted in a message: one line, cut after `most` characters."""
    flat = " ".join(text.split())
    return repr(flat if len(flat) <= most else flat[: most - 1] + "…")
