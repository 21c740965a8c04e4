"""The walk through a template's drawing: collects its areas, marks and texts, in the drawing's mm."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Final

from render.design import grammar
from render.design.curved import curve_or_shape
from render.design.numbers import transform
from render.design.refusal import Refusal, short
from render.design.rules import choice, ours
from render.design.shapes import SHAPES, non_zero, outward
from render.design.words import Words, compile_condition
from render.errors import TemplateError
from render.geometry import Affine, Box, Path
from render.model import CutPart, Mark, Operation, Side

if TYPE_CHECKING:
    from lxml.etree import _Element

MOST_POINTS: Final = 100_000
"""Points of all shapes together."""

_EDGE_MM: Final = 0.01
_LEAST_AREA_MM: Final = 0.1
_INHERITED: Final = grammar.PROPERTIES - {"display"}


@dataclass(frozen=True, slots=True)
class Look:
    """What an element takes over from those it lies in."""

    affine: Affine = field(default_factory=Affine)
    operation: Operation | None = None
    language: str = ""
    drawn: bool = True
    when: tuple[Words, ...] = ()
    style: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Found:
    """A text as found, to be finished once all areas are known."""

    element: _Element
    look: Look


class Walk:
    """Goes through the elements of one template.

    Attributes:
        areas: closed paths by the name of their ``mk:area``.
        shapes: the path of every shape that has an ``id``.
        marks: each mark with the conditions it is under, in order.
        texts: the texts, in order.
        parts: shapes that are one with cut-through lettering, or taken out of it, and their conditions.
    """

    def __init__(self, name: str, page: Box) -> None:
        self.name = name
        self.page = page
        self.areas: dict[str, Path] = {}
        self.shapes: dict[str, Path] = {}
        self.marks: list[tuple[Mark, tuple[Words, ...]]] = []
        self.texts: list[Found] = []
        self.parts: list[tuple[CutPart, tuple[Words, ...]]] = []
        self._points = 0

    def fault(self, element: _Element, message: str, hint: str = "") -> TemplateError:
        """The error for what is wrong with `element`, with its place."""
        tag = _split(element)[1]
        name = element.get("id")
        shown = f"<{tag} id={short(name)}>" if name else f"<{tag}>"
        return TemplateError(message, hint=hint, place=f"{self.name}, line {element.sourceline}, {shown}")

    def visit(self, element: _Element, look: Look) -> None:
        """Collect what `element` and those in it hold.

        Raises:
            TemplateError: something in it is not allowed or not understood.
        """
        if not isinstance(element.tag, str):
            raise TemplateError(
                "an entity (&…;) is not known",
                hint="Write the character itself.",
                place=f"{self.name}, line {element.sourceline}",
            )
        space, tag = _split(element)
        if space != grammar.SVG or tag in grammar.UNDRAWN:
            return  # an editor's own notes: never drawn, never read
        try:
            self._enter(element, tag, look)
        except Refusal as refusal:
            raise self.fault(element, refusal.message, refusal.hint) from refusal

    def _enter(self, element: _Element, tag: str, look: Look) -> None:
        grammar.check_element(tag)
        attributes = attributes_of(element)
        grammar.check_attributes(tag, attributes)
        inner = _inner(attributes, tag, look)
        if tag == "text":
            if inner.drawn:
                self.texts.append(Found(element, inner))
        elif tag in SHAPES:
            self._shape(tag, attributes, inner)
        elif tag in grammar.LETTERING:
            raise Refusal(f"<{tag}> stands outside a text", "Put it into a <text>.")
        elif tag == "svg" and element.getparent() is not None:
            raise Refusal("a drawing lies within the drawing", "Turn the inner <svg> into a group.")
        else:
            for child in element:
                self.visit(child, inner)

    def _shape(self, tag: str, attributes: Mapping[str, str], look: Look) -> None:
        path = curve_or_shape(tag, attributes, look.affine)
        self._points += path.points.size
        if self._points > MOST_POINTS:
            raise Refusal(f"the drawing has more than {MOST_POINTS:,} points", "Simplify its paths.")
        name = attributes.get("id", "")
        if name:
            if name in self.shapes:
                raise Refusal(f"two shapes have the id {short(name)}", "Give each an id of its own.")
            self.shapes[name] = path
        if look.style.get("fill-rule") == "evenodd" and path.is_closed():
            path = non_zero(path)
        area = ours(attributes, "area")
        if f"{{{grammar.OURS}}}area" in attributes:
            self._area(area, path, attributes)
        elif ours(attributes, "side"):
            self._part(path, attributes, look)
        elif name := next((n for n in ("follows", "level-with") if ours(attributes, n)), ""):
            raise Refusal(f"mk:{name} has no meaning without mk:side", 'Give it mk:side="solid" or "hole".')
        elif look.drawn:
            self._mark(path, look)

    def _area(self, name: str, path: Path, attributes: Mapping[str, str]) -> None:
        if not name:
            raise Refusal("mk:area is empty", 'Give the area a name, such as mk:area="name".')
        if name in self.areas:
            raise Refusal(f"two areas are called {short(name)}", "Give each a name of its own.")
        if ours(attributes, "operation"):
            raise Refusal("an area is never burned, yet it has an mk:operation", "Remove one of the two.")
        if not path.is_closed():
            raise Refusal(f"the area {short(name)} is not closed", "Close its path (Z).")
        box = path.bounds()
        if min(box.width, box.height) < _LEAST_AREA_MM:
            raise Refusal(f"the area {short(name)} is too small for anything", "Draw it larger.")
        self._within_page(path)
        self.areas[name] = path

    def _part(self, path: Path, attributes: Mapping[str, str], look: Look) -> None:
        if not look.drawn:
            return
        if look.operation not in (Operation.CUT, Operation.SCORE):
            raise Refusal("it has mk:side, but is not cut", 'Give it mk:operation="cut".')
        if not path.is_closed():
            raise Refusal("it is part of a piece that is cut out, but is open", "Close its path (Z).")
        self._within_page(path)
        side = choice(ours(attributes, "side"), Side, "mk:side")
        follows, level = ours(attributes, "follows"), ours(attributes, "level-with")
        if follows and level:
            raise Refusal("it has mk:follows and mk:level-with", "Keep one of them.")
        text = (follows or level).removeprefix("#")
        self.parts.append((CutPart(side, outward(path), look.operation, text, bool(level)), look.when))

    def _mark(self, path: Path, look: Look) -> None:
        if look.operation is None:
            hint = "Give it, or a group round it, mk:operation: engrave, score, cut or guide."
            raise Refusal("nothing says what the beam does with this shape", hint)
        if look.operation is Operation.ENGRAVE:
            if not path.is_closed():
                hint = "Engraving fills an inside: close the path (Z), or use score to follow the line."
                raise Refusal("it is to be engraved, but is open", hint)
            if look.style.get("fill") == "none":
                hint = "Engraving fills the whole inside: use score, or outline the line, or fill it."
                raise Refusal("it is to be engraved, but is drawn without a fill", hint)
            path = outward(path)
        if look.operation is not Operation.GUIDE:
            self._within_page(path)
        self.marks.append((Mark(look.operation, path), look.when))

    def _within_page(self, path: Path) -> None:
        if not self.page.contains(path.bounds(), _EDGE_MM):
            raise Refusal("it reaches beyond the edge of the drawing", "Move or shorten it.")


def attributes_of(element: _Element) -> dict[str, str]:
    """An element's attributes as plain text; those in a namespace are called ``{namespace}local``."""
    return {str(key): str(value) for key, value in element.attrib.items()}


