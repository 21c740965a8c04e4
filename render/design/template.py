"""A template, ready to be composed: what is the same on every piece, and what each piece's fields fill."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from difflib import get_close_matches
from enum import StrEnum
from functools import lru_cache
from typing import Final

from render.design.filters import MOST_LETTERS, MissingFieldError, TooLongError
from render.design.forms import WISHES, wishes
from render.design.refusal import Refusal
from render.design.words import Words
from render.geometry import Path
from render.model import (
    CutPart,
    CutRule,
    FitRule,
    LetterRequest,
    Mark,
    Operation,
    Problem,
    Setting,
    Severity,
    Shaping,
)


class Apostrophe(StrEnum):
    """What becomes of a straight apostrophe in a name."""

    TYPOGRAPHIC = "typographic"
    """Set as the curved one (U+2019)."""
    AS_TYPED = "as-typed"
    """Left alone."""


@dataclass(frozen=True, slots=True)
class Slot:
    """One text of a template.

    Attributes:
        id: its name in the template.
        words: what it says.
        when: conditions that must all hold, else the text is left out.
        area, along, start: where it goes, as in :class:`render.model.LetterRequest`.
        cut: how it is kept together when cut through.
        shaping: how it is made other than as plain lines.
        wished: OpenType features that depend on the piece, as ``font-feature-settings`` names them.
        thicken: least stroke in mm that thin strokes are thickened to; 0 for what material and beam ask for.
    """

    id: str
    words: Words
    setting: Setting
    operation: Operation
    rule: FitRule
    area: Path
    along: Path | None = None
    start: float = 0.5
    when: tuple[Words, ...] = ()
    cut: CutRule | None = None
    shaping: Shaping | None = None
    wished: Words | None = None
    thicken: float | None = None


@dataclass(frozen=True, slots=True)
class Extra:
    """A mark that is drawn only on pieces for which all conditions hold."""

    mark: Mark
    when: tuple[Words, ...]


@dataclass(frozen=True, slots=True)
class Drawing:
    """What a template gives for one piece: marks, lettering asked for, problems; lengths in mm.

    `parts` are shapes to be made one with the lettering that is cut through.
    """

    marks: tuple[Mark, ...]
    requests: tuple[LetterRequest, ...]
    problems: tuple[Problem, ...] = ()
    parts: tuple[CutPart, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Template:
    """A design, checked and compiled. Lengths in mm, (0, 0) the top left of its blank.

    Attributes:
        id: name of its file without ``.svg``.
        title, description: for people.
        blank: id of the blank it is made for.
        size: width and height of the drawing, mm: those of the blank's outline.
        marks: what every piece bears, one mark an operation.
        extras: what some pieces bear.
        areas: the areas by name.
        parts: shapes that are one with lettering which is cut through, each with its conditions.
        sample: fields to show the template with.
        mirror: whether it is made in mirror image, as for the back of a clear thing, or a stamp.
    """

    id: str
    title: str
    description: str
    blank: str
    size: tuple[float, float]
    apostrophe: Apostrophe
    marks: tuple[Mark, ...]
    extras: tuple[Extra, ...]
    slots: tuple[Slot, ...]
    areas: Mapping[str, Path]
    sample: Mapping[str, str] = field(default_factory=dict)
    mirror: bool = False
    parts: tuple[tuple[CutPart, tuple[Words, ...]], ...] = ()

    @property
    def fields(self) -> tuple[str, ...]:
        """Fields that every piece must have: those of texts that are never left out."""
        needed = (name for slot in self.slots for name in slot.words.needs if not _guarded(name, slot))
        return tuple(dict.fromkeys(needed))

    @property
    def optional_fields(self) -> tuple[str, ...]:
        """Fields that are used where they are there."""
        texts = [slot.words for slot in self.slots]
        texts += [slot.wished for slot in self.slots if slot.wished]
        conditions = [words for slot in self.slots for words in slot.when]
        conditions += [words for extra in self.extras for words in extra.when]
        conditions += [words for _, when in self.parts for words in when]
        used = dict.fromkeys(name for words in (*texts, *conditions) for name in words.names)
        needed = self.fields
        return tuple(name for name in used if name not in needed)

    @property
    def fonts(self) -> tuple[str, ...]:
        """Every font id that the template names, the narrower ones included."""
        return tuple(dict.fromkeys(f for s in self.slots for f in (s.setting.font, *s.rule.narrower)))

    def with_font(self, font: str) -> Template:
        """The same template with its leading font, that of its first text, replaced by `font` (an id).

        Texts in other fonts keep theirs. OpenType features chosen for the old font are dropped, save those
        that a piece wishes for; tracking is kept, and must be dropped by whoever knows that the new font
        joins its letters.
        """
        if not self.slots:
            return self
        lead = self.slots[0].setting.font
        slots = tuple(
            replace(slot, setting=replace(slot.setting, font=font, features=()))
            if slot.setting.font == lead and lead != font
            else slot
            for slot in self.slots
        )
        return replace(self, slots=slots)

    def wish(self, fields: Mapping[str, str]) -> str:
        """The forms of letters that a piece wishes for in its field WISHES.

        They go to the texts in the leading font, unless the template says itself where that field goes.
        """
        wish = fields.get(WISHES, "")
        if wish and any(WISHES in slot.wished.names for slot in self.slots if slot.wished):
            return ""
        return wish

    def check_fields(self, names: Iterable[str]) -> tuple[Problem, ...]:
        """One problem for each field that is needed and not among a table's `names`: check once a table."""
        known = tuple(names)
        return tuple(_missing(self.id, name, known, "") for name in self.fields if name not in known)

    def compose(self, fields: Mapping[str, str], piece: str, *, font: str = "") -> Drawing:
        """What one piece bears.

        Args:
            fields: text by field name.
            piece: id of the piece, put into each request and problem.
            font: id of a font to take instead of the leading one (see :meth:`with_font`).

        Returns:
            Marks, requests and problems. A text with a problem has no request; such a problem is STOP.
        """
        template = _in_font(self, font) if font else self
        wish = template.wish(fields)
        requests: list[LetterRequest] = []
        problems: list[Problem] = []
        curved = template.apostrophe is Apostrophe.TYPOGRAPHIC
        for slot in template.slots:
            if slot.when and not _holds(slot.when, fields):
                continue
            text = _worded(template.id, slot, fields, piece)
            if isinstance(text, str):
                text = text.replace("'", "’") if curved else text
                if slot.shaping and slot.shaping.monogram:
                    text = _whole_name(text, slot, fields)
                setting = slot.setting
                if slot.wished or (wish and setting.font == template.slots[0].setting.font):
                    setting = _in_its_forms(template.id, slot, wish, fields, piece, problems)
                requests.append(
                    LetterRequest(
                        piece, slot.id, text, setting, slot.operation, slot.rule,
                        slot.area, slot.along, slot.start, slot.cut,
                        slot.shaping and _with_letters(slot.shaping, fields), slot.thicken,
                    )
                )  # fmt: skip
            else:
                problems += text
        marks = template.marks
        if template.extras:
            marks += tuple(extra.mark for extra in template.extras if _holds(extra.when, fields))
        parts = tuple(part for part, when in template.parts if _holds(when, fields))
        return Drawing(marks, tuple(requests), tuple(problems), parts)


