"""A template's file in, a checked and compiled template out."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from pathlib import Path as File
from typing import TYPE_CHECKING, Final

import numpy as np

from render.design import grammar
from render.design.bending import on_a_path, shaping
from render.design.numbers import number
from render.design.reading import read_tree
from render.design.refusal import Refusal, short, suggest
from render.design.rules import YesNo, choice, cut_rule, fit_rule, in_a_column, ours, setting, start_offset
from render.design.stouter import least_stroke
from render.design.template import Apostrophe, Extra, Slot, Template
from render.design.walk import Found, Look, Walk, attributes_of, chain, inherit
from render.design.words import Words, compile_text
from render.geometry import Affine, Box, Path
from render.geometry.turning import backward
from render.model import CutRule, Mark, Operation
from render.units import parse_length

if TYPE_CHECKING:
    from lxml.etree import _Element

MOST_SIZE_MM: Final = 5_000.0
MOST_TEXTS: Final = 50

_ID: Final = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")
_SIZE_HINT: Final = 'Such as width="89mm" height="51mm" viewBox="0 0 89 51": one unit is one mm.'
_SAME_SIZE_MM: Final = 0.01


def load_template(path: File) -> Template:
    """Read a template, check everything in it, compile its texts.

    Nothing but this one file is read.

    Raises:
        TemplateError: with message, hint and place, for whatever is wrong with it.
    """
    path = File(path)
    root = read_tree(path)
    walk = Walk(path.name, Box(0, 0, 0, 0))
    if root.tag != f"{{{grammar.SVG}}}svg":
        hint = 'It begins with <svg xmlns="http://www.w3.org/2000/svg" …>; save it as plain SVG.'
        raise walk.fault(root, "this is XML, but not an SVG drawing", hint)
    try:
        size = _page_size(root)
        walk.page = Box.of_size(*size)
        walk.visit(root, Look())
        head = _head(root)
    except Refusal as refusal:
        raise walk.fault(root, refusal.message, refusal.hint) from refusal
    slots = _slots(walk)
    marks, extras = _sorted_marks(walk)
    _check_parts(walk, root, slots)
    if not marks and not extras and not slots:
        raise walk.fault(root, "the template is empty", "Draw a text or a shape.")
    template = Template(
        id=path.stem,
        title=head["title"],
        description=head["description"],
        blank=head["blank"],
        size=size,
        apostrophe=Apostrophe(head["apostrophe"]),
        marks=marks,
        extras=extras,
        slots=slots,
        areas=walk.areas,
        parts=tuple(walk.parts),
        sample=_sample(walk, root),
        mirror=choice(ours(attributes_of(root), "mirror", "no"), YesNo, "mk:mirror") is YesNo.YES,
    )
    return _with_working_sample(walk, root, template)


def _page_size(root: _Element) -> tuple[float, float]:
    """Width and height in mm, checked against the viewBox."""
    width, height = (_page_length(root, name) for name in ("width", "height"))
    box = root.get("viewBox")
    if box is None:
        raise Refusal("the drawing has no viewBox", _SIZE_HINT)
    try:
        values = [float(part) for part in re.split(r"[\s,]+", box.strip())]
    except ValueError:
        values = []
    if len(values) != 4 or not all(math.isfinite(value) for value in values):
        raise Refusal(f"viewBox is {short(box)}, which is not four numbers", _SIZE_HINT)
    if max(abs(a - b) for a, b in zip(values, (0, 0, width, height), strict=True)) > _SAME_SIZE_MM:
        message = f"viewBox is {short(box)}, but the drawing is {width:g} by {height:g} mm"
        raise Refusal(message, f'It must be viewBox="0 0 {width:g} {height:g}", so that one unit is one mm.')
    return width, height


def _page_length(root: _Element, name: str) -> float:
    text = root.get(name)
    if text is None:
        raise Refusal(f"the drawing has no {name}", _SIZE_HINT)
    if text.strip()[-1:].isdigit() or text.strip().endswith("%"):
        raise Refusal(f"{name} is {short(text)}, without a unit of length", _SIZE_HINT)
    try:
        value = parse_length(text)
    except ValueError as error:
        raise Refusal(f"{name} is {short(text)}, which is not a length", _SIZE_HINT) from error
    if not 1 <= value <= MOST_SIZE_MM:
        raise Refusal(f"{name} is {short(text)}", f"A template is from 1 to {MOST_SIZE_MM:g} mm large.")
    return value


def _head(root: _Element) -> dict[str, str]:
    """What the root says about the template as a whole."""
    attributes = attributes_of(root)
    for name, example in (("title", "Place card"), ("blank", "place-card")):
        if not ours(attributes, name):
            hint = f'Put xmlns:mk="{grammar.OURS}" and mk:{name}="{example}" on the <svg>.'
            raise Refusal(f"the template has no mk:{name}", hint)
    blank = ours(attributes, "blank")
    if not _ID.fullmatch(blank):
        raise Refusal(f"mk:blank is {short(blank)}", "It is the id of a blank, such as place-card.")
    apostrophe = choice(ours(attributes, "apostrophe", "as-typed"), Apostrophe, "mk:apostrophe")
    described = root.findtext(f"{{{grammar.SVG}}}desc") or ""
    return {
        "title": ours(attributes, "title"),
        "blank": blank,
        "apostrophe": apostrophe.value,
        "description": " ".join(described.split()),
    }


# ---------------------------------------------------------------- marks


def _sorted_marks(walk: Walk) -> tuple[tuple[Mark, ...], tuple[Extra, ...]]:
    """Marks joined to one an operation: those of every piece, and those under each set of conditions."""
    groups: dict[tuple[str, ...], list[tuple[Mark, tuple[Words, ...]]]] = {(): []}
    for mark, when in walk.marks:
        groups.setdefault(tuple(words.source for words in when), []).append((mark, when))
    always = _joined([mark for mark, _ in groups.pop(())])
    extras = (Extra(m, some[0][1]) for some in groups.values() for m in _joined([mark for mark, _ in some]))
    return always, tuple(extras)


def _joined(marks: list[Mark]) -> tuple[Mark, ...]:
    kinds = [kind for kind in Operation if any(mark.operation is kind for mark in marks)]
    return tuple(Mark(k, Path.joined(m.path for m in marks if m.operation is k)) for k in kinds)


# ---------------------------------------------------------------- texts


def _slots(walk: Walk) -> tuple[Slot, ...]:
    slots: list[Slot] = []
    for index, found in enumerate(walk.texts, 1):
        try:
            if index > MOST_TEXTS:
                raise Refusal(f"the template has more than {MOST_TEXTS} texts", "Split it in two.")
            slot = _slot(walk, found, found.element.get("id") or f"text-{index}")
            if any(other.id == slot.id for other in slots):
                raise Refusal(f"two texts are called {short(slot.id)}", "Give each an id of its own.")
        except Refusal as refusal:
            raise walk.fault(found.element, refusal.message, refusal.hint) from refusal
        slots.append(slot)
    return tuple(slots)


def _slot(walk: Walk, found: Found, name: str) -> Slot:
    parts = list(chain(found.element))
    look, along, start = found.look, None, 0.0
    style: Mapping[str, str] = look.style
    for part in parts[1:]:
        attributes = attributes_of(part)
        tag = str(part.tag).rpartition("}")[2]
        grammar.check_element(tag)
        grammar.check_attributes(tag, attributes)
        style = inherit(attributes, Look(style=style))
        if tag == "textPath":
            along, start = _along(walk, attributes)
    if look.operation is None:
        hint = "Give it, or a group round it, mk:operation: engrave, score, cut or guide."
        raise Refusal("nothing says what the beam does with this text", hint)
    attributes = attributes_of(found.element)
    rule = fit_rule(style, attributes, _scale_of(look.affine))
    rule = in_a_column(rule, style, attributes, follows_path=along is not None)
    style, wished = _wished(style, look.language)
    return Slot(
        id=name,
        words=_words(parts[-1].text or "", look.language),
        setting=setting(style, look.language),
        operation=look.operation,
        rule=on_a_path(rule, attributes, follows_path=along is not None),
        area=_area(walk, ours(attributes, "fit-in")),
        along=along,
        start=start,
        when=look.when,
        cut=_cut(walk, attributes, look),
        shaping=shaping(attributes, _ground(walk, attributes, look), follows_path=along is not None),
        thicken=least_stroke(attributes, look.operation),
        wished=wished,
    )


def _wished(style: Mapping[str, str], language: str) -> tuple[Mapping[str, str], Words | None]:
    """The style without ``font-feature-settings`` that depend on the piece, and those, compiled."""
    settings = style.get("font-feature-settings", "")
    if "{{" not in settings:
        return style, None
    return {**style, "font-feature-settings": ""}, compile_text(settings, language)


def _ground(walk: Walk, attributes: Mapping[str, str], look: Look) -> Path | None:
    """The region that is engraved away round a text that is left standing."""
    name = ours(attributes, "raised-from")
    if not name:
        return None
    if look.operation is not Operation.ENGRAVE:
        raise Refusal("it is raised, but not engraved", 'Give it mk:operation="engrave": its ground is.')
    return _area(walk, name)


def _cut(walk: Walk, attributes: Mapping[str, str], look: Look) -> CutRule | None:
    rule = cut_rule(attributes, _drawn_at(attributes, look.affine), _stakes_in(walk, attributes))
    pocket = rule is not None and rule.play > 0
    if rule and look.operation not in (Operation.CUT, Operation.SCORE, *[Operation.ENGRAVE] * pocket):
        hint = 'Give it mk:operation="cut"; or mk:play, if it is engraved as the pocket of an insert.'
        raise Refusal("it has mk:side, but is not cut", hint)
    return rule


def _stakes_in(walk: Walk, attributes: Mapping[str, str]) -> Box | None:
    name = ours(attributes, "stakes-in")
    return _area(walk, name).bounds() if name else None


def _drawn_at(attributes: Mapping[str, str], affine: Affine) -> complex:
    """The point that a text's x and y name, in the drawing's mm."""
    place = complex(number(attributes.get("x", "0"), "x"), number(attributes.get("y", "0"), "y"))
    return complex(affine.apply(np.array([place]))[0])


def _check_parts(walk: Walk, root: _Element, slots: tuple[Slot, ...]) -> None:
    """Shapes that are one with lettering need lettering, and follow a text that there is."""
    cut = {slot.id for slot in slots if slot.cut}
    for part, _ in walk.parts:
        if part.follows and part.follows not in cut:
            hint = suggest(part.follows, cut) if cut else 'Give a text mk:side="solid".'
            raise walk.fault(
                root, f"a shape follows {short(part.follows)}, but no cut text is called so", hint
            )


def _words(source: str, language: str) -> Words:
    if not source.strip():
        raise Refusal("the text is empty", "Write a field into it, such as {{ name }}.")
    return compile_text(source, language)


def _area(walk: Walk, name: str) -> Path:
    if not name:
        hint = 'Draw its area, give that mk:area="name", and give the text mk:fit-in="#name".'
        raise Refusal("nothing says where this text fits in", hint)
    name = name.removeprefix("#")
    if name not in walk.areas:
        hint = suggest(name, walk.areas) if walk.areas else "Mark a shape with mk:area; there is none."
        raise Refusal(f"there is no area {short(name)}", hint)
    return walk.areas[name]


def _along(walk: Walk, attributes: Mapping[str, str]) -> tuple[Path, float]:
    href = attributes.get("href", attributes.get(f"{{{grammar.XLINK}}}href", "")).strip()
    name = href.removeprefix("#")
    if name not in walk.shapes:
        hint = suggest(name, walk.shapes) if walk.shapes else "Draw the path and give it an id."
        raise Refusal(f"there is no path {short(name)} for the text to run along", hint)
    path = walk.shapes[name]
    if len(list(path.contours())) != 1:
        raise Refusal(f"the path {short(name)} is in several parts", "A text runs along one single line.")
    if path.bounds().width == path.bounds().height == 0:
        raise Refusal(f"the path {short(name)} has no length", "Draw it again.")
    start = start_offset(attributes.get("startOffset", ""))
    side = attributes.get("side", "left").strip()
    if side not in ("left", "right"):
        raise Refusal(f"side is {short(side)}", "Write left or right.")
    return (path, start) if side == "left" else (backward(path), 1 - start)


def _scale_of(affine: Affine) -> float:
    """The scale of groups round a text, which must not turn, skew or mirror it."""
    if affine.b or affine.c or affine.a != affine.d or affine.a <= 0:
        hint = "Ungroup it and set it level; for turned lettering use a textPath along a slanting line."
        raise Refusal("the text is turned, skewed or mirrored by a transform", hint)
    return affine.a


# ---------------------------------------------------------------- sample


def _sample(walk: Walk, root: _Element) -> dict[str, str]:
    """The fields of ``mk:sample``: ``name: Ida Vale; table: 4``."""
    sample: dict[str, str] = {}
    for part in ours(attributes_of(root), "sample").split(";"):
        name, colon, value = part.partition(":")
        if colon and name.strip() and value.strip():
            sample[name.strip()] = value.strip()
        elif part.strip():
            raise walk.fault(root, f"mk:sample holds {short(part)}", "Such as: name: Ida Vale; table: 4.")
    return sample


def _with_working_sample(walk: Walk, root: _Element, template: Template) -> Template:
    """The template, once its own sample has been composed without a problem."""
    if template.sample:
        for problem in template.compose(template.sample, "sample").problems:
            raise walk.fault(root, f"mk:sample does not fill the template: {problem.message}", problem.hint)
    return template
