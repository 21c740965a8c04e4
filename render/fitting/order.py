"""Fitting an order: every text of a slot together, since they must look like one hand's work."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from render.fitting.forms import Form, Setter
from render.fitting.leading import Skylines
from render.fitting.notes import Standing, held_problem, remedy_problem
from render.fitting.remedies import Outcome, as_large_as_allowed, at_full_size, smaller
from render.fitting.sets import Settled, Text, gather, settle
from render.fitting.sizing import NEARLY
from render.model import FitRule, Fitted, LetterRequest, Measure, Problem, Remedy, SizePolicy

_HELD = Outcome((), None, 0.0, Remedy.HELD)
_NOTHING = Outcome((), None, 0.0)


def fit_order(
    requests: Sequence[LetterRequest],
    measure: Measure,
    skyline: Skylines | None = None,
) -> tuple[Fitted, ...]:
    """Fit all lettering of an order.

    All requests of one slot with one rule are one set; see :func:`render.fitting.sizing.set_size` for how its
    size is chosen. A text that does not fit plainly at that size gets the first remedy that is enough: set
    tighter, on several lines, in a narrower font, or smaller; each is recorded in its `remedy` and, with
    figures, in a problem. Texts that fit in no way are held back and do not count for the size of the others.
    The result does not depend on the order of the requests.

    Texts without ink are fitted as nothing; texts with missing glyphs are held back without a word, since
    whoever measured them has told.

    Args:
        requests: what the templates ask for, lengths in mm.
        measure: shapes and measures a text, in em.
        skyline: tells how far the ink of a line reaches, column by column; with it the lines of one text
            never touch, whatever the rule's leading.

    Returns:
        One value per request, in the same order.

    Raises:
        TemplateError: an area is not a closed path with a width and a height, or a path has no length.
    """
    groups: dict[tuple[str, FitRule], list[int]] = {}
    last: tuple[str, FitRule] | None = None
    members: list[int] = []
    for index, request in enumerate(requests):
        if last is None or request.rule is not last[1] or request.slot != last[0]:
            last = (request.slot, request.rule)
            members = groups.setdefault(last, [])
        members.append(index)
    fitted: list[Fitted | None] = [None] * len(requests)
    for (_, rule), indices in groups.items():
        mine = [requests[index] for index in indices]
        apart = None if any(request.cut for request in mine) else skyline  # cut lines hold to each other
        some = _fit_set(mine, rule, measure, apart)
        for index, value in zip(indices, some, strict=True):
            fitted[index] = value
    return tuple(value for value in fitted if value is not None)


def _fit_set(
    requests: list[LetterRequest],
    rule: FitRule,
    measure: Measure,
    skyline: Skylines | None,
) -> list[Fitted]:
    """The requests of one slot with one rule, fitted."""
    members, texts, places = gather(requests, measure)
    settled = settle([text for text in texts if text.plain], places, rule, measure, skyline)
    outcomes = [_outcome(text, settled, rule, measure) for text in texts]
    made = [text for text, outcome in zip(texts, outcomes, strict=True) if text.plain and outcome.form]
    if made and settled.size is not None and len(made) < sum(text.plain for text in texts):
        settled = settle(made, places, rule, measure, skyline)  # what is held back has no say in the size
        outcomes = [_outcome(text, settled, rule, measure) for text in texts]
    shared = None if rule.pinned else _nearly(outcomes, settled.size)
    if shared is not None:
        settled = settled.at(shared)
        outcomes = [_outcome(text, settled, rule, measure) for text in texts]
    alike = Counter(outcomes[member].remedy for member in members)
    fitted = []
    for request, member in zip(requests, members, strict=True):
        outcome = outcomes[member]
        if outcome.remedy is Remedy.NONE:
            problems: tuple[Problem, ...] = ()
        else:
            standing = Standing(settled.size, alike[outcome.remedy], len(members))
            problems = tuple(_problems(request, texts[member], outcome, standing))
        fitted.append(Fitted(request, outcome.lines, outcome.remedy, problems))
    return fitted


def _nearly(outcomes: Sequence[Outcome], size: float | None) -> float | None:
    """The least size, near the set's, to which a text had to be made smaller: better all of them are."""
    if size is None:
        return None
    least = NEARLY * size
    sizes = (o.size for o in outcomes if o.remedy is Remedy.SMALLER and o.size >= least)
    return min(sizes, default=None)


def _outcome(text: Text, settled: Settled, rule: FitRule, measure: Measure) -> Outcome:
    """How one text is set. Missing glyphs hold it back; without ink it is nothing."""
    if not text.plain:
        return _HELD if text.line.missing else _NOTHING
    seat, size, plain = settled.seats[text.place], settled.size, Form((text.line,))
    if size is not None:
        lines = seat.place(plain, size)
        if lines is not None:
            return Outcome(lines, plain, size)
    setter = Setter(text.text, text.setting, rule, measure)
    if size is None:
        return as_large_as_allowed(setter, plain, seat) or _HELD
    kept = at_full_size(setter, seat, size)
    if kept is None and rule.policy is SizePolicy.SET:
        kept = smaller(setter, seat, size)
    return kept or _HELD


def _problems(request: LetterRequest, text: Text, outcome: Outcome, standing: Standing) -> list[Problem]:
    """What should be known about one text."""
    found: list[Problem | None] = []
    if outcome.form is not None:
        if outcome.remedy is not Remedy.NONE:
            found.append(remedy_problem(request, outcome.form, outcome.size, outcome.remedy, standing))
    elif text.plain:
        rule = request.rule
        least = rule.largest if rule.policy is SizePolicy.FIXED else min(rule.smallest, rule.largest)
        found.append(held_problem(request, Form((text.line,)), least))
    return [problem for problem in found if problem]
