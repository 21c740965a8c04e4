"""Letters as people count them, and the places where a line may end."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Final


def graphemes(text: str) -> tuple[str, ...]:
    r"""The extended grapheme clusters of a text: each letter with its marks (Unicode Standard Annex #29).

    By the library uniseg, whose data is that of Unicode 16.0.

    >>> [len(letter) for letter in graphemes("Zoe\u0308 क्षि")]
    [1, 1, 2, 1, 4]
    """
    if text.isascii() and "\r" not in text:
        return tuple(text)
    return _graphemes(text)


@lru_cache(maxsize=4096)
def _graphemes(text: str) -> tuple[str, ...]:
    from uniseg.graphemecluster import grapheme_clusters

    return tuple(grapheme_clusters(text))


_LETTERS: Final = "A-Za-zÀ-ÖØ-öø-ʯ\u0386\u0388-\u03f5\u0400-\u0481\u048a-\u04ff\u1e00-\u1eff"
_NAME: Final = f"[{_LETTERS}]+(?:[-’'][{_LETTERS}]+)*[.,]?|&"
_PLAIN: Final = re.compile(f"(?:{_NAME})(?: +(?:{_NAME}))*")
_PLAIN_END: Final = re.compile("(?<= )(?! )|(?<=-)")


@lru_cache(maxsize=4096)
def line_ends(text: str) -> tuple[int, ...]:
    """The places inside a text at which a line may end: spaces before such a place stay on the line above.

    By Unicode Standard Annex #14 as the library uniseg does it (Unicode 16.0): after spaces and hyphens,
    between ideographs; never at a no-break space or a word joiner. In scripts that are written without
    spaces between words (Thai, Lao, Khmer, Burmese) only at spaces, since no dictionary is at hand: right for
    names, whose parts are written with spaces; longer texts need one where a line may end (see `unspaced`).

    >>> line_ends("Anna-Lena Vale"), line_ends("山田 花")
    ((5, 10), (1, 3))
    """
    if _PLAIN.fullmatch(text):  # what nearly all names are; the same, and a hundred times as fast
        return tuple(match.start() for match in _PLAIN_END.finditer(text))
    from uniseg.linebreak import line_break_boundaries

    return tuple(at for at in line_break_boundaries(text) if 0 < at < len(text))


_UNSPACED: Final = {
    "Thai": re.compile("[\u0e01-\u0e3a\u0e40-\u0e4e]{2}"),
    "Lao": re.compile("[\u0e80-\u0ecd\u0edc-\u0edf]{2}"),
    "Burmese": re.compile("[\u1000-\u103f\u1050-\u108f]{2}"),
    "Khmer": re.compile("[\u1780-\u17d3\u17d7\u17dc-\u17dd]{2}"),
}


def unspaced(text: str) -> str:
    """The writing in a text that puts no spaces between words, by its name; empty if there is none.

    (Unicode Standard Annex #14, line breaking class SA.)

    >>> unspaced("มาลีและสมชาย"), unspaced("Anna")
    ('Thai', '')
    """
    return next((name for name, letters in _UNSPACED.items() if letters.search(text)), "")
