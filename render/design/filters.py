"""The filters that a template's expressions may use, and how long a text may grow."""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Mapping
from typing import Final

from render.text import casing
from render.text.letters import graphemes

MOST_LETTERS: Final = 400
"""Characters that one text may have, as written in the template and as filled in."""


class MissingFieldError(Exception):
    """A text uses fields that the piece does not have."""

    def __init__(self, names: tuple[str, ...]) -> None:
        super().__init__(", ".join(names))
        self.names = names


class TooLongError(Exception):
    """A text, filled in, is longer than :data:`MOST_LETTERS`."""


def _text(value: object) -> str:
    return str(value)  # a field that is missing raises here


def _initial(value: object, dutch: bool) -> str:
    """The first letter with its marks, as typed; a Dutch IJ is one letter."""
    letters = graphemes(unicodedata.normalize("NFC", _text(value)))
    start = next((k for k, letter in enumerate(letters) if letter[0].isalpha()), None)
    if start is None:
        return ""
    count = 2 if dutch and letters[start : start + 2] == ("I", "J") else 1
    return "".join(letters[start : start + count])


def _replace(value: object, old: str, new: str) -> str:
    text, old, new = _text(value), _text(old), _text(new)
    if not old:
        return text
    if len(text) + text.count(old) * (len(new) - len(old)) > MOST_LETTERS:
        raise TooLongError
    return text.replace(old, new)


def _trim(value: object) -> str:
    return _text(value).strip()


def _default(value: object, other: object = "") -> object:
    from jinja2 import Undefined

    return other if isinstance(value, Undefined) or not str(value).strip() else value


FILTER_VALUES: Final[Mapping[str, int]] = {
    "upper": 0,
    "lower": 0,
    "title": 0,
    "initial": 0,
    "trim": 0,
    "replace": 2,
    "default": 1,
}
"""The filters there are, and how many values each takes."""


def filters_for(language: str) -> Mapping[str, Callable[..., object]]:
    """The filters by name; `language` is the first part of a BCP 47 tag, in lower case."""
    return {
        "upper": lambda value: casing.upper(_text(value), language),
        "lower": lambda value: casing.lower(_text(value), language),
        "title": lambda value: casing.title(_text(value), language),
        "initial": lambda value: _initial(value, language == "nl"),
        "trim": _trim,
        "replace": _replace,
        "default": _default,
    }
