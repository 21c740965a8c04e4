"""Finding how one text is set, when it does not fit plainly."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final

from render.fitting.breaking import proposed
from render.fitting.forms import Form, Setter
from render.fitting.seats import Seat
from render.fitting.sizing import WORTH, largest_size
from render.model import Remedy, SetLine, Setting

STEADY: Final = 1.03
"""How much larger lettering must become to be moved out of the middle for it."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """How one text is set: its lines in place, the form and size they came from, the remedy that this is."""

    lines: tuple[SetLine, ...]
    form: Form | None
    size: float
    remedy: Remedy = Remedy.NONE


def at_full_size(setter: Setter, seat: Seat, size: float) -> Outcome | None:
    """The first remedy that keeps the size: tighter, second line, narrower font; None if none is enough.

    In a narrower font the text is tried plain, then tighter, then on several lines.
    """

    def fits(form: Form) -> bool:
        return seat.place(form, size) is not None

    suited = list(proposed(setter, seat, size, size))

    def ways(setting: Setting | None) -> Iterator[Form]:
        tight = setter.tracked(fits, setting)
        if tight:
            yield tight
        for count in setter.line_counts():
            usable = [form for form in setter.broken(count, setting) if fits(form)]
            if setting is None and not usable:
                usable = [form for form in suited if len(form.lines) == count and fits(form)]
            if usable:
                yield min(usable, key=_raggedness)

    form = next(ways(None), None)
    remedy = form.remedy if form else Remedy.NARROWER
    for setting in setter.narrower():
        if form is None:
            single = setter.single(setting)
            form = single if single and fits(single) else next(ways(setting), None)
    lines = seat.place(form, size) if form else None
    return Outcome(lines, form, size, remedy) if lines else None


def _raggedness(form: Form) -> tuple[int, float, tuple[str, ...]]:
    """Order of preference among ways of breaking: no hanging words, then the narrowest widest line."""
    return form.hanging, form.width, tuple(line.text for line in form.lines)


def every_form(setter: Setter) -> Iterator[Form]:
    """All forms of a text, in the order of the remedies."""
    forms = [setter.plain(), setter.tightest()]
    yield from (form for form in forms if form)
    for count in setter.line_counts():
        yield from sorted(setter.broken(count), key=_raggedness)
    for setting in setter.narrower():
        yield from (form for form in (setter.single(setting), setter.tightest(setting)) if form)
        for count in setter.line_counts():
            yield from sorted(setter.broken(count, setting), key=_raggedness)


def largest(forms: Iterable[Form], seat: Seat, low: float, high: float) -> tuple[Form, float] | None:
    """The form that may be largest, the first of equals, and its size; None if none fits at `low`.

    Lines that stand where they should are preferred to any that had to be moved for less than STEADY in size.
    """
    tried = list(forms)
    best = _largest(tried, seat, low, high)
    steady = seat.steady()
    if best is None or steady is seat or steady.place(*best) is not None:
        return best
    return _largest(tried, steady, max(low, best[1] / STEADY), best[1]) or best


def _largest(forms: Iterable[Form], seat: Seat, low: float, high: float) -> tuple[Form, float] | None:
    best: tuple[Form, float] | None = None
    for form in forms:

        def fits(size: float, form: Form = form) -> bool:
            return seat.place(form, size) is not None

        if best and not fits(best[1]):
            continue
        least = best[1] if best else low
        size = largest_size(fits, least, high, guess=seat.guess(form, least, high))
        if size is not None and (best is None or size > best[1]):
            best = form, size
    return best


def smaller(setter: Setter, seat: Seat, high: float) -> Outcome | None:
    """The last remedy: the largest size below the set's, in whichever form allows it.

    None if that would be below the smallest allowed.
    """
    low = setter.rule.smallest
    if low > high:
        return None
    found = largest([*every_form(setter), *proposed(setter, seat, low, high)], seat, low, high)
    if found is None:
        return None
    form, size = found
    return Outcome(seat.place(form, size) or (), form, size, Remedy.SMALLER)


def as_large_as_allowed(setter: Setter, plain: Form, seat: Seat) -> Outcome | None:
    """The policy EACH: plain, unless only several lines fit or they make it larger by 1/WORTH.

    What fits neither way is tightened or set in a narrower font. None if nothing fits.
    """
    low, high = min(setter.rule.smallest, setter.rule.largest), setter.rule.largest
    best = largest([plain], seat, low, high)
    if best is None or best[1] < high:
        broken = [form for count in setter.line_counts() for form in setter.broken(count)]
        broken += proposed(setter, seat, low, high)
        lines = largest(sorted(broken, key=_raggedness), seat, low, high)
        if lines and (best is None or best[1] <= WORTH * lines[1]):
            best = lines
    best = best or largest(every_form(setter), seat, low, high)
    if best is None:
        return None
    form, size = best
    return Outcome(seat.place(form, size) or (), form, size, form.remedy)
