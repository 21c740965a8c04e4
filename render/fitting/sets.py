"""What is common to a set: its distinct texts, its size, its baseline."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import repeat

from render.errors import TemplateError
from render.fitting.along import Along
from render.fitting.arcs import ArcPath
from render.fitting.forms import Setter, may_be_tracked
from render.fitting.leading import Skylines
from render.fitting.regions import Region, region_of
from render.fitting.remedies import every_form, largest
from render.fitting.resting import resting_centre
from render.fitting.seats import Flat, Measured, Seat
from render.fitting.sizing import Count, exceptions_allowed, set_size
from render.model import Anchor, FitRule, LetterRequest, Line, Measure, Setting, SizePolicy

Band = tuple[float, float]
"""Ascent and descent, both positive, in em."""


@dataclass(frozen=True, slots=True)
class Text:
    """A distinct text of a set: its characters, its setting, the number of its place, and how it measures."""

    text: str
    setting: Setting
    place: int
    line: Line

    @property
    def plain(self) -> bool:
        """Whether there is something to fit: ink, and no glyph missing."""
        return self.line.ink is not None and not self.line.missing


@dataclass(frozen=True, slots=True)
class Place:
    """An area or path of a set."""

    region: Region | None
    arc: ArcPath | None
    start: float

    @classmethod
    def of(cls, request: LetterRequest) -> Place:
        """The place that a request names.

        Raises:
            TemplateError: its area is not a closed path with a width and a height, or its path has no length.
        """
        try:
            region = region_of(request.area) if request.area or request.along is None else None
            arc = ArcPath(request.along) if request.along is not None else None
        except ValueError as error:
            raise TemplateError(f"{error}", place=f"text {request.slot}") from error
        return cls(region, arc, request.start)


@dataclass(frozen=True, slots=True)
class Settled:
    """What a set has in common: its size in mm (None where each text has its own) and a seat per place."""

    size: float | None
    seats: tuple[Seat, ...]

    def at(self, size: float) -> Settled:
        """The same set at another size, with the baseline of that size."""
        return Settled(size, tuple(seat.settled(size) for seat in self.seats))


def gather(requests: Iterable[LetterRequest], measure: Measure) -> tuple[list[int], list[Text], list[Place]]:
    """For each request the number of its text; the texts; the places. Equal ones are one."""
    seen: dict[tuple[str, int, int, int, float], int] = {}  # by identity: quick, and nearly always enough
    texts: dict[tuple[str, Setting, int], int] = {}
    numbers: dict[object, int] = {}
    members: list[int] = []
    distinct: list[Text] = []
    places: list[Place] = []
    for request in requests:
        key = (request.text, id(request.setting), id(request.area), id(request.along), request.start)
        member = seen.get(key)
        if member is None:
            place = numbers.setdefault((request.area, request.along, request.start), len(places))
            if place == len(places):
                places.append(Place.of(request))
            member = texts.setdefault((request.text, request.setting, place), len(distinct))
            if member == len(distinct):
                line = measure(request.text, request.setting)
                distinct.append(Text(request.text, request.setting, place, line))
            seen[key] = member
        members.append(member)
    return members, distinct, places


def settle(
    texts: Sequence[Text],
    places: Sequence[Place],
    rule: FitRule,
    measure: Measure,
    skyline: Skylines | None = None,
) -> Settled:
    """The size and the common baseline of a set; `texts` are those with something to fit."""
    if not texts:
        return Settled(None, ())
    if rule.policy is SizePolicy.EACH:
        return Settled(None, _seats(texts, places, rule, None, skyline))
    straight = any(place.arc is None for place in places)
    bands = _bands(texts) if straight and rule.anchor is Anchor.BASELINE else [None]
    choices = [_seats(texts, places, rule, band, skyline) for band in bands]
    counts = [_count(seats, texts) for seats in choices]
    low, high = min(rule.smallest, rule.largest), rule.largest
    size: float | None = high
    if rule.policy is SizePolicy.SET and rule.pinned:
        size = min(max(rule.pinned, low), high)
    elif rule.policy is SizePolicy.SET:
        tight = _tightened(texts, rule)
        tightened = [_count(seats, texts, tight) for seats in choices] if tight else []
        size = set_size(counts, len(texts), low, high, tightened)
    if size is None:
        size = _remedied_size(texts, choices[0], rule, measure)
    most = max(range(len(choices)), key=lambda index: (counts[index](size), -index))
    return Settled(size, tuple(seat.settled(size) for seat in choices[most]))


def _bands(texts: Sequence[Text]) -> list[Band | None]:
    """Ascent and descent of the whole set; and, if exceptions are allowed, without its extremes."""
    inks = [text.line.ink for text in texts if text.line.ink]
    ups = sorted((-ink.y0 for ink in inks), reverse=True)
    downs = sorted((ink.y1 for ink in inks), reverse=True)
    leave = exceptions_allowed(len(inks))
    bands: list[Band | None] = [(max(ups[at], 0.0), max(downs[at], 0.0)) for at in (0, leave)]
    return bands[: 1 if bands[0] == bands[1] else 2]


def _seats(
    texts: Sequence[Text],
    places: Sequence[Place],
    rule: FitRule,
    band: Band | None,
    skyline: Skylines | None,
) -> tuple[Seat, ...]:
    """A seat for each place, for a set with that band."""
    whole = _bands(texts)[0] or (0.0, 0.0)
    optical = optical_middle((text.line for text in texts), whole)
    widths = sorted(text.line.ink.width for text in texts if text.line.ink)
    seats: list[Seat] = []
    for place in places:
        if place.arc is not None:
            seats.append(Along(place.arc, place.region, rule, place.start))
        elif place.region is not None:
            centre = resting_centre(place.region, rule, widths[len(widths) // 2], whole, optical)
            seats.append(Flat(place.region, rule, optical, centre, band, skyline=skyline))
    return tuple(seats)


def _tightened(texts: Sequence[Text], rule: FitRule) -> list[float]:
    """How much narrower each text is at its tightest, in em; none if tightening is out of the question."""
    if rule.joined or all(text.setting.tracking <= rule.tightest for text in texts):
        return []
    return [
        max(0.0, text.setting.tracking - rule.tightest) * (len(text.line.clusters) - 1)
        if may_be_tracked(text.text)
        else 0.0
        for text in texts
    ]


def _count(seats: Sequence[Seat], texts: Sequence[Text], narrower: Sequence[float] = ()) -> Count:
    """How many texts fit on one line at a size, in all places together."""
    lines: list[list[Measured]] = [[] for _ in seats]
    for text, by in zip(texts, narrower or repeat(0.0, len(texts)), strict=True):
        lines[text.place].append((text.line, by))
    counts = [seat.count_at(some) for seat, some in zip(seats, lines, strict=True)]
    return lambda size: sum(count(size) for count in counts)


def _remedied_size(texts: Sequence[Text], seats: Sequence[Seat], rule: FitRule, measure: Measure) -> float:
    """The set's size where too few texts fit plainly even at the smallest.

    It is the largest at which all but the allowed exceptions fit in some form.
    """
    low, high = min(rule.smallest, rule.largest), rule.largest
    sizes = []
    for text in texts:
        forms = every_form(Setter(text.text, text.setting, rule, measure))
        best = largest(forms, seats[text.place], low, high)
        sizes.append(best[1] if best else low)
    return sorted(sizes)[exceptions_allowed(len(sizes))]


def optical_middle(lines: Iterable[Line], band: tuple[float, float]) -> float:
    """How far above the baseline, in em, the eye sees the middle of a set's lines.

    Common practice in sign writing, no source: names in capitals and small letters look centred when the
    mean of half the x-height and half the cap height is; capitals and figures when half the cap height is;
    scripts without cases by the middle of their ascent and descent. What most of the texts are decides.
    """
    kinds: Counter[str] = Counter()
    heights: Counter[tuple[float, float]] = Counter()
    for line in lines:
        heights[line.x_height, line.cap_height] += 1
        text = line.text
        if text != text.upper():
            kinds["small"] += 1
        elif text != text.lower() or any(map(str.isdigit, text)):
            kinds["capital"] += 1
        else:
            kinds["other"] += 1
    x_height, cap_height = max(heights, key=lambda pair: (heights[pair], pair))
    middles = {
        "small": (x_height + cap_height) / 4,
        "capital": cap_height / 2,
        "other": (band[0] - band[1]) / 2,
    }
    return middles[max(middles, key=lambda kind: kinds[kind])]
