"""Whole texts into glyphs in their places, by HarfBuzz."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

from render.lettering.assemble import GlyphRun
from render.lettering.font import Font
from render.lettering.scripts import JOINED_SCRIPTS, Stretch, stretches
from render.model import Paragraph

Ranges = dict[str, list[tuple[int, int, int]]]

_FEATURE: Final = re.compile(r"([+-]?)([ -~]{4})(?:\[(\d*)(:?)(\d*)\])?(?:=(\d+))?\Z")
_END: Final = 0xFFFFFFFF
_WORD: Final = re.compile(r"[^\W\d_](?:[^\W\d_]|['’-])*")
_DOTTED: Final = re.compile(r"[fFT]+i")
"""What fonts are seen to draw as one with an i that loses its dot."""

_DOTLESS_LANGUAGES: Final = frozenset(("tr", "az", "crh", "gag", "tt"))
"""Languages that tell i from ı, so that a ligature must not swallow the dot."""

SPACES: Final = " \u00a0"
"""The spaces that part words."""

_LIGATURES: Final = ("liga", "clig")


@dataclass(frozen=True, slots=True)
class Shaped:
    """A shaped text.

    Attributes:
        run: its glyphs.
        advance: how far the pen travels, font units.
        characters: for each cluster left to right the index of its first character in the text.
    """

    run: GlyphRun
    advance: int
    characters: tuple[int, ...]


def shape(
    font: Font,
    text: str,
    *,
    font_key: str,
    language: str = "",
    features: Sequence[str] = (),
    tracking: int = 0,
    word_space: int = 0,
    joined: bool = False,
    parts: Sequence[Stretch] | None = None,
    paragraph: Paragraph | None = None,
) -> Shaped:
    """Shape a prepared text as a whole, script by script, each in its direction.

    Args:
        font: the font.
        text: as :func:`render.lettering.scripts.prepare` made it.
        font_key: names the outlines in the run.
        language: BCP 47 tag; decides on local forms, and keeps the dot of i in Turkish and its kin.
        features: in HarfBuzz's notation; ``init`` and ``fina`` without a range go to the first and last
            letter of each word, since Latin letters do not take them by themselves.
        tracking: font units added after each cluster. As in CSS (Text Module Level 3, 8.2) it switches
            the common ligatures off.
        word_space: font units added at each space (CSS Text Module Level 3, 8.1).
        joined: whether the font joins its letters.
        parts: what of it is shaped, in the order in which it stands; all of it if None.
        paragraph: what decides on directions besides the text itself, where `parts` does not say.

    Raises:
        ValueError: a feature is not one, or tracking would tear joined letters apart.
    """
    if parts is None:
        parts = stretches(text, paragraph=paragraph)
    if tracking and (joined or any(part.script in JOINED_SCRIPTS for part in parts)):
        raise ValueError(f"letters that join, as in {text!r}, cannot be set with space between them")
    asked = feature_ranges(text, language, tuple(features), tracked=bool(tracking))
    gids: list[int] = []
    xs: list[int] = []
    ys: list[int] = []
    clusters: list[int] = []
    pens: list[int] = []
    characters: list[int] = []
    x = y = 0
    for part in parts:
        buffer = _shaped(font, text, part, language, asked)
        previous = -1
        for info, position in zip(buffer.glyph_infos, buffer.glyph_positions, strict=True):
            x_offset, y_offset, x_advance, y_advance = position.position
            cluster = info.cluster
            if cluster != previous:
                if tracking and pens:
                    x += tracking
                previous = cluster
                pens.append(x)
                characters.append(cluster)
            gids.append(info.codepoint)
            xs.append(x + x_offset)
            ys.append(y + y_offset)
            clusters.append(len(pens) - 1)
            x += x_advance
            y += y_advance
            if word_space and text[cluster] in SPACES:
                x += word_space
    if tracking and pens:
        x += tracking
    run = GlyphRun(font_key, font.upem, tuple(gids), tuple(xs), tuple(ys), tuple(clusters), tuple(pens))
    return Shaped(run, x, tuple(characters))


def _shaped(font: Font, text: str, part: Stretch, language: str, asked: Ranges) -> Any:
    """One stretch through HarfBuzz; the rest of the text is its context."""
    import uharfbuzz as hb

    buffer = hb.Buffer()
    buffer.add_str(text, part.start, part.stop - part.start)
    buffer.direction = "rtl" if part.backward else "ltr"
    buffer.script = part.script
    if language:
        buffer.language = language
    hb.shape(font.shaper, buffer, asked or None)
    return buffer


def feature_ranges(text: str, language: str, features: tuple[str, ...], *, tracked: bool) -> Ranges:
    """What is asked of HarfBuzz: for each feature its ranges of characters and values.

    Raises:
        ValueError: a feature is not in HarfBuzz's notation.
    """
    asked: Ranges = {}
    if tracked:
        for tag in _LIGATURES:
            asked[tag] = [(0, _END, 0)]
    for feature in features:
        tag, start, stop, value = parse_feature(feature)
        spans = [(start, stop)]
        if tag in ("init", "fina") and (start, stop) == (0, _END):
            spans = [_edge(tag, match) for match in _WORD.finditer(text)]
        if spans:
            asked.setdefault(tag, []).extend((begin, end, value) for begin, end in spans)
    if language and language.split("-")[0].lower() in _DOTLESS_LANGUAGES:
        for match in _DOTTED.finditer(text):
            asked.setdefault("liga", []).append((*match.span(), 0))
    return asked


def _edge(tag: str, word: re.Match[str]) -> tuple[int, int]:
    """The first or last character of a word."""
    return (word.start(), word.start() + 1) if tag == "init" else (word.end() - 1, word.end())


def parse_feature(text: str) -> tuple[str, int, int, int]:
    """Tag, first character, end and value of a feature in HarfBuzz's notation (hb_feature_from_string).

    Raises:
        ValueError: it is none.

    >>> parse_feature("-liga")[3], parse_feature("ss01[3:5]=2")
    (0, ('ss01', 3, 5, 2))
    """
    match = _FEATURE.match(text.strip())
    if match is None:
        raise ValueError(f"{text!r} is not an OpenType feature such as swsh=1 or -liga")
    sign, tag, first, colon, last, value = match.groups()
    start = int(first) if first else 0
    single = bool(first) and not colon
    stop = int(last) if last else start + 1 if single else _END
    return tag, start, stop, int(value) if value else int(sign != "-")
