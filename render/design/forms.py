"""Which forms of the letters a text asks for: CSS's font properties, and a piece's own wishes, read.

Sources: CSS Fonts Module Level 4 (``font-feature-settings`` section 7.12 and its neighbours,
``font-variation-settings`` section 8.2, ``font-optical-sizing`` section 8.1) and CSS Text Module Level 3
(``letter-spacing`` 8.2, ``word-spacing`` 8.1), section numbers from memory.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Final

from render.design.numbers import number, number_between
from render.design.refusal import Refusal, short, suggest

VARIANTS: Final[Mapping[str, Mapping[str, str]]] = {
    "font-variant-caps": {
        "small-caps": "smcp",
        "all-small-caps": "c2sc smcp",
        "petite-caps": "pcap",
        "all-petite-caps": "c2pc pcap",
        "unicase": "unic",
        "titling-caps": "titl",
    },
    "font-variant-numeric": {
        "lining-nums": "lnum",
        "oldstyle-nums": "onum",
        "proportional-nums": "pnum",
        "tabular-nums": "tnum",
        "diagonal-fractions": "frac",
        "stacked-fractions": "afrc",
        "ordinal": "ordn",
        "slashed-zero": "zero",
    },
    "font-variant-ligatures": {
        "none": "-liga -clig -dlig -hlig -calt",
        "common-ligatures": "liga clig",
        "no-common-ligatures": "-liga -clig",
        "discretionary-ligatures": "dlig",
        "no-discretionary-ligatures": "-dlig",
        "historical-ligatures": "hlig",
        "no-historical-ligatures": "-hlig",
        "contextual": "calt",
        "no-contextual": "-calt",
    },
}
"""CSS's words for forms of letters, and the OpenType features they stand for."""

PROPERTIES: Final = frozenset(
    {*VARIANTS, "font-variant", "font-feature-settings", "font-variation-settings", "font-optical-sizing",
     "word-spacing"}
)  # fmt: skip
"""The style properties that this module reads."""

WISHES: Final = "features"
"""The field in which a piece says which forms of letters it wants."""

_FEATURE: Final = re.compile(r"""\s*["']([ -~]{4})["']\s*(on|off|\d{1,3})?\s*""")
_AXIS: Final = re.compile(r"""\s*["']([ -~]{4})["']\s*([+-]?\d*\.?\d+)\s*""")
_WISH: Final = re.compile(
    r"""(?P<quote>["']?)(?P<sign>[+-]?)(?P<tag>[A-Za-z][A-Za-z0-9]{3})(?P=quote)(?P<range>\[\d*:?\d*\])?"""
    r"""(?:\s*=\s*|\s*)(?P<value>on|off|\d{1,3})?(?=[\s,;]|$)"""
)
_VALUES: Final = {None: "1", "": "1", "on": "1", "off": "0"}


def features(look: Mapping[str, str]) -> tuple[str, ...]:
    """The OpenType features that style properties ask for, in HarfBuzz's notation.

    ``font-variant`` and its parts come first, so that ``font-feature-settings`` has the last word, as in CSS.

    Raises:
        Refusal: a value is not understood.
    """
    found: list[str] = []
    known = {word: tags for words in VARIANTS.values() for word, tags in words.items()}
    for name in ("font-variant", *VARIANTS):
        words = known if name == "font-variant" else VARIANTS[name]
        for word in look.get(name, "").split():
            if word == "normal":
                continue
            if word not in words:
                raise Refusal(f"{name} is {short(word)}", suggest(word, words))
            found += [f"{tag.lstrip('-')}={int(tag[0] != '-')}" for tag in words[word].split()]
    return (*found, *css_features(look.get("font-feature-settings", "")))


def css_features(text: str) -> tuple[str, ...]:
    """CSS ``font-feature-settings`` in HarfBuzz's notation.

    Raises:
        Refusal: it is not understood.
    """
    if text.strip() in ("normal", ""):
        return ()
    found = []
    for part in text.split(","):
        match = _FEATURE.fullmatch(part)
        if match is None:
            raise Refusal(f"font-feature-settings is {short(text)}", "Such as 'swsh' 1, 'liga' off.")
        found.append(f"{match[1]}={_VALUES.get(match[2], match[2])}")
    return tuple(found)


def wishes(text: str) -> tuple[str, ...]:
    """A piece's wishes in HarfBuzz's notation, from what a person writes into a table.

    Features stand one behind the other, parted by spaces, commas or semicolons, quoted or not; a value or a
    minus may stand with each, and letters that it goes to in brackets, counted from 0.

    >>> wishes("ss01 swsh=2, -liga"), wishes("'salt' 2 'liga' off"), wishes("swsh[0]")
    (('ss01=1', 'swsh=2', 'liga=0'), ('salt=2', 'liga=0'), ('swsh[0]=1',))

    Raises:
        Refusal: it is not understood.
    """
    found: list[str] = []
    rest = text.strip()
    while rest:
        match = _WISH.match(rest)
        if match is None:
            raise Refusal(
                f"the forms of letters {short(text)} are not understood",
                "Write OpenType features, such as: swsh, ss01, salt=2, -liga. "
                "`monikerf show font NAME` draws those of a font.",
            )
        value = match["value"] or ("0" if match["sign"] == "-" else "1")
        found.append(f"{match['tag']}{match['range'] or ''}={_VALUES.get(value, value)}")
        rest = rest[match.end() :].lstrip(" ,;\t\n")
    return tuple(found)


def axes(look: Mapping[str, str]) -> dict[str, str]:
    """The axes of a variable font, by tag, as ``font-variation-settings`` names them.

    With ``font-optical-sizing`` none, the optical size is the font's usual one; else whoever fits the text
    takes it from the size.

    Raises:
        Refusal: a value is not understood.
    """
    found: dict[str, str] = {}
    sizing = look.get("font-optical-sizing", "auto")
    if sizing not in ("auto", "none"):
        raise Refusal(f"font-optical-sizing is {short(sizing)}", "Write auto or none.")
    text = look.get("font-variation-settings", "normal")
    for part in () if text in ("normal", "") else text.split(","):
        match = _AXIS.fullmatch(part)
        if match is None:
            raise Refusal(f"font-variation-settings is {short(text)}", "Such as 'wght' 600, 'opsz' 12.")
        found[match[1]] = f"{float(match[2]):g}"
    if sizing == "none":
        found.setdefault("opsz", "usual")
    return found


def spacing(text: str, size: str, what: str, least: float) -> float:
    """``letter-spacing`` or ``word-spacing`` in em; SVG gives a bare number in user units.

    Raises:
        Refusal: it is no length, or beyond its limits.
    """
    if text in ("normal", ""):
        return 0.0
    if text.endswith("em") and not text.endswith("rem"):
        return number_between(text[:-2], what, least, 2)
    em = number(text, what) / number_between(size or "0", "font-size", 0.1, 1_000)
    return number_between(f"{em:f}", f"{what} (in em)", least, 2)
