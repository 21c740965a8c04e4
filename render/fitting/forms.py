"""The ways in which one text may be set: as it is, tighter, on several lines, in a narrower font."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations, pairwise
from typing import Final

from render.model import FitRule, Line, Measure, Paragraph, Remedy, Setting
from render.text.bidi import runs_backward
from render.text.letters import line_ends

TRACKING_STEP_EM: Final = 0.005
"""Tracking is tried in steps of this size: finer than anyone sees, coarse enough to be cached."""

MOST_BREAKS: Final = 200
"""Ways of breaking a text that are tried for one number of lines; only very long texts have more."""

_NEVER_TRACKED = re.compile("[\u0600-\u07ff\u0840-\u0aff\u1800-\u18af\ufb50-\ufdff\ufe70-\ufeff]")
"""Scripts whose letters join or hang from one line (Arabic, Syriac, N'Ko, Mandaic, Devanagari, Bengali,
Gurmukhi, Mongolian): space between letters would tear them (CSS Text 3, section 8.2.1, cursive scripts)."""

_HANGS = re.compile(r"(?:^|\s)(?:[^\W\d_]*\.|&|\+|(?![A-ZÀ-Þ])[a-zà-ÿ’']{1,3})$")
"""A line end that leaves something hanging: a title or initial with its dot, an ampersand, a particle."""


@dataclass(frozen=True, slots=True)
class Form:
    """One way of setting a text: its lines, each with ink, and the remedy it amounts to."""

    lines: tuple[Line, ...]
    remedy: Remedy = Remedy.NONE

    @property
    def width(self) -> float:
        """Ink width of the widest line, em."""
        return max(line.ink.width for line in self.lines if line.ink)

    @property
    def hanging(self) -> int:
        """How many lines end on a word that belongs to the next."""
        return sum(bool(_HANGS.search(line.text)) for line in self.lines[:-1])


Fits = Callable[[Form], bool]


@dataclass(frozen=True, slots=True)
class Setter:
    """Makes the forms of one text under one rule."""

    text: str
    setting: Setting
    rule: FitRule
    measure: Measure

    def plain(self) -> Form | None:
        """As it is; None when it has no ink or lacks glyphs."""
        return self._form((self.text,), self.setting, Remedy.NONE)

    def tracked(self, fits: Fits, setting: Setting | None = None) -> Form | None:
        """The least tightening that fits, in steps of TRACKING_STEP_EM; None if none does or may be used."""
        steps = self.tightenings()
        if not steps or not self._tightened(steps, steps, setting, fits):
            return None
        low, high = 0, steps  # `low` steps do not fit, `high` do
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (low, middle) if self._tightened(middle, steps, setting, fits) else (middle, high)
        return self._tightened(high, steps, setting, fits)

    def tightest(self, setting: Setting | None = None) -> Form | None:
        """With the least tracking that the rule allows; None where tracking may not be used."""
        steps = self.tightenings()
        return self._tightened(steps, steps, setting, lambda _: True) if steps else None

    def tightenings(self) -> int:
        """How many steps of tightening the rule, the font and the script allow."""
        room = self.setting.tracking - self.rule.tightest
        if self.rule.joined or room <= 0 or not may_be_tracked(self.text):
            return 0
        return max(1, round(room / TRACKING_STEP_EM))

    def _tightened(self, step: int, steps: int, setting: Setting | None, fits: Fits) -> Form | None:
        by = self.rule.tightest if step == steps else self.setting.tracking - step * TRACKING_STEP_EM
        tight = replace(setting or self.setting, tracking=round(by, 6))
        try:
            form = self._form((self.text,), tight, Remedy.TIGHTER)
        except ValueError:  # a font that joins its letters refuses tracking
            return None
        return form if form and fits(form) else None

    def broken(self, count: int, setting: Setting | None = None) -> Iterator[Form]:
        """Each way of breaking into `count` lines; of a very long text the MOST_BREAKS most even ones."""
        for texts in breaks(self.text, count):
            form = self._form(texts, setting or self.setting, Remedy.BROKEN)
            if form:
                yield form

    def lines(self, texts: tuple[str, ...]) -> Form | None:
        """On these lines; None where one has no ink or lacks glyphs."""
        return self._form(texts, self.setting, Remedy.BROKEN)

    def line_counts(self) -> range:
        """The numbers of lines, from two, that the rule and the text allow."""
        return range(2, min(self.rule.most_lines, len(line_ends(self.text)) + 1) + 1)

    def narrower(self) -> Iterator[Setting]:
        """The settings in the rule's narrower fonts, in order."""
        for font in self.rule.narrower:
            if font != self.setting.font:
                yield replace(self.setting, font=font)

    def single(self, setting: Setting) -> Form | None:
        """On one line in another setting."""
        return self._form((self.text,), setting, Remedy.NARROWER)

    def _form(self, texts: tuple[str, ...], setting: Setting, remedy: Remedy) -> Form | None:
        if len(texts) > 1 and (setting.paragraph or runs_backward(self.text)):
            lines = tuple(self.measure(text, one) for text, one in self._within(texts, setting))
        else:
            lines = tuple(self.measure(text, setting) for text in texts)
        usable = all(line.ink is not None and not line.missing for line in lines)
        return Form(lines, remedy) if usable else None

    def _within(self, texts: tuple[str, ...], setting: Setting) -> Iterator[tuple[str, Setting]]:
        """Each line with its setting, which knows the paragraph that the line is broken out of.

        The paragraph decides on directions; a line by itself would go by its own first letter.
        """
        told, end = setting.paragraph or Paragraph(), 0
        for text in texts:
            start = self.text.index(text, end)
            end = start + len(text)
            line = replace(told, before=self.text[:start], after=self.text[end:])
            yield text, replace(setting, paragraph=line)


def may_be_tracked(text: str) -> bool:
    """Whether space between its letters would not tear a text: it has several, of a script that allows it."""
    return len(text) > 1 and not _NEVER_TRACKED.search(text)


def pieces(text: str) -> list[str]:
    """The parts of a text between the places where a line may end, spaces included; words stay whole."""
    places = [place for place in line_ends(text) if not text[place - 1].isalnum()]
    return [text[a:b] for a, b in pairwise((0, *places, len(text)))]


def breaks(text: str, count: int) -> list[tuple[str, ...]]:
    """The ways of breaking a text into `count` lines where lines may end, the most even ones first.

    Evenness is told by numbers of characters; the width in a font is judged by whoever asks.
    """
    places = line_ends(text)
    between = [place for place in places if not text[place - 1].isalnum()]
    places = (
        tuple(between) if len(between) >= count - 1 else places
    )  # names are broken within as a last resort
    if count < 2 or count - 1 > len(places):
        return []
    ways: list[tuple[int, tuple[str, ...]]] = []
    for chosen in combinations(_worth_trying(places, len(text), count), count - 1):
        lines = tuple(text[a:b].strip() for a, b in pairwise((0, *chosen, len(text))))
        ways.append((max(map(len, lines)), lines))
    ways.sort(key=lambda way: way[0])
    return [lines for _, lines in ways[:MOST_BREAKS]]


def _worth_trying(places: Sequence[int], length: int, count: int) -> Sequence[int]:
    """All break places of a short text; of a long one those nearest to even division."""
    most = 24 if count == 2 else 12
    if len(places) <= most:
        return places
    ideal = [length * part / count for part in range(1, count)]
    nearest = sorted(places, key=lambda place: min(abs(place - at) for at in ideal))
    return sorted(nearest[: max(most, count - 1)])