def chain(element: _Element) -> Iterator[_Element]:
    """A text, then the one element it may hold, and so on inward.

    Raises:
        Refusal: words stand both in and beside an inner element, or in several.
    """
    while True:
        yield element
        children = list(element)
        if not children:
            return
        beside = (element.text or "") + "".join(child.tail or "" for child in children)
        if len(children) > 1 or beside.strip() or _split(children[0])[1] not in grammar.LETTERING:
            hint = "One text holds one run of words; make a text of its own for each."
            raise Refusal("its words are in several parts", hint)
        element = children[0]


def inherit(attributes: Mapping[str, str], look: Look) -> Mapping[str, str]:
    """The style properties of an element that lies in `look`."""
    own = grammar.properties(attributes)
    return {**look.style, **{k: v for k, v in own.items() if k in _INHERITED and v != "inherit"}}


def _inner(attributes: Mapping[str, str], tag: str, look: Look) -> Look:
    """The look of what lies in an element."""
    style = inherit(attributes, look)
    own = grammar.properties(attributes)
    unseen = own.get("display") == "none" or style.get("visibility") in ("hidden", "collapse")
    inner = replace(look, style=style, drawn=look.drawn and tag != "defs" and not unseen)
    if "transform" in attributes:
        inner = replace(inner, affine=transform(attributes["transform"]).then(look.affine))
    operation = ours(attributes, "operation")
    if operation:
        inner = replace(inner, operation=choice(operation, Operation, "mk:operation"))
    language = attributes.get(f"{{{grammar.XML}}}lang")
    if language is not None:
        inner = replace(inner, language=language.strip())
    condition = attributes.get(f"{{{grammar.OURS}}}when")
    if condition is not None:
        inner = replace(inner, when=(*look.when, compile_condition(condition, inner.language)))
    return inner


def _split(element: _Element) -> tuple[str, str]:
    """Namespace and local name."""
    space, _, tag = element.tag[1:].rpartition("}") if element.tag.startswith("{") else ("", "", element.tag)
    return space, tag
