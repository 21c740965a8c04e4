"""The filters that a template's expressions may use, and how long a text may grow."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Mapping
from typing import Final

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


_TURKIC_UP: Final = str.maketrans({"i": "İ", "ı": "I"})
_TURKIC_DOWN: Final = str.maketrans({"İ": "i", "I": "ı"})


def _upper(value: object, turkic: bool) -> str:
    text = _text(value)
    return (text.translate(_TURKIC_UP) if turkic else text).upper()


def _lower(value: object, turkic: bool) -> str:
    text = _text(value)
    return (text.translate(_TURKIC_DOWN) if turkic else text).lower()


def _title(value: object, turkic: bool) -> str:
    """The first letter of each word made a capital; the rest is left, so McGee and O’Neil survive."""
    text = _text(value)
    return re.sub(r"(?<![^\s\-])\w", lambda m: _upper(m[0], turkic) if turkic else m[0].title(), text)


def _initial(value: object, dutch: bool) -> str:
    """The first letter with its accents, as typed; a Dutch IJ is one letter."""
    text = unicodedata.normalize("NFC", _text(value))
    start = next((i for i, c in enumerate(text) if c.isalpha()), None)
    if start is None:
        return ""
    end = start + (2 if dutch and text[start : start + 2] == "IJ" else 1)
    while end < len(text) and unicodedata.category(text[end]).startswith("M"):
        end += 1
    return text[start:end]


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
    turkic, dutch = language in ("tr", "az"), language == "nl"
    return {
        "upper": lambda value: _upper(value, turkic),
        "lower": lambda value: _lower(value, turkic),
        "title": lambda value: _title(value, turkic),
        "initial": lambda value: _initial(value, dutch),
        "trim": _trim,
        "replace": _replace,
        "default": _default,
    }