@lru_cache(maxsize=16)
def _in_font(template: Template, font: str) -> Template:
    return template.with_font(font)


OUTRIGHT: Final = ("monogram", "initials")
"""Fields whose letters, where a piece has them, are taken as they are, in this order."""


def _with_letters(shaping: Shaping, fields: Mapping[str, str]) -> Shaping:
    """The shaping with the letters that a piece gives outright."""
    given = next((fields[name].strip() for name in OUTRIGHT if fields.get(name, "").strip()), "")
    return replace(shaping, letters=given) if given and shaping.monogram else shaping


def _in_its_forms(
    template: str, slot: Slot, wish: str, fields: Mapping[str, str], piece: str, problems: list[Problem]
) -> Setting:
    """The setting of a slot with the forms of letters that the piece wishes for; without where unclear."""
    try:
        own = slot.wished(fields) if slot.wished else ""
    except MissingFieldError as missing:
        problems += [_missing(template, name, tuple(fields), piece) for name in missing.names]
        return slot.setting
    found = slot.setting.features
    for text in (own, wish):
        try:
            found += wishes(text)
        except Refusal as refusal:
            message = f"{refusal.message[0].upper()}{refusal.message[1:]}, so the plain ones are set."
            problems.append(
                Problem(Severity.LOOK, "unclear-features", message, refusal.hint, value=text, piece=piece)
            )
    return replace(slot.setting, features=found)


def _whole_name(text: str, slot: Slot, fields: Mapping[str, str]) -> str:
    """The name with its surname told apart, where the table has both parts and the text is just the name."""
    given, surname = (fields.get(name, "").strip() for name in ("given", "surname"))
    if slot.words.names == ("name",) and given and surname:
        return f"{given} / {surname}"
    return text


def _guarded(name: str, slot: Slot) -> bool:
    """Whether the text is left out where the field is missing, as far as its conditions name it."""
    return any(name in words.names for words in slot.when)


def _holds(conditions: tuple[Words, ...], fields: Mapping[str, str]) -> bool:
    return all(words(fields) for words in conditions)


def _worded(template: str, slot: Slot, fields: Mapping[str, str], piece: str) -> str | tuple[Problem, ...]:
    """The text of a slot, or what keeps it from being."""
    try:
        text = slot.words(fields).strip()
    except MissingFieldError as missing:
        return tuple(_missing(template, name, tuple(fields), piece) for name in missing.names)
    except TooLongError:
        message = f"the text {slot.id!r} is longer than {MOST_LETTERS} characters"
        return (Problem(Severity.STOP, "text-too-long", message, "Shorten it in the table.", piece=piece),)
    if text:
        return text
    message = f"there is nothing to letter in the text {slot.id!r}"
    asked = ", ".join(slot.words.names) or "the template"
    hint = f"Fill in {asked}; to leave the text out where it is empty, give it mk:when in the template."
    return (Problem(Severity.STOP, "empty-text", message, hint, piece=piece),)


def _missing(template: str, name: str, known: tuple[str, ...], piece: str) -> Problem:
    message = f"the template {template} needs the field {name!r}, which the table does not have"
    near = get_close_matches(name, known, 1, 0.6)
    there = f"Did you mean {near[0]}? " if near else ""
    hint = f"{there}The table has: {', '.join(known) or 'none'}."
    return Problem(Severity.STOP, "missing-field", message, hint, value=name, piece=piece)
