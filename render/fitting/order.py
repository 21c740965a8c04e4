"""Fitting an order: every text of a slot together, since they must look like one hand's work."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from render.errors import TemplateError
from render.fitting.arcs import ArcPath
from render.fitting.forms import Form, Setter
from render.fitting.notes import Limits, Standing, held_problem, remedy_problem, stroke_problem
from render.fitting.regions import Region, region_of
from render.fitting.remedies import Outcome, as_large_as_allowed, at_full_size, every_form, largest, smaller
from render.fitting.seats import Along, Flat, Seat, resting_centre
from render.fitting.sizing import Count, exceptions_allowed, set_size
from render.model import (
    Anchor,
    FitRule,
    Fitted,
    LetterRequest,
    Line,
    Measure,
    Problem,
    Remedy,
    Setting,
    SizePolicy,
)

Key = tuple[str, Setting, int]
"""What makes a text of a set distinct: its characters, its setting, and the number of its seat."""

_HELD = Outcome((), None, 0.0, Remedy.HELD)
_NOTHING = Outcome((), None, 0.0)


def fit_order(
    requests: Sequence[LetterRequest], measure: Measure, limits: Limits | None = None
) -> tuple[Fitted, ...]:
    """Fit all lettering of an order.

    All requests of one slot with one rule are one set; see :func:`render.fitting.sizing.set_size` for how its
    size is chosen. A text that does not fit plainly at that size gets the first remedy that is enough: set
    tighter, on several lines, in a narrower font, or smaller; each is recorded in its `remedy` and, with
    figures, in a problem. The result does not depend on the order of the requests.

    Texts without ink are fitted as nothing; texts with missing glyphs are held back without a word, since
    whoever measured them has told.

    Args:
        requests: what the templates ask for, lengths in mm.
        measure: shapes and measures a text, in em.
        limits: the smallest detail that material and machine hold.

    Returns:
        One value per request, in the same order.

    Raises:
        TemplateError: an area is not a closed path with a width and a height, or a path has no length.
    """
    groups: dict[tuple[str, FitRule], list[int]] = {}
    for index, request in enumerate(requests):
        groups.setdefault((request.slot, request.rule), []).append(index)
    fitted: list[Fitted | None] = [None] * len(requests)
    for (_, rule), indices in groups.items():
        texts = _Set([requests[index] for index in indices], rule, measure)
        for index, value in zip(indices, texts.fit(limits or Limits()), strict=True):
            fitted[index] = value
    return tuple(value for value in fitted if value is not None)


@dataclass(frozen=True, slots=True)
class _Place:
    """One area or path of a set."""

    region: Region | None
    arc: ArcPath | None
    start: float

    @classmethod
    def of(cls, request: LetterRequest) -> _Place:
        try:
            region = region_of(request.area) if request.area or request.along is None else None
            arc = ArcPath(request.along) if request.along is not None else None
        except ValueError as error:
            raise TemplateError(f"{error}", place=f"text {request.slot}") from error
        return cls(region, arc, request.start)


class _Set:
    """The requests of one slot, while they are being fitted."""

    def __init__(self, requests: list[LetterRequest], rule: FitRule, measure: Measure) -> None:
        self.requests, self.rule, self.measure = requests, rule, measure
        self.keys, self.places = _keys(requests)
        self.lines: dict[Key, Line] = {}
        for key in self.keys:
            if key not in self.lines:
                self.lines[key] = measure(key[0], key[1])
        plain = {key: line for key, line in self.lines.items() if line.ink and not line.missing}
        self.plain = dict(sorted(plain.items(), key=lambda item: (item[0][2], item[0][0], repr(item[0][1]))))

    def fit(self, limits: Limits) -> list[Fitted]:
        """All requests of the set, fitted."""
        size, seats = self._seats()
        outcomes = {
            key: self._outcome(key, line, seats[key[2]], size) if key in self.plain else _blank(line)
            for key, line in self.lines.items()
        }
        alike = Counter(outcomes[key].remedy for key in self.keys)
        fitted = []
        for request, key in zip(self.requests, self.keys, strict=True):
            outcome = outcomes[key]
            standing = Standing(size, alike[outcome.remedy], len(self.keys))
            problems = tuple(self._problems(request, key, outcome, standing, limits))
            fitted.append(Fitted(request, outcome.lines, outcome.remedy, problems))
        return fitted

    def _outcome(self, key: Key, line: Line, seat: Seat, size: float | None) -> Outcome:
        plain = Form((line,))
        setter = self._setter(key)
        if size is None:
            return as_large_as_allowed(setter, plain, seat) or _HELD
        lines = seat.place(plain, size)
        if lines is not None:
            return Outcome(lines, plain, size)
        kept = at_full_size(setter, seat, size)
        if kept is None and self.rule.policy is SizePolicy.SET:
            kept = smaller(setter, seat, size)
        return kept or _HELD

    def _problems(
        self, request: LetterRequest, key: Key, outcome: Outcome, standing: Standing, limits: Limits
    ) -> Iterable[Problem]:
        if outcome.form is not None:
            if outcome.remedy is not Remedy.NONE:
                yield remedy_problem(request, outcome.form, outcome.size, outcome.remedy, standing)
            thin = stroke_problem(request, outcome.form, outcome.size, limits)
            if thin:
                yield thin
        elif key in self.plain:
            fixed = self.rule.policy is SizePolicy.FIXED
            least = self.rule.largest if fixed else min(self.rule.smallest, self.rule.largest)
            yield held_problem(request, Form((self.plain[key],)), least)

    # ------------------------------------------------------------ the size and the common baseline

    def _seats(self) -> tuple[float | None, list[Seat]]:
        """The set's size (None for EACH) and a seat for each place, with the common baseline."""
        if not self.plain:
            return None, []
        if self.rule.policy is SizePolicy.EACH:
            return None, self._seats_for(None)
        common = self.rule.anchor is Anchor.BASELINE
        choices = [self._seats_for(band) for band in (self._bands() if common else [None])]
        counters = [self._counter(seats, self.plain) for seats in choices]
        low, high = min(self.rule.smallest, self.rule.largest), self.rule.largest
        if self.rule.policy is SizePolicy.FIXED:
            size = high
        else:
            tight = self._tightened()
            tightened = [self._counter(seats, tight) for seats in choices] if tight else []
            found = set_size(counters, len(self.plain), low, high, tightened)
            size = found or self._remedied_size(choices[0], low, high)
        most = max(range(len(choices)), key=lambda index: (counters[index](size), -index))
        return size, [seat.settled(size) for seat in choices[most]]

    def _bands(self) -> list[tuple[float, float]]:
        """Ascent and descent of the whole set; and, if exceptions are allowed, without its extremes."""
        inks = [line.ink for line in self.plain.values() if line.ink]
        ups = sorted((-ink.y0 for ink in inks), reverse=True)
        downs = sorted((ink.y1 for ink in inks), reverse=True)
        leave = exceptions_allowed(len(inks))
        bands = [(max(ups[at], 0.0), max(downs[at], 0.0)) for at in (0, leave)]
        return bands[: 1 if bands[0] == bands[1] else 2]

    def _seats_for(self, band: tuple[float, float] | None) -> list[Seat]:
        whole = self._bands()[0]
        optical = optical_middle(self.plain.values(), whole)
        widths = sorted(line.ink.width for line in self.plain.values() if line.ink)
        seats: list[Seat] = []
        for place in self.places:
            if place.arc is not None:
                seats.append(Along(place.arc, place.region, self.rule, place.start))
            elif place.region is not None:
                centre = resting_centre(place.region, self.rule, widths[len(widths) // 2], whole)
                seats.append(Flat(place.region, self.rule, optical, centre, band))
        return seats

    def _tightened(self) -> dict[Key, Line]:
        """About how the lines would measure at their tightest; empty if tightening is out of the question."""
        if self.rule.joined or all(key[1].tracking <= self.rule.tightest for key in self.plain):
            return {}
        return {key: self._setter(key).narrowed(line) for key, line in self.plain.items()}

    def _setter(self, key: Key) -> Setter:
        return Setter(key[0], key[1], self.rule, self.measure)

    def _counter(self, seats: list[Seat], texts: dict[Key, Line]) -> Count:
        """How many texts fit on one line at a size, in all places together."""
        lines: list[list[Line]] = [[] for _ in seats]
        for key, line in texts.items():
            lines[key[2]].append(line)
        counters = [seat.count_at(some) for seat, some in zip(seats, lines, strict=True)]
        return lambda size: sum(count(size) for count in counters)

    def _remedied_size(self, seats: list[Seat], low: float, high: float) -> float:
        """The set's size where too few texts fit plainly even at `low`.

        It is the largest at which all but the allowed exceptions fit in some form.
        """
        sizes = []
        for key in self.plain:
            best = largest(every_form(self._setter(key)), seats[key[2]], low, high)
            sizes.append(best[1] if best else low)
        return sorted(sizes)[exceptions_allowed(len(sizes))]


def _keys(requests: list[LetterRequest]) -> tuple[list[Key], list[_Place]]:
    """The key of each request, and the places they are numbered by; equal areas are one place."""
    by_id: dict[tuple[int, int, float], int] = {}
    by_value: dict[object, int] = {}
    places: list[_Place] = []
    keys = []
    for request in requests:
        identity = (id(request.area), id(request.along), request.start)
        number = by_id.get(identity)
        if number is None:
            number = by_value.setdefault((request.area, request.along, request.start), len(places))
            by_id[identity] = number
            if number == len(places):
                places.append(_Place.of(request))
        keys.append((request.text, request.setting, number))
    return keys, places


def _blank(line: Line) -> Outcome:
    """Missing glyphs hold a text back; a text without ink is nothing."""
    return _HELD if line.missing else _NOTHING


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
        lower = any(map(str.islower, line.text))
        upper = not lower and any(c.isupper() or c.isdigit() for c in line.text)
        kinds["small" if lower else "capital" if upper else "other"] += 1
    x_height, cap_height = max(heights, key=lambda pair: (heights[pair], pair))
    middles = {
        "small": (x_height + cap_height) / 4,
        "capital": cap_height / 2,
        "other": (band[0] - band[1]) / 2,
    }
    return middles[max(middles, key=lambda kind: kinds[kind])]
